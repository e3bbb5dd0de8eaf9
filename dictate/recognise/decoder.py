"""Whisper's own steps, one by one: encode a stretch, decode it, time its words, score a given text.

`WhisperModel.transcribe` always works on 30 s; a breath group is 1 to 6 s, and the encoder's time
grows with the window, so the steps are called here on windows as long as the stretch needs.
"""

from __future__ import annotations

import math
import re
import zlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import ctranslate2
import numpy as np
from faster_whisper import WhisperModel
from faster_whisper.audio import pad_or_trim
from faster_whisper.tokenizer import Tokenizer
from faster_whisper.transcribe import get_suppressed_tokens, merge_punctuations
from numpy.typing import NDArray

from dictate.recognise.weights import ModelError

SAMPLE_RATE = 16000
FRAMES_A_SECOND = 100
MAX_SECONDS = 28.0  # Whisper hears 30 s at most
WHOLE_WINDOW = 3000  # frames: the 30 s that Whisper was trained on
_SHORT_WINDOW = 1500  # frames: word error on a real reading .050 at 15 s, .076 at 10 s, .050 at 30 s
_TAIL = 50  # frames of silence behind the speech
_LOOP_RATIO = 2.4  # compression ratio above which text is taken for a loop (Whisper's own number)
_STUTTER = re.compile(r"\b(\w+)(?:[\s,.]+\1\b){3}")
_TOKENS_A_SECOND = 9.0  # quick speech is 5 words, 7 tokens a second
_SIZE = 32  # tokens
_PREPEND, _APPEND = "\"'“¿([{-", "\"'.。,，!！?？:：”)]}、"


@dataclass(frozen=True, slots=True)
class Encoded:
    """What the encoder made of a stretch."""

    output: Any  # ctranslate2.StorageView
    frames: int  # 10 ms frames of speech in it


@dataclass(frozen=True, slots=True)
class Decoded:
    """Text of one stretch. `score`: mean log-probability of a token; `silence`: 0 to 1; `others`: the next
    likely texts, the likeliest first."""

    text: str
    score: float
    silence: float
    looped: bool
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Timed:
    """One written word of a decoded stretch, seconds from the stretch's first sample."""

    text: str
    start_s: float
    end_s: float
    confidence: float

    def later(self, by_s: float) -> Timed:
        """In sound that began so much earlier."""
        return replace(self, start_s=self.start_s + by_s, end_s=self.end_s + by_s)


def compression_ratio(text: str) -> float:
    """UTF-8 bytes of a text / its bytes under zlib: repeated text compresses well."""
    raw = text.encode("utf-8")
    return len(raw) / len(zlib.compress(raw)) if raw else 0.0


def is_loop(text: str) -> bool:
    """Whether a text repeats itself as speech does not: by compression, or a word four times in a row."""
    return compression_ratio(text) > _LOOP_RATIO or bool(_STUTTER.search(text.lower()))


def _room(encoded: Encoded) -> int:
    """Tokens that no speech of this length has."""
    return math.ceil(10 + _TOKENS_A_SECOND * encoded.frames / FRAMES_A_SECOND)


def _steps(encoded: Encoded) -> int:
    """Tokens that are decoded at most, in few sizes, so that stretches can be decoded together."""
    return -(-_room(encoded) // _SIZE) * _SIZE


class Decoder:
    """A loaded model. int8 on a CPU, float16 on a CUDA device."""

    def __init__(self, folder: Path, *, device: str = "auto", threads: int | None = None) -> None:
        """Load the weights of a folder. Raises ModelError when they cannot be loaded."""
        if device == "auto":
            device = "cuda" if ctranslate2.get_cuda_device_count() else "cpu"
        self.arithmetic = "float16" if device == "cuda" else "int8"
        try:
            self._model = WhisperModel(
                str(folder), device=device, compute_type=self.arithmetic, cpu_threads=threads or 0
            )
            self._tokenizer = Tokenizer(
                self._model.hf_tokenizer, self._model.model.is_multilingual, task="transcribe", language="en"
            )
        except Exception as error:  # whatever ctranslate2 raises, the cure is the same
            reason = " ".join(str(error).split())[:120]
            raise ModelError(f"{folder}: cannot be loaded ({reason}); get the weights again") from error
        self._suppressed = get_suppressed_tokens(self._tokenizer, [-1])

    def encode(self, samples: NDArray[np.float32], *, window: int = _SHORT_WINDOW) -> Encoded:
        """Encode up to 29 s of speech: shape (n,), 16 kHz; `window`: 10 ms frames at least."""
        features = self._model.feature_extractor(samples)
        frames = len(samples) * FRAMES_A_SECOND // SAMPLE_RATE
        window = min(WHOLE_WINDOW, max(window, -(-(frames + _TAIL) // 100) * 100))
        return Encoded(self._model.encode(pad_or_trim(features, window)), frames)

    def decode(
        self, sounds: Sequence[Encoded], *, prompt: Sequence[int] = (), beams: int = 5
    ) -> list[Decoded]:
        """The most likely text of each stretch; a loop is decoded again, unprompted, with no three words
        repeated. Stretches decoded together give to the bit what each alone gives, in two thirds of the time.
        """
        together: dict[tuple[int, int], list[int]] = defaultdict(list)
        for place, encoded in enumerate(sounds):
            together[encoded.output.shape[1], _steps(encoded)].append(place)
        found: dict[int, Decoded] = {}
        for places in together.values():
            same = [sounds[place] for place in places]
            found.update(zip(places, self._generate(same, prompt, beams=beams), strict=True))
        for place, decoded in found.items():
            if decoded.looped:
                (found[place],) = self._generate([sounds[place]], (), beams=beams, no_repeat_ngram_size=3)
        return [found[place] for place in range(len(sounds))]

    def _generate(
        self, sounds: Sequence[Encoded], prompt: Sequence[int], *, beams: int, **more: Any
    ) -> list[Decoded]:
        """Texts of stretches whose windows and steps are alike."""
        start = [*self._told(prompt), *self._tokenizer.sot_sequence, self._tokenizer.no_timestamps]
        output = sounds[0].output
        if len(sounds) > 1:
            output = self._stored(np.concatenate([self.output(encoded) for encoded in sounds]))
        results = self._model.model.generate(
            output,
            [start] * len(sounds),
            beam_size=beams,
            num_hypotheses=beams,
            max_length=min(448, len(start) + _steps(sounds[0])),
            return_scores=True,
            return_no_speech_prob=True,
            suppress_tokens=self._suppressed,
            **more,
        )
        return [self._decoded(encoded, result) for encoded, result in zip(sounds, results, strict=True)]

    def _decoded(self, encoded: Encoded, result: Any) -> Decoded:
        tokenizer = self._tokenizer
        texts = [[t for t in ids if t < tokenizer.eot] for ids in result.sequences_ids]
        text, *others = (tokenizer.decode(tokens).strip() for tokens in texts)
        looped = is_loop(text) or len(texts[0]) >= _room(encoded)
        return Decoded(text, result.scores[0], result.no_speech_prob, looped, tuple(others))

    def _told(self, prompt: Sequence[int]) -> list[int]:
        return [self._tokenizer.sot_prev, *prompt[-223:]] if prompt else []

    def _stored(self, array: NDArray[Any]) -> ctranslate2.StorageView:
        view = ctranslate2.StorageView.from_array(np.ascontiguousarray(array))
        return view.to_device(ctranslate2.Device.cuda) if self._model.model.device == "cuda" else view

    def text_tokens(self, text: str) -> tuple[int, ...]:
        """Tokens of a text as Whisper writes it in running text (with a space before it); none of none."""
        return tuple(self._tokenizer.encode(" " + text.strip())) if text.strip() else ()

    def log_probabilities(
        self, encoded: Encoded, texts: Sequence[str], *, prompt: Sequence[int] = ()
    ) -> list[float]:
        """For each text the sum of its tokens' log-probabilities (nats), given the sound and, before it, the
        prompt. All at once, on the sound alone without the silence that fills the window: a quarter of the
        time of one by one; sums differ from those of the whole window by a nat or two, alike for all texts.
        """
        if not texts:
            return []
        heard = self.output(encoded)[:, : encoded.frames // 2 + _TAIL // 2]
        many = self._stored(np.repeat(heard, len(texts), axis=0))
        start = [*self._told(prompt), *self._tokenizer.sot_sequence, self._tokenizer.no_timestamps]
        tokens = [list(self.text_tokens(text)) for text in texts]
        results = self._model.model.align(many, start, tokens, [encoded.frames] * len(texts))
        return [float(sum(math.log(max(p, 1e-12)) for p in r.text_token_probs)) for r in results]

    def part(self, encoded: Encoded, start_s: float, *, end_s: float) -> Encoded:
        """A part of a stretch, heard in the whole: for `log_probabilities`, not to be decoded (without the
        silence behind it Whisper does not stop)."""
        frames = round((end_s - start_s) * FRAMES_A_SECOND)
        first = round(start_s * FRAMES_A_SECOND) // 2
        part = self.output(encoded)[:, first : first + frames // 2 + _TAIL // 2]
        return Encoded(self._stored(part), frames)

    def output(self, encoded: Encoded) -> NDArray[Any]:
        """What the encoder made of a stretch, shape (1, n, k): one step for two frames."""
        return np.array(encoded.output.to_device(ctranslate2.Device.cpu))

    def words(self, encoded: Encoded, tokens: Sequence[int]) -> list[Timed]:
        """Written words with times by cross-attention and mean token probability, in order."""
        if not tokens:
            return []
        aligned = self._model.find_alignment(self._tokenizer, [list(tokens)], encoded.output, encoded.frames)[
            0
        ]
        merge_punctuations(aligned, _PREPEND, _APPEND)
        words: list[Timed] = []
        for part in aligned:
            text, sure = part["word"], float(part["probability"])
            if not text:
                continue
            if words and not text.startswith(" "):  # "full", "-bodied": one written word
                last = words[-1]
                words[-1] = Timed(
                    last.text + text, last.start_s, float(part["end"]), min(last.confidence, sure)
                )
            elif text.strip():
                words.append(Timed(text.strip(), float(part["start"]), float(part["end"]), sure))
        return words
