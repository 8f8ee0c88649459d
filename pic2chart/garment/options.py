"""What the knitter asks of a garment, as data: one class a garment, beside the general settings.

Declared and checked like `pic2chart.core.settings.Settings`; flags and forms are made from them.
Shares of ease are in per cent of the body measure.
"""

from __future__ import annotations

from dataclasses import dataclass

from pic2chart.core.settings import check_options, option


@dataclass(frozen=True, slots=True)
class GarmentOptions:
    """What every garment asks. Raises SettingError naming the option that is out of range."""

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
        "Longest float left uncaught; when left out, 4 in mittens and children's things, else 5.",
        unit="stitches",
        low=1,
        high=60,
        kind=int,
    )
    for_child: bool = option(False, "It is for a child: cautions and limits follow.", kind=bool)

    def __post_init__(self) -> None:
        check_options(self)


@dataclass(frozen=True, slots=True)
class BandOptions(GarmentOptions):
    """A tube: headband, cowl or cuff."""

    size: str = option(
        "adult",
        "Head size (newborn, 6mo, 12mo, child, adult or large), or for a cuff the hand's: glove size 6 "
        "to 11, or a child's age, 1-2y to 10-12y.",
        example="child",
    )
    girth: float | None = option(
        None, "Round the body where it is worn.", unit="cm", low=8, high=200, kind=float
    )
    height: float = option(
        11.0, "Height of the patterned part.", unit="cm", low=2, high=120, kind=float
    )
    ease: float = option(
        -2.0,
        "Ease, per cent of the girth; below 0 it stretches.",
        unit="%",
        low=-25,
        high=60,
        kind=float,
    )
    edge: float = option(
        2.0, "Height of the ribbing at each edge.", unit="cm", low=0.5, high=10, kind=float
    )
    repeat: bool = option(False, "Set the picture side by side all round, not once.", kind=bool)


@dataclass(frozen=True, slots=True)
class HatOptions(GarmentOptions):
    """A hat with a crown of wedges."""

    size: str = option(
        "adult", "Head size: newborn, 6mo, 12mo, child, adult or large.", example="child"
    )
    girth: float | None = option(
        None, "Round the head above the ears.", unit="cm", low=25, high=80, kind=float
    )
    depth: float | None = option(
        None, "From the crown to the base of the ear.", unit="cm", low=8, high=40, kind=float
    )
    ease: float = option(
        -2.0,
        "Ease, per cent of the girth (stranded: 0 to -4).",
        unit="%",
        low=-20,
        high=20,
        kind=float,
    )
    brim: float = option(4.0, "Height of the ribbed brim.", unit="cm", low=1, high=15, kind=float)
    repeat: bool = option(False, "Set the picture side by side all round, not once.", kind=bool)


@dataclass(frozen=True, slots=True)
class MittenOptions(GarmentOptions):
    """A pair of mittens with pointed tops."""

    size: str = option(
        "7", "Glove size 6 to 11 (EN 420), or a child's age: 1-2y to 10-12y.", example="8"
    )
    girth: float | None = option(
        None, "Round the knuckles without the thumb.", unit="cm", low=8, high=40, kind=float
    )
    length: float | None = option(
        None, "Wrist to tip of the middle finger.", unit="cm", low=5, high=30, kind=float
    )
    ease: float = option(
        10.0, "Ease, per cent of the hand's girth.", unit="%", low=-5, high=40, kind=float
    )
    cuff: float = option(6.0, "Height of the ribbed cuff.", unit="cm", low=1, high=25, kind=float)
    thumb: str = option(
        "slit", "Thumb: opened on waste yarn, or with a gusset.", choices=("slit", "gusset")
    )
    left_motif: str = option(
        "mirrored",
        "Picture on the left mitten: mirrored, or the same way round (words, numbers).",
        choices=("mirrored", "same"),
    )
    repeat: bool = option(
        False, "Set the picture side by side over the whole back, not once.", kind=bool
    )
    place: str | None = option(
        None,
        "Let the picture fill the back of the hand, or fit whole into it with a filler round it; "
        "when left out, it fills if its subject is not marked and little of it would be cut off.",
        choices=("fill", "fit"),
    )


@dataclass(frozen=True, slots=True)
class YokeOptions(GarmentOptions):
    """The round yoke of a jumper, worked up from the body."""

    chest: float = option(96.0, "Round the chest.", unit="cm", low=40, high=180, kind=float)
    ease_cm: float = option(
        8.0, "Ease at the chest (5 to 10 is usual).", unit="cm", low=-5, high=40, kind=float
    )
    head: float | None = option(
        None,
        "Round the head, to check the neck against; when left out, a grown-up's 56, a child's 50.5.",
        unit="cm",
        low=30,
        high=70,
        kind=float,
    )
    body_length: float | None = option(
        None,
        "Length of the body below the yoke; when left out, two fifths of the chest, 38 at the most.",
        unit="cm",
        low=8,
        high=90,
        kind=float,
    )
    sleeve_length: float | None = option(
        None,
        "Length of the sleeve to the underarm; when left out, 0.47 of the chest, 45 at the most.",
        unit="cm",
        low=8,
        high=80,
        kind=float,
    )


@dataclass(frozen=True, slots=True)
class PanelOptions(GarmentOptions):
    """A flat panel, or one worked in the round and cut at a steek."""

    width: float = option(30.0, "Finished width.", unit="cm", low=3, high=200, kind=float)
    height: float | None = option(
        None,
        "Finished height; when left out, the picture's own shape decides.",
        unit="cm",
        low=3,
        high=200,
        kind=float,
    )
    repeat: bool = option(
        False, "Set the picture side by side and one above another, not once.", kind=bool
    )
    edges: int = option(2, "Edge stitches at each side.", unit="stitches", low=1, high=12, kind=int)
    steek: str | None = option(
        None,
        "Work it in the round with a steek to cut open: 7 stitches to crochet, 6 to sew.",
        choices=("crochet", "sewn"),
    )
