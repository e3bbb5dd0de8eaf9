"""Notes to publish: a paragraph of prose, a tasting's report, a row of a table. Pure: files are read and
written by `commands/publish.py`, a PDF is set by `typeset.py`."""

from dictate.publish.prose import as_prose

__all__ = ["as_prose"]
