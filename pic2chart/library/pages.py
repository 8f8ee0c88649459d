"""The library's own pages, written from the catalogue alone: the contact sheet and the booklet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pic2chart.files import write_all
from pic2chart.library.catalogue import Catalogue

CONTACT_SHEET = "contact-sheet.html"
BOOKLET = "booklet.pdf"
PAGES = (CONTACT_SHEET, BOOKLET)
PER_PAGE = 6
LOOK = 4
"""Raised when the same catalogue gives other pages than before."""


def write_pages(
    catalogue: Catalogue, out: Path, title: str, per_page: int, say: Callable[[str, float], None]
) -> None:
    """Write both pages, each whole or not at all. Raises OutputError."""
    from pic2chart.library.booklet import booklet_pdf
    from pic2chart.library.contact import contact_html

    say("Writing the contact sheet", 0.3)
    alike = alike_to(catalogue)
    write_all({out / CONTACT_SHEET: contact_html(catalogue.motifs(), alike, title)})
    say("Writing the booklet", 0.5)
    write_all({out / BOOKLET: booklet_pdf(list(catalogue.motifs()), title, per_page)})


def alike_to(catalogue: Catalogue) -> dict[str, list[tuple[str, str, float]]]:
    """By name, the motifs nearly the same as it: (name, how, agreement), the most alike first."""
    alike: dict[str, list[tuple[str, str, float]]] = {}
    query = "SELECT first, second, how, agreement FROM alike ORDER BY agreement DESC, first, second"
    for first, second, how, agreement in catalogue.connection.execute(query):
        alike.setdefault(first, []).append((second, how, agreement))
        alike.setdefault(second, []).append((first, how, agreement))
    return alike
