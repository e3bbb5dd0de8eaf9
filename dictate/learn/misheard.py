"""What was heard where a value should have been read: the words of the transcript that sound most like it.

The term's sound is compared with that of every run of words, in phones; what stood at the value's own place,
or was taken for another value, counts as nearer. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import Levenshtein

from dictate.language.tokens import as_heard, split_word
from dictate.learn.values import Correction, Known, Misheard
from dictate.lexicon.entries import Entry, spelled
from dictate.note import Note, TranscriptPhrase, TranscriptWord, stage_of
from dictate.phonetics.terms import TermSounds

KIND_OF: Final = {
    "wine.producer": "producer", "wine.name": "wine", "wine.origin": "origin", "wine.grapes": "grape",
    "appearance.hue": "hue", "appearance.rim": "hue", "nose.aromas": "descriptor",
    "palate.flavours": "descriptor", "finish.flavours": "descriptor", "palate.tannin_texture": "texture",
    "palate.texture": "texture", "faults": "fault",
}  # fmt: skip
_FURTHEST: Final = 0.5  # share of the sound that may be off at all
_NEAR: Final = 0.4  # ... with what speaks for the place
_ELSEWHERE, _THERE = 0.1, -0.15  # of another stage; where the value stood that was put right
_LONGEST: Final = 5  # words of a run
_LOOKED_AT: Final = 16  # runs
_STOPS: Final = frozenset(",.;:?!–—…")


@dataclass(frozen=True, slots=True)
class _Run:
    """Words [first, last) of a phrase: as they were heard, and as they were written."""

    phrase: int
    first: int
    last: int
    heard: str
    written: str
    at: tuple[float, float]


def misheard_for(note: Note, correction: Correction, *, known: Known) -> Misheard | None:
    """What was heard for a value that was changed or missing; None where nothing sounds like it, or where it
    was rightly heard and not read."""
    kind = KIND_OF.get(correction.field)
    if kind is None or correction.after is None:
        return None
    wanted = spelled(correction.after)
    runs = list(_runs(note, longest=min(_LONGEST, len(correction.after.split()) + 2)))
    if not wanted or any(spelled(run.heard) == wanted for run in runs):
        return None
    entry = known.lexicon.lookup(correction.after, kind)
    ways = entry.said if entry is not None else (correction.after,)
    sounds = known.sounds_of(Entry(correction.after, kind, "", tuple(dict.fromkeys(ways))))
    if not sounds.targets or not runs:
        return None
    runs = _roughly_alike(runs, sounds)
    rows = sounds.alike([sounds.readings(run.heard) for run in runs], count=1)
    stage = stage_of(correction.field)
    best = min(
        (
            (row[0].share + _beside(note, run, stage=stage, before=correction.before), row[0].share, run)
            for run, row in zip(runs, rows, strict=True)
            if row and row[0].share <= _FURTHEST
        ),
        key=lambda one: (one[0], one[2].phrase, one[2].first),
        default=None,
    )
    if best is None or best[0] > _NEAR:
        return None
    run = best[2]
    written = "" if spelled(run.written) == spelled(run.heard) else run.written
    return Misheard(run.heard, run.at, (run.phrase, run.first, run.last), written)


def _roughly_alike(runs: Sequence[_Run], sounds: TermSounds) -> list[_Run]:
    """The runs that share most phones with the term, by plain edit distance: it costs a tenth of the true
    one."""
    targets = [target.phones for target in sounds.targets]
    ways = [sounds.phones(run.heard) for run in runs]
    far = process.cdist(ways, targets, scorer=Levenshtein.normalized_distance, workers=1).min(axis=1)
    order = sorted(range(len(runs)), key=lambda n: (float(far[n]), n))
    return [runs[n] for n in sorted(order[:_LOOKED_AT])]


def _beside(note: Note, run: _Run, *, stage: str, before: str | None) -> float:
    there = before is not None and set(spelled(before)) & set(spelled(run.written))
    return (_THERE if there else 0.0) + (_ELSEWHERE if note.transcript[run.phrase].stage != stage else 0.0)


def _runs(note: Note, *, longest: int) -> Iterator[_Run]:
    """All runs of words within a phrase and without a pause inside; none begins or ends in the midst of what
    one repair wrote."""
    for number, phrase in enumerate(note.transcript):
        if phrase.stage == "cue":
            continue
        words = phrase.words
        for first in range(len(words)):
            for last in range(first + 1, min(first + longest, len(words)) + 1):
                if last - first > 1 and words[last - 2].text[-1:] in _STOPS:
                    break
                if _whole(words, first, last):
                    heard = form_of(as_heard(words[first:last]))
                    if heard:
                        written = form_of(" ".join(w.text for w in words[first:last]))
                        at = (words[first].at[0], words[last - 1].at[1])
                        yield _Run(number, first, last, heard, written, at)


def _whole(words: Sequence[TranscriptWord], first: int, last: int) -> bool:
    return words[first].heard != "" and (last == len(words) or words[last].heard != "")


def form_of(text: str) -> str:
    """Words as they are matched: lower case, no accents, no marks."""
    return " ".join(piece for word in text.split() for piece in split_word(word)[0])


def says(text: str, term: str) -> bool:
    """Does a term stand in a text, singular or plural?"""
    have, wanted = spelled(text), spelled(term)
    return any(have[n : n + len(wanted)] == wanted for n in range(len(have) - len(wanted) + 1))


def was_heard(note: Note, term: str) -> bool:
    """Does a term stand in a note as it was heard?"""
    return any(says(as_heard(phrase.words), term) for phrase in note.transcript)


class Transcripts:
    """The words of many notes as they were heard, to look up where some of them stand."""

    def __init__(self, notes: Sequence[Note]) -> None:
        self._pieces: list[tuple[str, int, TranscriptPhrase, list[tuple[str, int]]]] = []
        self._by_piece: dict[str, list[int]] = {}
        for note in notes:
            for number, phrase in enumerate(note.transcript):
                pieces = [
                    (piece, place)
                    for place, word in enumerate(phrase.words)
                    for piece in form_of(as_heard([word])).split()
                ]
                for piece in {piece for piece, _ in pieces}:
                    self._by_piece.setdefault(piece, []).append(len(self._pieces))
                self._pieces.append((note.id, number, phrase, pieces))

    def standing(self, form: str) -> Iterator[tuple[str, int, TranscriptPhrase, int, int]]:
        """Where words stand: the note's id, the phrase's number, the phrase, first word, last not counted."""
        wanted = form.split()
        for row in self._by_piece.get(wanted[0], ()) if wanted else ():
            note, number, phrase, pieces = self._pieces[row]
            texts = [piece for piece, _ in pieces]
            for first in range(len(texts) - len(wanted) + 1):
                last = first + len(wanted)
                if texts[first:last] == wanted:
                    yield note, number, phrase, pieces[first][1], pieces[last - 1][1] + 1
