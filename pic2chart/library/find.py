"""Questions to the catalogue: motifs by size, repeat, yarns, difficulty, and words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path

from pic2chart.errors import SettingError
from pic2chart.library.catalogue import Catalogue, reading
from pic2chart.library.motif import Motif
from pic2chart.library.pages import alike_to

RANGED = {
    "stitches": "stitches",
    "rounds": "rounds",
    "repeat": "repeat_stitches",
    "longest_float": "longest_float",
    "catches": "catches",
    "contrast": "contrast",
    "likeness": "likeness",
    "difficulty": "difficulty",
}
"""What can be asked for as a number or a range, and its column."""
KINDS = ("once", "straight", "half-drop")
SORTS = ("name", *RANGED)


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. `ranges`: by name in RANGED, '40', '40-60', '40-' or '-60'.

    `yarns`: names that must all be in use. `kind`: of repeat. `mirrored`, `faulty`: None for either.
    `words`: every one must begin a word of the title, path, tags, yarns or findings.
    """

    words: str = ""
    ranges: dict[str, str] = field(default_factory=dict)
    yarns: tuple[str, ...] = ()
    kind: str | None = None
    mirrored: bool | None = None
    faulty: bool | None = None
    alike: bool = False
    sort: str = "name"
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Alike:
    """A motif nearly the same as one that was found: how, and their agreement beyond chance, 0–1.

    `told`: whether the pair was told with an earlier answer, the other way round.
    """

    number: int
    name: str
    title: str
    how: str
    agreement: float
    told: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """A motif found, and those nearly the same as it, the most alike first."""

    motif: Motif
    alike: tuple[Alike, ...]


def find(out: Path, question: Question) -> list[Answer]:
    """The motifs that fit, in the order asked for. Raises InputError without a library there,
    SettingError for a question that makes no sense."""
    conditions, values = _conditions(question)
    if question.sort not in SORTS:
        raise SettingError(f"--sort is '{question.sort}'; choose {', '.join(SORTS)}.")
    column = RANGED.get(question.sort, "number")
    where = " AND ".join(conditions) or "1"
    most = -1 if question.limit is None else question.limit
    with reading(out) as catalogue:
        query = f"{where} ORDER BY {column} IS NULL, {column}, number LIMIT ?"
        return _answers(catalogue, tuple(catalogue.motifs(query, (*values, most))))


def _answers(catalogue: Catalogue, motifs: Sequence[Motif]) -> list[Answer]:
    alike = alike_to(catalogue)
    rows = catalogue.connection.execute("SELECT name, number, title FROM motif")
    shown = {name: (number, title) for name, number, title in rows}
    place = {motif.name: at for at, motif in enumerate(motifs)}

    def others(motif: Motif) -> Iterator[Alike]:
        for name, how, agreement in alike.get(motif.name, ()):
            number, title = shown[name]
            told = place.get(name, len(place)) < place[motif.name]
            yield Alike(number, name, title, how, agreement, told)

    return [Answer(motif, tuple(others(motif))) for motif in motifs]


def bounds(text: str, name: str) -> tuple[float | None, float | None]:
    """Least and most of '40', '40-60', '40-' or '-60'. Raises SettingError."""
    low, dash, high = (part.strip() for part in text.partition("-"))
    try:
        least = float(low) if low else None
        most = (float(high) if high else None) if dash else least
    except ValueError:
        least = most = None
    none = (least is None and most is None) or not all(map(isfinite, (least or 0, most or 0)))
    if none or (least is not None and most is not None and least > most):
        raise SettingError(
            f"--{name.replace('_', '-')} is '{text}'; give a number or a range such as 40-60, 40- or -60."
        )
    return least, most


def _conditions(question: Question) -> tuple[list[str], list[object]]:
    conditions: list[str] = []
    values: list[object] = []
    for name, text in question.ranges.items():
        for bound, sign in zip(bounds(text, name), (">=", "<="), strict=True):
            if bound is not None:
                conditions.append(f"{RANGED[name]} {sign} ?")
                values.append(bound)
    for yarn in question.yarns:
        conditions.append(
            "name IN (SELECT motif FROM yarn WHERE yarn.name = ? COLLATE NOCASE AND stitches > 0)"
        )
        values.append(yarn)
    if question.kind is not None:
        if question.kind not in KINDS:
            raise SettingError(f"--kind is '{question.kind}'; choose {', '.join(KINDS)}.")
        conditions.append("repeat_kind = ?")
        values.append(question.kind)
    for told, condition in ((question.mirrored, "mirrored"), (question.faulty, "(errors > 0)")):
        if told is not None:
            conditions.append(f"{condition} = {int(told)}")
    if question.alike:
        conditions.append("name IN (SELECT first FROM alike UNION SELECT second FROM alike)")
    if question.words.split():
        conditions.append("name IN (SELECT name FROM words WHERE words MATCH ?)")
        values.append(_match(question.words.split()))
    return conditions, values


def _match(words: Sequence[str]) -> str:
    """Every word as the beginning of a word, whatever signs it holds."""
    return " ".join('"' + word.replace('"', '""') + '"*' for word in words)
