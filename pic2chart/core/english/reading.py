"""Photos of charts and of swatches."""

READING = {
    "other-count-seen": (
        "{option[0]} is {wanted}, but only {seen} squares are seen in '{file}'; take the photo so "
        "that the whole chart is in it."
    ),
    "outside-photo": (
        "{option[0]} reaches outside the photo, which is {width} pixels wide and {height} high."
    ),
    "not-points": (
        "{option[0]} is '{text}'; it must be {numbers} numbers: x,y of {points} points, in pixels of "
        "the photo."
    ),
    "not-clockwise": (
        "{option[0]} is '{text}'; the four corners must go clockwise: top left, top right, bottom "
        "right, bottom left."
    ),
    "no-grid": (
        "No squared grid is found in '{file}'. Photograph the chart straight on with all its edges in "
        "view, or give its corners with {option[corners]} and its size with {option[stitches]} and "
        "{option[rounds]}."
    ),
    "no-lines-between-corners": (
        "No lines are seen between the corners given in '{file}'; say how many squares there are with "
        "{option[stitches]} and {option[rounds]}."
    ),
    "too-many-yarns-seen": (
        "'{file}' seems to have {seen} yarns; a chart has {most} at the most. Say how many there are "
        "with {option[yarns]}."
    ),
    "repeat-read": (
        "Repeat: {stitches} stitches × {rounds} rounds, {how}; {agreement:.1%} of stitches keep to it."
    ),
    "side-by-side": "side by side",
    "half-drop": "every next column of repeats half a repeat lower",
    "and-mirrored": "{how}, mirrored about an upright axis",
    "doubtful": "Doubtful, outlined on the photo: {first:;}.",
    "doubtful-and-more": "Doubtful, outlined on the photo: {first:;} and {more} more.",
    "doubtful-stitch": "round {round}, stitch {stitch} ({yarn}, or {other}?)",
    "between-needs-cm": (
        "{option[between]} and {option[cm]} belong together: two points and their distance."
    ),
    "between-too-short": (
        "{option[between]} marks less than {least} pixels; mark a longer distance."
    ),
    "card-and-between-given": (
        "{option[card]} and {option[between]} are both given; the scale needs only one."
    ),
    "no-card": (
        "No card is found in '{file}'. Lay a bank or library card (85.6 × 54 mm) flat beside the "
        "swatch, all of it in view on a ground of another colour, or mark it with {option[card]}, or a "
        "length with {option[between]} and {option[cm]}."
    ),
    "bad-card": (
        "The sides of the card in '{file}' are {off:.1%} off a card's shape. Give the photo as it was "
        "taken, not cut, with the card flat and no hard shadow beside it, or mark the card with "
        "{option[card]}."
    ),
    "two-cards": (
        "'{file}' shows two things of a card's shape and of different sizes; take away all but the "
        "bank or library card, or mark it with {option[card]}."
    ),
    "swatch-uneven": (
        "The parts of the swatch in '{file}' differ by {share:.0%}; lay it flat without "
        "stretching it, photograph it from above, and keep away from its edges."
    ),
    "swatch-disagrees": (
        "The signs of stitches and rounds in '{file}' differ by {share:.0%}; photograph the "
        "swatch from above, sharp, in even light from the side."
    ),
    "no-fabric": (
        "No clear stocking stitch is found in '{file}'. Photograph the right side of the swatch from "
        "above, in even light from the side, sharp, with at least 20 stitches and 20 rounds in view."
    ),
}
