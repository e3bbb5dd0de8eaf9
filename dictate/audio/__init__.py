"""EDGE: sound in. `load_recording` reads a file, `find_speech` cuts it into breath groups."""

from dictate.audio.errors import SourceError
from dictate.audio.recording import Recording, load_recording
from dictate.audio.speech import Stretch, find_speech

__all__ = ["Recording", "SourceError", "Stretch", "find_speech", "load_recording"]
