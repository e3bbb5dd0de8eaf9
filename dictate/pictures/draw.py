"""A sheet to the bytes of an SVG or PNG, by matplotlib.

Plain on purpose: ink and greys, so that print, a photocopy and colour-blind readers lose nothing; what
tells wines apart is a number or a row, never a colour. In the SVG, text is text, with a title and a
description.
"""

from __future__ import annotations

import hashlib
import logging
import re
import warnings
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final
from xml.sax.saxutils import escape

from dictate.compare.sheet import Sheet
from dictate.export import clean

if TYPE_CHECKING:
    from matplotlib.figure import Figure

ENDINGS: Final = (".svg", ".png")
MAX_ROWS: Final = 200  # more rows make a picture nobody can read, and take minutes
DOTS_PER_INCH: Final = 150
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",  # text stays text
    "svg.hashsalt": "dictate",  # the same picture, the same bytes
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],  # ships with matplotlib
    "text.parse_math": False,  # a spoken "$" is no formula
    "hatch.linewidth": 0.6,
}
# U+FFFE and U+FFFF are no characters of XML; `clean` has taken the control characters out
_NO_XML = re.compile("[\ufffe\uffff\ud800-\udfff]")


class PictureError(ValueError):
    """What cannot be drawn, in one line that says what to do."""


def draw_sheet(sheet: Sheet, ending: str) -> bytes:
    """The picture as a file's bytes; `ending` is ".svg" or ".png".

    Raises PictureError for another ending, for nothing to show and for more than 200 rows.
    """
    if ending not in ENDINGS:
        raise PictureError(f"a picture is .svg or .png, not {ending or 'a file without an ending'}")
    if not sheet.rows or not sheet.columns:
        raise PictureError("nothing to draw: no level, finish or score in these notes can be compared")
    if len(sheet.rows) > MAX_ROWS:
        raise PictureError(f"{len(sheet.rows)} rows are too many for one picture; give {MAX_ROWS} at most")
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # it tells of its font cache at first use
    import matplotlib

    from dictate.pictures.layout import lay_out

    with matplotlib.rc_context(_STYLE), warnings.catch_warnings():
        # letters that the font lacks: in an SVG the viewer's own font has them
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure = lay_out(sheet)
        title, description = _plain(sheet.title), _plain(sheet.description)
        return _svg(figure, title, description) if ending == ".svg" else _png(figure, title, description)


def _plain(text: str) -> str:
    return _NO_XML.sub("\ufffd", clean(text))


def _svg(figure: Figure, title: str, description: str) -> bytes:
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    kept = BytesIO()
    FigureCanvasSVG(figure)
    figure.savefig(kept, format="svg", metadata={"Date": None, "Creator": None})
    its = hashlib.sha256(f"{title}{description}".encode()).hexdigest()[:8]  # two pictures may share a page
    told = (
        f' role="img" aria-labelledby="title-{its} description-{its}">\n'
        f' <title id="title-{its}">{escape(title)}</title>\n'
        f' <desc id="description-{its}">{escape(description)}</desc>'
    )
    text = kept.getvalue().decode("utf-8")
    return re.sub(r"(<svg\b[^>]*)>", lambda m: m[1] + told, text, count=1).encode("utf-8")


def _png(figure: Figure, title: str, description: str) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    kept = BytesIO()
    FigureCanvasAgg(figure)
    figure.savefig(
        kept,
        format="png",
        dpi=DOTS_PER_INCH,
        metadata={"Software": None, "Title": title, "Description": description},
    )
    return kept.getvalue()
