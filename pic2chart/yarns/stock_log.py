"""Every change of a shelf's stock, logged beside it, so that each can be undone.

Beside `shelf.csv` lies `shelf.csv.log`, one line of JSON a change: what was done, and for every yarn
that changed its facts before and after. Shelf and log are written together, both or neither. Undoing
takes back the last change that still stands, as long as the yarns are as it left them, and is logged
itself.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_text, write_all
from pic2chart.core.messages import message
from pic2chart.model.yarn import Yarn
from pic2chart.yarns.shelf import Shelf, name_key

MAX_LOG = 20_000_000
_SPOILT = (TypeError, ValueError, AttributeError, LookupError, RecursionError, SettingError)


@dataclass(frozen=True, slots=True)
class StockChange:
    """One change: what was done and on which day (None when nobody said), and for each yarn its facts
    before and after, None where there was no such yarn, the colour empty where it had none. `undoes`: the
    number of the change it undoes.
    """

    number: int
    what: str
    day: str | None
    before: Mapping[str, dict[str, Any] | None]
    after: Mapping[str, dict[str, Any] | None]
    undoes: int | None = None

    def line(self) -> str:
        """The change as a line of the log."""
        return json.dumps(asdict(self), ensure_ascii=False)


def log_path(shelf: Path) -> Path:
    """Where the log of a shelf lies."""
    return shelf.with_name(f"{shelf.name}.log")


def read_log(shelf: Path) -> tuple[StockChange, ...]:
    """The changes of a shelf, oldest first; none when there is no log. Raises InputError."""
    path = log_path(shelf)
    if not path.exists():
        return ()
    found = []
    for number, line in enumerate(read_text(path, MAX_LOG, "log").splitlines(), 1):
        try:
            change = StockChange(**json.loads(line))
            _check(change.before)
            _check(change.after)
        except _SPOILT as error:
            raise InputError(
                message("stock-log-unreadable", path=str(path), line=number)
            ) from error
        found.append(change)
    return tuple(found)


def change_shelf(
    path: Path,
    shelf: Shelf,
    yarns: Sequence[Yarn],
    what: str,
    day: str | None = None,
    undoes: int | None = None,
) -> StockChange:
    """Write a shelf with other yarns, and log what changed. Raises InputError, OutputError."""
    log = read_log(path)
    after = shelf.with_yarns(yarns)
    old, new = _all_facts(shelf), _all_facts(after)
    changed = [key for key in {**old, **new} if old.get(key) != new.get(key)]
    change = StockChange(
        len(log) + 1,
        what,
        day,
        {key: old.get(key) for key in changed},
        {key: new.get(key) for key in changed},
        undoes,
    )
    lines = "".join(f"{one.line()}\n" for one in (*log, change))
    write_all({path: after.to_bytes(path), log_path(path): lines})
    return change


def undo_change(path: Path, day: str | None = None) -> StockChange:
    """Take back the last change that still stands. Raises InputError when there is none, or when a yarn
    has been changed since otherwise."""
    log, shelf = read_log(path), Shelf.read(path)
    undone = {change.undoes for change in log}
    standing = [c for c in log if c.undoes is None and c.number not in undone]
    if not standing:
        raise InputError(message("nothing-to-undo", path=str(path)))
    last = standing[-1]
    now = _all_facts(shelf)
    for key, facts in last.after.items():
        if now.get(key) != facts:
            raise InputError(message("changed-since", name=key, what=last.what))
    for key, facts in last.before.items():
        if facts is not None and not facts["colour"] and key in now:
            shelf = shelf.without_colour(key)
    yarns = []
    for yarn in shelf.yarns:
        key = name_key(yarn.name)
        if key not in last.after:
            yarns.append(yarn)
        elif (facts := last.before[key]) is not None:
            yarns.append(_yarn(facts))
    gone = [facts for key, facts in last.before.items() if facts is not None and key not in now]
    yarns += [_yarn(facts) for facts in gone]
    return change_shelf(path, shelf, yarns, f"undone: {last.what}", day, last.number)


def _all_facts(shelf: Shelf) -> dict[str, dict[str, Any]]:
    """The facts of every yarn, those without a colour too, lists in the place of tuples as JSON has it."""
    found = {
        name_key(one.name): asdict(one.in_colour("#808080")) | {"colour": "", "shades": []}
        for one in shelf.uncoloured
    }
    for yarn in shelf.yarns:
        found[name_key(yarn.name)] = asdict(yarn) | {"shades": list(yarn.shades)}
    return found


def _yarn(facts: Mapping[str, Any]) -> Yarn:
    return Yarn(**{**facts, "shades": tuple(facts["shades"])})


def _check(rows: Mapping[str, dict[str, Any] | None]) -> None:
    """Raises ValueError or TypeError when a row of the log is no yarn."""
    for facts in rows.values():
        if facts is not None:
            _yarn(facts | {"colour": facts["colour"] or "#808080"})
