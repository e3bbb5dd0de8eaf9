"""Comparing notes: side by side, over the years, by several tasters, by repeat pours. Pure.

Notes in, a typed comparison out; `as_document` gives it as JSON data, `as_tables` as tables of text,
`as_rows` as a CSV's rows, `as_sheet` as what a picture shows.
"""

from dictate.compare.beside import compare_notes
from dictate.compare.documents import as_document
from dictate.compare.repeats import compare_repeats
from dictate.compare.sheet import Sheet, as_sheet
from dictate.compare.spreadsheet import as_rows
from dictate.compare.tables import Table, as_tables
from dictate.compare.tasters import compare_tasters
from dictate.compare.values import Beside, Comparison, Repeats, Tasters, Years
from dictate.compare.years import compare_years

__all__ = [
    "Beside",
    "Comparison",
    "Repeats",
    "Sheet",
    "Table",
    "Tasters",
    "Years",
    "as_document",
    "as_rows",
    "as_sheet",
    "as_tables",
    "compare_notes",
    "compare_repeats",
    "compare_tasters",
    "compare_years",
]
