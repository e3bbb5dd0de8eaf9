"""Notes to publish: a paragraph of prose, a tasting's report, rows of a table. Pure: files are read and
written by `commands/publish.py`, a PDF is set by `typeset.py`."""

from dictate.publish.filling import LayoutError, filled
from dictate.publish.prose import as_prose
from dictate.publish.report import report_of
from dictate.publish.row import as_csv

__all__ = ["LayoutError", "as_csv", "as_prose", "filled", "report_of"]
