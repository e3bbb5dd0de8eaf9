"""Notes of the library made again from their recordings, hand corrections kept. EDGE."""

from dictate.redo.gather import Choice, Source, gathered
from dictate.redo.values import Hear, Outcome, Redone
from dictate.redo.work import redo_source

__all__ = ["Choice", "Hear", "Outcome", "Redone", "Source", "gathered", "redo_source"]
