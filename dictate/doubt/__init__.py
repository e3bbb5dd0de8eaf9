"""Which values of a note are likely wrong, and which words of it were not read at all. Pure."""

from dictate.doubt.doubts import Doubt, doubts_of
from dictate.doubt.evidence import EVIDENCE, KINDS, Evidence, evidence_of
from dictate.doubt.held import Held, held_values
from dictate.doubt.table import DoubtTable, doubt_table
from dictate.doubt.unread import Unread, unread_of

__all__ = [
    "EVIDENCE",
    "KINDS",
    "Doubt",
    "DoubtTable",
    "Evidence",
    "Held",
    "Unread",
    "doubt_table",
    "doubts_of",
    "evidence_of",
    "held_values",
    "unread_of",
]
