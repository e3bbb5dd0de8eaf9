"""Hears breath groups among their neighbours: the words and the sound of each as heard there. EDGE."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile

import numpy as np
from numpy.typing import NDArray

from dictate.audio.speech import Stretch
from dictate.recognise.decoder import MAX_SECONDS, Timed
from dictate.recognise.listeners import Listeners, Sound
from dictate.recognise.windows import Window, laid_out, parted

_DOUBTFUL = -1.0  # mean log-probability of a token below which a group is heard by itself too

_FEW = 3  # words of a group that all may belong to one further on
_MOVED = 2  # words at an edge that may belong to the group beside
_WORTH = 2.0  # nats by which the sound must speak for that


@dataclass(frozen=True, slots=True)
class Among:
    """A breath group as heard among its neighbours. `timed`: its words, in seconds of the samples; `others`:
    what the other listeners write; `sure`: whether that is likely enough to need no other hearing."""

    sound: Sound
    timed: tuple[Timed, ...]
    others: tuple[str, ...]
    sure: bool

    @property
    def text(self) -> str:
        """The words."""
        return _text(self.timed)


def hear_among(
    listeners: Listeners, samples: NDArray[np.float32], *, run: Sequence[Stretch]
) -> list[Among | None]:
    """The breath groups of a run (see `in_windows`), in order; None of one that fills more than a window, and
    where the first listener went round in a loop."""
    if run[-1].end_s - run[-1].start_s > MAX_SECONDS - 1:
        return [None] * len(run)
    window = laid_out(samples, run)
    long = listeners.listen_long(window.samples)
    if long.looped:
        return [None] * len(run)
    return [*_groups(listeners, window, sound=long.sound, timed=long.timed)]


def _groups(
    listeners: Listeners, window: Window, *, sound: Sound, timed: Sequence[Sequence[Timed]]
) -> list[Among]:
    parts = [listeners.part(sound, place.start_s, end_s=place.end_s) for place in window.places]
    first, *others = (parted(words, window) for words in timed)
    words, sure = _better_parted(listeners, parts, groups=first)
    groups = []
    for number, part in enumerate(parts):
        texts = (_text(other[number]) for other in others)
        groups.append(Among(part, words[number], tuple(filter(None, texts)), sure[number]))
    return groups


def _better_parted(
    listeners: Listeners, parts: Sequence[Sound], *, groups: Sequence[tuple[Timed, ...]]
) -> tuple[list[tuple[Timed, ...]], list[bool]]:
    """Where the words at the edge of two groups do not fit the sound they are timed in well, they go where
    they fit: the times that Whisper gives are up to half a second off.
    The words of each, and whether they are sure there."""
    words = list(groups)
    sure = [_is_sure(listeners, part, words=group) for part, group in zip(parts, words, strict=True)]
    for n in range(len(parts) - 1):
        if sure[n] and sure[n + 1]:
            continue
        left, right = words[n], words[n + 1]
        ways = [(left, right)]
        ways += [(left[:-k], left[-k:] + right) for k in range(1, min(_MOVED, len(left)) + 1)]
        ways += [(left + right[:k], right[k:]) for k in range(1, min(_MOVED, len(right)) + 1)]
        fits = _fits(listeners, parts[n], groups=[way[0] for way in ways])
        fits += _fits(listeners, parts[n + 1], groups=[way[1] for way in ways])
        best = int(np.argmax(fits))
        if best and fits[best] > fits[0] + _WORTH:
            words[n], words[n + 1] = ways[best]
            sure[n] = _is_sure(listeners, parts[n], words=words[n])
            sure[n + 1] = _is_sure(listeners, parts[n + 1], words=words[n + 1])
    for n, group in enumerate(words):
        free = list(takewhile(lambda m: not words[m], range(n + 1, len(words))))
        if not sure[n] and 0 < len(group) <= _FEW and free:  # a noise is timed as what was said behind it
            there = [float(_fits(listeners, parts[m], groups=[group])[0]) for m in (n, *free)]
            best = int(np.argmax(there))
            if best and there[best] > there[0] + _WORTH:
                place = free[best - 1]
                words[n], words[place] = (), group
                sure[place] = _is_sure(listeners, parts[place], words=group)
    return words, sure


def _fits(listeners: Listeners, part: Sound, *, groups: Sequence[Sequence[Timed]]) -> NDArray[np.float64]:
    texts = [_text(group) for group in groups]
    asked = list(dict.fromkeys(filter(None, texts)))
    fits = dict(zip(asked, listeners.first_fits(part, asked), strict=True))
    return np.array([fits.get(text, 0.0) for text in texts])


def _is_sure(listeners: Listeners, part: Sound, *, words: Sequence[Timed]) -> bool:
    return bool(words) and listeners.score(part, _text(words)) >= _DOUBTFUL


def _text(words: Sequence[Timed]) -> str:
    return " ".join(word.text for word in words)
