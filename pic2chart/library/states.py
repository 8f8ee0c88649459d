"""What is decided about motifs: new, approved, held or withdrawn; publishing follows it."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_text
from pic2chart.core.locks import held
from pic2chart.core.messages import message
from pic2chart.library.catalogue import NAME, Catalogue, opened
from pic2chart.library.indexing import numbers_changed
from pic2chart.library.motif import STATES
from pic2chart.library.pages import PER_PAGE, write_pages

LOCK = ".lock"
"""File in the library that a run holds, and whoever decides."""
_MAX_BYTES = 20_000_000
_STRETCH = re.compile(r"(\d{1,9})(?:-(\d{1,9}))?", re.ASCII)


def numbers_in(texts: Iterable[str]) -> list[tuple[int, int]]:
    """Stretches of numbers, from '7' or '12-20'. Raises SettingError."""
    stretches = []
    for text in texts:
        match = _STRETCH.fullmatch(text.strip())
        if not match or int(match[2] or match[1]) < int(match[1]):
            raise SettingError(message("not-numbers", text=text[:40]))
        stretches.append((int(match[1]), int(match[2] or match[1])))
    return stretches


def read_decisions(path: Path) -> dict[int, str]:
    """The file that the contact sheet saves: number and state on each line. Raises InputError."""
    decided = {}
    lines = csv.reader(io.StringIO(read_text(path, _MAX_BYTES, "decisions")))
    for at, row in enumerate(lines, 1):
        if not row or (at == 1 and row[0].strip() == "number"):
            continue
        number, state = (row[0].strip(), row[1].strip()) if len(row) > 1 else ("", "")
        if not number.isdecimal() or state not in STATES:
            raise InputError(message("decisions-unreadable", path=str(path), line=at))
        decided[int(number)] = state
    return decided


def set_states(
    out: Path,
    decisions: Mapping[int, str],
    why: str = "",
    say: Callable[[str, float], None] = lambda step, share: None,
) -> int:
    """Note states of motifs by number, and write the pages anew; how many changed.

    Raises InputError without a library or motif there, SettingError for a state that is none.
    """
    _refuse_none(out)
    for state in decisions.values():
        if state not in STATES:
            raise SettingError(message("no-such-state", state=state, known=STATES))
    out = out.absolute()
    with held(out / LOCK, message("library-in-use", library=str(out))), opened(out) as catalogue:
        known = _states(catalogue)
        for number in decisions:
            if number not in known:
                raise InputError(message("no-such-motif", number=number))
        changed = {n: s for n, s in decisions.items() if known[n] != (s, why)}
        with catalogue.change():
            for number, state in changed.items():
                catalogue.put_state(number, state, why)
        renew_pages(catalogue, out, say)
    return len(changed)


def chosen(out: Path, stretches: Sequence[tuple[int, int]], *, proposed: bool = False) -> list[int]:
    """Numbers of the motifs in the stretches, or of the new ones that are proposed as held."""
    _refuse_none(out)
    with opened(out) as catalogue:
        numbers = list(_states(catalogue))
        if proposed:
            query = "SELECT DISTINCT number FROM listed WHERE proposed != '' AND state = 'new'"
            return sorted(row[0] for row in catalogue.connection.execute(query))
    for low, high in stretches:
        if low == high and low not in numbers:
            raise InputError(message("no-such-motif", number=low))
    return [n for n in numbers if any(low <= n <= high for low, high in stretches)]


def renew_pages(catalogue: Catalogue, out: Path, say: Callable[[str, float], None]) -> None:
    """Write the pages that changed numbers are on, as the last run wrote them."""
    changed = numbers_changed(catalogue)
    per_page = json.loads(catalogue.about("look") or "[]")[:1] or [PER_PAGE]
    title = catalogue.about("title") or out.name
    write_pages(catalogue, out, title, int(per_page[0]), changed, say)
    with catalogue.change():
        catalogue.clean()


def _states(catalogue: Catalogue) -> dict[int, tuple[str, str]]:
    """State and reason by the number of every motif that is there."""
    rows = catalogue.connection.execute(
        "SELECT DISTINCT number, state, why FROM listed WHERE number > 0 ORDER BY number"
    )
    return {number: (state, why) for number, state, why in rows}


def _refuse_none(out: Path) -> None:
    if not (out / NAME).is_file():
        raise InputError(message("no-library", folder=str(out), file=NAME))
