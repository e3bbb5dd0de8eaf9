"""The cues room: words -> cues, kept words, private spans; and the cues' onsets in the samples."""

from dictate.cues.cues import FoundCues, find_cues, time_cues
from dictate.cues.grammar import CueTable, CueTableError, cue_table
from dictate.cues.likeness import Earlier, Frames
from dictate.cues.lost import doubt_lost
from dictate.cues.onset import Samples
from dictate.cues.spotting import (
    AT_LEAST,
    CERTAIN,
    CUE_PHRASES,
    Evidence,
    candidates,
    clock_after,
    likeliest,
    plain,
    without_fillers,
)

__all__ = [
    "AT_LEAST",
    "CERTAIN",
    "CUE_PHRASES",
    "CueTable",
    "CueTableError",
    "Earlier",
    "Evidence",
    "FoundCues",
    "Frames",
    "Samples",
    "candidates",
    "clock_after",
    "cue_table",
    "doubt_lost",
    "find_cues",
    "likeliest",
    "plain",
    "time_cues",
    "without_fillers",
]
