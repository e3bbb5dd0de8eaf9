"""What takes long to import is not imported to tell what there is to ask for."""

from __future__ import annotations

import subprocess
import sys

LATE = "av ctranslate2 faster_whisper jinja2 starlette matplotlib scipy.stats distributed typst sounddevice"


def test_help_waits_for_nothing_that_only_work_needs() -> None:
    """In a process of its own, for here all may be imported already."""
    code = "import sys; from dictate.cli import _parser; _parser().format_help(); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    found = set(done.stdout.split())
    assert "dictate.commands.note" in found
    assert found.isdisjoint(LATE.split())
