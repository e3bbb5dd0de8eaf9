"""The cue table: each rule's examples, each phrase, each blocking word; errors in a table."""

from __future__ import annotations

from typing import Any

import pytest

from dictate.cues import CueTableError, cue_table, find_cues
from dictate.cues.grammar import Rule
from dictate.cues.match import Line, State, match_at
from dictate.lexicon import load_table
from tests.cues.said import TABLE, heard, said, spoken

RAW: list[dict[str, Any]] = load_table("cues")["rules"]
PAIRS = list(zip(RAW, TABLE.rules, strict=True))


def needed(rule: Rule) -> State:
    return State(clock=rule.needs_clock, paused=rule.needs_pause)


def before(rule: Rule) -> list[str]:
    """What must be said before it."""
    return ["spitting now"] * rule.needs_clock + ["pause the notes"] * rule.needs_pause


def fires(text: str, rule: Rule) -> bool:
    """Whether exactly this rule fires anywhere in one utterance, the clock running or the notes paused where
    it needs that."""
    line = Line(said(text), TABLE)
    places = range(len(line.tokens))
    matches = [match_at(line, p, state=needed(rule)) for p in places]
    return any(m is not None and m.rule == rule for m in matches)


def sentences(key: str) -> list[Any]:
    return [pytest.param(text, rule, id=f"{rule.name}: {text}") for raw, rule in PAIRS for text in raw[key]]


@pytest.mark.parametrize(("text", "rule"), sentences("example"))
def test_each_rule_fires_on_its_examples(text: str, rule: Rule) -> None:
    assert fires(text, rule)


@pytest.mark.parametrize(("text", "rule"), sentences("counter"))
def test_no_rule_of_the_kind_fires_on_the_counters(text: str, rule: Rule) -> None:
    words = spoken(*before(rule), text)
    found = find_cues(words, TABLE)
    assert not [c for c in found.cues if c.kind == rule.kind and c.words[0].utterance == words[-1].utterance]


def tail(raw: dict[str, Any]) -> str:
    return f" {raw['needs_after'][0]} nine" if "needs_after" in raw else ""


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p[1].name)
def test_each_phrase_and_each_filler_fires(pair: tuple[dict[str, Any], Rule]) -> None:
    raw, rule = pair
    for phrase in [*raw["phrases"], *raw.get("misheard", ())]:
        line = Line(said(phrase + tail(raw)), TABLE)
        match = match_at(line, 0, state=needed(rule))
        assert match is not None, phrase
        assert match.rule.kind == rule.kind, phrase
    for filler in [*load_table("cues")["fillers"], *raw.get("fillers", ())]:
        found = find_cues(spoken(*before(rule), f"{filler} {raw['phrases'][0]}{tail(raw)}"), TABLE)
        assert found.cues[-1].kind == rule.kind, filler


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: p[1].name)
def test_each_blocking_word_blocks(pair: tuple[dict[str, Any], Rule]) -> None:
    raw, rule = pair
    phrase = raw["phrases"][0]
    # the same sentences with a harmless word fire, so it is the blocking word that blocks
    assert not raw.get("blocked_after") or fires(f"{phrase} seventeen", rule)
    assert not raw.get("blocked_beyond") or fires(f"{phrase} (0.5) seventeen", rule)
    assert not raw.get("blocked_before") or fires(f"seventeen (0.5) {phrase}", rule)
    for word in raw.get("blocked_after", ()):
        joined = f"{phrase}{word}" if word.startswith("'") else f"{phrase} {word}"
        assert not fires(f"{joined} it", rule), word
    for word in raw.get("blocked_beyond", ()):
        assert not fires(f"{phrase} (0.5) {word}", rule), word
        assert not fires(f"{phrase} (0.5) um {word}", rule), word
    for word in raw.get("blocked_across", ()):
        assert not fires(f"{phrase} (0.5) {word}", rule), word
        soon, late = (spoken(*before(rule), phrase, f"{word} it", gap_s=gap_s) for gap_s in (0.8, 1.2))
        kinds = [[c.kind for c in find_cues(words, TABLE).cues] for words in (soon, late)]
        assert rule.kind not in kinds[0], word  # in the next breath group, the clock running or not
        assert rule.kind in kinds[1], word
    for word in raw.get("blocked_before", ()):
        head = f"fruit{word}" if word.startswith("'") else f"fruit {word}"
        assert not fires(f"{head} (0.5) {phrase}", rule), word


@pytest.mark.parametrize("pair", [p for p in PAIRS if p[1].needs_clock], ids=lambda p: p[1].name)
def test_rules_that_need_the_clock_do_nothing_without(pair: tuple[dict[str, Any], Rule]) -> None:
    raw, _ = pair
    tail = "" if raw["after"] == "bare" else ", thanks"
    line = Line(said(raw["phrases"][0] + tail), TABLE)
    assert match_at(line, 0, state=State(clock=True)) is not None
    assert match_at(line, 0, state=State()) is None


def test_a_tasters_phrases_join_the_table() -> None:
    table = cue_table(load_table("cues"), added={"begin": ["new glass"], "gone": ["basta"]})
    words = spoken("new glass, number two", "spitting now", "basta")
    assert heard(find_cues(words, table)) == ["begin: new glass", "away: spitting now", "gone: basta"]
    assert heard(find_cues(words, TABLE)) == ["away: spitting now"]
    assert "new glass" in table.spoken["begin"]


GOOD = {"kind": "begin", "phrases": ["next wine"], "position": "breath", "after": "any"}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"kind": "start"}, "kind must be one of"),
        ({"phrases": []}, "needs phrases"),
        ({"phrases": [7]}, "list of words"),
        ({"phrases": "next wine"}, "list of words"),
        ({"position": "start"}, "position must be one of"),
        ({"blocked": ["to"]}, "unknown key 'blocked'"),
        ({"blocked_after": ["..."]}, "list of words"),
    ],
)
def test_a_wrong_rule_is_refused(change: dict[str, Any], told: str) -> None:
    assert len(cue_table({"rules": [GOOD]}).rules) == 1
    with pytest.raises(CueTableError, match=told):
        cue_table({"rules": [GOOD | change]})


def test_a_wrong_kind_of_added_phrase_is_refused() -> None:
    with pytest.raises(CueTableError, match="is no cue"):
        cue_table({"rules": [GOOD]}, added={"start": ["go"]})
    with pytest.raises(CueTableError, match="list of words"):
        cue_table({"rules": [GOOD]}, added={"begin": ["  "]})
