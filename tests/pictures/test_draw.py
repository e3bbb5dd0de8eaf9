"""Pictures: whole files, text as text, nothing spoken is markup, no label on another."""

from __future__ import annotations

import io
import itertools
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

from dictate.compare import Sheet, as_sheet, compare_notes, compare_repeats, compare_tasters, compare_years
from dictate.pictures import PictureError, draw_sheet
from dictate.pictures.layout import lay_out
from dictate.pictures.paper import fit, fit_name, width_of
from tests.compare.made import flight, note

SVG = "{http://www.w3.org/2000/svg}"


def beside(wines: int) -> Sheet:
    return as_sheet(compare_notes(flight(wines)))


def several() -> Sheet:
    return as_sheet(compare_tasters({f"T{n}": flight(8, seed=n) for n in range(5)}))


SHEETS = {
    **{f"{n} wines": beside(n) for n in (1, 2, 3, 4, 5, 8, 40)},
    "tasters": several(),
    "years": as_sheet(compare_years(flight(9), one_wine=True)),
    "repeats": as_sheet(compare_repeats(flight(6), one_wine=True)),
    "scores": as_sheet(compare_notes([note(f"{n}", points=80 + n, position=n + 1) for n in range(6)])),
}


def texts(svg: bytes) -> list[str]:
    return ["".join(t.itertext()).strip() for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_an_svg_has_text_as_text_a_title_and_a_description(sheet: Sheet) -> None:
    svg = draw_sheet(sheet, ".svg")
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    named = {
        e.get("id"): e.text for e in (root.find(f"{SVG}title"), root.find(f"{SVG}desc")) if e is not None
    }
    assert list(named) == (root.get("aria-labelledby") or "").split()
    assert list(named.values()) == [sheet.title, sheet.description]
    shown = texts(svg)
    for column in sheet.columns:
        assert all(word in " ".join(shown) for word in column.heading.split())
    assert draw_sheet(sheet, ".svg") == svg  # the same picture, the same bytes


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_no_text_lies_on_another_or_outside(sheet: Sheet) -> None:
    figure = lay_out(sheet)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    boxes = []
    for text in figure.axes[0].texts:
        box = text.get_window_extent(canvas.get_renderer())
        boxes.append((box.x0 + 0.5, box.y0 + 1.5, box.x1 - 0.5, box.y1 - 1.5, text.get_text()))
    width, height = figure.bbox.width, figure.bbox.height
    for x0, y0, x1, y1, told in boxes:
        assert x0 >= 0, told
        assert y0 >= 0, told
        assert x1 <= width, told
        assert y1 <= height, told
    for one, other in itertools.combinations(boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (one[4], other[4])


@pytest.mark.parametrize("name", ["2 wines", "8 wines", "tasters"])
def test_a_png_is_ink_and_greys_alone(name: str) -> None:
    """So a photocopy and colour-blind readers lose nothing."""
    picture = Image.open(io.BytesIO(draw_sheet(SHEETS[name], ".png")))
    assert picture.text["Title"] == SHEETS[name].title  # type: ignore[attr-defined]
    pixels = np.asarray(picture.convert("RGB"), dtype=int)
    assert (pixels.max(axis=2) - pixels.min(axis=2)).max() == 0
    assert 0.005 < (pixels < 128).mean() < 0.2  # there is something, and it is not a black page


def test_what_was_not_said_is_marked_and_has_no_dot() -> None:
    some = [
        note("a", position=1, levels={"palate.acidity": 5}),
        note("b", position=2, levels={"palate.body": 5}),
    ]
    few = texts(draw_sheet(as_sheet(compare_notes(some)), ".svg"))
    assert few.count("–") == 2
    grid = [*some, *(note(f"{n}", position=n, levels={"palate.acidity": 1}) for n in range(3, 7))]
    assert texts(draw_sheet(as_sheet(compare_notes(grid)), ".svg")).count("–") == 6


EVIL = '<script>alert("1")</script> & ]]> $\\frac{1}{2}$ \u202e [bold]x[/bold]'


@pytest.mark.parametrize("wines", [2, 6])
def test_nothing_spoken_is_markup_or_a_formula(wines: int) -> None:
    some = [
        note(f"{n}", position=n, producer=EVIL, hue="<b>", levels={"palate.acidity": 5}) for n in range(wines)
    ]
    svg = draw_sheet(as_sheet(compare_notes(some)), ".svg")
    root = ElementTree.fromstring(svg)
    assert root.find(f".//{SVG}script") is None
    assert b"<script" not in svg
    assert any(text.startswith("<b>") for text in texts(svg))


@settings(max_examples=25)
@given(st.text(max_size=200), st.sampled_from([2, 6]))
def test_any_name_gives_a_whole_svg(name: str, wines: int) -> None:
    some = [note(f"{n}", position=n, producer=name, levels={"palate.acidity": n}) for n in range(wines)]
    assert ElementTree.fromstring(draw_sheet(as_sheet(compare_notes(some)), ".svg")).tag == f"{SVG}svg"


@given(st.text(st.characters(codec="latin-1"), max_size=120), st.floats(0.5, 4))
def test_text_is_cut_to_its_room(name: str, width: float) -> None:
    for cut in (fit(name, width, size=8.5), fit_name(f"{name}, 2018", width, size=8.5)):
        assert width_of(cut, 8.5) <= width + 0.15  # an ellipsis at the least


def test_a_cut_name_keeps_its_vintage() -> None:
    assert fit_name("The Long and Winding Lane of the Old Quarry, Riesling, 2018", 2.0, size=8.5).endswith(
        "…, 2018"
    )


def test_what_cannot_be_drawn_says_what_to_do() -> None:
    with pytest.raises(PictureError, match=r"\.svg or \.png"):
        draw_sheet(beside(2), ".jpg")
    with pytest.raises(PictureError, match="nothing to draw"):
        draw_sheet(as_sheet(compare_notes([note("a")])), ".svg")
    with pytest.raises(PictureError, match="200 at most"):
        draw_sheet(beside(201), ".svg")
