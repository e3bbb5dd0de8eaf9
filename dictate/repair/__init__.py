"""The repair room: words, lexicon -> words with misheard trade words put right, and the steps."""

from dictate.repair.again import Decided, Proposal, SecondHearing
from dictate.repair.repair import Repaired, repair_words
from dictate.repair.replay import replay
from dictate.repair.table import RepairTable, RepairTableError, repair_table

__all__ = [
    "Decided",
    "Proposal",
    "RepairTable",
    "RepairTableError",
    "Repaired",
    "SecondHearing",
    "repair_table",
    "repair_words",
    "replay",
]
