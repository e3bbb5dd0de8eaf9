"""EDGE: sound in. `load_recording` reads a file, `find_speech` cuts it into breath groups.

What decodes and what tells voices from noise take their time to import: whoever asks only for an error has
not to wait for them.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from dictate.audio.errors import NoSoundError, SourceError

if TYPE_CHECKING:
    from dictate.audio.recording import Recording, load_recording
    from dictate.audio.speech import Stretch, find_speech

__all__ = ["NoSoundError", "Recording", "SourceError", "Stretch", "find_speech", "load_recording"]

_LATE = {
    "Recording": "recording",
    "load_recording": "recording",
    "Stretch": "speech",
    "find_speech": "speech",
}


def __getattr__(name: str) -> Any:
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_LATE[name]}"), name)
