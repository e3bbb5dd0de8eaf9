"""`dictate publish`: finished notes as Markdown, HTML, PDF, CSV or JSON. EDGE."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from dictate.commands import DONE, FAILED, SOME_FAILED
from dictate.commands.named import add_notes_options, notes_asked, told_of
from dictate.export import file_name
from dictate.files import write_file
from dictate.handout import ENDINGS, handout
from dictate.note import Note
from dictate.show import print_bytes, show_lines, tell

_TEMPLATED = ("markdown", "html", "pdf")


def add_publish_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate publish`."""
    publish = commands.add_parser("publish", help="finished notes as a report to hand on", allow_abbrev=False)
    add_notes_options(publish, "notes (JSON), or folders of notes")
    publish.add_argument("--as", dest="form", choices=tuple(ENDINGS), required=True, help="what to make")
    publish.add_argument(
        "--to",
        type=Path,
        metavar="PATH",
        help="a file or a folder (default: standard output; a PDF needs one)",
    )
    publish.add_argument(
        "--template", type=Path, metavar="FILE", help="your layout: jinja2, for PDF typst (see the README)"
    )
    publish.add_argument("--title", default="", metavar="TEXT", help="what stands above the report")
    publish.set_defaults(run=run_publish)


def run_publish(options: argparse.Namespace) -> int:
    """Publishes the notes asked for; returns the exit code. Raises OSError where they cannot be written."""
    if problem := _misfit(options):
        tell(problem)
        return FAILED
    named = notes_asked(options)
    if not told_of(named):
        return FAILED
    target = _target(options, named.notes)
    if target is not None and any(target.resolve() == Path(name).resolve() for name in options.notes):
        tell(f"{target}: that is one of the notes; give another name with --to")
        return FAILED
    from dictate.publish import LayoutError  # jinja2 takes its time to import
    from dictate.typeset import TypesetError

    try:
        made = handout(
            named.notes,
            options.form,
            title=options.title,
            template=options.template,
            marked=options.to is not None,
        )
    except (LayoutError, TypesetError) as error:
        tell(str(error))
        return FAILED
    _write(made, target)
    return SOME_FAILED if named.problems else DONE


def _misfit(options: argparse.Namespace) -> str:
    if options.template is not None and options.form not in _TEMPLATED:
        return f"--template is for {', '.join(_TEMPLATED)}; {options.form} has a fixed form"
    if options.form == "pdf" and options.to is None:
        return "a PDF goes into a file; name one with --to"
    return ""


def _target(options: argparse.Namespace, notes: Sequence[Note]) -> Path | None:
    if options.to is None or not options.to.is_dir():
        return options.to if options.to is None else Path(options.to)
    stem = file_name(notes[0]) if len(notes) == 1 else "tasting"
    return Path(options.to) / f"{stem}.{ENDINGS[options.form]}"


def _write(data: bytes, target: Path | None) -> None:
    """Whole or not at all; raises OSError."""
    if target is None:
        print_bytes(data)
        return
    write_file(data, target)
    show_lines([f"written: {target}"])
