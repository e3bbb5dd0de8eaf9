"""The tables of a library, and the steps from each older schema to the newest.

The documents in `revisions` are the truth. `facts` and `texts` are derived from them by `index.py`, hold only
notes that are not removed, and can be made anew at any time. A step is never changed once it was shipped.
"""

from __future__ import annotations

from typing import Final

APPLICATION: Final = 0x74617374  # "tast": marks a file as ours
INDEX: Final = 1  # number of what `index.py` derives; where a file's is another, its index is made anew

_FIRST: Final = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE notes (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  id TEXT NOT NULL UNIQUE,
  added_at TEXT NOT NULL,
  changed_at TEXT NOT NULL,
  removed_at TEXT,
  revision INTEGER NOT NULL
);
CREATE TABLE revisions (
  number INTEGER NOT NULL REFERENCES notes ON DELETE CASCADE,
  revision INTEGER NOT NULL,
  made_at TEXT NOT NULL,
  why TEXT NOT NULL,
  document TEXT NOT NULL,
  PRIMARY KEY (number, revision)
);
CREATE TABLE facts (
  number INTEGER PRIMARY KEY REFERENCES notes ON DELETE CASCADE,
  added TEXT NOT NULL, title TEXT NOT NULL, producer TEXT, origin TEXT,
  position REAL, vintage REAL, depth REAL, nose_intensity REAL, sweetness REAL, acidity REAL, tannin REAL,
  alcohol REAL, body REAL, bitterness REAL, palate_intensity REAL, mousse REAL, finish REAL, length REAL,
  quality REAL, score REAL, drink_from REAL, drink_to REAL, faults REAL
);
CREATE VIRTUAL TABLE texts USING fts5(
  producer, name, origin, grapes, vintage, code, colour, style, clarity, hue, rim, age, balance,
  readiness, how, aromas, flavours, finish_flavours, feel, absent, faults, words,
  tokenize = "unicode61 remove_diacritics 2"
);
"""

STEPS: Final[tuple[str, ...]] = (_FIRST,)  # step n makes schema n + 1 of schema n
SCHEMA: Final = len(STEPS)
