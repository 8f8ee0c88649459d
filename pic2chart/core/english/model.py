"""Charts, yarns and gauges, and the files they are read from."""

MODEL = {
    "round": "round",
    "row": "row",
    "round-named": "{word:capital} {round}",
    "place": "{word:capital} {round}, stitch {stitch}",
    "so-many-rounds": "{count:round}",
    "so-many-rows": "{count:row}",
    "one-round": "{word} {round}",
    "some-rounds": "{word}s {rounds}",
    "so-many-more": "{count} more",
    "behind-stitch": "behind stitch {stitch}",
    "behind-stitches": "behind stitches {stitches}",
}
