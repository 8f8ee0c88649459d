"""Questions to a library: motifs by what the catalogue knows, and motifs that fit a round."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice
from math import isfinite
from pathlib import Path

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import MAX_SIDE
from pic2chart.design.filler import FILLERS, Filler, fill
from pic2chart.library.alike import squares_of
from pic2chart.library.catalogue import Catalogue, reading
from pic2chart.library.indexing import alike_to
from pic2chart.library.motif import STATES, MotifRecord
from pic2chart.model.measure import floats

# Questions to the catalogue: motifs by size, repeat, yarns, difficulty, and words.

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
    state: str | None = None
    sort: str = "name"
    limit: int | None = None


@dataclass(frozen=True, slots=True)
class Alike:
    """A motif nearly the same as one that was found: how, and their agreement beyond chance, 0–1.

    `repeated`: whether the pair stands with an earlier result, the other way round.
    """

    number: int
    name: str
    title: str
    how: str
    agreement: float
    repeated: bool


@dataclass(frozen=True, slots=True)
class SearchResult:
    """A motif found, and those nearly the same as it, the most alike first."""

    motif: MotifRecord
    alike: tuple[Alike, ...]


def find(out: Path, question: Question) -> list[SearchResult]:
    """The motifs that fit, in the order asked for. Raises InputError without a library there,
    SettingError for a question that makes no sense."""
    conditions, values = _conditions(question)
    if question.sort not in SORTS:
        raise SettingError(
            message("not-one-of", value=question.sort, known=tuple(SORTS), options=("sort",))
        )
    column = RANGED.get(question.sort, "number")
    where = " AND ".join(conditions) or "1"
    with reading(out) as catalogue:
        query = f"{where} ORDER BY {column} IS NULL, {column}, number, size"
        sizes = catalogue.motifs(query, values)
        return _results(catalogue, tuple(islice(_one_each(sizes), question.limit)))


def _one_each(motifs: Iterable[MotifRecord]) -> Iterator[MotifRecord]:
    """Of a picture's sizes the first that fits."""
    paths = set()
    for motif in motifs:
        if motif.path not in paths:
            paths.add(motif.path)
            yield motif


def _results(catalogue: Catalogue, motifs: Sequence[MotifRecord]) -> list[SearchResult]:
    alike = alike_to(catalogue)
    rows = catalogue.connection.execute("SELECT name, number, title FROM listed")
    shown = {name: (number, title) for name, number, title in rows}
    place = {motif.name: at for at, motif in enumerate(motifs)}

    def others(motif: MotifRecord) -> Iterator[Alike]:
        for name, how, agreement in alike.get(motif.name, ()):
            number, title = shown[name]
            repeated = place.get(name, len(place)) < place[motif.name]
            yield Alike(number, name, title, how, agreement, repeated)

    return [SearchResult(motif, tuple(others(motif))) for motif in motifs]


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
        raise SettingError(message("not-a-range", text=text, options=(name,)))
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
            raise SettingError(
                message("not-one-of", value=question.kind, known=tuple(KINDS), options=("kind",))
            )
        conditions.append("repeat_kind = ?")
        values.append(question.kind)
    for flag, condition in ((question.mirrored, "mirrored"), (question.faulty, "(errors > 0)")):
        if flag is not None:
            conditions.append(f"{condition} = {int(flag)}")
    if question.state is not None:
        if question.state not in STATES:
            raise SettingError(
                message("no-such-state", state=question.state, known=STATES, options=("state",))
            )
        conditions.append("state = ?")
        values.append(question.state)
    if question.alike:
        conditions.append("name IN (SELECT first FROM alike UNION SELECT second FROM alike)")
    if question.words.split():
        conditions.append("name IN (SELECT name FROM words WHERE words MATCH ?)")
        values.append(_match(question.words.split()))
    return conditions, values


def _match(words: Sequence[str]) -> str:
    """Every word as the beginning of a word, whatever signs it holds."""
    return " ".join('"' + word.replace('"', '""') + '"*' for word in words)


# Motifs for a round of so many stitches: alone, or each followed by a strip of a filler.
#
# A motif fits alone when its repeat divides the round. Otherwise the same number of strips as of
# motifs takes up the rest: round = n · (repeat + strip), the strip whole repeats of a filler. Such
# a round is put together and measured, since floats can run on from the motif into the strip.

MOST_STITCHES = 2 * MAX_SIDE


@dataclass(frozen=True, slots=True)
class RoundFit:
    """`times` copies of the motif's repeat (`unit` stitches), each followed by `strip` stitches of
    `filler` (0 and None when it fits alone). `longest_float`: of the whole round, in stitches."""

    motif: MotifRecord
    times: int
    unit: int
    strip: int
    filler: str | None
    longest_float: int

    @property
    def words(self) -> str:
        """'8 × 30', '8 × (26 + 4 of net)'."""
        inner = (
            str(self.unit) if not self.strip else f"({self.unit} + {self.strip} of {self.filler})"
        )
        return f"{self.times} × {inner}"


def fit(out: Path, stitches: int, *, alone: bool = False) -> list[RoundFit]:
    """Every motif that fits a round of `stitches` and is not withdrawn, the best first: without
    floats over its limit, alone or with a narrow strip, most like its picture, easiest.

    Raises SettingError for an odd round, InputError without a library at `out`.
    """
    if not 4 <= stitches <= MOST_STITCHES:
        raise SettingError(message("round-not-fitted", stitches=stitches, most=MOST_STITCHES))
    with reading(out) as catalogue:
        fits = [
            found
            for motif in catalogue.motifs("state != 'withdrawn'")
            for found in _fits(motif, stitches, alone)
        ]
    return sorted(fits, key=_worse)


def _worse(found: RoundFit) -> tuple[object, ...]:
    """The best first: no float over the limit, no strip or a narrow one, and the better chart."""
    motif = found.motif
    return (
        motif.errors > 0,
        found.longest_float > motif.float_limit,
        round(found.strip / (found.unit + found.strip), 2),
        -round(1.0 if motif.likeness is None else motif.likeness, 1),
        motif.difficulty,
        motif.number,
    )


def _fits(motif: MotifRecord, stitches: int, alone: bool) -> Iterator[RoundFit]:
    unit = motif.repeat_stitches
    if unit <= stitches and stitches % unit == 0:
        yield RoundFit(motif, stitches // unit, unit, 0, None, _longest(motif, unit, 0, None))
    elif not alone:
        strip = _strip(unit, stitches)
        if strip is not None:
            times, width, filler = strip
            longest = _longest(motif, unit, width, filler)
            yield RoundFit(motif, times, unit, width, filler.name, longest)


def _strip(unit: int, stitches: int) -> tuple[int, int, Filler] | None:
    """The most copies of the unit with the narrowest strip, no wider than the unit itself."""
    for times in range(stitches // (unit + 1), 0, -1):
        width = stitches // times - unit
        if stitches % times or width > unit:
            continue
        for filler in FILLERS.values():
            if width % filler.width == 0:
                return times, width, filler
    return None


def _longest(motif: MotifRecord, unit: int, width: int, filler: Filler | None) -> int:
    """Longest float of copies of the unit and the strip, worked in the round.

    One copy of unit and strip on a circle has the floats of any number of them, but for rounds of
    one yarn, which have none.
    """
    knitted = squares_of(motif.pixels)[::-1, ::-1][:, :unit]
    if filler is not None:
        light, dark = _main_yarns(motif)
        strip = np.where(fill(filler.name, len(knitted), width) == 1, dark, light)
        knitted = np.hstack([knitted, strip.astype(np.uint8)])
    return floats(np.ascontiguousarray(knitted), circular=True).longest


def _main_yarns(motif: MotifRecord) -> tuple[int, int]:
    """The two yarns with the most stitches: ground and motif of the filler."""
    order = sorted(range(len(motif.yarns)), key=lambda i: -motif.yarns[i].stitches)
    return order[0], order[min(1, len(order) - 1)]
