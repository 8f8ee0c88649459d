"""The catalogue's tables, one step of SQL for each version; a new version is one more step.

`PRAGMA user_version` holds the version. An older catalogue is brought up to date when it is opened
for writing; a newer one is refused.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from pic2chart.errors import InputError

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
library itself. `about` holds the digest of the finished whole."""

_ALIKE = """
CREATE TABLE alike (
    first TEXT NOT NULL REFERENCES motif ON DELETE CASCADE,
    second TEXT NOT NULL REFERENCES motif ON DELETE CASCADE,
    how TEXT NOT NULL, agreement REAL NOT NULL, PRIMARY KEY (first, second)
) STRICT, WITHOUT ROWID;
DELETE FROM about;
"""
"""Forgetting the digest of the whole makes the next run look for like motifs."""

STEPS = (_MOTIFS, _ALIKE)
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
        raise InputError(f"'{path}' is not a catalogue of motifs; choose another --out.")
    if version > VERSION:
        raise InputError(
            f"The catalogue '{path}' is of version {version} and this program knows up to "
            f"{VERSION}; use a newer pic2chart."
        )
    return int(version)


def bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Take the catalogue to VERSION, each step whole or not at all."""
    for version in range(version_of(connection, path), VERSION):
        marks = f"PRAGMA application_id = {_MARK}; PRAGMA user_version = {version + 1};"
        connection.executescript(f"BEGIN IMMEDIATE; {STEPS[version]} {marks} COMMIT;")
