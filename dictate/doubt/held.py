"""All values that a note holds, each with its path and the words that it was read from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from dictate.language.numbers import read_numbers
from dictate.language.tokens import fold, split_word, tokenise
from dictate.note import Note, Spoken, TranscriptPhrase, TranscriptWord, fields_of
from dictate.values import Word

_FIGURES: Final = {
    "wine.position": "identity", "verdict.drink_from": "verdict", "verdict.drink_to": "verdict",
    "finish.seconds": "finish",
}  # fmt: skip
_DERIVED: Final = ("finish.how", "finish.from_s", "finish.to_s", "finish.confidence")
_NEAR_S: Final = 0.5  # an onset found in the samples may lie so far from the word's own start


@dataclass(frozen=True, slots=True)
class Held:
    """One value: `path` as "palate.acidity" or, of a list, "nose.aromas[2]"; `field` is the path without the
    number; `sure` (0 to 1) is the note's own confidence in it; `words` behind it in order of time, and the
    phrases that they are of. Both are empty where nothing was said ("listed") or it isn't found."""

    path: str
    field: str
    value: Any
    sure: float = 1.0
    words: tuple[TranscriptWord, ...] = ()
    phrases: tuple[TranscriptPhrase, ...] = ()

    @property
    def text(self) -> str:
        """The value alone, as text."""
        names = ("term", "text", "year", "points", "level")
        return str(next((getattr(self.value, n) for n in names if hasattr(self.value, n)), self.value))


def held_values(note: Note) -> Iterator[Held]:
    """Every value that the note holds, in the order of its fields; no remarks, no asides."""
    for field, value in fields_of(note):
        if field not in _DERIVED:
            yield from _of_field(note, field, value)


def _of_field(note: Note, field: str, value: Any) -> Iterator[Held]:
    if isinstance(value, list):
        for place, item in enumerate(value):
            yield _held(note, f"{field}[{place}]", field, item)
    elif value is not None:
        yield _held(note, field, field, value)


def _held(note: Note, path: str, field: str, value: Any) -> Held:
    words = _words_of(note, field, value)
    behind = tuple(p for p in note.transcript if any(w is each for w in p.words for each in words))
    sure = getattr(value, "confidence", 1.0)
    if field == "finish.seconds" and note.finish.confidence is not None:
        sure = note.finish.confidence  # of the clock's onsets
    return Held(path, field, value, sure, words, behind)


def _words_of(note: Note, field: str, value: Any) -> tuple[TranscriptWord, ...]:
    if isinstance(value, Spoken):
        if value.at is not None:
            return _within(note.transcript, *value.at)
        return _saying(note.transcript, value.said)
    if field == "finish.seconds" and note.finish.from_s is not None and note.finish.to_s is not None:
        return _onsets(note.transcript, (note.finish.from_s, note.finish.to_s))
    if field in _FIGURES:
        return _counting(note.transcript, float(value), stage=_FIGURES[field])
    return _saying(note.transcript, str(value))


def _within(phrases: Sequence[TranscriptPhrase], start_s: float, end_s: float) -> tuple[TranscriptWord, ...]:
    """Words whose middle lies in a span; a word without length counts where it stands."""
    return tuple(
        word
        for phrase in phrases
        if phrase.stage != "cue" and phrase.at[0] <= end_s and phrase.at[1] >= start_s
        for word in phrase.words
        if start_s <= (word.at[0] + word.at[1]) / 2 <= end_s
    )


def _saying(phrases: Sequence[TranscriptPhrase], said: str) -> tuple[TranscriptWord, ...]:
    """The first run of words that says this, whatever its case and punctuation."""
    wanted = [piece for text in said.split() for piece in split_word(text)[0]]
    for phrase in phrases if wanted else ():
        pieces = [(piece, word) for word in phrase.words for piece in split_word(word.text)[0]]
        texts = [piece for piece, _ in pieces]
        for first in range(len(texts) - len(wanted) + 1):
            if texts[first : first + len(wanted)] == wanted:
                found = [word for _, word in pieces[first : first + len(wanted)]]
                return tuple({id(word): word for word in found}.values())
    return ()


def _onsets(phrases: Sequence[TranscriptPhrase], onsets: Sequence[float]) -> tuple[TranscriptWord, ...]:
    """The words of the cues that begin at these seconds."""
    return tuple(
        word
        for phrase in phrases
        if phrase.stage == "cue" and any(abs(phrase.at[0] - onset) <= _NEAR_S for onset in onsets)
        for word in phrase.words
    )


def _counting(phrases: Sequence[TranscriptPhrase], value: float, *, stage: str) -> tuple[TranscriptWord, ...]:
    """The words of the first number of this value, those of its stage first."""
    for phrase in sorted(phrases, key=lambda p: p.stage != stage):
        tokens = tokenise([Word(w.text, *w.at) for w in phrase.words])
        for number in read_numbers(tokens):
            if number.value == value:
                first, last = tokens[number.first].word, tokens[number.last - 1].word + 1
                return tuple(phrase.words[first:last])
    return ()


def same_text(one: str, other: str) -> bool:
    """Are two texts alike but for case, accents and spaces?"""
    return fold(one).split() == fold(other).split()
