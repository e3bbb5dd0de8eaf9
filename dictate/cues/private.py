"""Which words are off the record, and the seconds they take. Pure.

Privacy wins over everything: from "off the record" on all is private until "back on the record" or, when
that is never said, to the end of the recording, whatever other cues come between.
"""

from __future__ import annotations

from collections.abc import Sequence

from dictate.cues.match import Line, Match


def public_words(line: Line, match: Match) -> range:
    """The words of a cue. A word that runs on behind "off the record" ("record-he") is left to privacy."""
    first, last = line.tokens[match.first].word, line.tokens[match.last - 1].word
    return range(first, last + line.starts_word(match.last))


def private_stretches(line: Line, matches: Sequence[Match]) -> tuple[range, ...]:
    """The words between each private_on cue and its private_off cue, or the end, as word ranges."""
    stretches: list[range] = []
    start: int | None = None
    for match in matches:
        if match.rule.kind == "private_on":
            start = public_words(line, match).stop
        elif match.rule.kind == "private_off" and start is not None:
            stretches.append(range(start, public_words(line, match).start))
            start = None
    if start is not None:
        stretches.append(range(start, len(line.words)))
    return tuple(stretches)


def private_seconds(line: Line, stretch: range) -> tuple[float, float]:
    """From the end of the "off the record" cue to the start of the next cue, seconds.

    The pauses at both ends are in it, for speech there may have gone unrecognised. With no way back it
    ends with the last word: a caller that knows the recording's length takes that instead.
    """
    words = line.words
    start_s = words[stretch.start - 1].end_s if stretch.start else words[0].start_s
    end_s = words[stretch.stop].start_s if stretch.stop < len(words) else words[-1].end_s
    return (start_s, max(start_s, end_s))
