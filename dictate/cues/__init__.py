"""The cues room: words -> cues, kept words, private spans; and the cues' onsets in the samples."""

from dictate.cues.cues import FoundCues, find_cues, time_cues
from dictate.cues.grammar import CueTable, CueTableError, cue_table
from dictate.cues.likeness import Earlier, Frames
from dictate.cues.lost import doubt_lost
from dictate.cues.onset import Samples
from dictate.cues.settle import settle_cues
from dictate.cues.spotting import (
    AT_LEAST,
    CERTAIN,
    CUE_PHRASES,
    PERHAPS,
    Evidence,
    candidates,
    chance,
    clock_after,
    likeliest,
    plain,
    without_fillers,
)

__all__ = [
    "AT_LEAST",
    "CERTAIN",
    "CUE_PHRASES",
    "PERHAPS",
    "CueTable",
    "CueTableError",
    "Earlier",
    "Evidence",
    "FoundCues",
    "Frames",
    "Samples",
    "candidates",
    "chance",
    "clock_after",
    "cue_table",
    "doubt_lost",
    "find_cues",
    "likeliest",
    "plain",
    "settle_cues",
    "time_cues",
    "without_fillers",
]
