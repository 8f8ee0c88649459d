"""A release: a numbered, dated edition of the approved motifs, with what changed since the last one."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pic2chart import __version__
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_text, write_folder
from pic2chart.core.locks import held
from pic2chart.core.messages import message
from pic2chart.library.booklet import (
    Booklet,
    BookletEntry,
    drawn_from,
    entries_of,
    written,
    yarns_of,
)
from pic2chart.library.catalogue import NAME, Catalogue, reading
from pic2chart.library.export import export_csv, facts
from pic2chart.library.pages import PER_PAGE
from pic2chart.library.pdf_page import rgb
from pic2chart.library.press import press_ink, read_press
from pic2chart.library.rights import Rights
from pic2chart.library.states import LOCK
from pic2chart.model.wording import many

RELEASES = "releases"
EDITION = "edition.json"
OTHERS = "Others"
"""The chapter of motifs without a tag."""
_DATE = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", re.ASCII)
_FOLDER = re.compile(r"(\d{3,})-\d{4}-\d\d-\d\d", re.ASCII)
_MAX_BYTES = 500_000_000


@dataclass(frozen=True, slots=True)
class ReleaseOptions:
    """`date`: of the edition, YYYY-MM-DD. `profile`: ICC file of the press, None for a PDF in the
    colours of the screen; `condition`: its name; `bleed`: mm round the page. `imprint`: further lines.
    """

    date: str
    profile: Path | None = None
    condition: str = ""
    bleed: float = 3.0
    per_page: int = PER_PAGE
    imprint: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Release:
    """An edition that was written, and the numbers that are new, changed or gone since the last."""

    number: int
    folder: Path
    motifs: int
    new: tuple[int, ...]
    changed: tuple[int, ...]
    gone: tuple[int, ...]


def make_release(out: Path, options: ReleaseOptions) -> Release:
    """Write the next edition of the library at `out` into its folder of releases.

    Raises InputError without a library, SettingError without an approved motif or for a date that is
    none, OutputError.
    """
    if not _DATE.fullmatch(options.date):
        raise SettingError(message("not-a-date", text=options.date, options=("date",)))
    if not (out / NAME).is_file():
        raise InputError(message("no-library", folder=str(out), file=NAME))
    out = out.absolute()
    press = (
        None
        if options.profile is None
        else read_press(options.profile, options.condition, options.bleed)
    )
    with held(out / LOCK, message("library-in-use", library=str(out))), reading(out) as catalogue:
        last, before = _last(out / RELEASES)
        motifs = list(catalogue.motifs("state = 'approved'"))
        if not motifs:
            raise SettingError(message("nothing-approved"))
        now = {str(m.number): f"{m.title}\n{m.sha256}\n{m.digest}" for m in motifs}
        release = _compared(last + 1, out, options.date, before, now)
        title = catalogue.about("title") or out.name
        booklet = Booklet(
            title,
            _chapters(catalogue),
            lambda numbers: drawn_from(catalogue, numbers),
            yarns_of(catalogue, "state = 'approved'", ()),
            options.per_page,
            (*_imprint(title, release, options, [m.rights for m in motifs]), *options.imprint),
            _common([m.rights for m in motifs]),
            rgb if press is None or options.profile is None else press_ink(press, options.profile),
            press,
            f"{options.date}T00:00:00Z",
        )
        edition = {"edition": release.number, "date": options.date, "motifs": now}
        files: dict[str, bytes | str] = {
            "booklet.pdf": written(booklet),
            "motifs.csv": export_csv(motifs),
            "motifs.json": json.dumps([facts(m) for m in motifs], indent=1, ensure_ascii=False),
            "changes.txt": _changes(release, {m.number: m.title for m in motifs}, before),
            EDITION: json.dumps(edition, indent=1, ensure_ascii=False),
        }
        write_folder(files, release.folder)
    return release


def _last(folder: Path) -> tuple[int, dict[str, str]]:
    """The number of the last edition, and its motifs; 0 and none before the first."""
    numbers = [
        (int(match[1]), entry)
        for entry in (folder.iterdir() if folder.is_dir() else ())
        if (match := _FOLDER.fullmatch(entry.name)) and (entry / EDITION).is_file()
    ]
    if not numbers:
        return 0, {}
    number, entry = max(numbers)
    try:
        plain: Any = json.loads(read_text(entry / EDITION, _MAX_BYTES, "edition"))
        return number, {str(key): str(value) for key, value in plain["motifs"].items()}
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise InputError(message("edition-unreadable", path=str(entry / EDITION))) from error


def _compared(
    number: int, out: Path, date: str, before: dict[str, str], now: dict[str, str]
) -> Release:
    def numbers(keys: set[str]) -> tuple[int, ...]:
        return tuple(sorted(map(int, keys)))

    return Release(
        number,
        out / RELEASES / f"{number:03}-{date}",
        len(now),
        numbers(now.keys() - before.keys()),
        numbers({key for key in now.keys() & before.keys() if now[key] != before[key]}),
        numbers(before.keys() - now.keys()),
    )


def _changes(release: Release, titles: dict[int, str], before: dict[str, str]) -> str:
    """The list of changes, as words."""
    old = {int(key): value.partition("\n")[0] for key, value in before.items()}
    lines = [f"Edition {release.number}: {many(release.motifs, 'motif')}"]
    for heading, numbers in (
        ("New", release.new),
        ("Changed", release.changed),
        ("No longer in it", release.gone),
    ):
        if numbers:
            lines += ["", f"{heading} ({len(numbers)})"]
            lines += [
                f"  {number} {titles.get(number) or old.get(number, '')}" for number in numbers
            ]
    return "\n".join(lines) + "\n"


def _chapters(catalogue: Catalogue) -> list[tuple[str, list[BookletEntry]]]:
    """A chapter for each first tag, in order of the tags; no names when nothing has a tag."""
    entries = entries_of(catalogue, "state = 'approved'", ())
    query = "SELECT number, tags FROM listed WHERE state = 'approved' ORDER BY size DESC"
    tags = {number: json.loads(text) for number, text in catalogue.connection.execute(query)}
    parts: dict[str, list[BookletEntry]] = {}
    for entry in entries:
        parts.setdefault(next(iter(tags.get(entry.number) or ()), OTHERS), []).append(entry)
    if set(parts) == {OTHERS}:
        return [("", entries)]
    return sorted(parts.items(), key=lambda part: (part[0] == OTHERS, part[0].casefold()))


def _imprint(
    title: str, release: Release, options: ReleaseOptions, rights: Sequence[Rights]
) -> list[str]:
    lines = [title, f"Edition {release.number}, {options.date}", many(release.motifs, "motif")]
    for name, words in (
        ("author", "By"),
        ("credit", "Credit"),
        ("licence", "Licence"),
        ("source", "From"),
    ):
        counted = Counter(getattr(each, name) for each in rights if getattr(each, name))
        lines += [f"{words}: {value} ({count})" for value, count in counted.most_common(12)]
    return [*lines, f"Charts made with pic2chart {__version__}"]


def _common(rights: Sequence[Rights]) -> Rights:
    """What is said of all motifs alike, for the document's own metadata."""
    values = {name: {getattr(each, name) for each in rights} for name in Rights.names()}
    return Rights(**{name: said.pop() for name, said in values.items() if len(said) == 1})
