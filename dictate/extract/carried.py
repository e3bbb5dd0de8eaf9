"""What only the breath before explains: "is that cork taint?" ... "yes"; "drink until 2030" ... "make that
2032"; "sweet" ... "the finish is dry"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dictate.extract.amends import LIST_FIELDS, as_correction
from dictate.extract.parsed import Parsed
from dictate.extract.questions import ASKED, affirms, open_questions
from dictate.language.fillers import HESITATIONS
from dictate.language.numbers import Number
from dictate.language.patterns import compile_any
from dictate.values import Reading

ANSWERED = "answered-next"
EXCUSED = "meant-to-be"
_MEANT = compile_any(
    [
        "^ but|and|well? it_'s|that_'s|it_is|that_is|which_is|they_are? meant|supposed to be|taste|smell|do",
        "^ but|and|well? as it should", "^ but|and|well? that 's|is how it should|the_style|the_point|normal",
        "^ but|and|well? on purpose", "^ but|and|well|it_'s|that_'s? deliberate|intentional|intended",
        "^ but|and|well|which|it|that? 's|is|it_'s|that_'s? not|no a? fault|flaw|problem",
    ]
)  # fmt: skip
REMEMBERED = "remembered"
_WAS = compile_any(["^ and|but? it|they|this|that was|were|had|showed|smelled|tasted"])
SHORT = 8  # words: a breath longer than this says something of its own
_SWEETNESS = "palate.sweetness"
_FINISH = frozenset(
    "finish finishes finished finishing end ends ending aftertaste after-taste tail close closes".split()
)
_TASTE = frozenset(["dry", "drier", "dryish", "sweet", "sweeter"])
_SUGAR = frozenset(["sugar", "sweetness", "residual", "rs"])
_NAYS = frozenset("no nope nah none neither negative".split())
_YEAS = frozenset("yes yeah yep yup definitely absolutely certainly".split())
_MAYBE = frozenset("maybe perhaps possibly probably think suppose might could".split())
_DENIES = frozenset(
    "no nope nah not really quite at all it that this is there 's isn't i don't think so".split()
)
_AROUND = HESITATIONS | frozenset("well and so but yes yeah actually okay ok".split())
_LEADS = frozenset("no nope sorry make call actually rather wait correction say meant mean or".split())
_BARE = _AROUND | _LEADS | frozenset(
    "that it let 's i 'd a to from until till through points out of not then hang on hold from".split()
)  # fmt: skip
_UNTIL = frozenset(["through", "until", "till"])
_YEARS = ("verdict.drink_from", "verdict.drink_to", "wine.vintage")
_COUNTED = ("verdict.score", "finish.seconds")


def asks_at_the_end(parsed: Parsed) -> int | None:
    """The first word of the question that a phrase ends with, None where it ends otherwise."""
    tokens = parsed.tokens
    asked = [first for first, last in open_questions(tokens) if last == len(tokens)]
    return tokens[asked[-1]].word if asked else None


def answer(parsed: Parsed) -> str:
    """ "yes", "maybe" or "no" of a breath that answers, alone ("I think so") or before it says more ("no,
    leather"), or ""."""
    texts = [t.text for t in parsed.tokens]
    if parsed.tokens and parsed.tokens[0].pause in (",", ".", ";") and len(texts) > 1:
        if texts[0] in _NAYS and texts[1] not in ("wait", "hang", "hold", "sorry"):
            return "no"
        if texts[0] in _YEAS:
            return "yes"
    if texts and texts[0] in _MAYBE:
        return "maybe"
    if not 0 < len(texts) <= SHORT or parsed.mentions or parsed.tokens[-1].pause == "?":
        return ""
    if texts[0] in _NAYS and set(texts) <= _DENIES | _AROUND:
        return "no"
    if any(t in _NAYS or t == "not" or t.endswith("n't") for t in texts):
        return ""
    if not affirms(parsed.tokens):
        return ""
    return "maybe" if _MAYBE.intersection(texts) else "yes"


def excuses(parsed: Parsed) -> bool:
    """Whether a breath begins by saying that what was named is meant ("meant to be, it's a fino")."""
    return _MEANT.search(parsed.line.text) is not None


def answered(reading: Reading, *, said: str) -> Reading:
    """A thing asked about, confirmed or denied by the breath behind the question."""
    if said == "maybe" and reading.field != "faults":
        return reading
    if said in ("yes", "maybe"):
        return replace(reading, scope="said", rule=ANSWERED, certain=said == "yes")
    if reading.field in (*LIST_FIELDS, "faults"):
        return replace(reading, scope="denied", rule=ANSWERED)
    return reading


def goes_on_remembering(parsed: Parsed) -> bool:
    """Whether a breath goes on with a memory: "last time I had it" ... "it was shut tight"."""
    return _WAS.search(parsed.line.text) is not None


def as_remembered(readings: Sequence[Reading]) -> list[Reading]:
    """What such a breath says, as a memory."""
    return [replace(r, scope="past", rule=REMEMBERED) if r.scope == "said" else r for r in readings]


def was_asked(reading: Reading) -> bool:
    """Whether a reading is of a question that nothing has answered yet."""
    return reading.rule == ASKED and (reading.scope == "doubtful" or reading.field == "faults")


def put_right(parsed: Parsed, before: Sequence[Reading]) -> list[Reading]:
    """ "make that 2032", "no, ninety three": a bare number that puts right the last number of the breath
    before; [] where it is none."""
    tokens = parsed.tokens
    numbers = parsed.numbers
    held = [r for r in before if r.field in (*_YEARS, *_COUNTED) and r.scope == "said"]
    if not held or not 1 <= len(numbers) <= 2 or len(tokens) > 2 * SHORT:
        return []
    inside = {place for n in numbers for place in range(n.first, n.last)}
    rest = [t.text for place, t in enumerate(tokens) if place not in inside]
    leads = rest[: numbers[0].first]
    if not leads or not set(leads) & (_LEADS | _UNTIL) or not set(rest) <= _BARE:
        return []
    years = [r for r in held if r.field in _YEARS]
    if all(n.kind == "year" for n in numbers):
        fields = [r.field for r in years][-len(numbers) :]
        if len(numbers) == 1 and set(leads) & _UNTIL:  # "drink from 2026" ... "through to, say, 2031"
            fields = ["verdict.drink_to"] if fields and "drink" in fields[-1] else []
        if len(numbers) == 2:
            fields = ["verdict.drink_from", "verdict.drink_to"] if fields and "drink" in fields[-1] else []
        return [_again(parsed, field, number) for field, number in zip(fields, numbers, strict=False)]
    last = held[-1]
    top = last.out_of or 100.0
    if len(numbers) == 1 and last.field in _COUNTED and numbers[0].kind == "cardinal":
        if last.field == "verdict.score" and numbers[0].value > top:
            return []
        return [replace(_again(parsed, last.field, numbers[0]), out_of=last.out_of)]
    return []


def _again(parsed: Parsed, field: str, number: Number) -> Reading:
    value = int(number.value) if field in _YEARS else number.value
    reading = parsed.reading(field, value, first=number.first, last=number.last, scope="said")
    return as_correction(reading)


def of_the_end(parsed: Parsed, readings: Sequence[Reading], *, held: Mapping[str, object]) -> list[Reading]:
    """The phrase's readings; "the finish is dry" is how the wine ends, and takes nothing from a sweetness
    that was said of it."""
    made: list[Reading] = []
    told = _SWEETNESS in held
    starts = {token.word: place for place, token in reversed(list(enumerate(parsed.tokens)))}
    for reading in readings:
        if reading.field != _SWEETNESS or reading.scope != "said" or reading.act == "drop":
            made.append(reading)
            continue
        if told and not reading.corrects and reading.first in starts:
            taste = _taste_of_the_end(parsed, reading, starts[reading.first])
            if taste:
                made.append(replace(reading, field="finish.flavours", value=taste, family="mouth"))
                continue
        told = True
        made.append(reading)
    return made


def _taste_of_the_end(parsed: Parsed, reading: Reading, place: int) -> str:
    """The word of taste in a reading of sweetness that is said of the finish, or ""."""
    first, last = parsed.clause_at(place)
    named = parsed.said_within(first, last, texts=_FINISH)
    if parsed.said_within(first, last, texts=_SUGAR) or not (named or parsed.phrase.stage == "finish"):
        return ""
    mine = [t.text for t in parsed.tokens if reading.first <= t.word < reading.last]
    return next((t for t in reversed(mine) if t in _TASTE), "")
