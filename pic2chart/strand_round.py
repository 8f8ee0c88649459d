"""How the yarns run in one round, and where one changes places: the parts of a strand plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Role = Literal["under", "middle", "over"]


@dataclass(frozen=True, slots=True)
class RoundStrands:
    """One round: the yarns (indices) from the lowest on the back to the highest, and its twists.

    `order` has one yarn in a round of one yarn, none in a round without stitches. `twists` counts
    the catches of the round that hold a float.
    """

    round: int
    order: tuple[int, ...]
    twists: int

    @property
    def under(self) -> int | None:
        """The yarn that runs under; None in a round of one yarn."""
        return self.order[0] if len(self.order) > 1 else None

    @property
    def over(self) -> int | None:
        """The yarn that runs over; None in a round of one yarn."""
        return self.order[-1] if len(self.order) > 1 else None

    def role(self, yarn: int) -> Role | None:
        """Where a yarn runs in this round; None when it does not run beside another."""
        if len(self.order) < 2 or yarn not in self.order:
            return None
        if yarn == self.order[0]:
            return "under"
        return "over" if yarn == self.order[-1] else "middle"


@dataclass(frozen=True, slots=True)
class Swap:
    """A yarn that runs elsewhere than when it last met another; rounds count from 0."""

    round: int
    yarn: int
    before: Role
    now: Role
    last_round: int
