"""What could be learnt from corrections, and what accepting or declining it changes. Pure: nothing is learnt
by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dictate.learn.cues import cue_proposals
from dictate.learn.levels import level_proposals
from dictate.learn.values import Known, Proposal
from dictate.learn.words import word_proposals
from dictate.note import Note
from dictate.personal.habits import LevelUse, Own, with_cue, with_declined, with_level
from dictate.personal.words import PersonalWord, merge_words


def proposals_of(notes: Sequence[Note], known: Known) -> tuple[Proposal, ...]:
    """What the corrections in these notes (each once) propose, the oftenest seen first: words, levels, cues.

    All notes count, not only those with corrections: a word that stood rightly somewhere is not proposed to
    be put right. What is known already is not proposed; what was declined, only when it was seen again since.
    """
    declined = dict(known.own.habits.declined)
    found = [
        *word_proposals(notes, known),
        *level_proposals(notes, known),
        *cue_proposals(notes, known),
    ]
    fresh = [each for each in found if each.times > declined.get(each.key, 0)]
    return tuple(sorted(fresh, key=lambda each: (-each.times, each.key)))


def accept(proposal: Proposal, own: Own) -> Own:
    """The taster's own with what a proposal writes. Raises WordsError where there is no room for it."""
    writes = proposal.writes
    if isinstance(writes, PersonalWord):
        return replace(own, words=merge_words(own.words, [writes]))
    if isinstance(writes, LevelUse):
        return replace(own, habits=with_level(own.habits, writes))
    return replace(own, habits=with_cue(own.habits, writes))


def decline(proposal: Proposal, own: Own) -> Own:
    """The taster's own with the proposal declined: it comes back only when it is seen again."""
    return replace(own, habits=with_declined(own.habits, proposal.key, times=proposal.times))
