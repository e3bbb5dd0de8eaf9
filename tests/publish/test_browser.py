"""The HTML report in a real browser: nothing scrolls sideways, nothing is fetched, axe-core finds nothing."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from dictate import note as n
from tests.board.test_browser import axe_file
from tests.note.notes import full_note
from tests.publish.test_report import as_html, evil_note

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


@pytest.fixture
def page_file(tmp_path: Path) -> Path:
    """A report of three wines: a full one, one with a very long name, one of evil words."""
    long = full_note().model_copy(
        update={"id": "2", "wine": n.Wine(position=2, producer=n.Text(text="Donaudampfschifffahrts" * 6))}
    )
    path = tmp_path / "report.html"
    path.write_text(as_html([full_note(), long, evil_note(3)], title="Tuesday"), encoding="utf-8")
    return path


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_the_page_is_readable_everywhere(browser: Browser, page_file: Path, width: int, scheme: Any) -> None:
    axe = axe_file()
    if axe is None:
        (pytest.fail if os.environ.get("CI") == "true" else pytest.skip)("needs axe-core")
    context = browser.new_context(
        bypass_csp=True, viewport={"width": width, "height": 800}, color_scheme=scheme
    )
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    assert asked == [page_file.as_uri()]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == (
        "rgb(253, 252, 250)" if scheme == "light" else "rgb(26, 24, 22)"
    )
    page.add_script_tag(path=axe)
    found = page.evaluate("axe.run(document)")["violations"]
    assert [f"{v['id']}: {v['nodes'][0]['html']}" for v in found if v["impact"] != "minor"] == []
    context.close()


def test_no_script_runs_in_it(browser: Browser, page_file: Path) -> None:
    page = browser.new_page()
    said: list[str] = []
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    text = page_file.read_text("utf-8")
    page_file.write_text(text.replace("</main>", "<script>document.title = 'run'</script></main>"), "utf-8")
    page.goto(page_file.as_uri())
    assert page.title() == "Tuesday"  # its own policy forbids what would be put into it
    assert said == []
    page.close()


def test_each_wine_is_printed_on_a_page_of_its_own(browser: Browser, page_file: Path, tmp_path: Path) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    page = browser.new_page()
    page.goto(page_file.as_uri())
    page.pdf(path=tmp_path / "printed.pdf", prefer_css_page_size=True)
    page.close()
    with pdfium.PdfDocument(tmp_path / "printed.pdf") as document:
        texts = [sheet.get_textpage().get_text_bounded() for sheet in document]
    assert sum("Copper Ladle" in text and "Figures" not in text for text in texts) >= 2
    assert len(texts) >= 5  # the flight, three wines, the comparison
