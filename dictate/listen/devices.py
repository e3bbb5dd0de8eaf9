"""The microphones of this computer, and which of them a name means. EDGE: asks PortAudio."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

from dictate.listen.portaudio import MicrophoneError, alone

_SHOWN = 8  # names in an error


@dataclass(frozen=True, slots=True)
class Device:
    """A device that records. `default_rate` in Hz; `index` holds until PortAudio starts anew."""

    index: int
    name: str
    channels: int
    default_rate: float
    is_default: bool


def input_devices() -> tuple[Device, ...]:
    """All that can record, in PortAudio's order; empty where there is none. Raises MicrophoneError where
    PortAudio is missing.
    """
    with alone() as sounddevice:
        try:
            default = int(sounddevice.default.device[0])
            if default < 0:  # not set by anyone: what the system says
                default = int(sounddevice.query_devices(kind="input")["index"])
        except (sounddevice.PortAudioError, ValueError):  # there is none
            default = -1
        return tuple(
            Device(
                int(each["index"]),
                str(each["name"]),
                int(each["max_input_channels"]),
                float(each["default_samplerate"]),
                int(each["index"]) == default,
            )
            for each in sounddevice.query_devices()
            if each["max_input_channels"] > 0
        )


def find_device(wanted: str | int | None = None) -> Device:
    """The device meant: by index, by name (whole, else a part of it, whatever the case), None the default.

    Where several have the same name, as on Windows, where each is there once a driver kind, the default
    or else the first is taken. Raises MicrophoneError: no microphone, none of that name, several.
    """
    devices = input_devices()
    if not devices:
        raise MicrophoneError(_why_none())
    if wanted is None:
        return next((d for d in devices if d.is_default), devices[0])
    if isinstance(wanted, int):
        found = [d for d in devices if d.index == wanted]
    else:
        name = wanted.strip().casefold()
        found = [d for d in devices if d.name.casefold() == name]
        found = found or [d for d in devices if name and name in d.name.casefold()]
    if not found:
        raise MicrophoneError(f"no microphone {wanted!r} here; there are: {_names(devices)}")
    if len({d.name for d in found}) > 1:
        raise MicrophoneError(f"{wanted!r} may mean several microphones; choose one: {_names(found)}")
    return next((d for d in found if d.is_default), found[0])


def _names(devices: tuple[Device, ...] | list[Device]) -> str:
    names = list(dict.fromkeys(f"“{d.name}”" for d in devices))
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more


def _why_none() -> str:
    nodes = list(Path("/dev/snd").glob("pcm*c")) if sys.platform == "linux" else []
    if nodes and not any(os.access(node, os.R_OK) for node in nodes):
        return "the microphone may not be read; join the group audio (usermod -aG audio NAME), log in again"
    return "no microphone on this computer; plug one in, or switch it on, and try again"
