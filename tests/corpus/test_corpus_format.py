"""The corpus of spoken tasting notes is well formed (tests/corpus/README.md, FORMAT.md rules)."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).parent
FILES = sorted(ROOT.glob("*/*.yaml"))
STAGES = {"identity", "appearance", "nose", "palate", "finish", "verdict", "aside", "cue"}
CUES = {"begin", "away", "holding", "gone", "take_back", "private_on", "private_off", "end"}
PALATE_LEVELS = ("sweetness", "acidity", "tannin", "alcohol", "body", "bitterness", "intensity", "mousse")
LEVELS = {
    "appearance": ("depth",),
    "nose": ("intensity",),
    "palate": PALATE_LEVELS,
    "finish": ("length",),
    "verdict": ("quality",),
}
LISTS = {
    "wine": ("grapes",),
    "nose": ("aromas", "absent"),
    "palate": ("flavours", "absent", "texture", "tannin_texture"),
    "finish": ("flavours",),
}
KEYS = {
    "wine": {"position", "code", "producer", "name", "origin", "grapes", "vintage", "colour", "style"},
    "appearance": {"clarity", "depth", "hue", "rim", "bubbles", "tears", "deposit"},
    "nose": {"intensity", "age", "aromas", "absent"},
    "palate": {*PALATE_LEVELS, "tannin_texture", "texture", "balance", "flavours", "absent"},
    "finish": {"timed", "seconds", "length", "flavours"},
    "verdict": {"quality", "score", "readiness", "drink"},
}
COLOURS = {"white", "rosé", "orange", "red"}
STYLES = {"still", "sparkling", "fortified"}
CLARITY = {"brilliant", "clear", "dull", "hazy", "cloudy", "limpid", "bright"}
READINESS = {"keep", "ready", "drink soon", "past"}
AGES = {"young", "maturing", "mature", "fading"}


@cache
def load(path: Path) -> dict[str, Any]:
    """The note in one YAML file."""
    note = yaml.load(path.read_text(encoding="utf-8"), Loader=yaml.CSafeLoader)
    assert isinstance(note, dict)
    return note


def as_set(value: Any) -> set[str]:
    """A single Term's alternatives as a set; empty when the field is left out."""
    if value is None:
        return set()
    return set(value) if isinstance(value, list) else {value}


def cues_of(note: dict[str, Any]) -> list[str]:
    """The cues of a note in the order spoken."""
    return [line["cue"] for line in note["lines"] if "cue" in line]


def test_the_notes_are_all_there_with_unique_ids_and_lie_where_they_belong() -> None:
    ids = [load(path)["id"] for path in FILES]
    assert len(set(ids)) == len(ids)
    assert sorted(i for i in ids if i[0] == "a") == [f"a{n:02d}" for n in range(1, 41)]
    assert sorted(i for i in ids if i[0] == "b") == [f"b{n:02d}" for n in range(1, 21)]
    assert sorted(i for i in ids if i[0] == "c") == [f"c{n:02d}" for n in range(1, 11)]
    assert sorted(i for i in ids if i[0] == "f") == [f"f{n:02d}" for n in range(1, 29)]
    assert sorted(i for i in ids if i[0] == "g") == [f"g{n:02d}" for n in range(1, 25)]
    assert sorted(i for i in ids if i[0] == "h") == [f"h{n:02d}" for n in range(1, 21)]
    held = {path.stem for path in FILES if path.parent.name == "held"}
    assert held == {f"h{n:02d}" for n in range(1, 21)} | {f"g{n:02d}" for n in range(13, 25)}
    assert len({load(path)["taster"] for path in FILES}) == len(FILES)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
class TestNote:
    """What every note must satisfy."""

    def test_head(self, path: Path) -> None:
        note = load(path)
        assert set(note) == {"id", "taster", "lines", "gold"}
        assert note["id"] == path.stem

    def test_lines(self, path: Path) -> None:
        lines = load(path)["lines"]
        spoken = [line for line in lines if "say" in line]
        assert 10 <= len(spoken) <= 27
        for line in lines:
            if "wait" in line:
                assert set(line) == {"wait"}
                assert 0 < line["wait"] < 60
                continue
            assert set(line) <= {"say", "stage", "cue"}
            assert {"say", "stage"} <= set(line)
            assert line["stage"] in STAGES
            assert line.get("cue") in CUES | {None}
            # figures are spoken in words, as a recogniser's input is sound
            assert line["say"] == line["say"].strip()
            assert not any(c.isdigit() for c in line["say"])
        assert spoken[0].get("cue") == "begin"
        assert "next wine" in spoken[0]["say"].lower()

    def test_cues_match_their_words(self, path: Path) -> None:
        words = {
            "begin": ("next wine",),
            "away": ("spitting now", "swallowing now"),
            "holding": ("still there",),
            "gone": ("all gone", "it's gone", "gone"),
            "take_back": ("strike that",),
            "private_on": ("off the record",),
            "private_off": ("back on the record",),
            "end": ("end of tasting",),
        }
        for line in load(path)["lines"]:
            if line.get("stage") == "cue":
                assert "cue" in line, line
            if "cue" in line:
                assert any(form in line["say"].lower() for form in words[line["cue"]]), line
                if line["cue"] != "begin":
                    assert line["say"].lower().startswith(words[line["cue"]]), line

    def test_cue_order(self, path: Path) -> None:
        note = load(path)
        cues = cues_of(note)
        assert cues.count("begin") == 1
        assert cues.count("away") <= 1
        assert cues.count("gone") <= 1
        assert cues.count("private_on") == cues.count("private_off")
        timed = (note["gold"].get("finish") or {}).get("timed", False)
        assert timed == ("away" in cues and "gone" in cues)
        if not timed:
            assert not {"away", "holding", "gone"} & set(cues)
            return
        # from the away cue to the gone cue every line is a cue, and every gap a stated wait
        at = {line["cue"]: k for k, line in enumerate(note["lines"]) if line.get("cue") in ("away", "gone")}
        between = note["lines"][at["away"] + 1 : at["gone"]]
        assert at["away"] < at["gone"]
        assert between
        assert [("wait" in line) for line in between] == [k % 2 == 0 for k in range(len(between))]
        assert all(line.get("cue") == "holding" for line in between if "say" in line)

    def test_gold_keys(self, path: Path) -> None:
        gold = load(path)["gold"]
        assert set(gold) <= set(KEYS) | {"faults", "never"}
        assert isinstance(gold["faults"], list)
        assert isinstance(gold["never"], list)
        assert gold["never"]
        for section, keys in KEYS.items():
            assert set(gold.get(section) or {}) <= keys, section
        assert len(set(gold["never"])) == len(gold["never"])

    def test_levels_and_numbers(self, path: Path) -> None:
        gold = load(path)["gold"]
        for section, names in LEVELS.items():
            for name in names:
                if name in (gold.get(section) or {}):
                    low, high = gold[section][name]
                    assert 0 <= low <= high <= 10, (section, name)
        verdict = gold.get("verdict") or {}
        if "score" in verdict:
            points, out_of = verdict["score"]
            assert out_of in (5, 10, 20, 100)
            assert 0 < points <= out_of
        if "drink" in verdict:
            first, last = verdict["drink"]
            assert first or last
            assert all(2020 < year < 2101 for year in (first, last) if year)
            assert not (first and last) or first <= last
        seconds = (gold.get("finish") or {}).get("seconds")
        if seconds is not None:
            low, high = seconds if isinstance(seconds, list) else (seconds, seconds)
            assert 0 < low <= high < 600

    def test_terms(self, path: Path) -> None:
        gold = load(path)["gold"]
        wine, look = gold["wine"], gold.get("appearance") or {}
        assert as_set(wine.get("colour")) <= COLOURS
        assert as_set(wine.get("style")) <= STYLES
        assert as_set(look.get("clarity")) <= CLARITY
        assert as_set((gold.get("nose") or {}).get("age")) <= AGES
        assert as_set((gold.get("palate") or {}).get("balance")) <= {"balanced", "unbalanced"}
        assert as_set((gold.get("verdict") or {}).get("readiness")) <= READINESS
        assert "position" in wine or "code" in wine
        vintage = wine.get("vintage")
        assert vintage in (None, "NV") or 1900 < vintage < 2027

    def test_lists_hold_spoken_words_only(self, path: Path) -> None:
        """Each descriptor is said, in one of its forms, on a line of its own stage."""
        note = load(path)
        for section, names in LISTS.items():
            if section == "wine":
                continue  # grapes may be spoken with or without accents, and are checked by eye
            heard = " ".join(words(x["say"]) for x in note["lines"] if x.get("stage") == section)
            for name in names:
                for item in (note["gold"].get(section) or {}).get(name, []):
                    assert isinstance(item, str)
                    forms = [words(form) for form in item.split("|")]
                    assert any(f" {form} " in f" {heard} " for form in forms), (section, name, item)

    def test_nothing_is_both_present_and_never(self, path: Path) -> None:
        gold = load(path)["gold"]
        present = list(gold["faults"])
        for section, names in LISTS.items():
            for name in names:
                if name not in ("absent", "grapes"):
                    present += (gold.get(section) or {}).get(name, [])
        forms = {words(form) for item in present for form in item.split("|")}
        assert not forms & {words(item) for item in gold["never"]}


def words(text: str) -> str:
    """Lower case, hyphens as spaces, no other marks, plain plurals made singular."""
    kept = "".join(c if c.isalnum() else " " for c in text.lower()).split()
    return " ".join(singular(word) for word in kept)


def singular(word: str) -> str:
    """The word without a plural ending (rough, the same for both sides of a comparison)."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
