"""Corrections that only what was said before makes such: "sorry, the acidity is high", "not lemon, gold";
and where what takes a thing's place belongs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dictate.extract.parsed import Parsed
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.language.patterns import compile_any
from dictate.values import Reading

LIST_FIELDS = ("nose.aromas", "palate.flavours", "finish.flavours", "palate.texture", "palate.tannin_texture")
_SMELT = LIST_FIELDS[:3]
_GRAPES = "wine.grapes"
_HUE, _RIM = "appearance.hue", "appearance.rim"
# how a phrase begins that puts right what was said before
_LEADS = compile_any(
    [
        "^ oh|and|but|well|hmm? ,? no|nope|sorry|wait|correction|hang_on|hold_on|rather|my_mistake ,",
        "^ oh|and|but|well? ,? no|sorry|wait|actually the|that|it|make|rather|actually|more|it_'s|that_'s",
        "^ oh|and|but|well? ,? no|sorry? ,? actually|correction|on_reflection",
        "^ oh|sorry|no? ,? i take that|it back", "^ i tell a lie", "^ oh|sorry|no? ,? i mean|meant !,",
        "^ oh|sorry|no? ,? i should have said|put|written", "^ not * *? *? ,",
        "^ oh|and|sorry|no? ,? correction|amend|alter",
        "^ oh|sorry|no? ,? change|make|correct|put !it_with !with !down !out",
    ]
)  # fmt: skip


def as_correction(reading: Reading) -> Reading:
    """A reading that puts right what was said before."""
    return replace(reading, corrects=True, source="stated later")


def amended(parsed: Parsed, readings: Sequence[Reading], *, held: Mapping[str, object]) -> list[Reading]:
    """The phrase's readings; one that says a thing otherwise than `held` (by field, what was said of the
    wine before) puts it right where the phrase begins so, or where it denies what is held."""
    leads = _LEADS.search(parsed.line.text) is not None
    denied = {(r.field, r.value) for r in readings if r.scope == "denied"}
    made = []
    for reading in readings:
        before = held.get(reading.field)
        anew = before is not None and before != reading.value and reading.field not in LIST_FIELDS
        single = reading.scope == "said" and reading.act == "set" and reading.field != "faults"
        if anew and single and (leads or (reading.field, before) in denied):
            reading = as_correction(reading)
        made.append(reading)
    return made


def in_place_of(readings: Sequence[Reading], *, listed: Mapping[str, str]) -> list[Reading]:
    """What takes the place of a thing goes where that was: "make the violets roses", said on the palate
    of the nose. `listed`: by thing, the field in which it was said last."""
    gone = next((str(r.value) for r in readings if r.act == "drop" and str(r.value) in listed), None)
    if gone is None or listed[gone] not in _SMELT:
        return list(readings)
    return [
        replace(r, field=listed[gone]) if r.corrects and r.act == "set" and r.field in _SMELT else r
        for r in readings
    ]


def of_the_rim(readings: Sequence[Reading], *, held: Mapping[str, object]) -> list[Reading]:
    """ "When I said brick I was unkind, mahogany is nearer": what is put right is of the rim where the hue
    taken back was."""
    rim = held.get(_RIM)
    gone = any(r.act == "drop" and r.field == _HUE and r.value == rim for r in readings)
    if rim is None or not gone or held.get(_HUE) == rim:
        return list(readings)
    return [replace(r, field=_RIM) if r.field == _HUE and r.corrects else r for r in readings]


def remember(readings: Sequence[Reading], *, held: dict[str, object], listed: dict[str, str]) -> None:
    """Notes what a phrase said, for `amended` and `in_place_of`."""
    for reading in readings:
        if reading.scope != "said" or reading.act != "set":
            continue
        if reading.field in LIST_FIELDS:
            listed[str(reading.value)] = reading.field
        elif reading.field not in held or reading.corrects or reading.field == _GRAPES or _is_level(reading):
            held[reading.field] = reading.value


def _is_level(reading: Reading) -> bool:
    return isinstance(reading.value, float)


def strike_misnamed(parsed: Parsed, readings: Sequence[Reading]) -> list[Reading]:
    """ "some leaves, that's lees, not leaves": what ends a clause behind "not" was a slip where the
    same words were said before."""
    slips: dict[tuple[str, ...], int] = {}
    for first, last in parsed.clauses:
        nots = [p for p in range(first, last - 1) if parsed.tokens[p].text == "not"]
        if nots:
            slips[tuple(t.text for t in parsed.tokens[nots[-1] + 1 : last])] = parsed.tokens[nots[-1]].word
    if not slips:
        return list(readings)
    texts: dict[int, list[str]] = {}
    for token in parsed.tokens:
        texts.setdefault(token.word, []).append(token.text)

    def slipped(reading: Reading) -> bool:
        mine = tuple(text for word in range(reading.first, reading.last) for text in texts.get(word, ()))
        return reading.last <= slips.get(mine, 0)

    return [
        replace(r, scope="denied", rule=SELF_REPAIR)
        if r.scope == "said" and r.field in LIST_FIELDS and slipped(r)
        else r
        for r in readings
    ]
