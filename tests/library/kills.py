"""A program that adds and changes a hundred notes, killed (kill -9) at a moment; then: was anything lost?"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

from dictate.library import Library
from tests.library.made import made_notes

ROOT = Path(__file__).parents[2]
COUNT = 100
# each note is told on standard output when `add` has returned: it is acknowledged
_PROGRAM = f"""
import sys
from pathlib import Path
from dictate.library import Library
from tests.library.made import made_notes
with Library.open(Path(sys.argv[1])) as library:
    print("open", flush=True)
    for note in made_notes({COUNT}):
        library.add(note)
        print(note.id, flush=True)
        if note.wine.position % 7 == 0:
            library.remove([note.id])
            print("-" + note.id, flush=True)
"""


def killed_while_writing(path: Path, *, after_s: float) -> list[str]:
    """What the program acknowledged before it was killed, `after_s` seconds after its library was open."""
    program = subprocess.Popen(
        [sys.executable, "-c", _PROGRAM, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert program.stdout is not None
    assert program.stdout.readline() == "open\n"
    time.sleep(after_s)
    program.kill()
    told = program.stdout.read().split("\n")[:-1]  # a line that was cut was not told
    program.wait()
    program.stdout.close()
    return told


def judge(path: Path, told: list[str]) -> list[str]:
    """All that is wrong with what the program left, in words."""
    notes = {note.id: note for note in made_notes(COUNT)}
    removed = {line[1:] for line in told if line.startswith("-")}
    added = [line for line in told if not line.startswith("-")]
    with Library.open(path) as library:
        wrong = list(library.check())
        there = {hit.id for hit in library.find().hits}
        wrong += [
            f"{name} is lost" for name in added if name not in removed | there and not _last(told, name)
        ]
        wrong += [f"{name} is back" for name in removed & there]
        wrong += [f"{name} is another" for name in there if library.get(name) != notes[name]]
        kept = len(there) + len(library.removed())
        if not len(added) <= kept <= len(added) + 1:  # one may be written and not yet told
            wrong.append(f"{kept} notes, {len(added)} told")
    return wrong


def _last(told: list[str], name: str) -> bool:
    """Whether it was told last: its removal may be written and not yet told."""
    return told[-1] == name
