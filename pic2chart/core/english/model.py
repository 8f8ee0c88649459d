"""Charts, yarns and gauges, and the files they are read from."""

MODEL = {
    "round": "round",
    "row": "row",
    "round-named": "{word:capital} {round}",
    "place": "{word:capital} {round}, stitch {stitch}",
}
