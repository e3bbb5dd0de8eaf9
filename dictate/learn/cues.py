"""Cues to be learnt: what the taster said where a hand then put the finish clock right. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import Final

from dictate.language.tokens import as_heard
from dictate.learn.corrections import by_hand
from dictate.learn.misheard import Transcripts, form_of
from dictate.learn.values import Evidence, Known, Proposal
from dictate.note import Note
from dictate.personal.habits import CuePhrase
from dictate.values import CueKind

_NEAR_S: Final = 0.7  # a hand finds an onset so well
_LONGEST: Final = 5  # words of a cue
_LEAST, _LEAST_ONE = 2, 3  # notes needed; for a single everyday word
_PUT: Final[tuple[tuple[str, CueKind], ...]] = (("finish.from_s", "away"), ("finish.to_s", "gone"))
_TELLS: Final[dict[CueKind, str]] = {"away": "starts", "gone": "stops"}


def cue_proposals(notes: Sequence[Note], known: Known) -> Iterator[Proposal]:
    """A proposal for each phrase that was said where the clock should have started or stopped, in two notes
    or more, and nowhere else."""
    found: defaultdict[tuple[CueKind, str], dict[str, Evidence]] = defaultdict(dict)
    for note in notes:
        for kind, onset_s in _onsets(note):
            for said, evidence in _said_at(note, onset_s):
                found[kind, said].setdefault(note.id, evidence)
    transcripts = Transcripts(notes) if found else Transcripts(())
    have = {(cue.kind, cue.phrase) for cue in known.own.habits.cues}
    for (kind, said), seen in found.items():
        one = len(said.split()) == 1 and known.is_everyday(said)
        if (kind, said) in have or len(seen) < (_LEAST_ONE if one else _LEAST):
            continue
        if _said_elsewhere(said, transcripts, [e for e in seen.values() if e.at]):
            continue
        text = f"you said “{said}” where the finish clock {_TELLS[kind]}, in {len(seen)} notes; it is a cue"
        yield Proposal("cue", f"cue/{kind}/{said}", text, tuple(seen.values()), CuePhrase(kind, said))


def _onsets(note: Note) -> Iterator[tuple[CueKind, float]]:
    """Where a hand put the clock's cues, seconds: dragged there, or by the length it gave the finish."""
    changed = {change.field for change in by_hand(note)}
    for path, kind in _PUT:
        onset = getattr(note.finish, path.partition(".")[2])
        if path in changed and onset is not None:
            yield kind, onset
    if "finish.seconds" in changed and "finish.to_s" not in changed and note.finish.seconds:
        for phrase in note.transcript:
            if phrase.stage == "cue":  # one of them started the clock
                yield "gone", phrase.at[0] + note.finish.seconds


def _said_at(note: Note, onset_s: float) -> Iterator[tuple[str, Evidence]]:
    """A short phrase that begins there and was no cue."""
    for phrase in note.transcript:
        if phrase.stage == "cue" or abs(phrase.at[0] - onset_s) > _NEAR_S:
            continue
        said = form_of(as_heard(phrase.words))
        if said and len(said.split()) <= _LONGEST and any(c.isalpha() for c in said):
            yield said, Evidence(note.id, said, phrase.at)


def _said_elsewhere(said: str, transcripts: Transcripts, seen: Sequence[Evidence]) -> bool:
    """Do these words stand in a phrase that is none of those seen?"""
    places = {(e.note, e.at) for e in seen}
    return any(
        phrase.stage != "cue" and (note, phrase.at) not in places
        for note, _, phrase, _, _ in transcripts.standing(said)
    )
