"""A lexicon file with an error is refused with file, line and cure; a good one gives what it says."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
import rtoml
from hypothesis import given
from hypothesis import strategies as st

from dictate.lexicon import LexiconError, load_lexicon, load_sounds, load_table
from dictate.lexicon.entries import KINDS, Entry, Lexicon, opening, spelled
from dictate.lexicon.load import HERE, WORDS, read_lexicon

SHIPPED = sorted(HERE.glob("*/*.toml"))
FORM = re.compile(r"words/[\w-]+\.toml, line \d+: [^\n]+\Z")

# one good file a kind; a case below replaces one line of one of them
GOOD = {
    "grape": """kind = "grape"
# the term is what a note shows
[families.black]
nebbiolo = ["spanna"]
pinot = { said = ["pinot nero"], risky = true, ambiguous = ["pinot"] }

[families.white]
arneis = []
""",
    "origin": """kind = "origin"
[families.Italy]
barolo = { said = [
  "barolo hills", # a remark
  "the langhe",
], colour = "red", style = "still", grapes = ["nebbiolo"] }
roero = { said = [], grapes = ["arneis", "nebbiolo"] }
""",
    "fault": """kind = "fault"
[families.cork]
"cork taint" = { said = ["tca"], compound = "TCA", threshold = "2 ng/L", source = "a", hints = ["musty"] }
""",
    "descriptor": 'kind = "descriptor"\n[families.cellar]\nmusty = ["must-like"]\n',
    "hue": 'kind = "hue"\n[families.red]\nruby = { said = [], order = 3, also = ["rosé", "orange"] }\n',
}

# kind, the line, what stands there instead, what the message says
BAD = [
    ("grape", 1, 'kind = "grap"', "kind must be one of grape, origin"),
    ("grape", 1, "kind = 7", "kind must be one of"),
    ("grape", 1, "", "kind must be one of"),
    ("grape", 1, 'kind = "grape"\nfamilys = 1', "unknown key 'familys'; did you mean 'families'?"),
    ("grape", 3, "[families.balck]", "unknown family 'balck'; did you mean 'black'?"),
    ("grape", 3, '[families.""]', "a family needs a name"),
    ("grape", 3, "[families]\nblack = 3\n[families.grey]", "family black must be a table"),
    ("grape", 4, "nebbiolo = 3", "nebbiolo: 'said' must be a list of words"),
    ("grape", 4, 'nebbiolo = "spanna"', "nebbiolo: 'said' must be a list of words"),
    ("grape", 4, "nebbiolo = [3]", "nebbiolo: 'said' must be a list of words"),
    ("grape", 4, 'nebbiolo = [["spanna"]]', "nebbiolo: 'said' must be a list of words"),
    ("grape", 4, 'nebbiolo = ["spanna", " "]', "nebbiolo: 'said' must be a list of words"),
    ("grape", 4, 'nebbiolo = ["span\\nna"]', "without tabs or line breaks"),
    ("grape", 4, 'nebbiolo = ["spanna", "spanna"]', "'spanna' is said twice; keep one"),
    ("grape", 4, 'nebbiolo = ["nebbiolo"]', "'nebbiolo' is said twice; keep one"),
    ("grape", 4, 'nebbiolo = ["[]"]', "nebbiolo: '[]' has no letter or figure; take it out"),
    ("grape", 4, '"!" = []', "'!' has no letter or figure"),
    ("grape", 4, '"" = []', "a term must be a word"),
    ("grape", 4, "nebbiolo = []\nnebbiolo = []", "nebbiolo stands twice; keep one"),
    ("grape", 4, 'nebbiolo = { sadi = ["spanna"] }', "unknown key 'sadi'; did you mean 'said'?"),
    ("grape", 4, 'nebbiolo = { colour = "red" }', "unknown key 'colour'"),
    ("grape", 5, "pinot = { risky = 1 }", "pinot: 'risky' must be true or false"),
    ("grape", 5, 'pinot = { ambiguous = ["pino"] }', "'pino' is not among its forms"),
    ("grape", 5, "pinot = { ambiguous = [] }", "'ambiguous' must be a list of words"),
    (
        "grape",
        5,
        'pinot = ["a", "b"',
        "missing comma between array elements, expected `,` (of what begins on line 5)",
    ),
    ("grape", 5, "pinot = [a]", "no valid TOML"),
    ("grape", 5, "pinöt = []", "no valid TOML"),
    ("grape", 5, ".".join("a" * 3000) + " = 1", "no valid TOML: recursion limit"),
    ("grape", 7, "[families.black]", "stands twice; keep one"),
    ("grape", 8, 'nebbiolo = ["x"]', "nebbiolo: stands in this file already; keep one"),
    ("grape", 8, 'arn\x01eis = ["x"]', "unseen character U+0001; delete it"),
    ("grape", 8, 'arneis = ["ar\u200bneis"]', "unseen character U+200B; delete it"),
    ("grape", 8, 'arneis = ["ar\\u200Bneis"]', "unseen character U+200B; delete it"),
    ("grape", 8, 'arneis = ["ar\xa0neis"]', "U+00A0; write a common space"),
    ("grape", 8, 'arneis = ["arne\u0301is"]', "Unicode form NFC"),
    ("grape", 8, 'arneis = ["arne\\u0301is"]', "Unicode form NFC"),
    ("origin", 2, 'italy = "x"\n[families.Italy]', "unknown key 'italy'"),
    (
        "origin",
        6,
        '], colour = "blue" }',
        "barolo: 'colour' must be one of white, rosé, orange, red, not 'blue'",
    ),
    ("origin", 6, '], style = ["still"] }', "'style' must be one of still, sparkling, fortified"),
    ("origin", 6, '], grapes = ["nebiolo"] }', "'grapes': no grape has the term 'nebiolo'"),
    ("origin", 6, '], grapes = ["spanna"] }', "'grapes': no grape has the term 'spanna'"),
    ("origin", 6, '], grapes = "nebbiolo" }', "'grapes' must be a list of words"),
    ("origin", 7, 'roero = { grapes = ["arneis", "x"] }', "no grape has the term 'x'"),
    ("fault", 3, 'tca = { threshold = "2 ng/L" }', "a threshold without 'source'"),
    ("fault", 3, 'tca = { source = "" }', "'source' must be text"),
    ("fault", 3, 'tca = { hints = ["mustee"] }', "no descriptor has the term 'mustee'"),
    ("hue", 3, "ruby = { order = 11 }", "'order' must be a number from 0 to 10"),
    ("hue", 3, "ruby = { order = true }", "'order' must be a number from 0 to 10"),
    ("hue", 3, "ruby = { order = nan }", "'order' must be a number from 0 to 10"),
    ("hue", 3, 'ruby = { also = ["red"] }', "'also' must be of white, rosé, orange, not 'red'"),
    ("descriptor", 3, "musty = 1979-05-27", "'said' must be a list of words"),
]
# where the statement begins, when that is not the line changed; or the line of the second of two
BEGINS = {("origin", 6): 3, "nebbiolo = []\nnebbiolo = []": 5, '[families]\nblack = 3\n[families.grey]': 4,
          'kind = "grape"\nfamilys = 1': 2, 'pinot = ["a", "b"': 7}  # fmt: skip


def write(folder: Path, files: dict[str, str | bytes]) -> Path:
    words = folder / "words"
    words.mkdir()
    for name, text in files.items():
        (words / f"{name}.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
    return words


def changed(kind: str, line: int, text: str) -> dict[str, str | bytes]:
    lines = GOOD[kind].split("\n")
    lines[line - 1] = text
    return {**GOOD, kind: "\n".join(lines)}


def refused(read: Callable[[Path], object], folder: Path) -> str:
    with pytest.raises(LexiconError) as caught:
        read(folder)
    return str(caught.value)


def test_good_files_give_their_entries(tmp_path: Path) -> None:
    lexicon = read_lexicon(write(tmp_path, dict(GOOD)))
    assert [e.term for e in lexicon.entries] == [
        *("musty", "cork taint", "nebbiolo", "pinot", "arneis"),  # files by name, terms in their order
        *("ruby", "barolo", "roero"),
    ]
    barolo = lexicon.lookup("Barolo hills")
    assert barolo == Entry("barolo", "origin", "Italy", ("barolo", "barolo hills", "the langhe"))
    assert dict(barolo.data) == {"colour": "red", "style": "still", "grapes": ["nebbiolo"]}


@pytest.mark.parametrize(("kind", "line", "text", "says"), BAD, ids=[f"{k} {t[:40]!r}" for k, _, t, _ in BAD])
def test_an_error_is_told_with_file_and_line(
    tmp_path: Path, kind: str, line: int, text: str, says: str
) -> None:
    told = refused(read_lexicon, write(tmp_path, changed(kind, line, text)))
    begins = BEGINS.get(text) or BEGINS.get((kind, line), line)
    assert told.startswith(f"words/{kind}.toml, line {begins}: "), told
    assert says in told
    assert FORM.match(told), told


@pytest.mark.parametrize(
    ("kind", "line", "text"),
    [
        ("grape", 4, "nebbiolo = [\n\n'spanna', # a remark\n'spana',]"),
        ("grape", 4, 'nebbiolo = { said = ["spanna"], risky = false, ambiguous = ["spanna"] }'),
        ("grape", 4, '"n\\u00e9bbiolo" = []\nnebbiolo = []'),
        ("grape", 2, "# tab\there"),
        ("grape", 8, ""),
        ("origin", 7, 'nebbiolo = ["a term of another kind"]'),
        ("origin", 2, "[families.'Italy']"),
        ("hue", 3, "ruby = { said = ['rubine'], order = 0.5 }"),
        ("fault", 3, 'tca = { compound = "TCA", threshold = "2 ng/L", source = "a paper" }'),
        ("fault", 3, "tca = []"),
    ],
)
def test_what_is_unusual_but_right_is_read(tmp_path: Path, kind: str, line: int, text: str) -> None:
    files = changed(kind, line, text)
    if (kind, line) == ("grape", 8):
        files["origin"] = GOOD["origin"].replace('"arneis", ', "")
    assert read_lexicon(write(tmp_path, files)).entries


def test_line_ends_and_marks_of_other_editors_are_read(tmp_path: Path) -> None:
    plain = read_lexicon(write(tmp_path, dict(GOOD)))
    (tmp_path / "other").mkdir()
    odd = {name: b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode() for name, text in GOOD.items()}
    assert read_lexicon(write(tmp_path / "other", dict(odd))).entries == plain.entries
    (tmp_path / "third").mkdir()
    crlf = changed("grape", 4, "nebbiolo = 3")["grape"]
    told = refused(read_lexicon, write(tmp_path / "third", {"grape": str(crlf).replace("\n", "\r\n")}))
    assert told.startswith("words/grape.toml, line 4: ")


def test_a_file_that_is_not_utf_8_is_told_with_its_line(tmp_path: Path) -> None:
    latin = 'kind = "origin"\n[families.Germany]\nbaden = []\n"württemberg" = []\n'.encode("latin-1")
    told = refused(read_lexicon, write(tmp_path, {"origins": latin}))
    assert told == "words/origins.toml, line 4: not UTF-8; save the file as UTF-8"


def test_a_term_in_two_files_of_a_kind_is_told_with_both(tmp_path: Path) -> None:
    more = 'kind = "grape"\n[families.white]\n\narneis = ["x"]\n'
    told = refused(read_lexicon, write(tmp_path, {**GOOD, "more": more}))
    assert told == "words/more.toml, line 4: arneis: stands in words/grape.toml already; keep one"


def test_an_empty_folder_and_a_folder_for_a_file_are_told(tmp_path: Path) -> None:
    assert "no .toml file there" in refused(read_lexicon, tmp_path)
    (tmp_path / "a.toml").mkdir()
    assert "a.toml" in refused(read_lexicon, tmp_path)


def test_the_line_of_every_entry_of_ours_is_right() -> None:
    """On the shipped files, whose statements are one line each: every twentieth term."""
    from dictate.lexicon.tomlfile import TomlFile

    for path in sorted(WORDS.glob("*.toml")):
        file, lines = TomlFile(path), path.read_text(encoding="utf-8").split("\n")
        terms = [(family, term) for family, found in file.data["families"].items() for term in found]
        for family, term in terms[::20]:
            line = lines[file.line_of("families", family, term) - 1]
            assert tomllib.loads(line).keys() == {term}, f"{path.name}: {term}"


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: f"{p.parent.name}/{p.name}")
def test_our_files_mean_the_same_to_python_s_own_reader(path: Path) -> None:
    def ordered(value: object) -> object:
        return [(k, ordered(v)) for k, v in value.items()] if isinstance(value, dict) else value

    text = path.read_text(encoding="utf-8")
    assert ordered(rtoml.loads(text)) == ordered(tomllib.loads(text))


ALL_TEXT = "".join(GOOD.values())
PIECES = st.one_of(
    st.sampled_from(
        [*'[]{}="\n\\,.#', '"""', "'''", "\\n", "\\u0000", "true", "nan", "1979-05-27", "\ufeff", "\r"]
    ),
    st.sampled_from(ALL_TEXT.split()),
    st.text(max_size=4),
)


@given(
    kind=st.sampled_from(sorted(GOOD)),
    changes=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 9), PIECES), min_size=1, max_size=4),
)
def test_a_damaged_file_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, kind: str, changes: list[tuple[float, int, str]]
) -> None:
    """Text put in the place of other text, anywhere: a lexicon or a LexiconError of this form."""
    text = GOOD[kind]
    for place, length, piece in changes:
        start = int(place * len(text))
        text = text[:start] + piece + text[start + length :]
    folder = write(tmp_path_factory.mktemp("fuzz"), {**GOOD, kind: text.encode("utf-8", "surrogatepass")})
    try:
        lexicon = read_lexicon(folder)
    except LexiconError as error:
        told = str(error)
    else:
        assert all(entry.kind in KINDS and entry.said[0] == entry.term for entry in lexicon.entries)
        return
    assert FORM.match(told)
    number = int(told.partition("line ")[2].partition(":")[0])
    assert 1 <= number <= max(t.count("\n") for t in (*GOOD.values(), text)) + 1


@given(st.text(max_size=12))
def test_the_opening_of_a_term_is_that_of_its_spelling(text: str) -> None:
    assert opening(text) == "".join(spelled(text)[:1])[:2]


def test_the_index_holds_every_form_by_its_spelling() -> None:
    """Against an index made without putting anything off."""
    shipped = load_lexicon()
    lexicon = Lexicon(shipped.entries, version="")
    wanted: dict[tuple[str, ...], list[Entry]] = {}
    for entry in shipped.entries:
        for text in entry.said:
            found = wanted.setdefault(spelled(text), [])
            if entry not in found:
                found.append(entry)
    for keys, entries in wanted.items():
        starts = lexicon.beginning(keys[0])
        assert [e for k, e in starts if k == keys] == [tuple(entries)]
        sizes = [len(k) for k, _ in starts]
        assert sizes == sorted(sizes, reverse=True)
    assert lexicon.beginning("qqq") == lexicon.beginning("") == []
    assert lexicon.lookup("...") is lexicon.lookup("") is None


def sounds(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        (folder / f"{name.replace('_', '-')}.toml").write_text(text, encoding="utf-8")
    return folder


def test_sounds_are_read_and_those_by_hand_go_first(tmp_path: Path) -> None:
    read = load_sounds(
        sounds(
            tmp_path,
            a='[sounds]\nbarolo = ["bəɹoʊloʊ"]\nroero = ["x"]\n',
            by_hand='[sounds]\nbarolo = ["baˈrɔlo", "ɔ\u0303"]\n',
        )
    )
    assert read == {"barolo": ("baˈrɔlo", "ɔ\u0303"), "roero": ("x",)}


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("[sounds]\nbarolo = []\n", 2, "barolo: must be a list of sounds in IPA"),
        ('[sounds]\n\nbarolo = ["a", ""]\n', 3, "must be a list of sounds"),
        ('[sounds]\nbarolo = "a"\n', 2, "must be a list of sounds"),
        ("[sounds]\nbarolo = [1]\n", 2, "must be a list of sounds"),
        ('[sounds]\n"e\u0301" = ["a"]\n', 2, "Unicode form NFC"),
        ('[sounds]\nbarolo = ["a\x02"]\n', 2, "U+0002"),
        ('[sound]\nbarolo = ["a"]\n', 1, "unknown key 'sound'; did you mean 'sounds'?"),
        ("sounds = 3\n", 1, "put the sounds under [sounds]"),
        ("", 1, "put the sounds under [sounds]"),
        ('[sounds]\nroero = ["a"]\n', 2, "roero: stands in words/a.toml too; keep one"),
        ("[sounds\n", 1, "no valid TOML"),
    ],
)
def test_an_error_in_sounds_is_told_with_file_and_line(
    tmp_path: Path, text: str, line: int, says: str
) -> None:
    folder = tmp_path / "words"
    folder.mkdir()
    told = refused(load_sounds, sounds(folder, a='[sounds]\nroero = ["x"]\n', b=text))
    assert told.startswith(f"words/b.toml, line {line}: "), told
    assert says in told


def test_a_rule_table_s_errors_are_told_with_file_and_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "made-up.toml").write_text('[a]\nb = ["x"]\n\nb = ["y"]\n', encoding="utf-8")
    monkeypatch.setattr("dictate.lexicon.load.HERE", tmp_path)
    told = refused(lambda _: load_table("made-up"), tmp_path)
    assert told == "rules/made-up.toml, line 4: b stands twice; keep one"
    assert "not-there.toml" in refused(lambda _: load_table("not-there"), tmp_path)
