"""EDGE: sound in. `load_recording` reads a file, `find_speech` cuts it into breath groups."""

from dictate.audio.errors import NoSoundError, SourceError
from dictate.audio.recording import Recording, load_recording
from dictate.audio.speech import Stretch, find_speech

__all__ = ["NoSoundError", "Recording", "SourceError", "Stretch", "find_speech", "load_recording"]
