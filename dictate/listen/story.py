"""What has been heard so far, and the notes it makes: told anew with each breath group that is heard.

Pure but for the slices of sound that it asks for. Only the wine that is open is worked on while the taster
talks; at the end all notes are made from all words at once, as `dictate note` makes them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import takewhile
from typing import Literal

from dictate.audio.speech import SAMPLE_RATE, Stretch
from dictate.cues import Samples
from dictate.language.pauses import paused_behind
from dictate.listen.pieces import Piece, in_spans, only, without_first
from dictate.note import Note
from dictate.note import Recording as NoteRecording
from dictate.pipeline import Derived, derive
from dictate.recognise.recogniser import HeardStretch, joined
from dictate.settings import Settings
from dictate.values import Cue, CueKind, Word

NewsKind = Literal[
    "away", "gone", "begin", "end", "pause_on", "pause_off", "missing", "revoked", "unheard"
]  # fmt: skip
_TOLD: tuple[CueKind, ...] = ("away", "gone", "begin", "end", "pause_on", "pause_off", "missing")


def is_private(cues: Sequence[Cue]) -> bool:
    """Whether what is said behind these cues is off the record."""
    last = next((c.kind for c in reversed(cues) if c.kind in ("private_on", "private_off")), "")
    return last == "private_on"


def is_paused(cues: Sequence[Cue]) -> bool:
    """Whether the notes are paused behind these cues."""
    return reduce(lambda paused, cue: paused_behind(cue.kind, paused), cues, False)


@dataclass(frozen=True, slots=True)
class News:
    """Something the taster is told of. `at_s`: where in the recording it was said; `first`: it was not told
    before, by the quick ear; `ends_pause`: a wine began while the notes were paused."""

    kind: NewsKind
    at_s: float
    sure: bool
    first: bool = True
    ends_pause: bool = False


class Story:
    """Breath groups in order, as two ears hear them; the open wine, and the notes closed before it."""

    def __init__(self, settings: Settings, sound: Samples, *, identity: str, recogniser: str = "") -> None:
        """`sound`: the recording as far as it goes; `identity`: begins the notes' ids."""
        self._settings = settings
        self._sound = sound
        self._identity = identity
        self.recogniser = recogniser
        self._pieces: dict[int, Piece] = {}
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
        """The words of the breath group heard last, nothing of what is private or may be."""
        for piece in reversed([*self._known()]):
            if piece.private:
                return ()
            if words := piece.heard.words:
                return words
        return ()

    @property
    def is_private(self) -> bool:
        """Whether what is being said is off the record."""
        if any(p.private and p.careful is None for p in self._pieces.values()):
            return True
        return is_private(self.now.cues)

    @property
    def is_paused(self) -> bool:
        """Whether the notes are paused."""
        return is_paused(self.now.cues)

    @property
    def to_hear(self) -> int:
        """How many breath groups of an earlier session are to be heard anew before it is known what stands
        behind them."""
        return sum(p.unknown for p in self._pieces.values())

    def private(self, number: int) -> bool:
        """Whether something in a breath group was said off the record."""
        return self._pieces[number].private

    def public(self, number: int) -> HeardStretch | None:
        """What may be written of a breath group that was heard with care: all but what was said off the
        record. None where it is not known what that is."""
        piece = self._pieces[number]
        if (piece.private and not piece.reduced) or all(p.number != number for p in self._known()):
            return None
        return piece.careful

    def add(self, number: int, stretch: Stretch, *, withheld: bool = False, private: bool = False) -> None:
        """A breath group has been said; numbers ascend. `withheld`: by an earlier session, its words are not
        known; `private`: because something in it was off the record."""
        self._pieces[number] = Piece(number, stretch, withheld=withheld, held=private)

    def tell(self, number: int, stretch: Stretch, *, heard: HeardStretch) -> None:
        """A breath group of an earlier session, and its final words; `catch_up` comes behind all of them."""
        self._pieces[number] = Piece(number, stretch, careful=heard)

    def catch_up(self) -> None:
        """Derive what the breath groups of an earlier session tell; nothing of it is news."""
        self._derive()
        self._keep_private()
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
        self._keep_private()
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

    def _known(self) -> Iterator[Piece]:
        """The breath groups up to one that is unknown: from there on all may be off the record."""
        return takewhile(lambda piece: not piece.unknown, self._pieces.values())

    def _derive(self) -> None:
        self.now = self._derived()

    def _derived(self, more: Sequence[HeardStretch] = ()) -> Derived:
        heard = [p.heard for p in self._known() if p.number >= self._from]
        if heard and self._cut:
            heard[0] = without_first(heard[0], self._cut)
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

    def _news(self, piece: Piece) -> list[News]:
        """Cues that were not told of before, in this breath group; and those told of that were none."""
        sure = piece.careful is not None
        here = {
            (cue.kind, cue.words[0].utterance): cue
            for cue in self.now.cues
            if cue.kind in _TOLD and cue.words and (cue.kind != "gone" or self.now.gone is not None)
        }
        news: list[News] = []
        for key, cue in here.items():
            if key[1] == piece.number and not self._told.get(key, False):
                first = key not in self._told
                if first or sure:
                    before = self.now.cues[: self.now.cues.index(cue)]
                    ends = cue.kind == "begin" and is_paused(before)
                    news.append(News(cue.kind, cue.onset_s, sure, first, ends))  # type: ignore[arg-type]
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

    def _keep_private(self) -> None:
        """Mark what is off the record, and take it out where it was heard with care. Before a wine is closed:
        what was said in front of the cue that began the next is gone then."""
        for piece in [*self._known()]:
            cut = piece.number < self._from or (piece.number == self._from and self._cut)
            if cut or piece.reduced or not (piece.careful or piece.quick):
                continue
            piece.private = any(in_spans(w, self.now.private) for w in piece.heard.words)
            if piece.careful is not None:
                if piece.held and not piece.private:
                    self._hold(piece)
                elif piece.private:
                    self._reduce(piece)

    def _hold(self, piece: Piece) -> None:
        """It was off the record, and as it is heard now it is not: of its words those count that come behind
        the way back on the record, if that is heard."""
        backs = [c for c in self.now.cues if c.kind == "private_off" and c.words[0].utterance == piece.number]
        words = piece.heard.words
        kept = [n for n, word in enumerate(words) if backs and word.start_s >= backs[-1].words[0].start_s]
        piece.careful = only(piece.careful or HeardStretch(()), kept)
        piece.private = piece.reduced = True
        self._derive()

    def _reduce(self, piece: Piece) -> None:
        """Take the words off the record out of a breath group, unless the others alone tell another story."""
        whole, told = piece.careful or HeardStretch(()), self.now
        kept = [n for n, word in enumerate(whole.words) if not in_spans(word, told.private)]
        piece.careful = only(whole, kept)
        self._derive()
        piece.reduced = self._tells(told)
        if not piece.reduced:
            piece.careful, self.now = whole, told

    def _tells(self, told: Derived) -> bool:
        """Whether what is told now is the same, but for the spans that are off the record."""
        cues, others = ([(c.kind, c.onset_s) for c in d.cues] for d in (self.now, told))
        return cues == others and self.now.notes == told.notes
