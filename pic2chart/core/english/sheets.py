"""Sheets: charts, words, fabric and strands as they are drawn and read."""

SHEETS = {
    "words-empty": "{option[0]} is empty; leave it out or give some words.",
    "no-such-rounds": (
        "{option[rounds]} is '{text}'; name rounds from 1 to {count}, like 12 or 12-14."
    ),
    "changes-of-another-size": (
        "The changed stitches have the shape {shape}, the chart {own}; compare charts of the same "
        "size."
    ),
    "square-out-of-range": "A square of {width:g} mm cannot be drawn; choose 0.5 to 50 mm.",
    "charts-of-two-sizes": (
        "The charts have the shapes {before} and {after} (rounds, stitches); compare charts of "
        "the same size."
    ),
    "two-charts-of-a-name": "Two charts are named '{name}'; make their sheets apart.",
    "pixels-a-stitch-out-of-range": (
        "A picture with {pixels} pixels a stitch is too small or too large; choose 2 to 200 and "
        "at most 60 million pixels in all."
    ),
    "colourways-need-two": (
        "Colourways of {option[shelf]} are pairs, and this chart has {yarns:yarn}; leave it out."
    ),
    "colourways-shelf-small": "{option[shelf]} holds fewer than two yarns; a pair needs two.",
    "no-garment-file": 'This is not a garment file; a garment file says "format": "{format}".',
    "garment-file-newer": (
        "The garment file has format version {version}, newer than the {known} this program reads; "
        "update pic2chart."
    ),
    "garment-without-pieces": "The garment file '{file}' names no piece; name its chart files.",
    "garment-chart-elsewhere": (
        "The chart {chart} must be a file beside the garment file; name it without a folder."
    ),
    "type-file-missing": (
        "The type file '{name}.ttf' is missing from this installation of pic2chart; install "
        "pic2chart again."
    ),
    "too-many-rounds-asked": ("{rounds:round} asked for; a strand sheet shows {most} at the most."),
    "practice-wants-two": (
        "A practice swatch is knitted in two yarns, and {option[yarn]} names {yarns}; name two with {option[yarn]}, "
        "the ground first, or none."
    ),
    "words-too-long": "The words are longer than {most:,} letters; no chart needs so many.",
    "words-too-many-lines": "The words have more than {most:,} lines; no chart needs so many.",
    "words-bad-size": "The words tell of {across} × {up} squares; a side has 1 to {most}.",
    "words-without-yarns": (
        "The words must name every yarn on a line like 'A: oat, #ece2d0', from A on, in order."
    ),
    "words-bad-line": (
        "The line '{name}:' is {value} and cannot be understood; it must read as in the words "
        "pic2chart writes."
    ),
    "words-round-missing": "Round {round} is not told; tell every round.",
    "words-no-such-rounds": "Round {first} to {last} is told, but there are {rounds}.",
    "words-round-twice": "Round {round} is told twice; tell every round once.",
    "words-short-rows": "Round {round}: tell a row that ends early on a line of its own.",
    "words-bad-run": "Round {round}: {words} is no run; write a count and a yarn, like '3 {yarn}'.",
    "words-bad-catch": "Round {round}: {words} is no catch; write 'catch {yarn} behind stitch 7'.",
    "words-bad-catching": (
        "Round {round}: {words} is no catch; write it after its stitches, like '7 {yarn}, catching "
        "{yarn} after 4'."
    ),
    "words-no-such-place": (
        "Round {round}: a catch stands after stitch {stitch} of a run of {count}; it lies within its run."
    ),
    "words-bad-squares": (
        "Round {round}: {words} are no squares of its {stitches:stitch}; write them like '1–39, 52'."
    ),
    "words-wrong-count": (
        "Round {round}: it says {count:stitch}, and its words work {worked}; one of them is wrong."
    ),
    "words-no-such-stitch": "Round {round}: there is no stitch {stitch} among the {across}.",
    "words-too-many-things": (
        "By round {round} the words tell of more than {most:,} catches, decreases and openings; "
        "the chart has not so many stitches."
    ),
    "words-not-understood": "Round {round}: {words} cannot be understood.",
    "words-run-of-none": "Round {round}: {words} is no run; work it once or more.",
    "png-too-many-pixels": (
        "A picture of {width} × {height} pixels is too large; ask for fewer pixels a stitch or a "
        "smaller sheet."
    ),
    "strand-round-outside": ("{where} is asked for, but the chart has {word}s 1 to {rounds}."),
    "words-more-squares": (
        "Round {round} tells of more than {across:square}; the chart has {across}."
    ),
    "words-fewer-squares": ("Round {round} tells of {squares:square}; the chart has {across}."),
}
