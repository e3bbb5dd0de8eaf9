"""`dictate doctor`: whether what `dictate listen` needs is here and works, what to do where not. EDGE."""

from __future__ import annotations

import argparse
import platform
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from dictate import __version__
from dictate.commands import DONE, FAILED, SOME_FAILED
from dictate.files import check_folder
from dictate.listen.levels import check_level, running_level_db
from dictate.listen.microphone import SAMPLE_RATE, Microphone
from dictate.listen.portaudio import MicrophoneError, load_sounddevice
from dictate.recognise import ModelError, find_listeners
from dictate.show import show_lines, tell

_TRY_S = 2.0  # of sound for the level
_BYTES_AN_HOUR = 32000 * 3600  # 16 kHz, 16 bit, mono
_MARGIN = 500_000_000  # bytes left to the system and the notes: a full disk harms more than this program
_SCARCE_H = 8  # less than a working day of tasting
_LEAST_PYTHON = (3, 11)


@dataclass(frozen=True, slots=True)
class Check:
    """What was looked at and what was found, one line; `code`: DONE, SOME_FAILED (to mend) or FAILED
    (`dictate listen` cannot run).
    """

    what: str
    found: str
    code: int = DONE


def add_doctor_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate doctor`."""
    doctor = commands.add_parser(
        "doctor", help="check microphone, weights, disk before a tasting", allow_abbrev=False
    )
    doctor.add_argument(
        "--device", metavar="NAME", help="microphone by name or number (default: the system's)"
    )
    doctor.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")
    doctor.add_argument(
        "--to", type=Path, default=Path("tastings"), metavar="DIR", help="folder for sessions (tastings)"
    )
    doctor.set_defaults(run=run_doctor)


def run_doctor(options: argparse.Namespace) -> int:
    """A line a check on standard output, as it is done. Exit code 0: all is well; 1: something to mend; 2:
    `dictate listen` cannot run.
    """
    worst = DONE
    for check in _checks(options):
        show_lines([f"{check.what}: {'ok, ' if check.code == DONE else ''}{check.found}"])
        worst = max(worst, check.code)
    return worst


def _checks(options: argparse.Namespace) -> Iterator[Check]:
    yield _check_program()
    yield _check_disk(options.to)
    yield _check_weights(options.model)
    yield from _check_sound(device_option(options.device))


def device_option(given: str | None) -> str | int | None:
    """What `--device` means: a number is an index, anything else a name or part of it."""
    return int(given) if given is not None and given.isdecimal() else given


def _check_program() -> Check:
    found = f"dictate {__version__}, Python {platform.python_version()}"
    if sys.version_info[:2] < _LEAST_PYTHON:
        return Check("program", f"{found}; install Python 3.11 or newer", SOME_FAILED)
    return Check("program", found)


def _check_disk(folder: Path) -> Check:
    try:
        check_folder(folder)
        place = folder.absolute()
        while not place.exists():
            place = place.parent
        free = shutil.disk_usage(place).free
    except OSError as error:
        return Check("disk", f"{folder}: {error.strerror or error}; give another folder with --to", FAILED)
    hours = max(0, free - _MARGIN) / _BYTES_AN_HOUR
    if hours < 1:
        return Check("disk", f"no room for an hour of recording in {folder}; make room, or use --to", FAILED)
    found = f"room for {hours:.0f} hours of recording in {folder}"
    if hours < _SCARCE_H:
        return Check("disk", f"{found}; make room, or give another folder with --to", SOME_FAILED)
    return Check("disk", found)


def _check_weights(model: str | None) -> Check:
    try:
        listeners = find_listeners(model)
    except ModelError as error:
        return Check("weights", str(error), FAILED)
    hashed = "" if any(w.source == "option" for w in listeners) else ", SHA-256 as it should be"
    return Check("weights", ", ".join(f"{w.name} ({w.source})" for w in listeners) + hashed)


def _check_sound(device: str | int | None) -> Iterator[Check]:
    """PortAudio, microphone, level: each only where the one before it is well."""
    try:
        version = (
            str(load_sounddevice().get_portaudio_version()[1]).partition(",")[0].removeprefix("PortAudio ")
        )
    except MicrophoneError as error:
        yield Check("PortAudio", str(error), FAILED)
        return
    yield Check("PortAudio", version)
    try:
        with Microphone(device) as microphone:
            yield Check("microphone", microphone.name)
            tell("say something now, as loud as at the bench")
            samples = _record(microphone)
    except MicrophoneError as error:
        yield Check("microphone", str(error), FAILED)
        return
    if len(samples) < _TRY_S * SAMPLE_RATE:
        text = "the microphone stopped giving sound; plug it in again, or choose another with --device"
        yield Check("level", text, FAILED)
        return
    remarks = check_level(samples)
    yield from (Check("level", remark.text, SOME_FAILED) for remark in remarks)
    if not remarks:
        yield Check("level", f"{running_level_db(samples):.0f} dB of full scale, speech heard")


def _record(microphone: Microphone) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    """`_TRY_S` seconds, less where the microphone is lost."""
    blocks = []
    count = 0
    for block in microphone.blocks():
        if block.lost or count >= _TRY_S * SAMPLE_RATE:
            break
        blocks.append(block.samples)
        count += len(block.samples)
    sound = np.concatenate(blocks) if blocks else np.zeros(0, np.int16)
    return np.asarray(sound / np.float32(32768), np.float32)
