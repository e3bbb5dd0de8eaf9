"""Room: readings, phrases and cues -> notes. The door is `assemble_notes`."""

from dictate.assemble.notes import assemble_notes

__all__ = ["assemble_notes"]
