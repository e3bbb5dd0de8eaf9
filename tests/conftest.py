"""What all tests share: markers that say what a test needs, and why it is skipped without.

With CI=true a need that is not met is a failure: `.ci/run` installs everything, so nothing is skipped there.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings

from dictate.recognise import ModelError, Weights, find_listeners, find_weights
from tests.speech.voices import missing_for

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# Speed is measured in benches, never in tests: a busy machine must not turn a law red.
settings.register_profile("house", deadline=None)
settings.load_profile("house")

CHROMIUM = shutil.which("chromium") or "/usr/bin/chromium"
VOICES = ("piper:joe", "kokoro:jm_kumo", "flite:slt")


@lru_cache(maxsize=1)
def _weights() -> Weights | ModelError:
    try:
        return find_weights()
    except ModelError as error:
        return error


def _no_model() -> str | None:
    found = _weights()
    return str(found) if isinstance(found, ModelError) else None


@lru_cache(maxsize=1)
def _no_voices() -> str | None:
    return next((reason for voice in VOICES if (reason := missing_for(voice))), None)


@lru_cache(maxsize=1)
def _no_sound_server() -> str | None:
    from tests.sound_server import missing

    return missing() or None


@lru_cache(maxsize=1)
def _no_browser() -> str | None:
    if not shutil.which("chromium"):
        return "needs a browser: apt-get install chromium"
    if importlib.util.find_spec("playwright") is None:
        return "needs Playwright: pip install playwright"
    return None


NEEDS = {"model": _no_model, "voices": _no_voices, "sound_server": _no_sound_server, "browser": _no_browser}


def pytest_runtest_setup(item: pytest.Item) -> None:
    for marker, reason_if_missing in NEEDS.items():
        if item.get_closest_marker(marker) and (reason := reason_if_missing()):
            if os.environ.get("CI") == "true":
                pytest.fail(f"in CI nothing is skipped: {reason}", pytrace=False)
            pytest.skip(reason)


@pytest.fixture(autouse=True)
def own_home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty place for a taster's own words and library: those of whoever runs the tests are no part
    of them."""
    home = tmp_path_factory.mktemp("home") / "dictate"
    monkeypatch.setenv("DICTATE_HOME", str(home))
    monkeypatch.delenv("DICTATE_LIBRARY", raising=False)
    return home


@pytest.fixture(scope="session")
def weights() -> Weights:
    """The weights found on this computer; use with the marker `model`."""
    found = _weights()
    assert isinstance(found, Weights)
    return found


@pytest.fixture(scope="session")
def recogniser(weights: Weights) -> Any:
    """The real recogniser, loaded once; use with the marker `model`."""
    from dictate.recognise.whisper import WhisperRecogniser

    return WhisperRecogniser(find_listeners())


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's Chromium, driven by Playwright."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        made = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield made
        made.close()
