"""The catalogue: one SQLite file that many may read while one run writes; its tables.

Writing goes through the write-ahead log."""

from __future__ import annotations

import json
import os
import re
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path
from typing import Any

from pic2chart.checks.report import YarnUse
from pic2chart.core.errors import InputError, OutputError
from pic2chart.library.motif import Broken, MotifRecord
from pic2chart.library.scan import Stamp

# The catalogue's tables, one step of SQL for each version; a new version is one more step.
#
# `PRAGMA user_version` holds the version. An older catalogue is brought up to date when it is opened
# for writing; a newer one is refused.

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


NAME = "catalogue.sqlite"
_SPOILT = (sqlite3.Error, UnicodeDecodeError)
"""What SQLite raises on a damaged file; the second when a name in its schema is no text."""
COLUMNS = tuple(f.name for f in fields(MotifRecord) if f.name != "yarns")
_LISTS = ("files", "tags", "said")
_YARN = tuple(f.name for f in fields(YarnUse))


class Catalogue:
    """An open catalogue. Use `opened` or `reading`; every method but the questions writes."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def motifs(self, where: str = "1", values: Sequence[Any] = ()) -> Iterator[MotifRecord]:
        """Motifs by number; `where`: an SQL condition on the columns, its values apart."""
        order = "" if "ORDER BY" in where else " ORDER BY number, name"
        query = f"SELECT {', '.join(COLUMNS)} FROM motif WHERE {where}{order}"
        for row in self.connection.execute(query, values):
            yield self._motif(row)

    def kept(self) -> dict[str, tuple[str, str, str, tuple[str, ...]]]:
        """By path, of every motif: its name, contents' hash, order's digest, and files."""
        rows = self.connection.execute("SELECT path, name, sha256, digest, files FROM motif")
        return {row[0]: (row[1], row[2], row[3], _list(row[4])) for row in rows}

    def broken(self) -> dict[str, tuple[str, str, str]]:
        """By path, of every file that could not be used: contents' hash, order's digest, why."""
        rows = self.connection.execute(
            "SELECT path, sha256, digest, message FROM broken ORDER BY path"
        )
        return {row[0]: row[1:] for row in rows}

    def seen(self) -> dict[str, tuple[str, Stamp]]:
        """By path, the hash of a file's contents when it last had that stamp."""
        rows = self.connection.execute("SELECT * FROM seen")
        return {row[0]: (row[1], row[2:]) for row in rows}

    def about(self, key: str) -> str | None:
        """A word about the whole library, None when there is none."""
        row = self.connection.execute("SELECT value FROM about WHERE key = ?", (key,)).fetchone()
        return None if row is None else str(row[0])

    def count(self) -> int:
        """How many motifs there are."""
        return int(self.connection.execute("SELECT count(*) FROM motif").fetchone()[0])

    @contextmanager
    def change(self) -> Iterator[None]:
        """One transaction: all that is written within, or nothing. Raises OutputError."""
        with _explained():
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
            except BaseException:
                self.connection.execute("ROLLBACK")
                raise
            self.connection.execute("COMMIT")

    def put(self, motif: MotifRecord) -> None:
        """Add a motif, or put it in the place of the one of that path or name."""
        self.drop([motif.path])
        self._run("DELETE FROM motif WHERE name = ?", (motif.name,))
        marks = ", ".join("?" * len(COLUMNS))
        self._run(f"INSERT INTO motif ({', '.join(COLUMNS)}) VALUES ({marks})", _row(motif))
        for yarn in motif.yarns:
            values = (motif.name, *(_printed(getattr(yarn, name)) for name in _YARN))
            self._run("INSERT INTO yarn VALUES (?, ?, ?, ?, ?, ?, ?)", values)

    def put_broken(self, broken: Broken) -> None:
        """Note a file that could not be used, in the place of its motif if it had one."""
        self.drop([broken.path])
        row = (broken.path, broken.sha256, broken.digest, _printed(broken.message))
        self._run("INSERT INTO broken VALUES (?, ?, ?, ?)", row)

    def put_seen(self, stamps: Mapping[str, tuple[str, Stamp]]) -> None:
        """Remember the stamps of files whose contents are known, and no others."""
        self._run("DELETE FROM seen")
        rows = ((path, sha256, *stamp) for path, (sha256, stamp) in sorted(stamps.items()))
        self.connection.executemany("INSERT INTO seen VALUES (?, ?, ?, ?, ?)", rows)

    def put_about(self, key: str, value: str) -> None:
        """Note a word about the whole library."""
        self._run("INSERT OR REPLACE INTO about VALUES (?, ?)", (key, value))

    def put_alike(self, pairs: Iterable[tuple[str, str, str, float]]) -> None:
        """Note which motifs are nearly the same: (first, second, how, agreement), and no others."""
        self._run("DELETE FROM alike")
        self.connection.executemany("INSERT INTO alike VALUES (?, ?, ?, ?)", sorted(pairs))

    def unsettle(self, names: Iterable[str]) -> None:
        """Forget what these motifs were made from, so that a run cut short makes them again."""
        for name in names:
            self._run("UPDATE motif SET digest = '' WHERE name = ?", (name,))

    def drop(self, paths: Iterable[str]) -> None:
        """Take out whatever was made of these files."""
        for path in paths:
            self._run("DELETE FROM motif WHERE path = ?", (path,))
            self._run("DELETE FROM broken WHERE path = ?", (path,))

    def index(self) -> None:
        """Number the motifs by name, and list their words for searching."""
        names = [row[0] for row in self.connection.execute("SELECT name FROM motif")]
        numbers = ((n, name) for n, name in enumerate(sorted(names, key=natural), 1))
        self.connection.executemany("UPDATE motif SET number = ? WHERE name = ?", numbers)
        self._run("DELETE FROM words")
        self._run(
            "INSERT INTO words SELECT name, title, path, tags, "
            "(SELECT group_concat(yarn.name, ' ') FROM yarn WHERE yarn.motif = motif.name), said "
            "FROM motif ORDER BY name"
        )

    def _run(self, statement: str, values: Sequence[Any] = ()) -> None:
        self.connection.execute(statement, values)

    def _motif(self, row: Sequence[Any]) -> MotifRecord:
        values = dict(zip(COLUMNS, row, strict=True))
        for name in _LISTS:
            values[name] = _list(values[name])
        values["mirrored"] = bool(values["mirrored"])
        query = f"SELECT {', '.join(_YARN)} FROM yarn WHERE motif = ? ORDER BY key"
        yarns = tuple(YarnUse(*yarn) for yarn in self.connection.execute(query, (values["name"],)))
        return MotifRecord(**values, yarns=yarns)


@contextmanager
def opened(folder: Path) -> Iterator[Catalogue]:
    """The catalogue of a library for reading and writing, made or brought up to date if need be."""
    path = folder / NAME
    with _explained(), _connected(f"{path.absolute().as_uri()}?mode=rwc", path) as connection:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        bring_up_to_date(connection, path)
        yield Catalogue(connection)


@contextmanager
def reading(folder: Path) -> Iterator[Catalogue]:
    """The catalogue of a library for reading alone. Raises InputError when there is none."""
    path = folder / NAME
    if not path.is_file():
        raise InputError(f"'{folder}' is not a library (it has no {NAME}); make one first.")
    mode = (
        "rw" if os.access(folder, os.W_OK) else "ro&immutable=1"
    )  # the log needs a file beside it
    with _connected(f"{path.absolute().as_uri()}?mode={mode}", path) as connection:
        try:
            connection.execute("PRAGMA query_only = ON")
            if version_of(connection, path) < VERSION:
                raise InputError(
                    f"The catalogue '{path}' is of an older version; run the library again on its "
                    "folder to bring it up to date."
                )
            yield Catalogue(connection)
        except _SPOILT as error:
            raise InputError(f"The catalogue '{path}' cannot be read: {error}.") from error


@contextmanager
def _connected(uri: str, path: Path) -> Iterator[sqlite3.Connection]:
    try:
        connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=30)
        connection.text_factory = lambda text: text.decode("utf-8", "replace")
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except _SPOILT as error:
        raise InputError(f"The catalogue '{path}' cannot be read: {error}.") from error
    try:
        yield connection
    finally:
        connection.close()


@contextmanager
def _explained() -> Iterator[None]:
    try:
        yield
    except _SPOILT as error:
        raise OutputError(f"The catalogue cannot be written: {error}.") from error


def _list(text: Any) -> tuple[str, ...]:
    """A list of words as it is kept in one cell."""
    try:
        value = json.loads(text)
    except (TypeError, ValueError, RecursionError) as error:
        raise sqlite3.DatabaseError("a list in it is spoilt") from error
    if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
        raise sqlite3.DatabaseError("a list in it is spoilt")
    return tuple(value)


def natural(text: str) -> list[tuple[int, int, str]]:
    """A key that puts 'fish 2' before 'fish 10', capitals or not."""
    parts = re.findall(r"\d+|\D+", text.casefold())
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts]


def _row(motif: MotifRecord) -> tuple[Any, ...]:
    values = {name: getattr(motif, name) for name in COLUMNS}
    for name in _LISTS:
        values[name] = json.dumps(list(values[name]), ensure_ascii=False)
    return tuple(map(_printed, values.values()))


def _printed(value: Any) -> Any:
    """The value as SQLite takes it: no lone surrogates in text, truth as 0 or 1."""
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return int(value) if isinstance(value, bool) else value
