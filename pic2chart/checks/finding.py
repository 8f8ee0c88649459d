"""A finding: one thing a check noticed, where, and what to do about it; and findings by the thousand.

A chart of noise has more findings than anybody reads. What they are sorted, counted and folded by stands
in tables; a finding and its messages are made when one is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, overload

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.messages import PYTHON, Door, Message, render

Level = Literal["error", "warning", "note"]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")
"""Gravest first."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Where, what, and what to do. `round` and `stitch` count from 1, None where they do not apply.

    `rule` is the code of the rule; `what` was found and `cure` is what to do, which `message` and
    `mend` have as sentences; `length` is in stitches; `yarn` is a yarn's name.
    """

    rule: str
    level: Level
    what: Message
    cure: Message
    round: int | None = None
    stitch: int | None = None
    length: int | None = None
    yarn: str | None = None

    @property
    def message(self) -> str:
        """What was found, as a sentence."""
        return str(self.what)

    @property
    def mend(self) -> str:
        """What to do, as a sentence."""
        return str(self.cure)

    def to_dict(self, door: Door = PYTHON) -> dict[str, Any]:
        """Plain data, in the order of the file format, the sentences in the words of a door."""
        return {
            "rule": self.rule,
            "level": self.level,
            "message": render(self.what, door),
            "mend": render(self.cure, door),
            "round": self.round,
            "stitch": self.stitch,
            "length": self.length,
            "yarn": self.yarn,
        }


class _Found(Sequence[Finding]):
    """Findings that are equal to any sequence of the same ones."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, Sequence)
            and len(self) == len(other)
            and all(a == b for a, b in zip(self, other, strict=True))
        )

    def __hash__(self) -> int:
        return hash(tuple(self))


@dataclass(frozen=True, slots=True, eq=False)
class OfOneRule(_Found):
    """Findings of one rule and level that differ by a row of numbers: `make(*row)` is the finding.

    `table` int [findings, 3 or more]: round, stitch and yarn, from 0, and what else `make` takes; `names`:
    of the chart's yarns.
    """

    rule: str
    level: Level
    names: tuple[str, ...]
    table: NDArray[np.intp]
    make: Callable[..., Finding]

    def __len__(self) -> int:
        return len(self.table)

    @overload
    def __getitem__(self, at: int) -> Finding: ...
    @overload
    def __getitem__(self, at: slice) -> OfOneRule: ...
    def __getitem__(self, at: int | slice) -> Finding | OfOneRule:
        if isinstance(at, slice):
            return replace(self, table=self.table[at])
        return self.make(*self.table[at].tolist())

    def heads(self) -> _Heads:
        """What they are sorted by."""
        kinds = np.zeros(len(self), np.intp)
        return _Heads(
            ((self.level, self.rule),), kinds, self.table[:, :2] + 1, self.names, self.table[:, 2]
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Heads:
    """What findings are sorted by. `kind`, `yarn` int [findings]: which of `kinds` (level and rule) and of
    `names` ('' for none); `place` int [findings, 2]: round and stitch from 1, 0 for none.
    """

    kinds: Sequence[tuple[Level, str]]
    kind: NDArray[np.intp]
    place: NDArray[np.intp]
    names: Sequence[str]
    yarn: NDArray[np.intp]

    @classmethod
    def of(cls, found: Sequence[Finding]) -> _Heads:
        """Those of any findings."""
        if isinstance(found, OfOneRule):
            return found.heads()
        kinds = list(dict.fromkeys((f.level, f.rule) for f in found))
        names = list(dict.fromkeys(f.yarn or "" for f in found))
        return cls(
            kinds,
            np.array([kinds.index((f.level, f.rule)) for f in found], np.intp),
            np.array([(f.round or 0, f.stitch or 0) for f in found], np.intp).reshape(-1, 2),
            names,
            np.array([names.index(f.yarn or "") for f in found], np.intp),
        )


def _ranks(order: Sequence[Any], values: Sequence[Any]) -> NDArray[np.intp]:
    """Int [values]: the place of each in the order."""
    return np.array([order.index(value) for value in values], np.intp)


_PART, _AT, _KIND, _ROUND, _STITCH, _YARN = range(6)


@dataclass(frozen=True, slots=True, eq=False)
class Findings(_Found):
    """Findings of all rules.

    `kinds`: level and rule; `table` int32 [findings, 6]: which of `parts` and where in it, which of
    `kinds`, round and stitch from 1 (0: none), the yarn's name by the alphabet.
    """

    parts: tuple[Sequence[Finding], ...]
    kinds: tuple[tuple[Level, str], ...]
    table: NDArray[np.int32]

    @classmethod
    def of(cls, *parts: Sequence[Finding]) -> Findings:
        """The findings of all parts, as they stand."""
        if len(parts) == 1 and isinstance(parts[0], Findings):
            return parts[0]
        heads = [_Heads.of(part) for part in parts]
        kinds = sorted({kind for head in heads for kind in head.kinds})
        names = sorted({name for head in heads for name in head.names})
        table = np.zeros((sum(map(len, parts)), 6), np.int32)
        done = 0
        for part, head in enumerate(heads):
            rows = table[done : done + len(head.kind)]
            rows[:, _PART], rows[:, _AT] = part, np.arange(len(rows))
            rows[:, _KIND] = _ranks(kinds, head.kinds)[head.kind]
            rows[:, _ROUND : _STITCH + 1] = head.place
            rows[:, _YARN] = _ranks(names, head.names)[head.yarn]
            done += len(rows)
        return cls(parts, tuple(kinds), table)

    def in_order(self) -> Findings:
        """Errors first, then by round, stitch, rule and yarn; findings on the whole chart lead."""
        level = _ranks(LEVELS, [level for level, _ in self.kinds])
        rules = [rule for _, rule in self.kinds]
        rule = _ranks(sorted(set(rules)), rules)
        kind, table = self.table[:, _KIND], self.table
        keys = (table[:, _YARN], rule[kind], table[:, _STITCH], table[:, _ROUND], level[kind])
        return self._rows(np.lexsort(keys))

    def _rows(self, rows: Any) -> Findings:
        return replace(self, table=self.table[rows])

    def only(self, wanted: Callable[[Level, str], bool]) -> Findings:
        """Those of some levels and rules."""
        good = np.array([wanted(*kind) for kind in self.kinds], bool)
        return self._rows(good[self.table[:, _KIND]])

    def by_kind(self) -> dict[tuple[Level, str], Findings]:
        """The findings of each level and rule, in the order in which these first occur."""
        found, first = np.unique(self.table[:, _KIND], return_index=True)
        order = found[np.argsort(first)].tolist()
        return {self.kinds[k]: self._rows(self.table[:, _KIND] == k) for k in order}

    def levels(self) -> dict[Level, int]:
        """How many there are of each level."""
        counts = np.bincount(self.table[:, _KIND], minlength=len(self.kinds)).tolist()
        kinds = list(zip(counts, self.kinds, strict=True))
        return {each: sum(n for n, (level, _) in kinds if level == each) for each in LEVELS}

    def rounds(self) -> NDArray[np.int32]:
        """The rounds they are in, from 1, each once and sorted."""
        rounds = np.unique(self.table[:, _ROUND])
        return rounds[rounds > 0]

    def __len__(self) -> int:
        return len(self.table)

    def __iter__(self) -> Iterator[Finding]:
        return (self[at] for at in range(len(self)))

    @overload
    def __getitem__(self, at: int) -> Finding: ...
    @overload
    def __getitem__(self, at: slice) -> Findings: ...
    def __getitem__(self, at: int | slice) -> Finding | Findings:
        if isinstance(at, slice):
            return self._rows(at)
        part, row = int(self.table[at, _PART]), int(self.table[at, _AT])
        return self.parts[part][row]
