"""The year of a source: what the recorder wrote, else the file's own."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

import av
import numpy as np
import pytest

from dictate.audio.dated import recorded_year


def sound(path: Path, **tags: str) -> Path:
    """A tenth of a second of silence, with tags in its container."""
    with av.open(str(path), mode="w") as container:
        container.metadata.update(tags)
        stream = container.add_stream("aac", rate=16000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1600), np.float32), format="fltp", layout="mono")
        frame.sample_rate = 16000
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    return path


def aged(path: Path, year: int) -> Path:
    stamp = datetime(year, 7, 1, 12).astimezone().timestamp()
    os.utime(path, (stamp, stamp))
    return path


def test_a_recorder_knows_its_year_better_than_a_copy(tmp_path: Path) -> None:
    made = sound(tmp_path / "a.m4a", creation_time="2021-05-04T10:00:00Z")
    assert recorded_year(aged(made, 2025)) == 2021


@pytest.mark.parametrize("stamp", ["1970-01-01T00:00:00Z", "1904-01-01T00:00:00Z"])
def test_a_clock_never_set_is_not_believed(stamp: str, tmp_path: Path) -> None:
    assert recorded_year(aged(sound(tmp_path / "a.m4a", creation_time=stamp), 2025)) == 2025


@pytest.mark.parametrize("name", ["a.vtt", "a.srt", "a.wav"])
def test_without_a_tag_the_file_tells(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_text("no sound")
    assert recorded_year(aged(path, 2019)) == 2019


def test_no_file_has_no_year(tmp_path: Path) -> None:
    assert recorded_year(tmp_path / "none.wav") is None
