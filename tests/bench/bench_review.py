"""The review of an hour's recording: first paint, peaks the first and the second time, sound, a change saved.
Prints, asserts nothing; about a minute.

python tests/bench/bench_review.py [--minutes 60] [--wines 20]
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import numpy as np
import soundfile
from playwright.sync_api import sync_playwright

sys.path.insert(0, str(Path(__file__).parents[2]))
from dictate import note as n
from dictate.audio.recording import _hash_file
from dictate.library import Library
from dictate.review.server import ReviewPage
from tests.conftest import CHROMIUM
from tests.review.made import made, phrase

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

RATE = 16000
RUNS = 5
_PAINT = "performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? 0"


def record(path: Path, minutes: float) -> None:
    """Speech-like bursts of noise, as FLAC."""
    rng = np.random.default_rng(1)
    with soundfile.SoundFile(path, "w", RATE, 1, format="FLAC", subtype="PCM_16") as file:
        for _ in range(round(minutes * 60)):
            loud = 0.2 * np.sin(np.linspace(0, np.pi * 5, RATE)) ** 2
            file.write(rng.normal(0, 1, RATE) * (0.001 + loud * 0.3))


def notes(path: Path, minutes: float, wines: int) -> list[n.Note]:
    """So many wines one behind the other, and one note that takes all of it."""
    sha256 = _hash_file(path)
    each = minutes * 60 / wines
    found = []
    for number in range(1, wines + 1):
        start = (number - 1) * each
        place = n.Recording(path=str(path), sha256=sha256, start_s=start, end_s=start + each)
        said = [
            phrase("black cherry and cedar with a long finish", "palate", at=start + i * 8) for i in range(15)
        ]
        found.append(made(number=number, recording=place, transcript=said, finish=n.Finish()))
    whole = n.Recording(path=str(path), sha256=sha256, start_s=0, end_s=minutes * 60)
    said = [
        phrase("black cherry and cedar with a long finish", "palate", at=i * 8.0)
        for i in range(round(minutes * 60 / 8))
    ]
    return [*found, made(number=wines + 1, recording=whole, transcript=said, finish=n.Finish())]


def opened(window: Page, address: str) -> tuple[float, float]:
    """Seconds to the first paint and to the drawn strip."""
    began = time.perf_counter()
    window.goto(address)
    while not window.evaluate("document.body.dataset.peaks"):
        window.wait_for_timeout(10)
    drawn = time.perf_counter() - began
    return float(window.evaluate(_PAINT)) / 1000, drawn


def changed(window: Page) -> float:
    """Seconds from a key to the new value on the page, saved."""
    window.locator('[id="v.palate.acidity"]').focus()
    before = window.text_content("#told")
    began = time.perf_counter()
    window.keyboard.press("+" if time.perf_counter_ns() % 2 else "-")
    while window.text_content("#told") == before:
        pass
    return time.perf_counter() - began


def sounding(window: Page, number: int) -> float:
    """Seconds until a slice in the middle is there."""
    began = time.perf_counter()
    asked = f"fetch('/note/{number}/sound.wav', {{headers: {{Range: 'bytes=100000-200000'}}}})"
    window.evaluate(f"{asked}.then(answer => answer.arrayBuffer())")
    return time.perf_counter() - began


def measure(browser: Browser, page: ReviewPage, numbers: dict[str, int]) -> None:
    """Prints a line a figure."""
    window = browser.new_page()
    window.goto(page.url)
    host = f"http://{urlsplit(page.url).netloc}"
    for name, number in numbers.items():
        first, drawn = opened(window, f"{host}/note/{number}")
        print(f"{name}: first paint {first:.2f} s, strip drawn {drawn:.2f} s (the first time)")
        again = [opened(window, f"{host}/note/{number}") for _ in range(RUNS)]
        paint, strip = (statistics.median(x) for x in zip(*again, strict=True))
        print(f"{name}: first paint {paint:.2f} s, strip drawn {strip:.2f} s (again, median of {RUNS})")
        print(f"{name}: a slice of sound {sounding(window, number):.3f} s")
        saved = [changed(window) for _ in range(RUNS)]
        print(f"{name}: a change saved and shown {statistics.median(saved):.3f} s (median of {RUNS})")


def main() -> None:
    """Makes the recording and the notes, then measures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--wines", type=int, default=20)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        path = Path(folder) / "hour.flac"
        record(path, options.minutes)
        with Library.open(Path(folder) / "library.sqlite") as library:
            library.add_all(notes(path, options.minutes, options.wines))
        page = ReviewPage(Path(folder) / "library.sqlite", cache=Path(folder) / "cache")
        page.start()
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        measure(browser, page, {"one wine of the hour": 7, "all of it in one note": options.wines + 1})
        browser.close()
        page.stop()
        kept = sum(file.stat().st_size for file in (Path(folder) / "cache").iterdir())
        print(f"kept in the cache: {kept / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
