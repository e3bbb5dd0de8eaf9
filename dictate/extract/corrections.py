"""Spoken corrections: "I said light, I meant medium", "make the acidity high", "scrap the violets"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.extract.parsed import Parsed
from dictate.language.patterns import compile_any
from dictate.values import Reading

_SAID = compile_any(["i said|called_it|put"])
_MEANT = compile_any(
    [
        "i meant|mean",
        "i should have said",
        "should be|have_been",
        "it 's actually|really",
        "i meant to say",
        "make that|it",
    ]
)
_MAKE = compile_any(
    [
        "no? ,? make the|that|it|those|my",
        "change the|that|my",
        "correct the|that",
        "correction",
        "i 'll change|revise",
        "let me change|correct|revise",
        "on second thoughts|thought",
        "actually ,? make",
    ]
)
LIST_FIELDS = ("nose.aromas", "palate.flavours", "finish.flavours", "palate.texture", "palate.tannin_texture")
_UNDONE = compile_any(["scrap|forget|cancel|delete|ignore|scratch that|it ,"])
_SCRAP = compile_any(
    [
        "scrap|strike|drop|delete|remove|forget|lose|ditch|cancel the|that|what_i_said_about|those|my",
        "take out the|that|those",
        "take the",
        "cross out the|that",
        "scratch the|that",
        "leave out the",
        "never mind the",
    ]
)


def read_corrections(parsed: Parsed, readings: Sequence[Reading]) -> list[Reading]:
    """The phrase's readings, with what it takes back marked `drop` and what it puts right marked
    `corrects` (source "stated later"). A phrase without a correction is given back as it is."""
    undone = next(parsed.line.spans(_UNDONE), None)
    if undone:  # "elderflower, no, scrap that, it's more like pea shoots"
        start = parsed.tokens[undone[1] - 1].word + 1
        before = [r for r in readings if r.last <= start and r.field in LIST_FIELDS]
        gone = [r for r in before if r.scope in ("said", "denied")]
        dropped = [replace(_corrected(r), act="drop", scope="said") for r in gone]
        return [*dropped, *(_corrected(r) for r in readings if r.first >= start)]
    scrap = next(parsed.line.spans(_SCRAP), None)
    if scrap:
        end = next((b for a, b in parsed.clauses if a <= scrap[1] < b), len(parsed.tokens))
        after = parsed.tokens[end - 1].word
        kept = [r for r in readings if r.first > after]  # "strike the fig, say prune"
        return [*_readings_before(parsed, readings, scrap[0]), *_scrapped(parsed, scrap[1]), *kept]
    said = next(parsed.line.spans(_SAID), None)
    meant = next(((a, b) for a, b in parsed.line.spans(_MEANT) if said and a >= said[1]), None)
    if said and meant:
        return _said_and_meant(parsed, readings, said[1], meant)
    make = next(parsed.line.spans(_MAKE), None)
    if make:
        start = parsed.tokens[make[0]].word
        return [_corrected(r) if r.first >= start else r for r in readings]
    return list(readings)


def _readings_before(parsed: Parsed, readings: Sequence[Reading], place: int) -> list[Reading]:
    """Readings of words before a token."""
    word = parsed.tokens[place].word
    return [r for r in readings if r.last <= word]


def _corrected(reading: Reading) -> Reading:
    return replace(reading, corrects=True, source="stated later")


def _scrapped(parsed: Parsed, start: int) -> list[Reading]:
    end = next((b for a, b in parsed.clauses if a <= start < b), len(parsed.tokens))
    found = []
    for mention in parsed.mentions:
        if not start <= mention.first < max(end, start + 1):
            continue
        for entry in mention.entries:
            reading = parsed.reading(
                f"*{entry.kind}", entry.term, first=mention.first, last=mention.last, scope="said"
            )
            found.append(replace(reading, act="drop", corrects=True, source="stated later"))
    if not found and end > start:
        reading = parsed.reading(
            "*descriptor", parsed.text(start, end).lower(), first=start, last=end, scope="said"
        )
        found.append(replace(reading, act="drop", corrects=True, source="stated later"))
    return found


def _said_and_meant(
    parsed: Parsed, readings: Sequence[Reading], said: int, meant: tuple[int, int]
) -> list[Reading]:
    """What stands between "I said" and "I meant" is taken back, what follows is put right."""
    from_word, to_word = parsed.tokens[said].word, parsed.tokens[meant[0]].word
    after = parsed.tokens[meant[1] - 1].word + 1
    fixed = []
    for reading in readings:
        if (
            from_word <= reading.first < to_word
            and reading.field != "palate.balance"
            and isinstance(reading.value, str)
        ):
            fixed.append(replace(reading, act="drop", corrects=True, scope="said"))
        elif from_word <= reading.first < to_word:
            continue  # the level that was wrong: the right one replaces it
        elif reading.last >= after:
            fixed.append(_corrected(reading))
        else:
            fixed.append(reading)
    return fixed
