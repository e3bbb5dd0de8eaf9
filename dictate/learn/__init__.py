"""What corrections teach: proposals that the taster accepts or declines; how each kind is heard. Pure."""

from dictate.learn.corrections import corrections_of, reviewed
from dictate.learn.hearing import hearing_of
from dictate.learn.proposals import accept, decline, proposals_of
from dictate.learn.values import Correction, Evidence, KindHeard, Known, Proposal

__all__ = [
    "Correction",
    "Evidence",
    "KindHeard",
    "Known",
    "Proposal",
    "accept",
    "corrections_of",
    "decline",
    "hearing_of",
    "proposals_of",
    "reviewed",
]
