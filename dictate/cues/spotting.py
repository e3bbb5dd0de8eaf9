"""Was a cue said in a short stretch, though the recogniser wrote something else? Pure.

A few phrases are compared with the sound; what tells them from other talk is how likely the phrase is by
itself, how much likelier than what was written, whether a prompt that names the cues brings it up, how long
the stretch is, and whether it is speech at all. No one of these is enough: a prompt finds cues in noise, and
next to a bad text every phrase looks likely.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

CUE_PHRASES = (
    "spitting now",
    "swallowing now",
    "still there",
    "all gone",
    "it's gone",
    "gone",
    "next wine",
    "strike that",
    "off the record",
    "back on the record",
    "end of tasting",
)
STARTING = ("spitting now", "swallowing now")
STOPPING = ("all gone", "it's gone", "gone")
# proposed only while the clock runs: that is the only time they are said, and short words are what
# a prompt finds where they are not
CLOCK_PHRASES = ("still there", *STOPPING)
# few, and in this order: what the weights below were fitted with
FILLERS = ("okay", "ok", "right", "yeah", "yes", "and", "so", "now", "well", "alright")
_TRIED_IN_FRONT = ("okay", "right", "yeah", "and", "so")
_BREATH_LETTERS = 4  # of a word that a breath is taken for
# common talk that sounds like a cue: "nice wine" was said, not "next wine"
_SOUND_GONE = "it's cold|it's good|it's gold|it's long|it's strong|cold|good|gold|long|all good|dawn"
RIVALS: Mapping[str, frozenset[str]] = {
    phrase: frozenset(rivals.split("|"))
    for phrase, rivals in (
        ("next wine", "nice wine|white wine|best wine|next time"),
        ("strike that", "try that|like that|i like that"),
        ("still there", "still bare|still fair|still rare|still dare"),
        ("end of tasting", "and the tasting|in the tasting"),
        *((phrase, _SOUND_GONE) for phrase in STOPPING),
    )
}
_STARTS = re.compile(r"\b(spitting|swallowing)( it)?( out)? now\b|^(spitting|swallowing)$")
_STOPS = re.compile(r"^((it's|that's|all) )*gone( now)?$|\bnext wine\b|\bend of tasting\b")


def plain(text: str) -> str:
    """Lower case, letters, figures and apostrophes only: how cue phrases are compared."""
    return " ".join(re.findall(r"[^\W_]+(?:'[^\W_]+)*", text.lower().replace("’", "'")))


def without_fillers(said: str) -> str:
    """A plain text without the fillers at its beginning ("okay spitting now")."""
    words = said.split()
    while len(words) > 1 and words[0] in FILLERS:
        del words[0]
    return " ".join(words)


def clock_after(text: str, *, running: bool, chance: float = 1.0) -> bool:
    """Whether the finish clock runs after a breath group that said `text`; `chance`: how likely it was said.
    A hint for the spotter alone; the clock itself is read in `find_cues`."""
    said = without_fillers(plain(text))
    if running and said in STOPPING and chance < CERTAIN:
        return True  # the true one may come yet
    if _STARTS.search(said):
        return True
    return running and not _STOPS.search(said)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A cue phrase and a text in which it may have been said: "Okay, spitting now."."""

    phrase: str
    text: str


def candidates(texts: Sequence[str], phrases: Sequence[str], *, running: bool) -> tuple[Candidate, ...]:
    """What may have been said, to be weighed by its sound (each costs time): a phrase that ends one of
    `texts` (as the recogniser wrote the stretch, with a prompt and without), alone, with the fillers in front
    of it, and with a filler in place of other words there; and in any case what the clock waits for, which
    is written in any way ("gone" is short, "Spigamin now" was "spitting now"): what stops it while it runs,
    else what starts it. Not what was written with two words or more behind it ("still there were people"), or
    with one too long to be a breath taken for a word ("still there underneath").
    `texts`: the likeliest first; `running`: the clock runs."""
    wrote = f" {plain(texts[0])} " if texts else ""
    open_now = [
        p
        for p in phrases
        if (running or p not in CLOCK_PHRASES) and _maybe_breath(wrote.partition(f" {p} ")[2].split())
    ]
    waited_for = STOPPING if running else STARTING
    found = [_written(p) for p in open_now if p in waited_for]
    for said in dict.fromkeys(plain(text) for text in texts):
        ending = [p for p in open_now if f" {said}".endswith(" " + p) or said.rpartition(" ")[0] == p]
        for phrase in sorted(ending, key=len)[-1:]:  # of "all gone" and "gone" the former
            found.append(_written(phrase))
            front = said.removesuffix(phrase) if said.endswith(phrase) else ""
            found.extend(Candidate(phrase, text) for text in _in_front(front, phrase))
    return tuple({c.text: c for c in found}.values())


def _maybe_breath(behind: Sequence[str]) -> bool:
    """Nothing was said behind, or what may be a breath ("Spitting now on.")."""
    return len(behind) < 2 and all(len(word) <= _BREATH_LETTERS for word in behind)


def _written(phrase: str) -> Candidate:
    return Candidate(phrase, f"{phrase[0].upper()}{phrase[1:]}.")


def _in_front(front: str, phrase: str) -> Iterator[str]:
    words = front.split()
    if not words:
        return
    if all(word in FILLERS for word in words):
        yield f"{front.strip().capitalize()}, {phrase}."
    elif len(words) <= 2:
        yield from (f"{filler.capitalize()}, {phrase}." for filler in _TRIED_IN_FRONT)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for a candidate. `fit`: log-probability of its text given the sound; `gain`: how much more
    than the likeliest text written without a prompt that names cues (nats both); `first`: the share of
    listeners for whom such a prompt brings it up before all else; `seconds`: of the stretch; `silence`: the
    recogniser's probability that nobody speaks; `free`: the text written without such a prompt, and `score`
    how sure of it the recogniser is (mean log-probability); `distance`: from how the same words sounded
    earlier in this recording, None where they were not said (see `likeness.py`)."""

    candidate: Candidate
    fit: float
    gain: float
    first: float
    seconds: float
    silence: float
    free: str = ""
    score: float = 0.0
    distance: float | None = None

    @property
    def features(self) -> tuple[float, ...]:
        """What the weights are for, in their order."""
        return (
            max(-25.0, self.fit),
            max(-12.0, min(4.0, self.gain)),
            self.first,
            abs(self.seconds - usual_s(self.candidate.text)),
            self.silence,
            float(self.candidate.phrase == "gone"),
            max(-12.0, min(0.0, self.gain)) * max(0.0, 1 + self.score),  # worse than what was surely heard
            max(0.0, usual_s(self.free) - self.seconds),
            0.0 if self.distance is None else max(0.0, _FAR - self.distance),
            1.0,
        )


def usual_s(text: str) -> float:
    """Seconds that it takes to say this, about: no text is written of less time than that."""
    return 0.2 + 0.045 * sum(c.isalpha() for c in text) + 0.3 * text.count(",")


# Logistic regression on the half "choose" of the benches of clocks and false cues, 15 dB (27 Nov 2026):
# tests/bench/fit_cues.py fits them anew. Machine voices say a cue twice alike: the last but one is generous.
WEIGHTS = (0.33, -0.08, 2.74, -0.60, -5.52, -1.73, 0.09, 3.38, 9.65, 4.95)
AT_LEAST = 0.6  # probability
# ... which is enough where the clock says that a cue was said; below that none is weighed. Chosen on "choose"
# and "explore" of the bench of clocks, 15 dB: 20 cues of 400 are missed so (0.6: 26; 0.3: 14), and where all
# gone cues are cut out, a clock is stopped by another word in 9 of 200 finishes (0.6: 2; 0.3: 20)
PERHAPS = 0.4
CERTAIN = 0.9  # ... from which a cue may be an example of how this taster says it
_MORE_S = 0.8  # a stretch that is so much longer than its cue holds other words too, which would be lost
_RIVAL_GAIN = 2.0  # nats by which a rival that was written must fit better than the cue
_FAR = 0.6  # distance: 95 of 100 stretches with other words are farther (15 dB, the half "choose")


def chance(evidence: Evidence) -> float:
    """The probability that the candidate was said, and no more, 0 to 1."""
    if evidence.seconds - usual_s(evidence.candidate.text) > _MORE_S:
        return 0.0
    rivals = RIVALS.get(evidence.candidate.phrase, frozenset())
    if evidence.gain < -_RIVAL_GAIN and without_fillers(plain(evidence.free)) in rivals:
        return 0.0
    weighed = sum(w * f for w, f in zip(WEIGHTS, evidence.features, strict=True))
    return 1 / (1 + math.exp(-weighed))


def likeliest(found: Sequence[Evidence], at_least: float = AT_LEAST) -> Candidate | None:
    """The candidate that was most likely said, or None where none is likely enough."""
    best = max(found, key=chance, default=None)
    return best.candidate if best and chance(best) >= at_least else None
