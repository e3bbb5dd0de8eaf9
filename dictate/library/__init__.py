"""The library: notes kept in one SQLite file, found again, never lost. EDGE."""

from dictate.library.backups import backups_of, newest_backup
from dictate.library.errors import DamagedError, LibraryError, OutdatedError
from dictate.library.keeping import keep_notes
from dictate.library.opening import restore_backup
from dictate.library.revisions import EDITED, MADE, MADE_AGAIN, READ_AGAIN, REVIEWED, TAKEN_IN, taken_back
from dictate.library.store import KEPT_DAYS, Library
from dictate.library.values import Found, Hit, Kept, Making, Removed, Revised

__all__ = [
    "EDITED",
    "KEPT_DAYS",
    "MADE",
    "MADE_AGAIN",
    "READ_AGAIN",
    "REVIEWED",
    "TAKEN_IN",
    "DamagedError",
    "Found",
    "Hit",
    "Kept",
    "Library",
    "LibraryError",
    "Making",
    "OutdatedError",
    "Removed",
    "Revised",
    "backups_of",
    "keep_notes",
    "newest_backup",
    "restore_backup",
    "taken_back",
]
