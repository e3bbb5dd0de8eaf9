"""Speech of a real person, for the tests of real recognisers."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path

import pytest

from dictate.audio import Recording, load_recording


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
