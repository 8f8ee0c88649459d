"""The catalogue: one SQLite file that many may read while one run writes.

Writing goes through the write-ahead log; the tables stand in `tables.py`.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import fields
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from pic2chart.checks.report import YarnUse
from pic2chart.core.errors import InputError, OutputError
from pic2chart.core.messages import message
from pic2chart.library.motif import Broken, MotifRecord
from pic2chart.library.rights import Rights
from pic2chart.library.scan import Stamp
from pic2chart.library.tables import VERSION, bring_up_to_date, version_of

NAME = "catalogue.sqlite"
_SPOILT = (sqlite3.Error, UnicodeDecodeError)
"""What SQLite raises on a damaged file; the second when a name in its schema is no text."""
_NUMBERED = ("number", "state", "why")
"""What stands with the picture's number and not with a size of its motif."""
COLUMNS = tuple(f.name for f in fields(MotifRecord) if f.name not in ("yarns", *_NUMBERED))
_LISTS = ("files", "tags", "said")
_YARN = tuple(f.name for f in fields(YarnUse))


class KeptMotif(NamedTuple):
    """What a run must know of a motif. `place`: its folder within the library; `sha256`: of its
    picture's contents; `digest`: of what was asked for, '' when it must be made again."""

    name: str
    place: str
    sha256: str
    digest: str
    files: tuple[str, ...]


class Catalogue:
    """An open catalogue. Use `opened` or `reading`; every method but the questions writes."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def motifs(self, where: str = "1", values: Sequence[Any] = ()) -> Iterator[MotifRecord]:
        """Motifs by number; `where`: an SQL condition on the columns, its values apart."""
        order = "" if "ORDER BY" in where else " ORDER BY number, size, name"
        query = f"SELECT {', '.join((*COLUMNS, *_NUMBERED))} FROM listed WHERE {where}{order}"
        for row in self.connection.execute(query, values):
            yield self._motif(row)

    def kept(self) -> dict[tuple[str, int], KeptMotif]:
        """By path and size, what a run must know of every motif."""
        rows = self.connection.execute(
            "SELECT path, size, name, place, sha256, digest, files FROM motif"
        )
        return {
            (path, size): KeptMotif(name, place, sha256, digest, _list(files))
            for path, size, name, place, sha256, digest, files in rows
        }

    def hash_made(self, path: str) -> str | None:
        """The hash of a file's contents that were found broken, or of which every motif of it that is
        up to date was made; None when there is no such hash."""
        for query in (
            "SELECT sha256 FROM broken WHERE path = ? AND sha256 != ''",
            "SELECT DISTINCT sha256 FROM motif WHERE path = ? AND digest != ''",
        ):
            rows = self.connection.execute(query, (path,)).fetchall()
            if len(rows) == 1:
                return str(rows[0][0])
        return None

    def made_by(self, digest: str) -> bool:
        """Whether a motif was made by the order of that digest, so that its options are good."""
        query = "SELECT 1 FROM motif WHERE digest = ? LIMIT 1"
        return self.connection.execute(query, (digest,)).fetchone() is not None

    def misplaced(self) -> list[tuple[str, str]]:
        """Name and folder of motifs whose folder an older version of the program chose."""
        query = "SELECT name, place FROM motif WHERE place NOT LIKE 'motifs/__/%' ORDER BY name"
        return self.connection.execute(query).fetchall()

    def faulty(self) -> Iterator[tuple[str, str]]:
        """Path and gravest finding of every motif with an error."""
        query = "SELECT path, said FROM listed WHERE errors > 0 ORDER BY number, size"
        for path, said in self.connection.execute(query):
            yield path, next(iter(_list(said)), "")

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
        """How many motifs there are; sizes of one picture are one motif."""
        return int(self.connection.execute("SELECT count(DISTINCT path) FROM motif").fetchone()[0])

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

    def settle(self) -> None:
        """Bring all that is in the log into the file itself, so that it can be copied."""
        with _explained():
            self.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def put(self, motif: MotifRecord) -> None:
        """Add a motif, or put it in the place of the one of that path and size, or of that name."""
        query = "DELETE FROM broken WHERE path = ? AND sha256 != ?"  # of other contents
        self._run(query, (motif.path, motif.sha256))
        self.drop([(motif.path, motif.size)])
        self._forget(motif.name)
        marks = ", ".join("?" * len(COLUMNS))
        self._run(f"INSERT INTO motif ({', '.join(COLUMNS)}) VALUES ({marks})", _row(motif))
        for yarn in motif.yarns:
            values = (motif.name, *(_printed(getattr(yarn, name)) for name in _YARN))
            self._run("INSERT INTO yarn VALUES (?, ?, ?, ?, ?, ?, ?)", values)
        self._run("INSERT OR REPLACE INTO fresh VALUES (?)", (motif.name,))

    def put_broken(self, broken: Broken) -> None:
        """Note a file that could not be used; the motif it had, if any, stays."""
        row = (broken.path, broken.sha256, broken.digest, _printed(broken.message))
        self._run("INSERT OR REPLACE INTO broken VALUES (?, ?, ?, ?)", row)

    def put_seen(self, stamps: Mapping[str, tuple[str, Stamp]], gone: Iterable[str]) -> None:
        """Remember the stamps of files whose contents are known, and forget those that are gone."""
        self.connection.executemany("DELETE FROM seen WHERE path = ?", ((path,) for path in gone))
        rows = ((path, sha256, *stamp) for path, (sha256, stamp) in sorted(stamps.items()))
        self.connection.executemany("INSERT OR REPLACE INTO seen VALUES (?, ?, ?, ?, ?)", rows)

    def put_about(self, key: str, value: str) -> None:
        """Note a word about the whole library."""
        self._run("INSERT OR REPLACE INTO about VALUES (?, ?)", (key, value))

    def unsettle(self, names: Iterable[str]) -> None:
        """Forget what these motifs were made from, so that a run cut short makes them again."""
        for name in names:
            self._run("UPDATE motif SET digest = '' WHERE name = ?", (name,))

    def drop(self, sizes: Iterable[tuple[str, int]]) -> None:
        """Take out the motifs of these paths and sizes; their numbers and states stay known."""
        for path, size in sizes:
            query = "SELECT name FROM motif WHERE path = ? AND size = ?"
            for (name,) in self.connection.execute(query, (path, size)).fetchall():
                self._forget(name)

    def mend_broken(self, paths: Iterable[str]) -> None:
        """Take out what was noted of files that are gone or good again."""
        for path in paths:
            self._run("DELETE FROM broken WHERE path = ?", (path,))

    def _forget(self, name: str) -> None:
        self._run("DELETE FROM words WHERE rowid = ?", (word_row(name),))
        self._run("DELETE FROM motif WHERE name = ?", (name,))
        self._run("DELETE FROM fresh WHERE name = ?", (name,))

    # The library's own files: whatever is not here is somebody else's.

    def owned(self, place: str) -> set[str]:
        """The files that the library put into one of its folders."""
        rows = self.connection.execute("SELECT file FROM owned WHERE place = ?", (place,))
        return {row[0] for row in rows}

    def own(self, place: str, files: Iterable[str]) -> None:
        """Note files that are about to be put there."""
        rows = ((place, file) for file in files)
        self.connection.executemany("INSERT OR IGNORE INTO owned VALUES (?, ?)", rows)

    def disown(self, place: str, files: Iterable[str]) -> None:
        """Forget files that are there no longer."""
        rows = ((place, file) for file in files)
        self.connection.executemany("DELETE FROM owned WHERE place = ? AND file = ?", rows)

    def idle_places(self) -> list[str]:
        """Folders with files of the library that no motif has any more."""
        query = (
            "SELECT DISTINCT place FROM owned WHERE place NOT IN (SELECT place FROM motif) "
            "ORDER BY place"
        )
        return [row[0] for row in self.connection.execute(query)]

    def move(self, name: str, old: str, new: str) -> None:
        """Note that a motif's files lie in another folder now."""
        self._run("UPDATE motif SET place = ? WHERE name = ?", (new, name))
        self._run("UPDATE OR REPLACE owned SET place = ? WHERE place = ?", (new, old))

    # What follows from the motifs: numbers and words to search for.

    def give_numbers(self) -> None:
        """A number for every picture that has none, by name; never one that was given before.

        A picture that moved within the folder keeps its number, known by its contents. A motif whose
        picture changed is no longer approved.
        """
        rows = self.connection.execute(
            "SELECT path, sha256, name FROM motif WHERE size = "
            "(SELECT min(size) FROM motif AS other WHERE other.path = motif.path) "
            "AND path NOT IN (SELECT path FROM numbered)"
        ).fetchall()
        for path, sha256, _ in sorted(rows, key=lambda row: (natural(row[2]), row[0])):
            moved = self.connection.execute(
                "SELECT number FROM numbered WHERE sha256 = ? "
                "AND path NOT IN (SELECT path FROM motif) ORDER BY number LIMIT 1",
                (sha256,),
            ).fetchone()
            if moved is None:
                self._run("INSERT INTO numbered (path, sha256) VALUES (?, ?)", (path, sha256))
            else:
                self._run("UPDATE numbered SET path = ? WHERE number = ?", (path, moved[0]))
        changed = self.connection.execute(
            "SELECT number, motif.sha256, state FROM fresh JOIN motif USING (name) "
            "JOIN numbered USING (path) WHERE motif.sha256 != numbered.sha256"
        ).fetchall()
        for number, sha256, state in changed:
            self._run("UPDATE numbered SET sha256 = ? WHERE number = ?", (sha256, number))
            if state == "approved":
                self.put_state(number, "new", "its picture changed")

    def put_state(self, number: int, state: str, why: str) -> None:
        """Note what was decided about a motif."""
        self._run(
            "UPDATE numbered SET state = ?, why = ? WHERE number = ?",
            (state, _printed(why), number),
        )

    def fresh(self) -> list[str]:
        """Names of the motifs that are not yet in the indexes, in order."""
        return [row[0] for row in self.connection.execute("SELECT name FROM fresh ORDER BY name")]

    def put_words(self, name: str) -> None:
        """List a motif's words for searching."""
        self._run("DELETE FROM words WHERE rowid = ?", (word_row(name),))
        self._run(
            "INSERT INTO words (rowid, name, title, path, tags, yarns, said, rights) "
            "SELECT ?, name, title, path, tags, "
            "(SELECT group_concat(yarn.name, ' ') FROM yarn WHERE yarn.motif = motif.name), said, "
            "rights FROM motif WHERE name = ?",
            (word_row(name), name),
        )

    def settled(self, names: Iterable[str]) -> None:
        """Note that these motifs are in the indexes."""
        self.connection.executemany("DELETE FROM fresh WHERE name = ?", ((n,) for n in names))

    def clean(self) -> None:
        """Note that the pages show what the catalogue says."""
        self._run("DELETE FROM dirty")

    def _run(self, statement: str, values: Sequence[Any] = ()) -> None:
        self.connection.execute(statement, values)

    def _motif(self, row: Sequence[Any]) -> MotifRecord:
        values = dict(zip((*COLUMNS, *_NUMBERED), row, strict=True))
        for name in _LISTS:
            values[name] = _list(values[name])
        values["parts"] = tuple(map(float, _list(values["parts"])))
        values["rights"] = Rights.of_list(_list(values["rights"]))
        values["mirrored"] = bool(values["mirrored"])
        query = f"SELECT {', '.join(_YARN)} FROM yarn WHERE motif = ? ORDER BY key"
        yarns = tuple(YarnUse(*yarn) for yarn in self.connection.execute(query, (values["name"],)))
        return MotifRecord(**values, yarns=yarns)


def word_row(name: str) -> int:
    """The row of a motif's words, so that they are found again without looking through all."""
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:8], "big") >> 1


@contextmanager
def opened(folder: Path) -> Iterator[Catalogue]:
    """The catalogue of a library for reading and writing, made or brought up to date if need be."""
    path = folder / NAME
    with _explained(), _connected(f"{_uri(path)}?mode=rwc", path) as connection:
        keep_log(connection)
        for pragma in ("synchronous = FULL", "fullfsync = ON", "checkpoint_fullfsync = ON"):
            connection.execute(f"PRAGMA {pragma}")
        bring_up_to_date(connection, path)
        yield Catalogue(connection)


@contextmanager
def reading(folder: Path) -> Iterator[Catalogue]:
    """The catalogue of a library for reading alone. Raises InputError when there is none."""
    path = folder / NAME
    if not path.is_file():
        raise InputError(message("no-library", folder=str(folder), file=NAME))
    mode = (
        "rw" if os.access(folder, os.W_OK) else "ro&immutable=1"
    )  # the log needs a file beside it
    with _connected(f"{_uri(path)}?mode={mode}", path) as connection:
        try:
            connection.execute("PRAGMA query_only = ON")
            if version_of(connection, path) < VERSION:
                raise InputError(message("catalogue-older", path=str(path)))
            yield Catalogue(connection)
        except _SPOILT as error:
            raise InputError(
                message("catalogue-unreadable", path=str(path), why=str(error))
            ) from error


def keep_log(connection: sqlite3.Connection) -> None:
    """Write ahead into a log, so that one may write while others read.

    A network share cannot share the log's memory between machines: there changes go through a journal,
    and readers wait for the writer.
    """
    try:
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError:
        connection.execute("PRAGMA journal_mode = DELETE")


def _uri(path: Path) -> str:
    """The file's address for SQLite, which takes no machine's name: a share's stands in the path."""
    return _without_machine(path.absolute().as_uri())


def _without_machine(uri: str) -> str:
    return uri if uri.startswith("file:///") else f"file:////{uri.removeprefix('file://')}"


@contextmanager
def _connected(uri: str, path: Path) -> Iterator[sqlite3.Connection]:
    try:
        connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=30)
        connection.text_factory = partial(str, encoding="utf-8", errors="replace")
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except _SPOILT as error:
        raise InputError(message("catalogue-unreadable", path=str(path), why=str(error))) from error
    try:
        yield connection
    finally:
        connection.close()


@contextmanager
def _explained() -> Iterator[None]:
    try:
        yield
    except _SPOILT as error:
        raise OutputError(message("catalogue-not-written", why=str(error))) from error


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
    values["parts"] = [f"{part:g}" for part in motif.parts]
    values["rights"] = motif.rights.as_list()
    for name in (*_LISTS, "parts", "rights"):
        values[name] = json.dumps(list(values[name]), ensure_ascii=False)
    return tuple(map(_printed, values.values()))


def _printed(value: Any) -> Any:
    """The value as SQLite takes it: no lone surrogates in text, truth as 0 or 1."""
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode("utf-8")
    return int(value) if isinstance(value, bool) else value
