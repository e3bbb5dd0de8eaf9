"""Room: readings, phrases and cues -> notes; a wine list beside them. The doors are `assemble_notes`
and `fill_from_list`."""

from dictate.assemble.listed import fill_from_list
from dictate.assemble.notes import assemble_notes

__all__ = ["assemble_notes", "fill_from_list"]
