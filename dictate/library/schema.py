"""The tables of a library, and the steps from each older schema to the newest.

The documents in `revisions` are the truth. `facts` and `texts` are derived from them by `index.py`, hold only
notes that are not removed, and can be made anew at any time. A step is never changed once it was shipped.
"""

from __future__ import annotations

from typing import Final

APPLICATION: Final = 0x74617374  # "tast": marks a file as ours
INDEX: Final = 2  # number of what `index.py` derives; where a file's is another, its index is made anew

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

# what lists are sorted by and numbers compared with, fast also among 100,000 notes; where recordings lie; and
# the ids that a note had before it was made anew
_SECOND: Final = """
CREATE INDEX facts_title ON facts (title COLLATE NOCASE);
CREATE INDEX facts_producer ON facts (producer COLLATE NOCASE);
CREATE INDEX facts_origin ON facts (origin COLLATE NOCASE);
CREATE INDEX facts_position ON facts (position);
CREATE INDEX facts_vintage ON facts (vintage);
CREATE INDEX facts_depth ON facts (depth);
CREATE INDEX facts_nose_intensity ON facts (nose_intensity);
CREATE INDEX facts_sweetness ON facts (sweetness);
CREATE INDEX facts_acidity ON facts (acidity);
CREATE INDEX facts_tannin ON facts (tannin);
CREATE INDEX facts_alcohol ON facts (alcohol);
CREATE INDEX facts_body ON facts (body);
CREATE INDEX facts_bitterness ON facts (bitterness);
CREATE INDEX facts_palate_intensity ON facts (palate_intensity);
CREATE INDEX facts_mousse ON facts (mousse);
CREATE INDEX facts_finish ON facts (finish);
CREATE INDEX facts_length ON facts (length);
CREATE INDEX facts_quality ON facts (quality);
CREATE INDEX facts_score ON facts (score);
CREATE INDEX facts_drink_from ON facts (drink_from);
CREATE INDEX facts_drink_to ON facts (drink_to);
CREATE INDEX facts_faults ON facts (faults);
CREATE TABLE recordings (
  sha256 TEXT PRIMARY KEY,
  path TEXT NOT NULL,
  size INTEGER,
  seen_at TEXT
) WITHOUT ROWID;
CREATE TABLE places (
  number INTEGER PRIMARY KEY REFERENCES notes ON DELETE CASCADE,
  sha256 TEXT NOT NULL,
  start_s REAL NOT NULL,
  end_s REAL NOT NULL
);
CREATE INDEX places_sha256 ON places (sha256);
CREATE TABLE former_ids (
  id TEXT PRIMARY KEY,
  number INTEGER NOT NULL REFERENCES notes ON DELETE CASCADE
) WITHOUT ROWID;
CREATE INDEX former_ids_number ON former_ids (number);
"""

STEPS: Final[tuple[str, ...]] = (_FIRST, _SECOND)  # step n makes schema n + 1 of schema n
SCHEMA: Final = len(STEPS)
