"""A jumper with dropped shoulders, worked round to the top and cut open for the sleeves."""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import option
from pic2chart.garment.kind import GarmentOptions, Kind

USUAL_CHEST = 96.0
"""The chest, cm, when neither it nor a size is named."""


@dataclass(frozen=True, slots=True)
class JumperOptions(GarmentOptions):
    """A jumper for grown-ups or children, with steeks for its armholes."""

    size: str | None = option(
        None,
        "Chest by name: a child's age, 2y to 14y; woman-xs to woman-2xl, man-s to man-2xl; or a step of "
        "EN 13402-3, 74 to 131.",
        example="6y",
    )
    chest: float | None = option(
        None,
        f"Round the chest; when left out, the size's, or {USUAL_CHEST:g}.",
        unit="cm",
        low=40,
        high=180,
        kind=float,
    )
    ease_cm: float = option(
        10.0, "Ease at the chest (8 to 15 is usual).", unit="cm", low=-5, high=40, kind=float
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
