"""Pauses that a taster made and the recogniser did not write: "very good not quite great, keep it", where the
words alone tell that a new thought begins. Common practice, no source: collected from spoken notes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from dictate.language.patterns import Line, compile_any, compile_pattern
from dictate.language.tokens import Token

_MORE = (
    "fuller|deeper|lighter|paler|darker|heavier|higher|lower|longer|shorter|sweeter|drier|softer|firmer|bigger"
    "|more|less"
)
_DEGREE = "medium|full|light|pale|deep|high|low|long|short|moderate"
_WORTH = (
    "good|great|excellent|outstanding|superb|magnificent|poor|fair|average|special|lovely|wine|bottle|stuff"
)
_ASKED = "!what !if !why !who !how !where !when !which !whether !that !this !the !it !him !her !them !any"
_OF_LEGS = "big|slow|fat|long|thick|thin|tiny|fine"
# "/" is where the pause was
_RULES = (
    f"* / no {_MORE} than that|this ,? {_DEGREE}",  # "I suppose no fuller than that medium to full"
    f"no / {_MORE} than that|this ,? {_DEGREE}",
    f"{_MORE} than that|this / {_DEGREE} $",  # "deeper than that medium and big slow legs"
    f"{_MORE} than that|this / {_DEGREE} plus|minus|to|and|,",
    f"{_DEGREE} / and|with {_OF_LEGS}? {_OF_LEGS}? legs|tears|bubbles|beads",
    "more|less|better than that / it|they|and|but|* tastes|smells|looks|feels|finishes|is|are|has",
    "like|of / i don't know the|a|an|my|some|old",
    "like|of ,? i don't know / the|a|an|my|some|old",
    f"and|some|like / do you know {_ASKED} *",
    f"and|some|like do you know / {_ASKED} *",
    f", do you know / {_ASKED} *",
    "what 's|is it / !called !for !say !saying !about !doing !to !from !that *",
    ", you know / the|a|an|that|those|some *",
    f"{_WORTH} / keep|drink|put|give|leave|hold it|this|them",
    f"{_WORTH} / drink now|up|soon|from|until|till|by",
    f"{_WORTH} / drink|put|lay it|this away|down|now",
    "# / and i|we|it|you *",
    "not|isn't|out in|of balance|proportion|harmony / the|it|that|all",
    "not balanced|harmonious / the|it|that",
)
_FILLERS = (("do", "you", "know"), ("what", "'s", "it"), ("what", "is", "it"))  # they ask nothing


def _parted(rule: str) -> tuple[str, str]:
    """What stands in front of the pause, and all of it."""
    before, after = rule.split(" / ")
    return before, f"{before} {after}"


_WRITTEN = tuple(map(_parted, _RULES))
_LOST = tuple((compile_pattern(before), compile_pattern(whole)) for before, whole in _WRITTEN)
_ANY = compile_any(whole for _, whole in _WRITTEN)


def with_lost_commas(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """The tokens, with a comma where one was lost; pauses that were written stay. A question mark that only
    a filler had brought ("and, do you know, old candles?") becomes a full stop."""
    line = Line(tokens)
    if not _ANY.search(line.text):
        return tuple(tokens)
    places = set(_places(line))
    made = [
        replace(token, pause=",") if place in places and not token.pause else token
        for place, token in enumerate(tokens)
    ]
    for place in places:
        if tuple(t.text for t in made[max(0, place - 2) : place + 1]) in _FILLERS:
            end = next((p for p in range(place + 1, len(made)) if made[p].pause), len(made) - 1)
            if made[end].pause == "?":
                made[end] = replace(made[end], pause=".")
    return tuple(made)


def _places(line: Line) -> Iterable[int]:
    """Tokens behind which a comma was lost."""
    for before, whole in _LOST:
        ends = dict(line.spans(before))
        for first, _ in line.spans(whole):
            if first in ends:
                yield ends[first] - 1
