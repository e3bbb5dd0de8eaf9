"""`dictate devices`: the microphones there are. EDGE."""

from __future__ import annotations

import argparse
from typing import Any

from dictate.commands import DONE, FAILED
from dictate.language.counted import counted
from dictate.listen.devices import Device, find_device, input_devices
from dictate.listen.portaudio import MicrophoneError
from dictate.show import show_lines, tell


def add_devices_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The command `dictate devices`, which has no options."""
    devices = commands.add_parser("devices", help="the microphones of this computer", allow_abbrev=False)
    devices.set_defaults(run=run_devices)


def run_devices(_: argparse.Namespace) -> int:
    """One line a microphone on standard output; exit code 2 where there is none."""
    try:
        find_device()  # says why there is none
        found = input_devices()
    except MicrophoneError as error:
        tell(str(error))
        return FAILED
    show_lines(map(_line, found))
    return DONE


def _line(device: Device) -> str:
    channels = counted(device.channels, "channel")
    default = " (default)" if device.is_default else ""
    return f"{device.index}: {device.name}, {channels}, {device.default_rate:.0f} Hz{default}"
