"""What this computer has for a batch: processors, memory, and what notes would be made with. EDGE."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from dictate import __version__
from dictate.batch.manifest import Making
from dictate.lexicon import load_lexicon
from dictate.recognise import Weights
from dictate.recognise.weights import has_cuda, name_of
from dictate.settings import Settings

WORKER_BYTES: Final = 900_000_000  # of a worker amid an hour's recording (bench_batch.py)


def default_workers() -> int:
    """A worker a processor, as far as there is memory for them; one where a CUDA card does the work."""
    if has_cuda():
        return 1
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    memory = _free_bytes()
    return cores if memory is None else max(1, min(cores, memory // WORKER_BYTES))


def _free_bytes() -> int | None:
    """Memory that can be had: of the system (Linux: MemAvailable) and of this process's control group."""
    found: list[int] = []
    with suppress(OSError, ValueError, StopIteration):
        lines = Path("/proc/meminfo").read_text(encoding="ascii").splitlines()
        found.append(int(next(line for line in lines if line.startswith("MemAvailable")).split()[1]) * 1024)
    with suppress(OSError, ValueError):
        group = Path("/sys/fs/cgroup")
        limit = int((group / "memory.max").read_text())  # "max" where there is none
        found.append(limit - int((group / "memory.current").read_text()))
    return min(found, default=None)


def model_of(weights: Sequence[Weights]) -> str:
    """Names, arithmetic and a hash of weights. Raises OSError."""
    digest = hashlib.sha256()
    for each in weights:
        with (each.folder / "model.bin").open("rb") as file:
            digest.update(hashlib.file_digest(file, "sha256").digest())
    return f"{name_of(weights)} {digest.hexdigest()[:12]}"


def making_of(settings: Settings, model: str) -> Making:
    """All that notes depend on beside the recording, on this computer now. Raises LexiconError."""
    own = hashlib.sha256(repr((settings.words, settings.levels, settings.cues)).encode()).hexdigest()[:12]
    return Making(__version__, model, load_lexicon().version, own, settings.salvage)
