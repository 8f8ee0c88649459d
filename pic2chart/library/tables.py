"""The catalogue's tables, one step of SQL for each version; a new version is one more step.

`PRAGMA user_version` holds the version. An older catalogue is brought up to date when it is opened
for writing; a newer one is refused.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message

_MOTIFS = """
CREATE TABLE motif (
    name TEXT PRIMARY KEY, path TEXT NOT NULL UNIQUE, sha256 TEXT NOT NULL, digest TEXT NOT NULL,
    title TEXT NOT NULL, kind TEXT NOT NULL, files TEXT NOT NULL, tags TEXT NOT NULL,
    worked TEXT NOT NULL, hand TEXT NOT NULL, gauge TEXT NOT NULL,
    stitches INTEGER NOT NULL, rounds INTEGER NOT NULL,
    width_cm REAL NOT NULL, height_cm REAL NOT NULL,
    repeat_kind TEXT NOT NULL, repeat_stitches INTEGER NOT NULL, repeat_rounds INTEGER NOT NULL,
    mirrored INTEGER NOT NULL, agreement REAL NOT NULL,
    colours_per_round INTEGER NOT NULL, longest_float INTEGER NOT NULL,
    longest_uncaught INTEGER NOT NULL, float_limit INTEGER NOT NULL, catches INTEGER NOT NULL,
    isolated INTEGER NOT NULL, ends INTEGER NOT NULL, contrast REAL, ratio REAL, likeness REAL,
    difficulty REAL NOT NULL, errors INTEGER NOT NULL, warnings INTEGER NOT NULL,
    notes INTEGER NOT NULL, said TEXT NOT NULL, pixels BLOB NOT NULL,
    number INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX motif_stitches ON motif (stitches);
CREATE INDEX motif_repeat ON motif (repeat_stitches);
CREATE INDEX motif_difficulty ON motif (difficulty);
CREATE TABLE yarn (
    motif TEXT NOT NULL REFERENCES motif ON DELETE CASCADE, key TEXT NOT NULL, name TEXT NOT NULL,
    colour TEXT NOT NULL, stitches INTEGER NOT NULL, share REAL NOT NULL, L REAL NOT NULL,
    PRIMARY KEY (motif, key)
) STRICT, WITHOUT ROWID;
CREATE INDEX yarn_name ON yarn (name COLLATE NOCASE);
CREATE TABLE broken (
    path TEXT PRIMARY KEY, sha256 TEXT NOT NULL, digest TEXT NOT NULL, message TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE seen (
    path TEXT PRIMARY KEY, sha256 TEXT NOT NULL,
    size INTEGER NOT NULL, changed_ns INTEGER NOT NULL, entry_ns INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE VIRTUAL TABLE words USING fts5 (
    name UNINDEXED, title, path, tags, yarns, said, tokenize = 'unicode61 remove_diacritics 2'
);
"""
"""`seen` remembers the times of files so that they need not be read again; it says nothing of the
library itself. `about` holds what the whole is called and what its pages were made of."""

_ALIKE = """
CREATE TABLE alike (
    first TEXT NOT NULL REFERENCES motif ON DELETE CASCADE,
    second TEXT NOT NULL REFERENCES motif ON DELETE CASCADE,
    how TEXT NOT NULL, agreement REAL NOT NULL, PRIMARY KEY (first, second)
) STRICT, WITHOUT ROWID;
DELETE FROM about;
"""
"""Forgetting what the pages were made of makes the next run look for like motifs."""

_COPIED = (
    "sha256, digest, title, kind, files, tags, worked, hand, gauge, stitches, rounds, width_cm, "
    "height_cm, repeat_kind, repeat_stitches, repeat_rounds, mirrored, agreement, "
    "colours_per_round, longest_float, longest_uncaught, float_limit, catches, isolated, ends, "
    "contrast, ratio, likeness, difficulty, errors, warnings, notes, said, pixels"
)
_NUMBERED = f"""
CREATE TABLE numbered (
    number INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, sha256 TEXT NOT NULL,
    state TEXT NOT NULL DEFAULT 'new', why TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX numbered_contents ON numbered (sha256);
INSERT INTO numbered (number, path, sha256) SELECT number, path, sha256 FROM motif WHERE number > 0;
CREATE TABLE owned (
    place TEXT NOT NULL, file TEXT NOT NULL, PRIMARY KEY (place, file)
) STRICT, WITHOUT ROWID;
INSERT OR IGNORE INTO owned
    SELECT 'motifs/' || motif.name, value FROM motif, json_each(motif.files);
CREATE TABLE motif_next (
    name TEXT PRIMARY KEY, path TEXT NOT NULL, size INTEGER NOT NULL, place TEXT NOT NULL,
    sha256 TEXT NOT NULL, digest TEXT NOT NULL,
    title TEXT NOT NULL, kind TEXT NOT NULL, files TEXT NOT NULL, tags TEXT NOT NULL,
    worked TEXT NOT NULL, hand TEXT NOT NULL, gauge TEXT NOT NULL,
    stitches INTEGER NOT NULL, rounds INTEGER NOT NULL,
    width_cm REAL NOT NULL, height_cm REAL NOT NULL,
    repeat_kind TEXT NOT NULL, repeat_stitches INTEGER NOT NULL, repeat_rounds INTEGER NOT NULL,
    mirrored INTEGER NOT NULL, agreement REAL NOT NULL,
    colours_per_round INTEGER NOT NULL, longest_float INTEGER NOT NULL,
    longest_uncaught INTEGER NOT NULL, float_limit INTEGER NOT NULL, catches INTEGER NOT NULL,
    isolated INTEGER NOT NULL, ends INTEGER NOT NULL, contrast REAL, ratio REAL, likeness REAL,
    difficulty REAL NOT NULL, errors INTEGER NOT NULL, warnings INTEGER NOT NULL,
    notes INTEGER NOT NULL, said TEXT NOT NULL, pixels BLOB NOT NULL,
    parts TEXT NOT NULL DEFAULT '[]', rights TEXT NOT NULL DEFAULT '[]',
    proposed TEXT NOT NULL DEFAULT '', UNIQUE (path, size)
) STRICT;
INSERT INTO motif_next (name, path, size, place, {_COPIED})
    SELECT name, path, 0, 'motifs/' || name, {_COPIED} FROM motif;
DROP TABLE motif;
ALTER TABLE motif_next RENAME TO motif;
CREATE INDEX motif_stitches ON motif (stitches);
CREATE INDEX motif_repeat ON motif (repeat_stitches);
CREATE INDEX motif_difficulty ON motif (difficulty);
CREATE INDEX motif_place ON motif (place);
CREATE VIEW listed AS
    SELECT motif.*, coalesce(numbered.number, 0) AS number,
        coalesce(numbered.state, 'new') AS state, coalesce(numbered.why, '') AS why
    FROM motif LEFT JOIN numbered ON numbered.path = motif.path;
DROP TABLE words;
CREATE VIRTUAL TABLE words USING fts5 (
    name UNINDEXED, title, path, tags, yarns, said, rights,
    tokenize = 'unicode61 remove_diacritics 2'
);
CREATE TABLE fresh (name TEXT PRIMARY KEY) STRICT, WITHOUT ROWID;
INSERT INTO fresh SELECT name FROM motif;
CREATE TABLE sketch (
    name TEXT PRIMARY KEY REFERENCES motif ON DELETE CASCADE, bits BLOB NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX motif_contents ON motif (sha256);
CREATE INDEX alike_second ON alike (second);
CREATE TABLE card (path TEXT PRIMARY KEY, plain TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE dirty (number INTEGER PRIMARY KEY) STRICT;
CREATE TRIGGER card_put AFTER INSERT ON card BEGIN
    INSERT OR IGNORE INTO dirty SELECT number FROM numbered WHERE path = NEW.path;
END;
CREATE TRIGGER card_gone AFTER DELETE ON card BEGIN
    INSERT OR IGNORE INTO dirty SELECT number FROM numbered WHERE path = OLD.path;
END;
CREATE TRIGGER numbered_put AFTER UPDATE OF path, state, why ON numbered BEGIN
    INSERT OR IGNORE INTO dirty VALUES (NEW.number);
END;
CREATE TRIGGER alike_put AFTER INSERT ON alike BEGIN
    INSERT OR IGNORE INTO dirty SELECT number FROM numbered JOIN motif USING (path)
        WHERE motif.name IN (NEW.first, NEW.second);
END;
CREATE TRIGGER alike_gone AFTER DELETE ON alike BEGIN
    INSERT OR IGNORE INTO dirty SELECT number FROM numbered JOIN motif USING (path)
        WHERE motif.name IN (OLD.first, OLD.second);
END;
CREATE TABLE drawn (
    page TEXT PRIMARY KEY, digest TEXT NOT NULL, data BLOB NOT NULL
) STRICT, WITHOUT ROWID;
DELETE FROM alike;
DELETE FROM about;
"""
"""`numbered` never loses a row, so that no number is given twice. `owned` lists every file that the
library put anywhere, so that nothing else is ever removed. `fresh` names the motifs that are not yet
in `words`, `sketch` (the index of like motifs) and `card` (what the contact sheet says of a
picture's motif); `dirty` the numbers whose pages must be written anew. `drawn` keeps the booklet's
pages.
"""

STEPS = (_MOTIFS, _ALIKE, _NUMBERED)
"""STEPS[n] takes a catalogue from version n to version n + 1."""
VERSION = len(STEPS)
_MARK = 0x70326368
"""`PRAGMA application_id`: tells a catalogue from any other SQLite file."""


def version_of(connection: sqlite3.Connection, path: Path) -> int:
    """The catalogue's version, 0 when it is empty. Raises InputError when it is no catalogue of ours."""
    mark, version = (
        connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("application_id", "user_version")
    )
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if tables and mark != _MARK:
        raise InputError(message("not-a-catalogue", path=str(path), options=("out",)))
    if version > VERSION:
        raise InputError(message("catalogue-newer", path=str(path), version=version, known=VERSION))
    return int(version)


def bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Take the catalogue to VERSION, each step whole or not at all."""
    connection.execute("PRAGMA foreign_keys = OFF")  # a table is made anew under its own name
    for version in range(version_of(connection, path), VERSION):
        marks = f"PRAGMA application_id = {_MARK}; PRAGMA user_version = {version + 1};"
        connection.executescript(f"BEGIN IMMEDIATE; {STEPS[version]} {marks} COMMIT;")
    connection.execute("PRAGMA foreign_keys = ON")
