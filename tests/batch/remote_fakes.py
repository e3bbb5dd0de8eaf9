"""What runs on workers of a cluster in tests: the real tasks, quick ears, and deaths by a name."""

from __future__ import annotations

import os
import signal
from pathlib import Path

from dictate.batch import job, remote
from dictate.batch.manifest import Making
from dictate.batch.remote import Outcome, Sent
from dictate.batch.values import Task
from dictate.settings import Settings
from tests.batch.fakes import QuickMaker, die_in_span

_really_here = remote._is_here


def does(task: Task, settings: Settings, *, wanted: Making, sent: Sent | None = None) -> Outcome:
    """As `remote.do`; half a minute is long; what lies "elsewhere" is not seen from here."""
    job.LONG_S, job.SPAN_S = 30.0, 6.0  # type: ignore[misc]  # final elsewhere
    remote._maker = _maker
    remote.looks = fits
    remote._is_here = lambda path, sha256: "elsewhere" not in path.name and _really_here(path, sha256)
    name, once = task.job.path.name, Path(f"{task.job.path}.died")
    if "dies-always" in name or ("dies-once" in name and not once.exists()):
        once.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    die_in_span(task)
    if "breaks-outside" in name:
        raise ValueError("off the record words")
    return remote.do(task, settings, wanted=wanted, sent=sent)


_makers: dict[Settings, QuickMaker] = {}


def _maker(settings: Settings) -> QuickMaker:
    return _makers.setdefault(settings, QuickMaker(settings))


def fits(settings: Settings, wanted: Making) -> str:
    """A worker that has what is wanted."""
    return ""


def differs(settings: Settings, wanted: Making) -> str:
    """One that has not: what the real look says of another lexicon."""
    from dataclasses import replace

    remote._here = lambda _: replace(wanted, lexicon="another")  # type: ignore[assignment]
    return remote.looks(settings, wanted)
