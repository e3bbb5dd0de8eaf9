"""Room: readings, phrases and cues -> notes; a wine list beside them; what the finish clock of one wine does.
The doors are `assemble_notes`, `fill_from_list`, `keep_listed` and `read_clock`."""

from dictate.assemble.finish import Clock, read_clock
from dictate.assemble.listed import fill_from_list, keep_listed, listed_in
from dictate.assemble.notes import assemble_notes

__all__ = ["Clock", "assemble_notes", "fill_from_list", "keep_listed", "listed_in", "read_clock"]
