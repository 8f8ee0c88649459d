"""A kind of garment as data: what it is, what it asks, how careful it must be, and what makes it.

Nothing here loads anything heavy, so that the command's help and the page's form cost nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

from pic2chart.core.settings import check_options, option

USUAL_LIMIT, SAFE_LIMIT = 5, 4
"""Float limits in stitches: elsewhere, and where fingers and toes may snag (common practice)."""


@dataclass(frozen=True, slots=True)
class GarmentOptions:
    """What every garment asks; each kind's own class adds to it.

    Declared and checked like `pic2chart.core.settings.Settings`: flags and forms are made from the
    fields. Shares of ease are in per cent of the body measure. Raises SettingError naming the option
    that is out of range.
    """

    across: int | None = option(
        None,
        "Stitches across the picture; when left out, as large as its place allows.",
        unit="stitches",
        low=4,
        high=400,
        kind=int,
    )
    float_limit: int | None = option(
        None,
        f"Longest float left uncaught; when left out, {SAFE_LIMIT} where fingers or toes go in and in "
        f"children's things, else {USUAL_LIMIT}.",
        unit="stitches",
        low=1,
        high=60,
        kind=int,
    )
    english: str = option(
        "uk",
        "British or American terms: cast off or bind off, colour or color, tension or gauge.",
        choices=("uk", "us"),
    )
    increases: str = option(
        "loop",
        "How one is made in colourwork: a backward loop in the charted colour, or the bar lifted.",
        choices=("loop", "lifted"),
    )
    for_child: bool = option(False, "It is for a child: cautions and limits follow.", kind=bool)

    def __post_init__(self) -> None:
        check_options(self)


_LABELS = {
    "across": "Stitches across the picture",
    "english": "English",
    "increases": "Increases",
    "for_child": "For a child",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of garment.

    `name`: one word, its folder's; the command, the files and `piece` in its charts have it.
    `description` follows 'Make '; `noun` follows the picture's name in titles. `maker`:
    'module:function', a `pic2chart.garment.build.Maker`. `example`: what follows the kind's name in a
    command, options as in the templates of messages.
    `labels`: the page's words for options of its own. `float_limit`: stitches a float may span when
    the knitter does not say. `snags`: fingers or toes go into it, so that longer strands are warned
    of. `first`: the page shows it first.
    """

    name: str
    description: str
    noun: str
    options: type[GarmentOptions]
    maker: str
    example: str
    labels: Mapping[str, str] = field(default_factory=dict)
    float_limit: int = USUAL_LIMIT
    snags: bool = False
    first: bool = False

    def limit(self, child: bool) -> int:
        """The float limit in stitches; a child's is never over the safe one."""
        return min(self.float_limit, SAFE_LIMIT) if child else self.float_limit

    def label(self, option: str) -> str | None:
        """The page's words for one of its options; None where it has none of its own."""
        return self.labels.get(option, _LABELS.get(option))

    def load(self) -> Any:
        """The maker, its module loaded."""
        module, _, name = self.maker.partition(":")
        return getattr(import_module(module), name)
