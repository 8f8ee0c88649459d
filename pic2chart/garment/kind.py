"""A kind of garment as data: what it is, what it asks, how careful it must be, and what makes it.

Nothing here loads anything heavy, so that the command's help and the page's form cost nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any, ClassVar

from pic2chart.core.settings import check_options, option

USUAL_LIMIT, SAFE_LIMIT = 5, 4
"""Float limits in stitches: elsewhere, and where fingers and toes may snag (common practice)."""


CUFFS = ("ribbed", "corrugated", "lined")
"""How cuffs and brims are worked."""


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
        f"Longest float left uncaught; when left out, {SAFE_LIMIT} or the kind's own fewer where fingers "
        f"or toes go in and in children's things, else {USUAL_LIMIT}.",
        unit="stitches",
        low=1,
        high=60,
        kind=int,
    )
    embroider: int | None = option(
        None,
        "Leave stitches that stand alone between floats over so many stitches to be embroidered "
        "afterwards (duplicate stitch).",
        unit="stitches",
        low=6,
        high=200,
        kind=int,
    )
    ladder: int | None = option(
        None,
        "Hold floats over so many stitches by ladder stitches of their yarn behind the ground (ladderback), "
        "not by catches.",
        unit="stitches",
        low=6,
        high=200,
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


@dataclass(frozen=True, slots=True)
class TubeOptions(GarmentOptions):
    """What tubes ask besides: bands one above another, a border, a text, motifs set apart.

    `FILES`: options that name files, which a page may not.
    """

    FILES: ClassVar[tuple[str, ...]] = ("bands", "border")

    repeat: bool = option(False, "Set the picture side by side all round, not once.", kind=bool)
    bands: tuple[str, ...] = option(
        (),
        "A chart, or a folder of charts, knitted as further bands above the picture; repeat for each.",
        example="waves.chart.json",
    )
    border: str | None = option(
        None, "A chart knitted as a border below, and on its head above.", example="edge.chart.json"
    )
    text: str | None = option(
        None,
        "A name or a date, knitted as a band (capitals: Latin, Greek, Cyrillic).",
        example="ANNA 2026",
    )
    letters: str = option(
        "medium",
        "Size of the text's letters: 5, 7 or 11 rounds.",
        choices=("small", "medium", "large"),
    )
    between: int = option(
        2, "Plain rounds between bands, at the least.", unit="rounds", low=1, high=40, kind=int
    )
    apart: int | None = option(
        None,
        "Set the picture side by side with so many plain stitches between, every second row in the gaps.",
        unit="stitches",
        low=1,
        high=60,
        kind=int,
    )

    @property
    def arranged(self) -> bool:
        """Whether bands are set one above another."""
        return bool(self.bands or self.border or self.text) or self.apart is not None


USUAL_CHEST = 96.0
"""The chest, cm, when neither it nor a size is named."""


@dataclass(frozen=True, slots=True)
class ChestOptions(GarmentOptions):
    """What is measured of whoever wears a jumper."""

    size: str | None = option(
        None,
        "Chest by name: a child's age, 2y to 14y; woman-xs to woman-2xl, man-s to man-2xl; or a step of "
        "EN 13402-3, 74 to 131.",
        example="woman-m",
    )
    chest: float | None = option(
        None,
        f"Round the chest; when left out, the size's, or {USUAL_CHEST:g}.",
        unit="cm",
        low=40,
        high=180,
        kind=float,
    )
    head: float | None = option(
        None,
        "Round the head, to check the neck against; when left out, a grown-up's, or for a child that of "
        "its chest.",
        unit="cm",
        low=30,
        high=70,
        kind=float,
    )


_LABELS = {
    "across": "Stitches across the picture",
    "english": "English",
    "increases": "Increases",
    "for_child": "For a child",
    "embroider": "Embroider what stands alone between floats over",
    "ladder": "Ladder stitches behind floats over",
    "text": "A name or a date",
    "letters": "Size of its letters",
    "between": "Plain rounds between bands",
    "apart": "Set apart by",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of garment.

    `name`: one word, its folder's; the command, the files and `piece` in its charts have it.
    `description` follows 'Make '; `noun` follows the picture's name in titles. `maker`:
    'module:function', a `pic2chart.garment.build.Maker`. `example`: what follows the kind's name in a
    command, options as in the templates of messages.
    `labels`: the page's words for options of its own. `float_limit`: stitches a float may span when
    the knitter does not say. `snags`: fingers or toes go into it, so that strands over the
    `safe_limit` are warned of, as they are in children's things. `first`: the page shows it first. `sizes`: 'module:NAME', the
    table of its named sizes.
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
    safe_limit: int = SAFE_LIMIT
    first: bool = False
    sizes: str = ""

    def known_sizes(self) -> tuple[str, ...]:
        """Its named sizes in ascending order, none where it has none."""
        if not self.sizes:
            return ()
        module, _, name = self.sizes.partition(":")
        return tuple(getattr(import_module(module), name))

    def limit(self, child: bool) -> int:
        """The float limit in stitches, never over the safe one where fingers and toes meet floats."""
        careful = child or self.snags
        return min(self.float_limit, self.safe_limit) if careful else self.float_limit

    @property
    def files(self) -> tuple[str, ...]:
        """Options of its own that name files."""
        return getattr(self.options, "FILES", ())

    def label(self, option: str) -> str | None:
        """The page's words for one of its options; None where it has none of its own."""
        return self.labels.get(option, _LABELS.get(option))

    def load(self) -> Any:
        """The maker, its module loaded."""
        module, _, name = self.maker.partition(":")
        return getattr(import_module(module), name)
