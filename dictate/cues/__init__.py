"""The cues room: words -> cues, kept words, private spans; and the cues' onsets in the samples."""

from dictate.cues.cues import FoundCues, find_cues, time_cues
from dictate.cues.grammar import CueTable, CueTableError, cue_table

__all__ = ["CueTable", "CueTableError", "FoundCues", "cue_table", "find_cues", "time_cues"]
