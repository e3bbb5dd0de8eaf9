"""Room: kept words and cues -> phrases, each of one stage and of one wine. The door is `segment_words`."""

from dictate.segment.phrases import segment_words

__all__ = ["segment_words"]
