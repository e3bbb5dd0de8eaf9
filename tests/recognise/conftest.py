"""Speech of a real person, for the tests of real recognisers."""

from __future__ import annotations

import os
from importlib import metadata
from pathlib import Path

import pytest

from dictate.audio import Recording, load_recording
from dictate.recognise import ModelError, Weights, find_listeners


@pytest.fixture(scope="package")
def both() -> tuple[Weights, ...]:
    """base and tiny.en; skips where they are not on this computer, but not in CI."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HF_HUB_OFFLINE", "1")
        try:
            return find_listeners("base+tiny.en")
        except ModelError as error:
            if os.environ.get("CI") == "true":
                raise
            pytest.skip(str(error))


@pytest.fixture(scope="package")
def reading() -> Recording:
    """A person's reading of a novel of 1859, out of the test data of moonshine-voice."""
    try:
        files = metadata.distribution("moonshine-voice").files or []
    except metadata.PackageNotFoundError:
        pytest.skip("no moonshine-voice: pip install moonshine-voice")
    path = next((Path(str(f.locate())) for f in files if f.name == "two_cities.wav"), None)
    if path is None or not path.is_file():
        pytest.skip("moonshine-voice without two_cities.wav")
    return load_recording(path)
