"""Room: readings, phrases and cues -> notes; a wine list beside them; what the finish clock of one wine does.
The doors are `assemble_notes`, `fill_from_list` and `read_clock`."""

from dictate.assemble.finish import Clock, read_clock
from dictate.assemble.listed import fill_from_list
from dictate.assemble.notes import assemble_notes

__all__ = ["Clock", "assemble_notes", "fill_from_list", "read_clock"]
