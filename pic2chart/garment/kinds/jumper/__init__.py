"""A jumper with dropped shoulders, worked round to the top and cut open for the sleeves."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import ChestOptions, Kind


@dataclass(frozen=True, slots=True)
class JumperOptions(ChestOptions):
    """A jumper for grown-ups or children, with steeks for its armholes."""

    ease_cm: float = option(
        10.0, "Ease at the chest (8 to 15 is usual).", unit="cm", low=-5, high=40, kind=float
    )
    body_length: float | None = option(
        None,
        "Length of the body below the armholes; when left out, two fifths of the chest, 38 at the most.",
        unit="cm",
        low=8,
        high=90,
        kind=float,
    )
    sleeve_length: float | None = option(
        None,
        "Length of the sleeve; when left out, as arms are at such a chest, less the dropped shoulder.",
        unit="cm",
        low=8,
        high=80,
        kind=float,
    )
    steek: str = option(
        "crochet",
        "How the steeks are secured: 7 stitches to crochet, 6 to sew.",
        choices=("crochet", "sewn"),
    )
    repeat: bool = option(False, "Set the picture all over, not once on the front.", kind=bool)


KIND = Kind(
    name="jumper",
    description="a jumper with dropped shoulders and cut armholes",
    noun="jumper",
    options=JumperOptions,
    maker=f"{__name__}.drawing:draw_jumper",
    example="kelp.png {option[size]:6y} {option[repeat]}",
    labels={"head": "Round the head", "ease_cm": "Ease", "repeat": "Set it all over"},
    sizes="pic2chart.garment.chests:CHESTS",
)
