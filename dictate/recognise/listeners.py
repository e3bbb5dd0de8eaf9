"""Several recognisers hear the same sound, and the text counts that is likelier to all of them. EDGE.

Two small models of other training err in other words: what one writes wrongly the other finds unlikely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from dictate.recognise.decoder import WHOLE_WINDOW, Decoded, Decoder, Encoded, Timed

_UNSURE = -0.7  # mean log-probability below which a stretch is heard again in the whole window
_SURE = -0.15  # ... and above which one alone is not told trade words: they brought up 1 of 113 terms more
_OTHERS = 9  # texts kept beside the likeliest


@dataclass(frozen=True, slots=True)
class Sound:
    """A stretch as the encoder of each listener has it, in their order."""

    encoded: tuple[Encoded, ...]


@dataclass(frozen=True, slots=True)
class Long:
    """A window of talk: the words that each listener writes, seconds from its first sample, and whether the
    first went round in a loop."""

    sound: Sound
    timed: tuple[tuple[Timed, ...], ...]
    looped: bool


class Listeners:
    """One recogniser or more that listen together; the first gives word times and judges silence."""

    def __init__(
        self, decoders: Sequence[Decoder], *, prompt: str = "", beams: int = 5, window: int | None = None
    ) -> None:
        """`decoders`: at least one; `prompt`: talk to expect, "" for none; `window`: 10 ms frames encoded at
        least, None for what is heard best, and then doubtful stretches in the whole window too."""
        self._decoders = tuple(decoders)
        self._prompt = prompt.strip()
        self._beams = beams
        self._window = window

    def listen(self, stretches: Sequence[NDArray[np.float32]]) -> list[tuple[Sound, Decoded]]:
        """The likeliest text of each stretch, shape (n,) at 16 kHz, and the others that were written.

        Each listener writes untold; unless they agree, the last once more, told what talk to expect (the
        others told bring up nothing more: bench_listeners.py). `score` and `silence` are what the first makes
        of it untold.
        """
        sounds = [Sound(tuple(self._encoded(d, samples) for d in self._decoders)) for samples in stretches]
        written = [list(texts) for texts in zip(*self._each_written(sounds), strict=True)]
        firsts = [texts[0] for texts in written]
        for n, first in enumerate(firsts):
            if self._window is None and (first.score < _UNSURE or first.looped):
                firsts[n] = self._in_whole(stretches[n], first)
                written[n].append(firsts[n])
        doubtful = [n for n, texts in enumerate(written) if self._prompt and not _agreed(texts)]
        told = self._written([sounds[n] for n in doubtful], len(self._decoders) - 1, self._prompt)
        for n, text in zip(doubtful, told, strict=True):
            written[n].append(text)
        heard = []
        for sound, texts, first in zip(sounds, written, firsts, strict=True):
            likeliest = self._likeliest(sound, texts)
            heard.append((sound, replace(likeliest, score=first.score, silence=first.silence)))
        return heard

    def listen_long(self, samples: NDArray[np.float32]) -> Long:
        """A window of talk, shape (n,) at 16 kHz, up to 28 s, as each listener writes it, told what talk to
        expect. (Several together are no quicker: they differ in length.)"""
        sound = Sound(tuple(decoder.encode(samples) for decoder in self._decoders))
        texts = self.write(sound, self._prompt)
        timed = tuple(
            tuple(decoder.words(encoded, decoder.text_tokens(decoded.text)))
            for decoder, encoded, decoded in zip(self._decoders, sound.encoded, texts, strict=True)
        )
        return Long(sound, timed, texts[0].looped)

    def part(self, sound: Sound, start_s: float, *, end_s: float) -> Sound:
        """A part of a sound, as it was heard in the whole."""
        parts = [
            decoder.part(encoded, start_s, end_s=end_s)
            for decoder, encoded in zip(self._decoders, sound.encoded, strict=True)
        ]
        return Sound(tuple(parts))

    def first_fits(self, sound: Sound, texts: Sequence[str]) -> list[float]:
        """For each text how well the sound fits it to the first listener alone, untold (nats)."""
        return self._decoders[0].log_probabilities(sound.encoded[0], texts)

    def score(self, sound: Sound, text: str) -> float:
        """Mean log-probability of a token of a text to the first listener, untold."""
        return self.first_fits(sound, [text])[0] / max(1, len(self._decoders[0].text_tokens(text)))

    def frames_of(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """As `frames`, of a stretch that nothing else is asked of: shape (n,) at 16 kHz."""
        return self.frames(Sound((self._encoded(self._decoders[0], samples),)))

    def write(self, sound: Sound, prompt: str = "") -> list[Decoded]:
        """What each listener writes."""
        return [texts[0] for texts in self._each_written([sound], prompt)]

    def fits(self, sound: Sound, texts: Sequence[str], *, prompt: str = "") -> list[float]:
        """For each text how well the sound fits it: log-probability (nats), the mean over the listeners."""
        return self._fits(sound, texts, [(n, prompt) for n in range(len(self._decoders))])

    def frames(self, sound: Sound) -> NDArray[np.float32]:
        """What the first listener's encoder made of the stretch: shape (n, k), 20 ms each."""
        encoded = sound.encoded[0]
        return self._decoders[0].output(encoded)[0, : encoded.frames // 2].astype(np.float32)

    def words(self, sound: Sound, text: str) -> list[Timed]:
        """The words of a text with their times."""
        decoder = self._decoders[0]
        return decoder.words(sound.encoded[0], decoder.text_tokens(text))

    def _encoded(self, decoder: Decoder, samples: NDArray[np.float32]) -> Encoded:
        return (
            decoder.encode(samples) if self._window is None else decoder.encode(samples, window=self._window)
        )

    def _each_written(self, sounds: Sequence[Sound], prompt: str = "") -> list[list[Decoded]]:
        return [self._written(sounds, n, prompt) for n in range(len(self._decoders))]

    def _written(self, sounds: Sequence[Sound], which: int, prompt: str = "") -> list[Decoded]:
        decoder = self._decoders[which]
        encoded = [sound.encoded[which] for sound in sounds]
        return decoder.decode(encoded, prompt=decoder.text_tokens(prompt), beams=self._beams)

    def _fits(self, sound: Sound, texts: Sequence[str], ways: Sequence[tuple[int, str]]) -> list[float]:
        """The mean over ways to hear: a listener's number, and what it is told."""
        sums = np.zeros(len(texts))
        for which, prompt in ways:
            decoder = self._decoders[which]
            told = decoder.text_tokens(prompt)
            sums += decoder.log_probabilities(sound.encoded[which], texts, prompt=told)
        return [float(s) for s in sums / len(ways)]

    def _in_whole(self, samples: NDArray[np.float32], first: Decoded) -> Decoded:
        """What the first writes in the window it was trained on, if it is surer so."""
        decoder = self._decoders[0]
        (again,) = decoder.decode([decoder.encode(samples, window=WHOLE_WINDOW)], beams=self._beams)
        if again.looped and not first.looped:
            return first
        return again if first.looped or again.score > first.score else first

    def _likeliest(self, sound: Sound, written: Sequence[Decoded]) -> Decoded:
        """Of several texts that which is likelier on the whole, to the first told what talk to expect and to
        the last untold: each way of hearing favours its own text (told of saline, Whisper hears it in "a
        salary like that"). A loop only if all loop."""
        sane = [d for d in written if d.text and not d.looped] or [d for d in written if d.text]
        if not sane:
            return written[0]
        once: dict[str, str] = {}  # of texts that differ in marks and capitals the first
        for each in sane:
            once.setdefault(_bare(each.text), each.text)
        texts = list(once.values())
        best = texts[0]
        if len(texts) > 1:
            fits = self._fits(sound, texts, [(0, self._prompt), (len(self._decoders) - 1, "")])
            best = texts[int(np.argmax(fits))]
        chosen = next(d for d in sane if d.text == best)
        others = dict.fromkeys(text for text in (*texts, *_by_rank(sane)) if text and text != best)
        return replace(chosen, others=tuple(others)[:_OTHERS])


def _agreed(written: Sequence[Decoded]) -> bool:
    """Whether nothing more would come up: all wrote the same, or the only one is sure."""
    if len(written) == 1:
        return written[0].score > _SURE and not written[0].looped
    return len({_bare(d.text) for d in written}) == 1


def _bare(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum())


def _by_rank(written: Sequence[Decoded]) -> list[str]:
    """The next likely texts of all, the likeliest of each first."""
    most = max((len(d.others) for d in written), default=0)
    return [d.others[n] for n in range(most) for d in written if n < len(d.others)]
