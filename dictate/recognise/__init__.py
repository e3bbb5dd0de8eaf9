"""EDGE: sound or a timed transcript to words. whisper.py is imported only where it is needed."""

from dictate.recognise.recogniser import Recogniser
from dictate.recognise.typed import read_transcript
from dictate.recognise.weights import ModelError, Weights, find_listeners, find_weights

__all__ = ["ModelError", "Recogniser", "Weights", "find_listeners", "find_weights", "read_transcript"]
