"""Whisper as a recogniser: one breath group at a time, so that words know their breath group. EDGE.

Silence and other people's talk never reach the decoder: it would write words for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from dictate.audio.recording import Recording
from dictate.audio.speech import Stretch, find_speech
from dictate.cues import AT_LEAST, CUE_PHRASES, Earlier, clock_after
from dictate.recognise.cue_spotter import LONGEST_S, CueSpotter, Short, Spotted
from dictate.recognise.decoder import MAX_SECONDS, SAMPLE_RATE, Decoded, Decoder, Timed
from dictate.recognise.listeners import Listeners, Sound
from dictate.recognise.recogniser import AROUND_S, HeardStretch, joined
from dictate.recognise.weights import Weights
from dictate.repair import Decided, SecondHearing
from dictate.values import Heard, Perhaps, Word

# Talk as a taster's, not a list of words: more of what is told comes up so.
TRADE_PROMPT = (
    "Pale lemon, medium ruby core, garnet rim, tawny, clear, bright. On the nose: cassis, tar, brioche, "
    "graphite, brett. Palate dry, off-dry, acidity high, acid, tannins firm, chalky, light body, "
    "full-bodied, saline. Long finish."
)
_LEFT_OUT = 10  # encoder frames (20 ms) of that at either end, when two stretches are compared
# No speech: Whisper's probability of that above, mean log-probability below. The first pair is Whisper's own;
# the second takes what was written in an hour without speech, and none of 810 lines of the benches of cues.
_NO_SPEECH = ((0.6, -1.0), (0.4, -1.8))


class WhisperRecogniser:
    """Recognises English speech with weights in a folder (see `find_weights`)."""

    def __init__(
        self,
        weights: Weights | Sequence[Weights],
        *,
        device: str = "auto",
        threads: int | None = None,
        prompt: str = TRADE_PROMPT,
        cue_phrases: Sequence[str] = CUE_PHRASES,
        again: SecondHearing | None = None,
        beams: int = 5,
        window: int | None = None,
        cue_at_least: float = AT_LEAST,
    ) -> None:
        """Load the weights, of one model or of several that listen together (see `find_listeners`).
        `again`: terms to hear for where words are doubtful; `prompt`: trade talk to expect, "" for none;
        `window`: 10 ms frames that are encoded at least (fewer are quicker and heard worse);
        `cue_at_least`: the probability from which a cue counts that was written otherwise.
        Raises ModelError.
        """
        weights = [weights] if isinstance(weights, Weights) else list(weights)
        decoders = [Decoder(each.folder, device=device, threads=threads) for each in weights]
        self._again = again
        self._listeners = Listeners(decoders, prompt=prompt, beams=beams, window=window)
        self._spotter = CueSpotter(self._listeners, cue_phrases)
        self._cue_at_least = cue_at_least
        self.name = f"whisper-{'+'.join(each.name for each in weights)} {decoders[0].arithmetic}"

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """The words of a recording, in order; see `Recogniser.recognise`.

        All words of a breath group lie inside it, and the first begins where it begins (seconds
        from the start of the recording). A stretch in which nothing was recognised gives no word.
        """
        hearing = Hearing(self)
        heard: list[HeardStretch] = []
        for stretch in find_speech(recording.samples):
            heard.append(hearing.hear(recording.samples, stretch))
            if progress:
                progress(min(1.0, stretch.end_s / recording.duration_s))
        if progress:
            progress(1.0)
        return joined(heard, recording.duration_s, recogniser=self.name)

    def hear(
        self, samples: NDArray[np.float32], stretch: Stretch, *, running: bool, earlier: Earlier
    ) -> HeardStretch:
        """The words of one stretch of the samples (mono, 16 kHz), as `recognise` hears it. `running`: whether
        the finish clock runs; `earlier`: how cues sounded before in this recording, it learns."""
        timed: list[Timed] = []
        spotted: Spotted | None = None
        pieces: list[tuple[Sound, Decoded]] = []
        for start_s, end_s in _pieces(samples, stretch):
            from_s, piece = with_surroundings(samples, start_s, end_s=end_s)
            sound, decoded = self._listeners.listen(piece)
            if is_without_speech(silence=decoded.silence, score=decoded.score):
                continue
            found = self._listeners.words(sound, decoded.text)
            if stretch.end_s - stretch.start_s <= LONGEST_S:
                short = self._short(sound, decoded, end_s - start_s)
                spotted = self._spotter.spot(short, running=running, earlier=earlier)
            pieces.append((sound, decoded))
            timed.extend(t.later(from_s) for t in found)
        words = tuple(_inside(timed, stretch))
        if spotted is None:
            again = self._hear_again(*pieces[0], words) if len(pieces) == 1 else Decided()
            return HeardStretch(words, again.steps, again.refused)
        (sound, decoded), *_ = pieces
        cue = [t.later(from_s) for t in self._listeners.words(sound, spotted.text)]
        said = tuple(replace(w, confidence=spotted.chance) for w in _inside(cue, stretch, decoded.text))
        perhaps = Perhaps(said, words, spotted.chance)
        if spotted.chance >= self._cue_at_least:
            return HeardStretch(said, perhaps=perhaps)
        again = self._hear_again(sound, decoded, words)
        return HeardStretch(words, again.steps, again.refused, perhaps)

    def _hear_again(self, sound: Sound, decoded: Decoded, words: Sequence[Word]) -> Decided:
        """What was more likely said, by the sound, where a term is proposed for doubtful words."""
        text = " ".join(w.text for w in words)
        if self._again is None or self._spotter.knows(text):
            return Decided()
        proposals = self._again.propose(words, decoded.others)
        if not proposals:
            return Decided()
        texts = [text, *(self._again.hypothesis(words, p) for p in proposals)]
        as_heard, *fits = self._listeners.fits(sound, texts, prompt=self._again.prompt(proposals))
        return self._again.decide(words, proposals, gains=[fit - as_heard for fit in fits])

    def _short(self, sound: Sound, decoded: Decoded, seconds: float) -> Short:
        return Short(sound, decoded, seconds, self._listeners.frames(sound)[_LEFT_OUT:-_LEFT_OUT])


class Hearing:
    """One recording being heard, stretch by stretch, in order: what was heard counts for what comes."""

    def __init__(self, recogniser: WhisperRecogniser) -> None:
        self._recogniser = recogniser
        self._utterance = 0
        self._running = False
        self._earlier = Earlier()

    @property
    def running(self) -> bool:
        """Whether the finish clock runs behind what was heard last."""
        return self._running

    def hear(
        self,
        samples: NDArray[np.float32],
        stretch: Stretch,
        *,
        from_s: float = 0.0,
        running: bool | None = None,
    ) -> HeardStretch:
        """The words of a stretch; `samples` (mono, 16 kHz) begin `from_s` seconds into the recording and hold
        the stretch and what stands around it. A stretch without words counts as no breath group. `running`:
        the finish clock runs, where that is known otherwise than from what was heard before."""
        if running is not None:
            self._running = running
        here = Stretch(stretch.start_s - from_s, stretch.end_s - from_s)
        heard = self._recogniser.hear(samples, here, running=self._running, earlier=self._earlier)
        doubt = heard.perhaps
        chance = doubt.chance if doubt is not None and doubt.cue == heard.words else 1.0
        said = " ".join(w.text for w in heard.words)
        self._running = clock_after(said, running=self._running, chance=chance)
        number, self._utterance = self._utterance, self._utterance + bool(heard.words)
        return heard.with_words(lambda word: replace(_later(word, from_s), utterance=number))

    def so_far(self, samples: NDArray[np.float32], stretch: Stretch, *, from_s: float) -> HeardStretch:
        """The words of a stretch that goes on: as `hear` gives them, but it counts for nothing that comes."""
        here = Stretch(stretch.start_s - from_s, stretch.end_s - from_s)
        heard = self._recogniser.hear(samples, here, running=self._running, earlier=Earlier())
        return heard.with_words(lambda word: _later(word, from_s))


def _later(word: Word, by_s: float) -> Word:
    return replace(word, start_s=word.start_s + by_s, end_s=word.end_s + by_s)


def with_surroundings(
    samples: NDArray[np.float32], start_s: float, *, end_s: float
) -> tuple[float, NDArray[np.float32]]:
    """The samples of a stretch with what stands around it, and where they begin (seconds)."""
    from_s = max(0.0, start_s - AROUND_S)
    return from_s, samples[round(from_s * SAMPLE_RATE) : round((end_s + AROUND_S) * SAMPLE_RATE)]


def is_without_speech(*, silence: float, score: float) -> bool:
    """Whether a text was written on sounds that are no speech. `silence`: probability that nobody speaks;
    `score`: mean log-probability of the text."""
    return any(silence > above and score < below for above, below in _NO_SPEECH)


def _pieces(samples: NDArray[np.float32], stretch: Stretch) -> Iterator[tuple[float, float]]:
    """A stretch in pieces that Whisper can hear at once, cut where it is quietest."""
    start_s = stretch.start_s
    while stretch.end_s - start_s > MAX_SECONDS:
        first, last = round((start_s + MAX_SECONDS / 2) * 100), round((start_s + MAX_SECONDS) * 100)
        hop = SAMPLE_RATE // 100
        blocks = samples[first * hop : last * hop].reshape(-1, hop)
        power = np.convolve((blocks.astype(np.float64) ** 2).mean(axis=1), np.ones(10), "same")
        cut_s = (first + int(power.argmin())) / 100
        yield start_s, cut_s
        start_s = cut_s
    yield start_s, stretch.end_s


def _inside(timed: Sequence[Timed], stretch: Stretch, wrote: str | None = None) -> list[Word]:
    """Words with times inside the stretch, ascending, the first from the stretch's beginning; `wrote`: what
    was written in their place."""
    words: list[Word] = []
    reached_s = stretch.start_s
    for place, word in enumerate(timed):
        start_s = stretch.start_s if place == 0 else min(max(word.start_s, reached_s), stretch.end_s)
        end_s = min(max(word.end_s, start_s), stretch.end_s)
        heard = None if wrote is None else (wrote if place == 0 else "")
        words.append(Word(word.text, start_s, end_s, min(1.0, word.confidence), heard=heard))
        reached_s = end_s
    return words
