"""Pictures of the review into docs/review/, to be looked at. After `make demo`, from the project's folder:

python -m tests.review.shoot [out/demo]
"""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from PIL import Image
from playwright.sync_api import sync_playwright

from dictate.commands.named import notes_named
from dictate.library import Library
from dictate.review.server import ReviewPage
from tests.conftest import CHROMIUM

if TYPE_CHECKING:
    from playwright.sync_api import Page

TO = Path(__file__).parents[2] / "docs" / "review"
SIZES = {360: 780, 1280: 900, 1920: 1080}
# name -> path, what is clicked, widths, schemes
SHOTS = {
    "note": ("/note/6", "", (360, 1280, 1920), ("light", "dark")),
    "onsets": ("/note/6", "[id='v.finish.seconds']", (360, 1280), ("light",)),
    "library": ("/", "", (360, 1280, 1920), ("light", "dark")),
    "learning": ("/learning", "", (360, 1280, 1920), ("light",)),
    "compare": ("/compare?note=4&note=5&note=6", "", (360, 1280, 1920), ("light",)),
}


def shoot(window: Page, name: str) -> None:
    """One picture, in few colours: it is small then."""
    whole = Image.open(io.BytesIO(window.screenshot(full_page=True, animations="disabled")))
    few = whole.convert("RGB").quantize(64, dither=Image.Dither.NONE)
    few.save(TO / f"{name}.png", optimize=True)


def main(notes: Path) -> None:
    """All pictures of SHOTS."""
    TO.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        library = Path(folder) / "library.sqlite"
        with Library.open(library) as opened:
            opened.add_all(notes_named([notes]).notes)
        page = ReviewPage(library, cache=Path(folder) / "cache")
        page.start()
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        for name, (path, click, widths, schemes) in SHOTS.items():
            for width in widths:
                for scheme in schemes:
                    context = browser.new_context(
                        viewport={"width": width, "height": SIZES[width]},
                        color_scheme=scheme,  # type: ignore[arg-type]
                    )
                    window = context.new_page()
                    window.goto(page.url)
                    window.goto(f"http://{urlsplit(page.url).netloc}{path}")
                    window.wait_for_timeout(2500)
                    if click:
                        window.click(click)
                        window.wait_for_timeout(500)
                    shoot(window, f"{name}-{width}-{scheme}")
                    context.close()
        browser.close()
        page.stop()


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out/demo"))
