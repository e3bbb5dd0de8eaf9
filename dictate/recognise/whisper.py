"""Whisper as a recogniser whose words know their breath group. EDGE.

A recording's breath groups are heard among their neighbours (`around.py`), which writes a third fewer wrong
words in noise; where one may be a cue, or is doubtful, by itself too. A session hears each by itself.
Silence and other people's talk never reach the decoder: it would write words for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from dictate.audio.recording import Recording
from dictate.audio.speech import Stretch, find_speech
from dictate.cues import AT_LEAST, CUE_PHRASES
from dictate.recognise.around import Among, hear_among
from dictate.recognise.cue_spotter import LONGEST_S, CueSpotter, Short
from dictate.recognise.decoder import MAX_SECONDS, SAMPLE_RATE, Decoded, Decoder, Timed
from dictate.recognise.judging import CueHeard, Judge, Weighed, may_win, wins
from dictate.recognise.listeners import Listeners, Sound
from dictate.recognise.recogniser import AROUND_S, HeardStretch, joined
from dictate.recognise.weights import Weights, name_of
from dictate.recognise.windows import in_windows
from dictate.repair import Decided, SecondHearing
from dictate.values import Heard, Word

# Talk as a taster's, not a list of words: more of what is told comes up so.
TRADE_PROMPT = (
    "Pale lemon, medium ruby core, garnet rim, tawny, clear, bright. On the nose: cassis, tar, brioche, "
    "graphite, brett. Palate dry, off-dry, acidity high, acid, tannins firm, chalky, light body, "
    "full-bodied, saline. Long finish."
)
_EITHER = (False, True)  # the finish clock runs
_INVENTED = -2.0  # mean log-probability, among the neighbours, of words that none heard there: noise
LEFT_OUT = 10  # encoder frames (20 ms) of that at either end, when two stretches are compared
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
        self._cue_phrases = tuple(cue_phrases)
        self._cue_at_least = cue_at_least
        self.name = name_of(weights, decoders[0].arithmetic)

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        """The words of a recording, in order; see `Recogniser.recognise`.

        All words of a breath group lie inside it, and the first begins where it begins (seconds
        from the start of the recording). A stretch in which nothing was recognised gives no word.
        """
        stretches = find_speech(recording.samples)
        judge = self.judge()
        heard: list[HeardStretch] = []
        for stretch, weighed in zip(stretches, self.weigh(recording.samples, stretches), strict=True):
            heard.append(judge.judge(weighed))
            if progress:
                progress(min(1.0, stretch.end_s / recording.duration_s))
        if progress:
            progress(1.0)
        return joined(heard, recording.duration_s, recogniser=self.name)

    def judge(self, *, running: bool = False) -> Judge:
        """Who judges what this recogniser hears; one a recording."""
        return Judge(self._cue_phrases, at_least=self._cue_at_least, running=running)

    def weigh(self, samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> Iterator[Weighed]:
        """Stretches of samples (mono, 16 kHz) heard each among its neighbours, for a `Judge`. What stands
        beyond the window that it is heard in (see `in_windows`) changes nothing."""
        for run in in_windows(stretches):
            yield from self._weigh(samples, run, hear_among(self._listeners, samples, run=run))

    def _weigh(
        self, samples: NDArray[np.float32], stretches: Sequence[Stretch], among: Sequence[Among | None]
    ) -> Iterator[Weighed]:
        """Breath groups heard among their neighbours, and by themselves where they may be a cue or are
        doubtful."""
        alone = [
            stretch
            for stretch, here in zip(stretches, among, strict=True)
            if here is None or not here.sure or self._may_be_cue(stretch, here)
        ]
        heard = dict(zip(alone, self._listen(samples, alone), strict=True))
        for stretch, here in zip(stretches, among, strict=True):
            listened = heard.get(stretch)
            if here is None or (listened and not listened.pieces):  # no speech, or a loop
                yield self._weighed(listened or _Listened(stretch, ()), running=_EITHER)
            elif listened is None:
                yield self._sure_among(samples, stretch, here)
            else:
                yield self._weighed_among(stretch, here, listened)

    def _may_be_cue(self, stretch: Stretch, here: Among) -> bool:
        """Whether a cue may have been said that was not written."""
        short = stretch.end_s - stretch.start_s <= LONGEST_S
        return short and self._spotter.is_open(here.text) and not self._spotter.is_far(here.sound, here.text)

    def _sure_among(self, samples: NDArray[np.float32], stretch: Stretch, here: Among) -> Weighed:
        """A breath group that needs no other hearing; how a cue sounds is kept."""
        found = self._again_among(stretch, here)
        if stretch.end_s - stretch.start_s > LONGEST_S or not self._spotter.is_cue(here.text):
            return found
        _, around = with_surroundings(samples, stretch.start_s, end_s=stretch.end_s)
        frames = self._listeners.frames_of(around)[LEFT_OUT:-LEFT_OUT]
        return replace(found, cue=CueHeard(here.text, frames, dict.fromkeys(_EITHER, ())))

    def _weighed_among(self, stretch: Stretch, here: Among, alone: _Listened) -> Weighed:
        """A breath group as written among its neighbours, unless by itself it is a cue, or likelier no cue,
        or nothing was written."""
        written, cue = alone.pieces[0].decoded, self._cue_of(alone, running=_EITHER)
        if not here.text:
            unlikely = self._listeners.score(here.sound, written.text) < _INVENTED
            is_cue = self._spotter.is_cue(written.text)
            return Weighed((), cue=cue) if unlikely and not is_cue else self._apart(alone, cue)
        among, apart = (self._spotter.is_cue(text) for text in (here.text, written.text))
        if among and written.text and not apart:
            fit, other = self._listeners.fits(here.sound, [here.text, written.text])
            among, apart = fit >= other, fit < other
        if apart and not among:
            return self._apart(alone, cue)
        if among and cue:
            cue = replace(cue, written=here.text, evidence=dict.fromkeys(_EITHER, ()), words={})
        found = self._again_among(stretch, here, others=(written.text, *written.others))
        return replace(found, cue=cue)

    def _again_among(self, stretch: Stretch, here: Among, others: Sequence[str] = ()) -> Weighed:
        words = tuple(_inside(here.timed, stretch))
        return Weighed(words, self._hear_again(here.sound, words, (*here.others, *others)))

    def hear(self, samples: NDArray[np.float32], stretch: Stretch, *, judge: Judge) -> HeardStretch:
        """The words of one stretch, judged at once."""
        (listened,) = self._listen(samples, [stretch])
        weighed = self._weighed(listened, running=(judge.running,))
        return judge.judge(weighed, words_of=listened.words_of(self._listeners))

    def _listen(self, samples: NDArray[np.float32], stretches: Sequence[Stretch]) -> list[_Listened]:
        """What each listener makes of stretches, all together."""
        pieces = [(n, *piece) for n, stretch in enumerate(stretches) for piece in _pieces(samples, stretch)]
        around = [with_surroundings(samples, start_s, end_s=end_s) for _, start_s, end_s in pieces]
        listened: list[list[_Piece]] = [[] for _ in stretches]
        heard = self._listeners.listen([piece for _, piece in around])
        for (n, *_), (from_s, _), (sound, decoded) in zip(pieces, around, heard, strict=True):
            if not is_without_speech(silence=decoded.silence, score=decoded.score):
                words = self._listeners.words(sound, decoded.text)
                listened[n].append(_Piece(from_s, sound, decoded, tuple(t.later(from_s) for t in words)))
        return [_Listened(*each) for each in zip(stretches, listened, strict=True)]

    def _weighed(self, listened: _Listened, *, running: Sequence[bool]) -> Weighed:
        """A breath group as it is heard by itself."""
        return self._apart(listened, self._cue_of(listened, running=running))

    def _apart(self, listened: _Listened, cue: CueHeard | None) -> Weighed:
        """... which may be this cue."""
        words = listened.words
        is_cue = cue is not None and all(wins(each, self._cue_at_least) for each in cue.evidence.values())
        if is_cue or len(listened.pieces) != 1:
            return Weighed(words, cue=cue)
        (piece,) = listened.pieces
        return Weighed(words, self._hear_again(piece.sound, words, piece.decoded.others), cue)

    def _cue_of(self, listened: _Listened, *, running: Sequence[bool]) -> CueHeard | None:
        """The cue that a breath group may be, if it is short enough."""
        seconds = listened.stretch.end_s - listened.stretch.start_s
        if len(listened.pieces) != 1 or seconds > LONGEST_S:
            return None
        (piece,) = listened.pieces
        is_open = self._spotter.is_open(piece.decoded.text)
        short = Short(piece.sound, piece.decoded, seconds)
        evidence = self._spotter.weigh(short, running=running) if is_open else dict.fromkeys(running, ())
        of_cues: dict[str, tuple[Word, ...]] = {}
        if len(running) > 1:  # who judges at once asks for the words of the winner alone
            texts = dict.fromkeys(text for each in evidence.values() for text in may_win(each))
            of_cues = {text: listened.words_of(self._listeners)(text) for text in texts}
        frames = self._listeners.frames(piece.sound)[LEFT_OUT:-LEFT_OUT]
        return CueHeard(piece.decoded.text, frames, evidence, words=of_cues)

    def _hear_again(self, sound: Sound, words: Sequence[Word], others: Sequence[str]) -> Decided:
        """What was more likely said, by the sound, where a term is proposed for doubtful words."""
        text = " ".join(w.text for w in words)
        if self._again is None or self._spotter.knows(text):
            return Decided()
        proposals = self._again.propose(words, others)
        if not proposals:
            return Decided()
        texts = [text, *(self._again.hypothesis(words, p) for p in proposals)]
        as_heard, *fits = self._listeners.fits(sound, texts, prompt=self._again.prompt(proposals))
        return self._again.decide(words, proposals, gains=[fit - as_heard for fit in fits])


@dataclass(frozen=True, slots=True)
class _Piece:
    """As much of a stretch as is heard at once, from `from_s`, with its words, in seconds of the samples."""

    from_s: float
    sound: Sound
    decoded: Decoded
    timed: tuple[Timed, ...]


@dataclass(frozen=True, slots=True)
class _Listened:
    """A stretch as the listeners wrote it, without the pieces that hold no speech."""

    stretch: Stretch
    pieces: Sequence[_Piece]

    @property
    def words(self) -> tuple[Word, ...]:
        return tuple(_inside([t for piece in self.pieces for t in piece.timed], self.stretch))

    def words_of(self, listeners: Listeners) -> Callable[[str], tuple[Word, ...]]:
        """The timed words of a cue said in place of what was written of the only piece."""

        def words_of(text: str) -> tuple[Word, ...]:
            (piece,) = self.pieces
            timed = [t.later(piece.from_s) for t in listeners.words(piece.sound, text)]
            return tuple(_inside(timed, self.stretch, piece.decoded.text))

        return words_of


class Hearing:
    """One recording being heard, stretch by stretch, in order: what was heard counts for what comes."""

    def __init__(self, recogniser: WhisperRecogniser) -> None:
        self._recogniser = recogniser
        self._judge = recogniser.judge()

    @property
    def running(self) -> bool:
        """Whether the finish clock runs behind what was heard last."""
        return self._judge.running

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
            self._judge.running = running
        here = Stretch(stretch.start_s - from_s, stretch.end_s - from_s)
        heard = self._recogniser.hear(samples, here, judge=self._judge)
        return heard.with_words(lambda word: _later(word, from_s))

    def so_far(self, samples: NDArray[np.float32], stretch: Stretch, *, from_s: float) -> HeardStretch:
        """The words of a stretch that goes on: as `hear` gives them, but it counts for nothing that comes."""
        here = Stretch(stretch.start_s - from_s, stretch.end_s - from_s)
        judge = self._recogniser.judge(running=self._judge.running)
        return self._recogniser.hear(samples, here, judge=judge).with_words(lambda word: _later(word, from_s))


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
