"""Room: what a taster asks of the library, in plain words, as a typed tree."""

from dictate.find.fields import NUMBERS, TEXTS, sort_key
from dictate.find.parse import parse_query
from dictate.find.tree import All, Any, Mentions, Not, Query, QueryError, Range

__all__ = [
    "NUMBERS",
    "TEXTS",
    "All",
    "Any",
    "Mentions",
    "Not",
    "Query",
    "QueryError",
    "Range",
    "parse_query",
    "sort_key",
]
