"""The library's own pages, written from the catalogue alone: the contact sheet and the booklet."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pic2chart.core.files import write_all
from pic2chart.library.catalogue import Catalogue
from pic2chart.library.difficulty import FORMULA, grade
from pic2chart.library.motif import MotifRecord, repeat_words

# The contact sheet: one page that works from a disk, without any network, with every motif in it.
#
# Each motif's own PNG of one pixel a stitch (some hundred bytes) is in the page, so 5,000 of them make a
# page of a few megabytes; only the cards in view are in the document, so that it scrolls at once.


def contact_html(
    motifs: Iterable[MotifRecord], alike: Mapping[str, list[tuple[str, str, float]]], title: str
) -> str:
    """The page. `alike`: by name, the motifs nearly the same as it."""
    from jinja2 import Environment

    plain = json.dumps([_plain(motif, alike) for motif in motifs], separators=(",", ":"))
    script, style = _part("contact.js"), _part("contact.css")
    page = Environment(autoescape=True).from_string(_part("contact.html.j2"))
    return page.render(
        title=title,
        formula=FORMULA,
        script=script,
        style=style,
        script_hash=_hash(script),
        style_hash=_hash(style),
        data=plain.replace("<", "\\u003c"),
    )


def _plain(motif: MotifRecord, alike: Mapping[str, list[tuple[str, str, float]]]) -> dict[str, Any]:
    """What the page knows of a motif."""
    return {
        "n": motif.number,
        "name": motif.name,
        "title": motif.title,
        "path": motif.path,
        "stitches": motif.stitches,
        "rounds": motif.rounds,
        "cm": [motif.width_cm, motif.height_cm],
        "gauge": motif.gauge,
        "worked": motif.worked,
        "repeat": motif.repeat_kind,
        "unit": motif.repeat_stitches,
        "repeatWords": repeat_words(motif),
        "yarns": [[y.name, y.colour] for y in motif.yarns if y.stitches],
        "float": motif.longest_float,
        "catches": motif.catches,
        "isolated": motif.isolated,
        "contrast": motif.contrast,
        "likeness": motif.likeness,
        "difficulty": motif.difficulty,
        "grade": grade(motif.difficulty),
        "errors": motif.errors,
        "said": motif.said[:5],
        "tags": motif.tags,
        "files": [f"{motif.place}/{file}" for file in motif.files],
        "alike": [[name, how] for name, how, _ in alike.get(motif.name, [])[:6]],
        "png": base64.b64encode(motif.pixels).decode("ascii"),
    }


@cache
def _part(name: str) -> str:
    return files("pic2chart.library").joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    """For the page's own security policy, which lets nothing else run."""
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


CONTACT_SHEET = "contact-sheet.html"
BOOKLET = "booklet.pdf"
PAGES = (CONTACT_SHEET, BOOKLET)
PER_PAGE = 6
LOOK = 5
"""Raised when the same catalogue gives other pages than before."""


def write_pages(
    catalogue: Catalogue, out: Path, title: str, per_page: int, say: Callable[[str, float], None]
) -> None:
    """Write both pages, each whole or not at all. Raises OutputError."""
    from pic2chart.library.booklet import booklet_pdf

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
