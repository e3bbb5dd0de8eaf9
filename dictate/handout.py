"""Notes as a file to hand on: Markdown, HTML, PDF, CSV or JSON. EDGE."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Final

from dictate.files import notes_as_json
from dictate.note import Note

ENDINGS: Final = {"markdown": "md", "html": "html", "pdf": "pdf", "csv": "csv", "json": "json"}


def handout(
    notes: Sequence[Note], form: str, *, title: str = "", template: Path | None = None, marked: bool = False
) -> bytes:
    """The notes in a form of `ENDINGS`. `template`: a layout of the user's own; `marked`: a CSV begins with
    the mark by which spreadsheets know UTF-8. Raises LayoutError, TypesetError, OSError."""
    from dictate.publish import as_csv, filled, report_of  # jinja2 takes its time to import

    if form == "json":
        return notes_as_json(list(notes)).encode()
    if form == "csv":
        return as_csv(notes).encode("utf-8-sig" if marked else "utf-8", "replace")
    report = report_of(notes, title=title)
    if form == "pdf":
        from dictate.typeset import as_pdf

        return as_pdf(report, template)
    if template is None:
        name = f"report.{ENDINGS[form]}.j2"
        text = (resources.files("dictate.publish") / "templates" / name).read_text("utf-8")
    else:
        name, text = str(template), _text(template)
    return filled(text, report, name=name, html=form == "html").encode("utf-8", "replace")


def _text(path: Path) -> str:
    from dictate.publish import LayoutError

    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise LayoutError(f"{path}: it is no text; save it as UTF-8") from error
