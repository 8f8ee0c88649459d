"""The history of a project: every step and every undo, in one SQLite file that only ever grows.

A step counts once its transaction lies on the disk (write-ahead log, full synchronous), which is
before anything is shown of it: a machine that dies loses at most the step in hand. Undo and redo are
changes too, so the file says what was seen at any time; steps that were undone and passed over stay.
"""

from __future__ import annotations

import json
import os
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, OutputError
from pic2chart.core.messages import message
from pic2chart.desk import old_log
from pic2chart.model import plain_json

NAME = "history.sqlite"
_TABLES = """
CREATE TABLE step (
    place INTEGER PRIMARY KEY, before INTEGER REFERENCES step, what TEXT NOT NULL, state TEXT NOT NULL
) STRICT;
CREATE TABLE change (
    revision INTEGER PRIMARY KEY, shown INTEGER NOT NULL REFERENCES step, mark TEXT NOT NULL,
    at_ms INTEGER NOT NULL
) STRICT;
CREATE TABLE kept (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
"""
"""`step`: what was done, after which other step. `change`: which step was shown from when on, newest
last. `kept`: plain data beside the history, which undo leaves alone."""
_VERSION = 1
_MARK = 0x70326373
"""`PRAGMA application_id`: tells a history from any other SQLite file."""
_PRAGMAS = (
    *("journal_mode = WAL", "synchronous = FULL", "fullfsync = ON", "checkpoint_fullfsync = ON"),
    *("foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON"),
)
_LONGEST = 100_000_000
"""Characters of a state: several times what the largest chart takes."""
_FULL = "no space left on device"
_UNREADABLE = (sqlite3.Error, OverflowError, UnicodeDecodeError, ValueError, RecursionError)
"""What a file that holds anything at all may raise when it is read."""


@dataclass(frozen=True, slots=True)
class HistoryStep:
    """A step as it is stored: `place` names it, `before` the one it was done after."""

    place: int
    before: int | None
    what: str
    state: dict[str, Any]


@dataclass(frozen=True, slots=True)
class HistoryChange:
    """`shown`: the place of the step seen from then on. `at_ms`: milliseconds since 1970."""

    shown: int
    mark: str
    at_ms: int


class History:
    """Steps, the one that is shown, and how often anything changed.

    `revision` grows by one with every change; `mark` is what came with the last one, `changed_ms`
    when it was. The file is made by the first step. A log of an earlier version beside it is taken
    over, and stays. Raises InputError when the file cannot be read.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.revision = 0
        self.mark = ""
        self.changed_ms = 0
        self._steps: list[tuple[int, str]] = []  # those undo and redo go along: place and name
        self._shown = -1
        self._connection: sqlite3.Connection | None = None
        self._turn = threading.RLock()  # one connection takes one transaction at a time
        log = path.with_name(old_log.NAME)
        if path.is_file():
            self._follow()
        if not self.revision and log.is_file():
            try:
                self._take_over(log)
            except OutputError:  # another process may have been quicker
                self._follow()
                if not self.revision:
                    raise

    def __del__(self) -> None:
        self.close()

    @property
    def undo(self) -> str | None:
        """What undoing would take back; None at the start."""
        return self._steps[self._shown][1] if self._shown > 0 else None

    @property
    def redo(self) -> str | None:
        """What would be done again; None when nothing was undone."""
        following = self._shown + 1
        return self._steps[following][1] if following < len(self._steps) else None

    @property
    def step(self) -> int:
        """Number of the step that is shown, from 0; -1 when there is none."""
        return self._shown

    def close(self) -> None:
        """Let go of the file, as before its folder is moved; it is opened again when it is needed."""
        with self._turn:
            if self._connection is not None:
                self._connection.close()
                self._connection = None

    def add(self, what: str, state: dict[str, Any], mark: str = "") -> int:
        """Add a step after the one shown; those undone are let go. Return its place."""
        before = self._steps[self._shown][0] if self._shown >= 0 else None
        text = json.dumps(state, separators=(",", ":"))
        with self._writing() as connection:
            place = self._places(connection)
            connection.execute("INSERT INTO step VALUES (?, ?, ?, ?)", (place, before, what, text))
            changed = _add_change(connection, self.revision + 1, place, mark)
        self._steps[self._shown + 1 :] = [(place, what)]
        self._note(len(self._steps) - 1, mark, changed)
        return place

    def go(self, by: int, mark: str = "") -> dict[str, Any]:
        """Show the step before (-1) or after (+1); its state. Nothing moves at either end."""
        wanted = min(max(self._shown + by, 0), len(self._steps) - 1)
        if wanted != self._shown:
            with self._writing() as connection:
                place = self._steps[wanted][0]
                changed = _add_change(connection, self.revision + 1, place, mark)
            self._note(wanted, mark, changed)
        return self.shown()

    def shown(self) -> dict[str, Any]:
        """The state of the step that is shown. Raises InputError when there is none."""
        if self._shown < 0:
            raise InputError(message("project-empty", name=self.path.parent.name))
        return self.at(self._steps[self._shown][0])

    def at(self, place: int) -> dict[str, Any]:
        """The state of the step at `place`, with `place` inside it."""
        with self._reading() as connection:
            rows = connection.execute("SELECT state FROM step WHERE place = ?", (place,))
            row = rows.fetchone()
            if row is None or len(row[0]) > _LONGEST:
                raise ValueError("a step is missing or too long")
            return {**plain_json.mapping(json.loads(row[0]), "state"), "place": place}

    def keep(self, key: str, value: Any) -> None:
        """Keep plain data beside the history, in place of what `key` had: undo leaves it alone and
        `revision` stays. Raises OutputError when the disk refuses.
        """
        with self._writing() as connection:
            text = json.dumps(value, separators=(",", ":"))
            connection.execute("INSERT OR REPLACE INTO kept VALUES (?, ?)", (key, text))

    def kept(self, key: str) -> Any:
        """What is kept under `key`, None when nothing is."""
        if not self.revision:
            return None
        with self._reading() as connection:
            rows = connection.execute("SELECT value FROM kept WHERE key = ?", (key,))
            row = rows.fetchone()
            return None if row is None else json.loads(row[0])

    def all_kept(self) -> dict[str, Any]:
        """All that is kept beside the history."""
        with self._reading() as connection:
            rows = connection.execute("SELECT key, value FROM kept ORDER BY key")
            return {key: json.loads(value) for key, value in rows}

    def every_step(self) -> Iterator[HistoryStep]:
        """All steps in the order of their places, also those undone and passed over."""
        with self._reading() as connection:
            for place, before, what, state in connection.execute("SELECT * FROM step ORDER BY 1"):
                yield HistoryStep(place, before, what, json.loads(state))

    def every_change(self) -> list[HistoryChange]:
        """All changes, oldest first."""
        with self._reading() as connection:
            rows = connection.execute("SELECT shown, mark, at_ms FROM change ORDER BY revision")
            return [HistoryChange(*row) for row in rows]

    def fill(self, steps: Iterator[HistoryStep], changes: list[HistoryChange]) -> None:
        """Put another history's steps and changes into this one, which is empty, all or none."""
        with self._writing() as connection:
            for step in steps:
                state = json.dumps(step.state, separators=(",", ":"))
                row = (step.place, step.before, _storable(step.what), state)
                connection.execute("INSERT INTO step VALUES (?, ?, ?, ?)", row)
            connection.executemany(
                "INSERT INTO change VALUES (?, ?, ?, ?)",
                [
                    (n, one.shown, _storable(one.mark), one.at_ms)
                    for n, one in enumerate(changes, 1)
                ],
            )
        self._follow()

    def _take_over(self, log: Path) -> None:
        """The history of an earlier version, all of it or none."""
        at_ms = log.stat().st_mtime_ns // 1_000_000
        steps, changes = [], []
        shown = None
        for line in old_log.read_log(log):
            if line.step is not None:
                steps.append(HistoryStep(line.shown, shown, line.step.what, line.step.state))
            changes.append(HistoryChange(line.shown, line.mark, at_ms))
            shown = line.shown
        if changes:
            self.fill(iter(steps), changes)

    def _follow(self) -> None:
        """Learn from the file where the history stands."""
        with self._reading() as connection:
            query = "SELECT revision, shown, mark, at_ms FROM change ORDER BY revision DESC LIMIT 1"
            last = connection.execute(query).fetchone() if _version(connection) else None
            if last is None:
                return
            revision, shown, mark, at_ms = last
            known = {
                place: (before, what)
                for place, before, what in connection.execute(
                    "SELECT place, before, what FROM step ORDER BY place"
                )
            }
            steps: list[tuple[int, str]] = []
            place = max(known)  # the last step that was done is where redo leads to
            while place is not None:
                before, what = known[place]
                steps.append((place, str(what)))
                if before is not None and before >= place:
                    raise ValueError("a step comes before itself")
                place = before
            self._steps = steps[::-1]
            place_numbers = {place: number for number, (place, _) in enumerate(self._steps)}
            self.revision = int(revision)
            self._note(place_numbers[shown], str(mark), int(at_ms), self.revision)

    def _note(self, shown: int, mark: str, changed_ms: int, revision: int | None = None) -> None:
        self.revision = self.revision + 1 if revision is None else revision
        self._shown, self.mark, self.changed_ms = shown, mark, changed_ms

    def _places(self, connection: sqlite3.Connection) -> int:
        """The place for the next step."""
        return int(connection.execute("SELECT ifnull(max(place) + 1, 0) FROM step").fetchone()[0])

    def _open(self) -> sqlite3.Connection:
        if self._connection is None:
            connection = sqlite3.connect(
                self.path, timeout=5, isolation_level=None, check_same_thread=False
            )
            try:
                for pragma in _PRAGMAS:
                    connection.execute(f"PRAGMA {pragma}")
            except BaseException:
                connection.close()
                raise
            self._connection = connection
        return self._connection

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        try:
            with self._turn:
                yield self._open()
        except _UNREADABLE as error:
            why = f"a step is spoilt ({type(error).__name__})"
            if isinstance(error, sqlite3.Error):
                why = str(error)
            raise InputError(message("history-damaged", path=str(self.path), why=why)) from error
        except (KeyError, TypeError, AttributeError) as error:
            why = f"it does not hold together ({type(error).__name__})"
            raise InputError(message("history-damaged", path=str(self.path), why=why)) from error

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction that is on the disk when the block is left, or was never begun.

        Raises OutputError when the disk refuses, or another program wrote here meanwhile.
        """
        log = self.path.with_name(f"{self.path.name}-wal")
        with self._turn:
            before = log.stat().st_size if log.exists() else 0
            try:
                yield from self._transaction()
            except sqlite3.Error as error:
                if log.exists() and log.stat().st_size > before:
                    # no transaction is open, so what the failed one added is used by nobody; left
                    # there it would keep a full disk full
                    os.truncate(log, before)
                full = getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL
                why = _FULL if full else str(error)
                raise OutputError(message("change-not-saved", why=why)) from error

    def _transaction(self) -> Iterator[sqlite3.Connection]:
        connection = self._open()
        connection.execute("BEGIN IMMEDIATE")
        try:
            self._expect_own(connection)
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            with suppress(sqlite3.Error):
                connection.execute("ROLLBACK")
            raise

    def _expect_own(self, connection: sqlite3.Connection) -> None:
        if not _version(connection):
            for statement in filter(str.strip, _TABLES.split(";")):
                connection.execute(statement)
            connection.execute(f"PRAGMA application_id = {_MARK}")
            connection.execute(f"PRAGMA user_version = {_VERSION}")
        newest = connection.execute("SELECT ifnull(max(revision), 0) FROM change").fetchone()[0]
        if newest != self.revision:
            raise OutputError(message("project-changed-elsewhere", name=self.path.parent.name))


def _storable(text: str) -> str:
    """The text without halves of characters, which JSON can spell and SQLite does not take."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _add_change(connection: sqlite3.Connection, revision: int, shown: int, mark: str) -> int:
    """Add a change; when it was, in milliseconds since 1970."""
    now = time.time_ns() // 1_000_000
    connection.execute("INSERT INTO change VALUES (?, ?, ?, ?)", (revision, shown, mark, now))
    return now


def _version(connection: sqlite3.Connection) -> int:
    """The tables' version, 0 while there are none. Raises ValueError when it is no history of ours."""
    mark, version = (
        connection.execute(f"PRAGMA {name}").fetchone()[0]
        for name in ("application_id", "user_version")
    )
    if connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0] == 0:
        return 0
    if mark != _MARK or version > _VERSION:
        raise ValueError("it is no history, or one of a later version")
    return int(version)


def is_begun(folder: Path) -> bool:
    """Whether a project's folder holds a step, in this version's file or an earlier one's."""
    return any((folder / name).is_file() for name in (NAME, old_log.NAME))


def has_steps(folder: Path) -> bool:
    """Whether a step was ever done there; also where the file cannot be read, which may be mended."""
    if (folder / old_log.NAME).exists():
        return True
    if not (folder / NAME).exists():
        return False
    try:
        with closing(History(folder / NAME)) as history:
            return history.revision > 0
    except InputError:
        return True
