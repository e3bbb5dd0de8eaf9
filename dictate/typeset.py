"""Sets a PDF. EDGE: the typesetter keeps fonts and reads a user's template from the disk.

typst, since it comes as one wheel with its own fonts (Libertinus Serif, SIL Open Font License: Latin with all
accents, Greek, Cyrillic) and takes the report as data, never as markup. What its fonts lack is taken from the
computer's own.
"""

from __future__ import annotations

import json
import re
from importlib import resources
from pathlib import Path
from typing import Any


class TypesetError(ValueError):
    """A PDF that could not be set; the message says why and what to do, on one line."""


def as_pdf(report: dict[str, Any], template: Path | None = None) -> bytes:
    """The report as a PDF, by our layout or by a user's typst file, which finds the report's JSON in
    `sys.inputs.report`. Raises TypesetError, with file and line where the template is at fault; OSError."""
    try:
        import typst
    except ImportError as error:
        raise TypesetError("PDF needs the extra “pdf”: pip install 'dictate[pdf]'") from error
    source = template or Path(str(resources.files("dictate.publish") / "templates" / "report.typ"))
    source.read_bytes()  # told as any file that is not there
    inputs = {"report": json.dumps(report, ensure_ascii=False).encode("utf-8", "replace").decode()}
    try:
        made = typst.compile(str(source.resolve()), root=str(source.resolve().parent), sys_inputs=inputs)
    except typst.TypstError as error:
        raise TypesetError(_told(error, source)) from error
    if not isinstance(made, bytes):
        raise TypesetError(f"{source}: it gives more than one document")
    return made


def _told(error: Exception, source: Path) -> str:
    """File, line and what is wrong, of a report of several lines."""
    message = " ".join(str(getattr(error, "message", error)).split())
    place = re.search(r"[┌╭]─ .*?([^/\\\s]+):(\d+):\d+", str(getattr(error, "diagnostic", "")))
    if place is None:
        return f"{source}: {message}"
    file = str(source) if place.group(1) == source.name else place.group(1)
    return f"{file}, line {place.group(2)}: {message}"
