"""Spoken by a machine voice, heard by the real recogniser, done in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from dictate.listen.rehearsal import Rehearsal
from dictate.review.listening import Listening
from dictate.review.server import ReviewPage
from dictate.review.voice import Voice
from dictate.settings import Settings
from tests.review.test_browser import kept, opened, until, value
from tests.speech.synth import RATE, speech

if TYPE_CHECKING:
    from playwright.sync_api import Browser


def spoken(path: Path, *lines: str) -> Path:
    """Lines behind each other, a breath between them, in a quiet room."""
    parts = [np.zeros(2 * RATE, np.float32)]
    for line in lines:
        parts += [speech("piper:joe", line), np.zeros(RATE, np.float32)]
    samples = np.concatenate(parts).astype(np.float64)
    samples += np.random.default_rng(1).normal(0, 0.0008, len(samples))
    soundfile.write(path, samples, RATE, subtype="PCM_16")
    return path


@pytest.mark.browser
@pytest.mark.model
@pytest.mark.voices
def test_what_is_spoken_puts_the_note_right(browser: Browser, shelf_path: Path, tmp_path: Path) -> None:
    said = spoken(tmp_path / "said.wav", "acidity is high", "accept", "play that")
    voice = Voice(Listening(Rehearsal(said), Settings()), Settings())
    page = ReviewPage(shelf_path, cache=tmp_path / "cache", voice=voice)
    page.start()
    try:
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        window = opened(context, page, [])
        for done in ("acidity: 5.0 → 8.0", "smell: sailing accepted", "playing: producer: Tin Wistle"):
            until(
                window, f"document.getElementById('voice-told').textContent.includes({done!r})", within_s=60
            )
        assert window.evaluate("document.body.dataset.played") == "2.8 3.4"
        assert value(window, "palate.acidity").text_content() == "8"
        context.close()
    finally:
        page.stop()
    note = kept(shelf_path)
    assert note.palate.acidity is not None
    assert note.palate.acidity.level == 8
    assert [(c.field, c.by) for c in note.history] == [("palate.acidity", "voice"), ("nose.aromas", "voice")]
    assert "acidity" in note.history[0].said.lower()
