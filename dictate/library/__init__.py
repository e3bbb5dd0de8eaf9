"""The library: notes kept in one SQLite file, found again, never lost. EDGE."""

from dictate.library.backups import backups_of, newest_backup
from dictate.library.errors import DamagedError, LibraryError, OutdatedError
from dictate.library.opening import restore_backup
from dictate.library.store import KEPT_DAYS, MADE, Library
from dictate.library.values import Found, Hit, Kept, Removed

__all__ = [
    "KEPT_DAYS",
    "MADE",
    "DamagedError",
    "Found",
    "Hit",
    "Kept",
    "Library",
    "LibraryError",
    "OutdatedError",
    "Removed",
    "backups_of",
    "newest_backup",
    "restore_backup",
]
