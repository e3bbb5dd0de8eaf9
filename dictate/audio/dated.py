"""The year in which a source was made, for what is counted from the tasting. EDGE: looks at the file."""

from __future__ import annotations

import contextlib
import re
from datetime import datetime
from pathlib import Path

_STAMP = re.compile(
    r"(19[89]\d|20\d\d)-\d\d-\d\d"
)  # of ISO 8601; before 1980 stands where a clock was not set
_TEXTS = (".vtt", ".srt")  # no container, and PyAV takes its time to import


def _tagged_year(path: Path) -> int | None:
    import av

    with contextlib.suppress(av.FFmpegError, OSError, ValueError):
        with av.open(str(path), mode="r", metadata_errors="replace") as container:
            tags = {k.lower(): v for k, v in container.metadata.items()}
        for name in ("creation_time", "date"):
            if stamp := _STAMP.match(tags.get(name, "")):
                return int(stamp[1])
    return None


def recorded_year(path: Path) -> int | None:
    """The year a recorder wrote into the container (`creation_time`, `date`), else that of the file's
    last change, which a copy may make later; None where there is no such file. Never raises."""
    if path.suffix.lower() not in _TEXTS and (year := _tagged_year(path)) is not None:
        return year
    with contextlib.suppress(OSError, ValueError, OverflowError):
        return datetime.fromtimestamp(path.stat().st_mtime).astimezone().year
    return None
