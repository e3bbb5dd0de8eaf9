"""`dictate batch`: folders of recordings to notes, overnight. EDGE."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Callable, Sequence
from importlib import resources
from pathlib import Path
from typing import Any

from dictate.batch.folders import Searched, Source, search
from dictate.batch.keeping import Keeper
from dictate.batch.machine import default_workers, making_of, model_of
from dictate.batch.manifest import Making, Manifest
from dictate.batch.report import PAGE, page_of, told
from dictate.batch.run import Batch, Result
from dictate.batch.view import view_of_batch
from dictate.batch.workers import Crew, Workers, WorkersError
from dictate.commands import DONE, FAILED, SOME_FAILED, STOPPED
from dictate.commands.keep import add_keep_options, library_path
from dictate.commands.signals import stopped_by_signals
from dictate.files import check_folder, locked, write_file
from dictate.personal.store import load_own
from dictate.recognise import ModelError, find_listeners
from dictate.settings import Settings, with_own
from dictate.show import show_lines, tell

_LOCK = ".batch.lock"
_MOST_WORKERS = 256


def add_batch_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate batch`."""
    batch = commands.add_parser(
        "batch", help="all recordings below folders to notes, by several processes", allow_abbrev=False
    )
    batch.add_argument("folders", nargs="+", type=Path, metavar="FOLDER", help="where the recordings lie")
    batch.add_argument(
        "--to", type=Path, default=Path("notes"), metavar="DIR", help="folder for the notes (default: notes)"
    )
    batch.add_argument(
        "--workers",
        type=_count,
        metavar="N",
        help="processes side by side (default: one a processor, as far as there is memory)",
    )
    batch.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="a Dask scheduler whose workers do it (tcp://HOST:8786); 'local' starts one here",
    )
    batch.add_argument("--model", metavar="NAME", help="weights by name or folder (default: what is found)")
    batch.add_argument(
        "--language", choices=("en",), default="en", help="language spoken (English is the only one known)"
    )
    batch.add_argument(
        "--salvage",
        action="store_true",
        help="of recordings that are cut short or damaged, take what there is",
    )
    add_keep_options(batch)
    batch.set_defaults(run=run_batch)


def _count(text: str) -> int:
    """A number of workers."""
    if not text.isdecimal() or not 1 <= int(text) <= _MOST_WORKERS:
        raise argparse.ArgumentTypeError(f"{text!r} is no number from 1 to {_MOST_WORKERS}")
    return int(text)


def run_batch(options: argparse.Namespace) -> int:
    """Makes the notes; returns the exit code. Raises OSError where they cannot be written, WordsError where
    the taster's own words cannot be read."""
    settings = Settings(model=options.model, language=options.language, salvage=options.salvage)
    settings = with_own(settings, load_own())
    check_folder(options.to)
    searched = search(options.folders, without=options.to)
    if not searched.sources and not searched.unusable:
        tell(f"no recording below {', '.join(map(str, options.folders))}; check the folder")
        return FAILED
    try:
        makings = _makings(settings, searched.sources)
        options.to.mkdir(parents=True, exist_ok=True)
        busy = WorkersError(
            f"{options.to}: another batch is at work there; wait for it, or give another --to"
        )
        with locked(options.to / _LOCK, busy=busy), Manifest(options.to) as manifest:
            return _run(options, settings, searched=searched, makings=makings, manifest=manifest)
    except (ModelError, WorkersError) as error:
        tell(str(error))
        return FAILED


def _makings(settings: Settings, sources: Sequence[Source]) -> Callable[[Source], Making]:
    """What notes of a source would be made with now. Raises ModelError where there are no weights for any."""
    typed = making_of(settings, "transcript")
    if all(source.kind == "transcript" for source in sources):
        return lambda _: typed
    try:
        model = model_of(find_listeners(settings.model))
    except ModelError:
        if not any(source.kind == "transcript" for source in sources):
            raise
        model = "none"  # transcripts can still be done; each recording tells why it cannot
    heard = making_of(settings, model)
    return lambda source: typed if source.kind == "transcript" else heard


def _run(
    options: argparse.Namespace,
    settings: Settings,
    *,
    searched: Searched,
    makings: Callable[[Source], Making],
    manifest: Manifest,
) -> int:
    count = min(options.workers or default_workers(), max(1, len(searched.sources)))
    keeper = Keeper(options.to, None if options.no_library else library_path(options))
    with (
        _crew(options, settings, count=count, makings=makings, sources=searched.sources) as crew,
        view_of_batch() as view,
    ):
        batch = Batch(
            searched,
            crew=crew,
            keeper=keeper,
            manifest=manifest,
            makings=makings,
            view=view,
        )
        with stopped_by_signals(batch.stop):
            result = batch.run()
    _report(result, options.to)
    if result.left:
        return STOPPED
    return SOME_FAILED if result.failures else DONE


def _crew(
    options: argparse.Namespace,
    settings: Settings,
    *,
    count: int,
    makings: Callable[[Source], Making],
    sources: Sequence[Source],
) -> contextlib.AbstractContextManager[Crew]:
    """Whoever works: processes here, or a cluster where there is something to hear. Raises WorkersError."""
    heard = next((source for source in sources if source.kind != "transcript"), None)
    if options.cluster is None or heard is None:
        return Workers(settings, count=count)
    try:
        from dictate.batch.cluster import Cluster  # Dask takes a second to import, and may not be there
    except ModuleNotFoundError as error:
        raise WorkersError(f"--cluster needs {error.name}: pip install '.[weights,cluster]'") from error
    return Cluster(options.cluster, settings, making=makings(heard), count=count)


def _report(result: Result, folder: Path) -> None:
    """The report on standard output and as a page. Raises OSError."""
    from dictate.publish import filled  # jinja2 takes its time to import

    template = (resources.files("dictate.batch") / "templates" / "batch.html.j2").read_text("utf-8")
    page = filled(template, page_of(result), name="batch.html.j2", html=True)
    write_file(page.encode("utf-8", "replace"), folder / PAGE)
    show_lines(told(result), keep_spaces=True)
    show_lines([f"written: {folder / PAGE}"])
