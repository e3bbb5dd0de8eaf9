"""Spoken corrections: "I said light, I meant medium", "make the acidity high", "scrap the violets"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.extract.amends import LIST_FIELDS, as_correction
from dictate.extract.leveltable import LevelTable
from dictate.extract.parsed import Parsed
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.language.patterns import compile_any
from dictate.values import Reading

_SAID = compile_any(
    ["i said|called_it|put|wrote", "i have|'ve said|called_it|put|written", "i called the|it"]
)
_MEANT = compile_any(
    [
        "i meant|mean",
        "i ought_to|should|meant_to|wanted_to have? said|say|put|written|write",
        "i should have said",
        "should be|have_been",
        "it 's actually|really",
        "i meant to say",
        "make that|it",
        "but … it_'s|that_'s|it_is|that_is more|rather|really|actually|nearer|closer",
    ]
)
# what is meant stands before these: "when I said brick, mahogany would be nearer the mark"
_NEARER = compile_any(
    [
        "would|might|'d|should be|have_been nearer|closer|better|fairer|kinder|more_like_it|the_word",
        "is|'s nearer|closer|fairer|more_like_it",
    ]
)
_MAKE = compile_any(
    [
        "no? ,? make the|that|it|those|my",
        "change the|that|it|my",
        "correct the|that",
        "i should have said|put|written",
        "^ no|sorry? ,? change|make|correct acidity|acid|acids|tannin|tannins|alcohol|body|sweetness",
        "correction",
        "i 'll change|revise",
        "let me change|correct|revise",
        "on second thoughts|thought",
        "actually ,? make",
    ]
)
_MOVED = compile_any(
    [
        "drop|raise|lower|lift|bump|bring|move|take|put the|that|it|my * *? up|down|back? to",
        "drop|raise|lower|lift|bump it|that up|down? to",
        "amend|alter|adjust|revise|correct it|that|this|the * *? to|into",
        "amend|alter|adjust|revise|correct|change it|that|this to|into",
    ]
)
_UNDONE = compile_any(
    ["scrap|forget|cancel|delete|ignore|scratch that|it ,", "rub|wipe|cross|strike that|it|this out|off ,"]
)
# one thing in place of another: [0] before the old, [1] between the two
_SWAPS = (
    (
        compile_any(["change|swap|replace|turn|switch|exchange the|that|those|my?"]),
        compile_any(["to|into|for|with|by the?"]),
    ),
    (
        compile_any(["instead of|in_place_of the|that|those?", "instead of", "in place of the?"]),
        compile_any([",? put|write|say|read|make_it|have|call_it the?"]),
    ),
    (compile_any(["^ for the|that?"]), compile_any([",? read|put|write the?"])),
    (compile_any(["make the|those|that"]), None),
)
_OF_NO_TABLE = {
    "score": "verdict.score", "points": "verdict.score", "vintage": "wine.vintage",
    "colour": "appearance.hue", "color": "appearance.hue", "hue": "appearance.hue",
    "balance": "palate.balance",
}  # fmt: skip
_CLOSED = frozenset(["appearance.clarity", "nose.age", "palate.balance", "verdict.readiness"])
_SCRAP = compile_any(
    [
        "scrap|strike|drop|delete|remove|forget|lose|ditch|cancel the|that|what_i_said_about|those|my",
        "take out the|that|those",
        "take the",
        "cross out the|that",
        "pull|yank|axe|bin|chuck|omit|withdraw the|that|those",
        "take|taking|took the|that * *? back",
        "made|make|'ve_made a? mistake with|about|on the|that|those?",
        "i|we 'm|am|was|were making|inventing|imagining the|that|those",
        "i|we made|invented|imagined the|that|those",
        "scratch the|that",
        "leave out the",
        "^ no|and|oh|sorry|please? ,? scrap|delete|remove|cancel|strike|scratch|ditch|erase !that !it !this",
        "forget|scrap|ignore|delete|cancel what i said|put|wrote about|on|for the|my?",
        "never mind the",
    ]
)


def read_corrections(parsed: Parsed, readings: Sequence[Reading], *, levels: LevelTable) -> list[Reading]:
    """The phrase's readings, with what it takes back marked `drop` and what it puts right marked
    `corrects` (source "stated later"). A phrase without a correction is given back as it is."""
    undone = next(parsed.line.spans(_UNDONE), None)
    if undone:  # "elderflower, no, scrap that, it's more like pea shoots"
        start = parsed.tokens[undone[1] - 1].word + 1
        return [*_undone(readings, start), *(as_correction(r) for r in readings if r.first >= start)]
    swapped = _swapped(parsed, readings)
    if swapped:
        return swapped
    moved = next(parsed.line.spans(_MOVED), None)
    scrap = next(parsed.line.spans(_SCRAP), None) if moved is None else None
    if scrap:
        end = parsed.clause_end(scrap[1])
        after = parsed.tokens[end - 1].word
        # "strike the fig, say prune"
        kept = [as_correction(r) if r.field in LIST_FIELDS else r for r in readings if r.first > after]
        gone = _told(parsed, readings, scrap[1], end) or _scrapped(parsed, scrap[1], levels=levels)
        return [*_readings_before(parsed, readings, scrap[0]), *gone, *kept]
    said = next(parsed.line.spans(_SAID), None)
    meant = next(((a, b) for a, b in parsed.line.spans(_MEANT) if said and a >= said[1]), None)
    if said and meant is None:
        meant = _said_nearer(parsed, said[1])
    if said and meant:
        return _said_and_meant(parsed, readings, said[1], meant)
    make = moved or next(parsed.line.spans(_MAKE), None)
    if make:
        start = parsed.tokens[make[0]].word
        return [as_correction(r) if r.first >= start else r for r in readings]
    return list(readings)


def _undone(readings: Sequence[Reading], start: int) -> list[Reading]:
    """What stands before "scrap that", said and dropped, so that the history can tell of it."""
    made = []
    for reading in readings:
        slip = reading.rule == SELF_REPAIR
        if reading.last > start or reading.scope not in ("said", "denied"):
            continue
        if reading.field not in LIST_FIELDS:
            made.append(replace(reading, scope="denied", rule=SELF_REPAIR))
            continue
        if slip or reading.scope == "said":
            made.append(replace(reading, scope="said", rule=""))
        made.append(replace(as_correction(reading), act="drop", scope="said"))
    return made


def _swapped(parsed: Parsed, readings: Sequence[Reading]) -> list[Reading]:
    """ "swap the violets for roses": the old is dropped and the new corrects; [] where nothing is swapped."""
    for begins, between in _SWAPS:
        for first, last in parsed.line.spans(begins):
            olds = [m for m in parsed.mentions if m.first == last and (m.of("descriptor") or m.of("hue"))]
            if not olds:
                continue
            links = parsed.line.spans(between) if between else [(olds[0].last, olds[0].last)]
            new = next((b for a, b in links if a in (olds[0].last, olds[0].last - 1)), None)
            if new is None or not any(m.first == new for m in parsed.mentions):
                continue
            word = parsed.tokens[new].word
            fresh = [replace(as_correction(r), scope="said", rule="") for r in readings if r.first >= word]
            gone = _dropped(parsed, last, olds[0].last)
            return [*_readings_before(parsed, readings, first), *gone, *fresh]
    return []


def _readings_before(parsed: Parsed, readings: Sequence[Reading], place: int) -> list[Reading]:
    """Readings of words before a token."""
    word = parsed.tokens[place].word
    return [r for r in readings if r.last <= word]


def _dropped(parsed: Parsed, start: int, end: int) -> list[Reading]:
    """Drops of the lexicon's words in tokens [start, end)."""
    return [
        replace(
            as_correction(
                parsed.reading(f"*{entry.kind}", entry.term, first=m.first, last=m.last, scope="said")
            ),
            act="drop",
        )
        for m in parsed.mentions
        if start <= m.first < end
        for entry in m.entries
    ]


def _scrapped(parsed: Parsed, start: int, *, levels: LevelTable) -> list[Reading]:
    end = parsed.clause_end(start)
    found = _dropped(parsed, start, max(end, start + 1))
    if found or end <= start:
        return found
    fields = {a.field for a in levels.attributes for p, _ in parsed.line.spans(a.nouns) if start <= p < end}
    fields |= {_OF_NO_TABLE[t.text] for t in parsed.tokens[start:end] if t.text in _OF_NO_TABLE}
    if not fields:  # "scrap the pale business"
        words = ((a, p) for a in levels.attributes if parsed.phrase.stage in a.stages for _, p in a.words)
        fields = {
            a.field for a, pattern in words if any(start <= p < end for p, _ in parsed.line.spans(pattern))
        }
    for field in sorted(fields) or ["*descriptor"]:
        reading = parsed.reading(field, parsed.text(start, end).lower(), first=start, last=end, scope="said")
        found.append(replace(as_correction(reading), act="drop"))
    return found


def _told(parsed: Parsed, readings: Sequence[Reading], start: int, end: int) -> list[Reading]:
    """Drops of the note's own terms in tokens [start, end): "I take the brilliant back"."""
    if start >= end:
        return []
    first, last = parsed.tokens[start].word, parsed.tokens[end - 1].word
    mine = (r for r in readings if r.field in _CLOSED and first <= r.first <= last)
    return [replace(as_correction(r), act="drop", scope="said") for r in mine]


def _said_nearer(parsed: Parsed, said: int) -> tuple[int, int] | None:
    """Where the clause begins that tells what would be nearer the mark."""
    for first, _ in parsed.line.spans(_NEARER):
        start = parsed.clause_at(first)[0]
        if start >= said:
            return start, start
    return None


def _said_and_meant(
    parsed: Parsed, readings: Sequence[Reading], said: int, meant: tuple[int, int]
) -> list[Reading]:
    """What stands between "I said" and "I meant" is taken back, what follows is put right."""
    from_word, to_word = parsed.tokens[said].word, parsed.tokens[meant[0]].word
    after = parsed.tokens[meant[1] - 1].word + 1 if meant[1] > meant[0] else to_word
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
            fixed.append(as_correction(reading))
        else:
            fixed.append(reading)
    return fixed
