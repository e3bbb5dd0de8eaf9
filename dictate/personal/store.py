"""The files of the taster's own words and of wine lists. EDGE.

All words are in one file of ours, `words.json` in the user's data folder (or in DICTATE_HOME), how the
taster speaks beside in `habits.json`; both are written aside and renamed. A damaged one is refused, never
written over.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from dictate.files import data_folder, write_together
from dictate.personal.exchange import MAX_BYTES, words_from_file, words_to_csv, words_to_json
from dictate.personal.habits import Habits, Own, habits_from_json, habits_to_json
from dictate.personal.sheet import SheetError
from dictate.personal.winelist import MAX_BYTES as LIST_BYTES
from dictate.personal.winelist import WineList, parse_wine_list
from dictate.personal.words import PersonalWord, WordsError

_WRITERS = {".csv": words_to_csv, ".json": words_to_json}


def words_path() -> Path:
    """The file of the taster's own words; it need not exist."""
    return data_folder() / "words.json"


def load_words() -> tuple[PersonalWord, ...]:
    """The taster's own words; none where there is no file. Raises WordsError where it can't be used."""
    path = words_path()
    try:
        return _read(path)
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise WordsError(f"{path}: {error.strerror}; your own words must be readable") from error
    except WordsError as error:
        raise WordsError(f"{error}; mend the file, or move it away to begin anew") from error


def _read(path: Path) -> tuple[PersonalWord, ...]:
    data = _bytes(path, limit=MAX_BYTES)
    try:
        return words_from_file(data)
    except WordsError as error:
        raise WordsError(f"{path}: {error}") from error


def _bytes(path: Path, *, limit: int) -> bytes:
    """A file's bytes, at most one more than `limit`: enough to refuse it."""
    with path.open("rb") as file:
        return file.read(limit + 1)


def change_words(
    change: Callable[[tuple[PersonalWord, ...]], tuple[PersonalWord, ...]],
) -> tuple[PersonalWord, ...]:
    """Read the words, change them, write them; another program waits meanwhile. Returns the new ones.

    Raises WordsError (also what `change` raises) and OSError; the file is then as it was.
    """
    path = words_path()
    path.parent.mkdir(parents=True, exist_ok=True)
    with _locked(path.with_suffix(".lock")):
        words = change(load_words())
        target = path.resolve()  # a link stays a link
        write_together({target: words_to_json(words).decode()}, target.parent)
    return words


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Holds a lock where the system has such (not on Windows)."""
    with path.open("a") as file:
        with contextlib.suppress(ImportError):
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def habits_path() -> Path:
    """The file of how the taster speaks; it need not exist."""
    return data_folder() / "habits.json"


def load_habits() -> Habits:
    """How the taster speaks; nothing is known where there is no file. Raises WordsError where it can't be
    used."""
    path = habits_path()
    try:
        return habits_from_json(_bytes(path, limit=MAX_BYTES).decode())
    except FileNotFoundError:
        return Habits()
    except OSError as error:
        raise WordsError(f"{path}: {error.strerror}; your habits must be readable") from error
    except (WordsError, UnicodeDecodeError) as error:
        raise WordsError(f"{path}: {error}; mend the file, or move it away to begin anew") from error


def load_own() -> Own:
    """Words and habits. Raises WordsError."""
    return Own(load_words(), load_habits())


def change_own(change: Callable[[Own], Own]) -> Own:
    """As `change_words`, of words and habits together. Raises WordsError, OSError."""
    paths = words_path(), habits_path()
    paths[0].parent.mkdir(parents=True, exist_ok=True)
    with _locked(paths[0].with_suffix(".lock")):
        before = load_own()
        after = change(before)
        texts = {}
        if after.words != before.words:
            texts[paths[0].resolve()] = words_to_json(after.words).decode()
        if after.habits != before.habits:
            texts[paths[1].resolve()] = habits_to_json(after.habits)
        for path, text in texts.items():  # a link may lead to another folder
            write_together({path: text}, path.parent)
    return after


def import_words(path: Path) -> tuple[PersonalWord, ...]:
    """The words of a CSV or JSON file. Raises WordsError with name and line, OSError."""
    return _read(path)


def export_words(words: tuple[PersonalWord, ...], path: Path) -> None:
    """Write words to a `.csv` or `.json`, whole or not at all. A file that is there is replaced only
    where it holds words itself. Raises WordsError, OSError."""
    writer = _WRITERS.get(path.suffix.lower())
    if writer is None:
        raise WordsError(f"{path}: unknown ending; name it .csv or .json")
    if path.exists():
        try:
            _read(path)
        except WordsError as error:
            raise WordsError(f"{path}: there already, and no list of words; give another name") from error
    write_together({path: writer(words).decode()}, path.parent)


def read_wine_list(path: Path) -> WineList:
    """The wines of a CSV file. Raises SheetError with name and line where it can't be used."""
    try:
        return parse_wine_list(_bytes(path, limit=LIST_BYTES))
    except OSError as error:
        raise SheetError(f"{path}: {error.strerror}; give a wine list (CSV) with --list") from error
    except SheetError as error:
        raise SheetError(f"{path}: {error}") from error
