"""The contact sheet: pages that work from a disk, without any network, with every motif in them.

Each motif's own PNG of one pixel a stitch (some hundred bytes) is in its page, so 5,000 of them make
a page of a few megabytes; only the cards in view are in the document, so that it scrolls at once. A
page holds a fixed stretch of numbers, so one more motif makes one page anew, however many there are.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Callable, Iterable
from functools import cache
from importlib.resources import files
from pathlib import Path

from pic2chart.core.files import write_all
from pic2chart.library.catalogue import Catalogue
from pic2chart.library.difficulty import FORMULA
from pic2chart.library.indexing import cards

CONTACT_SHEET = "contact-sheet.html"
BOOKLET = "booklet.pdf"
PAGES = (CONTACT_SHEET, BOOKLET)
A_SHEET, A_BOOKLET = 5_000, 3_000
"""Numbers in one page of the contact sheet, and in one booklet."""
PER_PAGE = 6
LOOK = 7
"""Raised when the same catalogue gives other pages than before."""


def contact_html(cards: Iterable[str], title: str, volume: int = 0, volumes: int = 1) -> str:
    """A page of the contact sheet, the `volume`-th of so many. `cards`: JSON objects."""
    from jinja2 import Environment

    script, style = _part("contact.js"), _part("contact.css")
    about = {
        "library": title,
        "volume": volume,
        "volumes": [volume_name(CONTACT_SHEET, at) for at in range(volumes)],
    }
    page = Environment(autoescape=True).from_string(_part("contact.html.j2"))
    return page.render(
        title=title,
        formula=FORMULA,
        script=script,
        style=style,
        script_hash=_hash(script),
        style_hash=_hash(style),
        about=_in_html(json.dumps(about)),
        data=_in_html(f"[{','.join(cards)}]"),
    )


def _in_html(plain: str) -> str:
    return plain.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


@cache
def _part(name: str) -> str:
    return files("pic2chart.library").joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    """For the page's own security policy, which lets nothing else run."""
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def volume_name(page: str, volume: int) -> str:
    """'booklet.pdf', 'booklet-2.pdf' …"""
    stem, dot, ending = page.rpartition(".")
    return f"{stem}-{volume + 1}{dot}{ending}" if volume else page


def volumes_of(catalogue: Catalogue, size: int) -> int:
    """How many pages of `size` numbers there are, one at the least."""
    last = catalogue.connection.execute("SELECT max(number) FROM numbered").fetchone()[0] or 1
    return int((last - 1) // size + 1)


def write_pages(
    catalogue: Catalogue,
    out: Path,
    title: str,
    per_page: int,
    changed: Iterable[int] | None,
    say: Callable[[str, float], None],
) -> list[str]:
    """Write the pages that hold changed numbers, or that are not there; None: all. Each whole or not
    at all; their names. Raises OutputError."""
    from pic2chart.library.booklet import booklet_of

    numbers = None if changed is None else list(changed)
    names = []
    say("Writing the contact sheet", 0.3)
    for volume in _stale(catalogue, out, CONTACT_SHEET, A_SHEET, numbers):
        first = volume * A_SHEET + 1
        shown = cards(catalogue, first, first + A_SHEET - 1)
        page = contact_html(shown, title, volume, volumes_of(catalogue, A_SHEET))
        names.append(volume_name(CONTACT_SHEET, volume))
        write_all({out / names[-1]: page})
    say("Writing the booklet", 0.5)
    for volume in _stale(catalogue, out, BOOKLET, A_BOOKLET, numbers):
        first = volume * A_BOOKLET + 1
        with catalogue.change():  # it keeps the pages it writes
            pdf = booklet_of(catalogue, title, per_page, (first, first + A_BOOKLET - 1))
        names.append(volume_name(BOOKLET, volume))
        write_all({out / names[-1]: pdf})
    return names


def _stale(
    catalogue: Catalogue, out: Path, page: str, size: int, numbers: list[int] | None
) -> list[int]:
    count = volumes_of(catalogue, size)
    if numbers is None:
        return list(range(count))
    missing = {at for at in range(count) if not (out / volume_name(page, at)).is_file()}
    new = {0} if page == CONTACT_SHEET and missing else set()  # the pages name one another
    return sorted(missing | new | {(number - 1) // size for number in numbers if number > 0})
