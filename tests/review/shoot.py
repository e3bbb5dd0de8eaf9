"""Pictures of the review into docs/review/, to be looked at. After `make demo`, from the project's folder:

python -m tests.review.shoot [out/demo [note voice ...]]
"""

from __future__ import annotations

import io
import os
import sys
import tempfile
from collections.abc import Mapping, Sequence
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from PIL import Image
from playwright.sync_api import sync_playwright

from dictate.commands.named import notes_named
from dictate.form import Amend, amended
from dictate.library import Library
from dictate.note import Note
from dictate.review.server import ReviewPage
from dictate.review.voice import Voice
from dictate.settings import Settings
from dictate.vocabulary import vocabulary_of
from tests.conftest import CHROMIUM
from tests.review.made import made
from tests.review.said import Script

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

TO = Path(__file__).parents[2] / "docs" / "review"
Shots = Mapping[str, tuple[str, str, tuple[int, ...], tuple[str, ...]]]
SIZES = {360: 780, 1280: 900, 1920: 1080}
# name -> path, what is clicked or said, widths, schemes
SHOTS = {
    "note": ("/note/6", "", (360, 1280, 1920), ("light", "dark")),
    "onsets": ("/note/6", "[id='v.finish.seconds']", (360, 1280), ("light",)),
    "library": ("/", "", (360, 1280, 1920), ("light", "dark")),
    "compare": ("/compare?note=4&note=5&note=6", "", (360, 1280, 1920), ("light",)),
}
BY_VOICE = {"voice": ("/note/6", "“acidity is high”", (360, 1280, 1920), ("light", "dark"))}
LEARNING = {"learning": ("/learning", "", (360, 1280, 1920), ("light",))}


def shoot(window: Page, name: str) -> None:
    """One picture, in few colours: it is small then."""
    whole = Image.open(io.BytesIO(window.screenshot(full_page=True, animations="disabled")))
    few = whole.convert("RGB").quantize(64, dither=Image.Dither.NONE)
    few.save(TO / f"{name}.png", optimize=True)


def shoot_all(page: ReviewPage, shots: Shots, browser: Browser, script: Script) -> None:
    """Pictures of a page, of all its shots or those that are named; what stands in “” is said to it."""
    page.start()
    for name, (path, act, widths, schemes) in shots.items():
        if sys.argv[2:] and name not in sys.argv[2:]:
            continue
        for width, scheme in product(widths, schemes):
            size = {"width": width, "height": SIZES[width]}
            context = browser.new_context(viewport=size, color_scheme=scheme)  # type: ignore[arg-type]
            window = context.new_page()
            window.goto(page.url)
            window.goto(f"http://{urlsplit(page.url).netloc}{path}")
            window.wait_for_timeout(2500)
            if act.startswith("“"):
                script.say(act.strip("“”"))
                while not window.evaluate("document.getElementById('voice-did').textContent"):
                    window.wait_for_timeout(50)
            elif act:
                window.click(act)
            window.wait_for_timeout(500)
            shoot(window, f"{name}-{width}-{scheme}")
            if act.startswith("“"):
                script.say("undo")  # so that it is said of the same note again
                window.wait_for_timeout(1500)
            context.close()
    page.stop()


def kept(path: Path, notes: Sequence[Note]) -> Path:
    """A library of notes."""
    with Library.open(path) as opened:
        opened.add_all(notes)
    return path


def put_right(number: int) -> Note:
    """A note in which a hand put a misheard word right."""
    right = Amend("nose.aromas", 1, "saline")
    return amended(
        made(number=number), right, known=vocabulary_of(), when=f"2026-03-0{number}T10:00:00+00:00"
    )


def main(notes: Path) -> None:
    """All pictures."""
    TO.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        os.environ["DICTATE_HOME"] = folder  # whose own words may be learnt already
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        demo, cache = kept(Path(folder) / "demo.sqlite", notes_named([notes]).notes), Path(folder) / "cache"
        script = Script()
        shoot_all(ReviewPage(demo, cache=cache), SHOTS, browser, script)
        shoot_all(ReviewPage(demo, cache=cache, voice=Voice(script, Settings())), BY_VOICE, browser, script)
        taught = kept(Path(folder) / "taught.sqlite", [put_right(number) for number in (1, 2, 3)])
        shoot_all(ReviewPage(taught, cache=cache), LEARNING, browser, script)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out/demo"))
