"""What follows from motifs that are new: numbers, words, cards, and which others they are like.

Each step looks at what changed and at little else, however large the library is.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from pic2chart.library.catalogue import Catalogue
from pic2chart.library.difficulty import PARTS, grade
from pic2chart.library.motif import MotifRecord, repeat_words
from pic2chart.library.nearest import Index, note_alike

_SHOWN_LIKES = 6
_BATCH = 256
"""Motifs that are indexed in one transaction."""


def index_fresh(catalogue: Catalogue) -> bool:
    """Bring the indexes up to date; whether there was anything to do."""
    fresh = catalogue.fresh()
    with catalogue.change():
        catalogue.give_numbers()
        catalogue.connection.execute("DELETE FROM card WHERE path NOT IN (SELECT path FROM motif)")
    if not fresh:
        return False
    index = Index(catalogue)
    for start in range(0, len(fresh), _BATCH):
        part = fresh[start : start + _BATCH]
        with catalogue.change():
            for name in part:
                catalogue.put_words(name)
            for path in sorted(_paths(catalogue, part)):
                _put_card(catalogue, path)
            note_alike(catalogue, part, index)
            catalogue.settled(part)
    return True


def _paths(catalogue: Catalogue, names: list[str]) -> set[str]:
    query = "SELECT path FROM motif WHERE name = ?"
    return {catalogue.connection.execute(query, (name,)).fetchone()[0] for name in names}


def _put_card(catalogue: Catalogue, path: str) -> None:
    motifs = list(catalogue.motifs("path = ?", (path,)))
    plain = json.dumps(card(motifs), separators=(",", ":"), ensure_ascii=False)
    plain = plain.encode("utf-8", "replace").decode("utf-8")
    catalogue.connection.execute("DELETE FROM card WHERE path = ?", (path,))
    catalogue.connection.execute("INSERT INTO card VALUES (?, ?)", (path, plain))


def card(motifs: list[MotifRecord]) -> dict[str, Any]:
    """What the contact sheet knows of a picture's motif in its sizes, but for number, state and likes."""
    motif = motifs[0]
    plain = {
        "name": motif.name,
        "title": motif.title,
        "path": motif.path,
        "worked": motif.worked,
        "gauge": motif.gauge,
        "yarns": [[y.name, y.colour] for y in motif.yarns if y.stitches],
        "contrast": motif.contrast,
        "likeness": motif.likeness,
        "errors": sum(size.errors for size in motifs),
        "said": motif.said[:5],
        "tags": motif.tags,
        "rights": motif.rights.said(),
        "proposed": motif.proposed,
        **_size(motif),
    }
    if len(motifs) > 1:
        plain["sizes"] = [_size(other) for other in motifs[1:]]
    return plain


def _size(motif: MotifRecord) -> dict[str, Any]:
    """What differs from one size of a motif to the next."""
    import base64

    return {
        "stitches": motif.stitches,
        "rounds": motif.rounds,
        "cm": [motif.width_cm, motif.height_cm],
        "repeat": motif.repeat_kind,
        "unit": motif.repeat_stitches,
        "repeatWords": repeat_words(motif),
        "float": motif.longest_float,
        "catches": motif.catches,
        "isolated": motif.isolated,
        "difficulty": motif.difficulty,
        "grade": grade(motif.difficulty),
        "parts": dict(zip(PARTS, motif.parts, strict=False)),
        "files": [f"{motif.place}/{file}" for file in motif.files],
        "png": base64.b64encode(motif.pixels).decode("ascii"),
    }


def numbers_changed(catalogue: Catalogue) -> list[int]:
    """The numbers whose pages must be written anew, in order."""
    rows = catalogue.connection.execute("SELECT number FROM dirty ORDER BY number")
    return [row[0] for row in rows]


def cards(catalogue: Catalogue, first: int, last: int) -> Iterator[str]:
    """The cards of a stretch of numbers as JSON objects, in order."""
    query = (
        "SELECT number, path, state, why, plain FROM numbered JOIN card USING (path) "
        "WHERE number BETWEEN ? AND ? ORDER BY number"
    )
    like = likes(catalogue, first, last)
    for number, _, state, why, plain in catalogue.connection.execute(query, (first, last)):
        head = {"n": number, "state": state, "why": why, "alike": like.get(number, [])}
        yield json.dumps(head, separators=(",", ":"), ensure_ascii=False)[:-1] + "," + plain[1:]


def likes(catalogue: Catalogue, first: int, last: int) -> dict[int, list[tuple[int, str, str]]]:
    """By number, the motifs nearly the same: number, title and how, the most alike first."""
    query = """
        SELECT DISTINCT own.number, other.number, other.title, pair.how, pair.met FROM (
            SELECT first AS a, second AS b, how, agreement AS met FROM alike
            UNION ALL SELECT second, first, how, agreement FROM alike
        ) AS pair JOIN listed AS own ON own.name = pair.a JOIN listed AS other ON other.name = pair.b
        WHERE own.number BETWEEN ? AND ? ORDER BY own.number, pair.met DESC, other.number"""
    found: dict[int, list[tuple[int, str, str]]] = {}
    for own, other, title, how, _ in catalogue.connection.execute(query, (first, last)):
        near = found.setdefault(own, [])
        if len(near) < _SHOWN_LIKES:
            near.append((other, title, how))
    return found


def alike_to(catalogue: Catalogue) -> dict[str, list[tuple[str, str, float]]]:
    """By name, the motifs nearly the same as it: (name, how, agreement), the most alike first."""
    alike: dict[str, list[tuple[str, str, float]]] = {}
    query = "SELECT first, second, how, agreement FROM alike ORDER BY agreement DESC, first, second"
    for first, second, how, agreement in catalogue.connection.execute(query):
        alike.setdefault(first, []).append((second, how, agreement))
        alike.setdefault(second, []).append((first, how, agreement))
    return alike
