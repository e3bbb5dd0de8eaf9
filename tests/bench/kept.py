"""What a bench has worked out so far, in a file: a run that was stopped goes on."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any


class KeptRows:
    """Rows by their `key`, one JSON line each, of which the last holds; without a file in memory alone."""

    def __init__(self, file: Path | None, *, again: bool = False) -> None:
        """`again`: what was kept is thrown away."""
        self.rows: dict[str, dict[str, Any]] = {}
        self._file = file
        if file is None:
            return
        file.parent.mkdir(parents=True, exist_ok=True)
        if again:
            file.unlink(missing_ok=True)
        for line in file.read_text(encoding="utf-8").splitlines() if file.exists() else ():
            try:
                row = json.loads(line)
            except ValueError:  # empty, or the run was stopped while it wrote
                continue
            self.rows[row["key"]] = row

    def put(self, row: dict[str, Any]) -> None:
        """Keep a row, at once. It begins with a line break, for the line before may be torn."""
        self.rows[row["key"]] = row
        if self._file:
            with self._file.open("a", encoding="utf-8") as out:
                out.write("\n" + json.dumps(row, ensure_ascii=False) + "\n")


def kept_by_mode(folder: Path | None, modes: Sequence[str], *, again: Collection[str]) -> dict[str, KeptRows]:
    """One file a mode in FOLDER, or all in memory; `again`: modes whose rows are thrown away."""
    return {
        mode: KeptRows(folder / f"{mode}.jsonl" if folder else None, again=mode in again) for mode in modes
    }
