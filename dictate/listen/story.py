"""What has been heard so far, and the notes it makes: told anew with each breath group that is heard.

Pure but for the slices of sound that it asks for. Only the wine that is open is worked on while the taster
talks; at the end all notes are made from all words at once, as `dictate note` makes them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Literal

from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.cues import Samples
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.pipeline import Derived, derive
from dictate.recognise.recogniser import HeardStretch, joined
from dictate.settings import Settings
from dictate.values import CueKind, Word

NewsKind = Literal["away", "gone", "begin", "end", "revoked", "unheard"]
_SOUNDED: tuple[CueKind, ...] = ("away", "gone", "begin", "end")


@dataclass(frozen=True, slots=True)
class News:
    """Something the taster is told of. `at_s`: where in the recording it was said."""

    kind: NewsKind
    at_s: float
    sure: bool


@dataclass(slots=True)
class _Piece:
    number: int
    stretch: Stretch
    quick: HeardStretch | None = None
    careful: HeardStretch | None = None
    withheld: bool = False  # by an earlier session: something in it may have been said off the record
    private: bool = False  # something in it was said off the record

    @property
    def unknown(self) -> bool:
        """Whether it is withheld and not yet heard anew: what it begins is not known."""
        return self.withheld and self.careful is None

    @property
    def heard(self) -> HeardStretch:
        """The best there is of it, its words known by the number of the breath group."""
        best = self.careful or self.quick or HeardStretch(())
        return best.with_words(lambda word: replace(word, utterance=self.number))


class Story:
    """Breath groups in order, as two ears hear them; the open wine, and the notes closed before it."""

    def __init__(self, settings: Settings, sound: Samples, *, identity: str, recogniser: str = "") -> None:
        """`sound`: the recording as far as it goes; `identity`: begins the notes' ids."""
        self._settings = settings
        self._sound = sound
        self._identity = identity
        self.recogniser = recogniser
        self._pieces: dict[int, _Piece] = {}
        self._from = 0  # number of the first piece of the open wine
        self._cut = 0  # words of that which belong to the wine before
        self._closed: list[Note] = []
        self.gaps: list[tuple[float, float]] = []  # where sound was lost, seconds
        self._told: dict[tuple[CueKind, int], bool] = {}  # cues told of, and whether for sure
        self.now = Derived()

    @property
    def closed(self) -> tuple[Note, ...]:
        """The notes that are closed, in order."""
        return tuple(self._closed)

    @property
    def open(self) -> Note | None:
        """The note of the wine that is being tasted."""
        return self.now.notes[-1] if self.now.notes else None

    @property
    def settled(self) -> bool:
        """Whether the careful ear has heard all."""
        return all(p.careful is not None for p in self._pieces.values())

    @property
    def last_words(self) -> tuple[Word, ...]:
        """The words of the breath group heard last, nothing of what is private."""
        for piece in reversed(self._pieces.values()):
            if words := piece.heard.words:
                return () if piece.private else words
        return ()

    @property
    def is_private(self) -> bool:
        """Whether what is being said is off the record."""
        if any(p.unknown or (p.private and p.careful is None) for p in self._pieces.values()):
            return True
        cues = [c for c in self.now.cues if c.kind in ("private_on", "private_off")]
        return bool(cues) and cues[-1].kind == "private_on"

    def withheld(self, number: int) -> bool:
        """Whether something in a breath group was said off the record, or may have been."""
        return self._pieces[number].private or all(p.number != number for p in self._known())

    def add(self, number: int, stretch: Stretch, *, withheld: bool = False) -> None:
        """A breath group has been said; numbers ascend. `withheld`: it may have been off the record."""
        self._pieces[number] = _Piece(number, stretch, withheld=withheld)

    def tell(self, number: int, stretch: Stretch, *, heard: HeardStretch) -> None:
        """A breath group of an earlier session, and its final words; `catch_up` comes behind all of them."""
        self._pieces[number] = _Piece(number, stretch, careful=heard)

    def catch_up(self) -> None:
        """Derive what the breath groups of an earlier session tell; nothing of it is news."""
        self._derive()
        self._mark_private()
        self._close()

    def hear(self, number: int, heard: HeardStretch, *, sure: bool) -> tuple[News, ...]:
        """What an ear made of a breath group (`sure`: the careful one); what is new by it."""
        piece = self._pieces[number]
        if sure:
            piece.careful = heard
        else:
            piece.quick = heard
        if not sure and piece.careful is not None:
            return ()
        self._derive()
        self._mark_private()
        news = self._news(piece)
        if sure and not heard.words:
            news.append(News("unheard", piece.stretch.start_s, sure=True))
        self._close()
        return tuple(news)

    def final(self, recording: NoteRecording) -> tuple[Note, ...]:
        """All notes, made from all words at once; tasted blind, now the list tells what they were."""
        heard = [p.heard for p in self._known()]
        found = self._told_of(heard, recording, before=0, settings=self._settings)
        return self._named(found.notes, first=0)

    def as_though(self, number: int, words: Sequence[Word]) -> Derived | None:
        """What would be told with the first words of a breath group that is still being said; it counts for
        nothing. None where it is not known what was said before: this may be off the record."""
        known = [*self._known()]
        before = [p for p in known if p.number < number]
        if len(known) < len(self._pieces) or not all(p.careful or p.quick for p in before):
            return None
        return self._derived([HeardStretch(tuple(replace(w, utterance=number) for w in words))])

    def _known(self) -> Iterator[_Piece]:
        """The breath groups up to one that is unknown: from there on all may be off the record."""
        return takewhile(lambda piece: not piece.unknown, self._pieces.values())

    def _derive(self) -> None:
        self.now = self._derived()

    def _derived(self, more: Sequence[HeardStretch] = ()) -> Derived:
        heard = [p.heard for p in self._known() if p.number >= self._from]
        if heard and self._cut:
            heard[0] = _without(heard[0], self._cut)
        heard += more
        before = len(self._closed)
        # with its list shut, a glass tasted blind has no name
        settings = replace(self._settings, wines=()) if self._settings.blind else self._settings
        found = self._told_of(heard, self._place(), before=before, settings=settings)
        return replace(found, notes=self._named(found.notes, first=before))

    def _told_of(
        self, parts: Sequence[HeardStretch], place: NoteRecording, *, before: int, settings: Settings
    ) -> Derived:
        heard = joined(parts, place.end_s, recogniser=self.recogniser)
        settings = replace(settings, wines_before=settings.wines_before + before)
        return derive(heard, settings=settings, recording=place, samples=self._sound, gaps=self.gaps)

    def _place(self) -> NoteRecording:
        return NoteRecording(path="", sha256="", start_s=0, end_s=len(self._sound) / SAMPLE_RATE)

    def _named(self, notes: Sequence[Note], *, first: int) -> tuple[Note, ...]:
        return tuple(
            note.model_copy(update={"id": f"{self._identity}-{n}"}) for n, note in enumerate(notes, first + 1)
        )

    def _news(self, piece: _Piece) -> list[News]:
        """Cues that were not told of before, in this breath group; and those told of that were none."""
        sure = piece.careful is not None
        here = {
            (cue.kind, cue.words[0].utterance): cue
            for cue in self.now.cues
            if cue.kind in _SOUNDED and cue.words and (cue.kind != "gone" or self.now.gone is not None)
        }
        news: list[News] = []
        for key, cue in here.items():
            if key[1] == piece.number and not self._told.get(key, False):
                if key not in self._told or sure:
                    news.append(News(cue.kind, cue.onset_s, sure))  # type: ignore[arg-type]
                self._told[key] = sure
        for key in [k for k, was_sure in self._told.items() if k[1] == piece.number and not was_sure]:
            if key not in here and sure:
                del self._told[key]
                news.append(News("revoked", piece.stretch.start_s, sure=True))
        return news

    def _close(self) -> None:
        """Close the wines behind which another began, where all was heard with care."""
        begun = [c for c in self.now.cues if c.kind == "begin"]
        if len(self.now.notes) < 2 or not begun:
            return
        number = begun[-1].words[0].utterance
        if any(p.careful is None for n, p in self._pieces.items() if self._from <= n <= number):
            return
        self._closed.extend(self.now.notes[:-1])
        self._from = number
        words = self._pieces[number].heard.words
        self._cut = sum(w.start_s < begun[-1].words[0].start_s for w in words)
        self._derive()

    def _mark_private(self) -> None:
        """Before a wine is closed: what was said in front of the cue that began the next is gone then."""
        for number, piece in self._pieces.items():
            if number >= self._from and (piece.careful or piece.quick):
                piece.private = any(
                    _in_span(word, start, end_s=end)
                    for word in piece.heard.words
                    for start, end in self.now.private
                )


def _in_span(word: Word, start_s: float, *, end_s: float) -> bool:
    """Whether a word is in a span, in part; one of no length at its very end too: it may be what ends it."""
    if word.start_s == word.end_s:
        return start_s <= word.start_s <= end_s
    return word.start_s < end_s and start_s < word.end_s


def _without(heard: HeardStretch, count: int) -> HeardStretch:
    """A breath group without its first words."""
    again, refused = (
        tuple(replace(s, first=s.first - count, last=s.last - count) for s in steps if s.first >= count)
        for steps in (heard.again, heard.refused)
    )
    return HeardStretch(heard.words[count:], again, refused)  # what was doubtful was of all its words
