"""The options of sheets, and the look that follows from them; flags and forms are made of both."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import check_options, option

Symbols = Literal["both", "colour", "plain"]
Units = Literal["cm", "in"]

CM_PER_INCH = 2.54
LARGE_PRINT = 1.75
"""Scale of the type in large print: 3.3 mm becomes 5.8 mm, over 16 points (from memory, the least
that guides to large print ask for)."""


@dataclass(frozen=True, slots=True)
class SheetLook:
    """The look of every sheet of a set.

    `symbols`: 'both' colours and symbols, 'colour' alone, or 'plain' symbols on white, for copying
    in black and white. `heavy`: a heavier line every 10 or 5. `scale`: of the type, 1 by default.
    `words`: False leaves only numbers and signs beside the title and the names of the yarns.
    `square_mm`: the width of a square; None is as large as fits the page, or 4 mm where it is free.
    `rights` and `licence`: lines for the cover; the first stands at the foot of every page too.
    """

    author: str = ""
    units: Units = "cm"
    symbols: Symbols = "both"
    heavy: int = 10
    scale: float = 1.0
    words: bool = True
    square_mm: float | None = None
    rights: str = ""
    licence: str = ""

    def length(self, cm: float, digits: int = 1) -> str:
        """A length as this look writes it, without the unit."""
        return f"{cm if self.units == 'cm' else cm / CM_PER_INCH:.{digits}f}"


PLAIN = SheetLook()


PARTS = ("chart", "words", "front", "back", "strands", "knit-along")
"""The parts of a set of sheets, in the order they are made."""


@dataclass(frozen=True, slots=True)
class SheetSettings:
    """What sheets are asked for, and how they look. Raises SettingError naming the option."""

    only: tuple[str, ...] = option(
        (),
        "Make only these: chart, words, front, back, strands, knit-along; repeat for each.",
        choices=PARTS,
        example="words",
    )
    title: str | None = option(None, "Title on every sheet; when left out, the chart's.")
    author: str | None = option(None, "Author line under the title.", example="A. Gull")
    rights: str | None = option(
        None, "Line of rights on the cover and at the foot of pages.", example="© A. Gull"
    )
    licence: str | None = option(
        None,
        "Line on the cover that says what may be done with the pattern.",
        example="For your own knitting; please do not pass it on.",
    )
    paper: str = option("a4", "Size of the paper.", choices=("a4", "letter"))
    large_print: bool = option(False, "Larger squares and type.", kind=bool)
    square: float | None = option(
        None,
        "Width of a square; when left out, as large as fits, and 4 mm at least.",
        unit="mm",
        low=2,
        high=20,
        kind=float,
    )
    units: str = option("cm", "Units of lengths.", choices=("cm", "in"))
    symbols: str = option(
        "both",
        "Colours and symbols, colours alone, or plain symbols on white for copying.",
        choices=("both", "colour", "plain"),
    )
    wordless: bool = option(
        False, "Numbers and signs only, for any language (not the words and knit-along).", kind=bool
    )
    heavy: str = option("10", "A heavier line every 10 or every 5 squares.", choices=("10", "5"))
    drape: str = option("loose", "How the strands hang on the back.", choices=("loose", "tight"))
    peeping: bool = option(
        False,
        "Show on the picture of the front where a caught yarn may peep through.",
        kind=bool,
    )
    hand: str | None = option(
        None,
        "For a right- or left-handed knitter; when left out, as charted.",
        choices=("right", "left"),
    )
    shelf: str | None = option(
        None,
        "A CSV file of yarns: adds a sheet with the chart in up to 12 pairs of them, in colour and in "
        "grey.",
        example="shelf.csv",
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
    rounds: str | None = option(
        None,
        "Rounds of the strand sheet; when left out, the two that show most.",
        example="12-14",
    )

    bare: bool = option(
        False,
        "Leave the chart itself out of PDF and SVG files, and the square codes out of pages; they can "
        "then not be read back.",
        kind=bool,
    )

    def __post_init__(self) -> None:
        check_options(self)
        for word in ("title", "author", "rights", "licence"):
            text = getattr(self, word)
            if text is not None and not text.strip():
                raise SettingError(message("words-empty", options=(word,)))

    @property
    def look(self) -> SheetLook:
        """The look all sheets share."""
        from pic2chart.model.keys import clean_title

        return SheetLook(
            clean_title(self.author) if self.author else "",
            self.units,  # type: ignore[arg-type]  # checked above
            self.symbols,  # type: ignore[arg-type]
            int(self.heavy),
            LARGE_PRINT if self.large_print else 1.0,
            not self.wordless,
            self.square,
            clean_title(self.rights) if self.rights else "",
            clean_title(self.licence) if self.licence else "",
        )

    def wants(self, part: str) -> bool:
        """Whether a part was asked for."""
        return not self.only or part in self.only


def parse_rounds(text: str, count: int) -> tuple[int, ...]:
    """Rounds like '12', '12-14' or '3,12-14' (from 1) as numbers from 0, in order, each once."""
    found: set[int] = set()
    for part in text.replace("–", "-").split(","):
        match = re.fullmatch(r"\s*(\d{1,4})\s*(?:-\s*(\d{1,4})\s*)?", part)
        first = int(match[1]) if match else 0
        last = int(match[2] or first) if match else 0
        if not 1 <= first <= last <= count:
            raise SettingError(
                message("no-such-rounds", text=text[:40], count=count, options=("rounds",))
            )
        found |= set(range(first - 1, last))
    return tuple(sorted(found))
