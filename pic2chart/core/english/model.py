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
    "not-a-chart": (
        "'{file}' is not a chart: give a chart's own file (.chart.json), a PNG of one pixel a stitch, "
        "a table with a letter for each stitch's yarn (CSV), or an SVG or PDF of this program. To turn "
        "a picture into a chart, use {command[chart]}."
    ),
    "carries-no-chart": (
        "'{file}' carries no chart; only an SVG or PDF that this program drew can be read as one. "
        "Save others as a picture and use {command[read]}."
    ),
    "carried-damaged": (
        "The chart that '{file}' carries is damaged or was changed; take the chart file itself, or "
        "read a picture of the page with {command[read]}."
    ),
    "carries-many-charts": (
        "'{file}' carries {count:chart} ({charts:,}); {command[read]} writes each as a chart file."
    ),
    "pdf-damaged": "'{file}' is not a PDF that can be read.",
    "code-damaged": "The square codes do not make a whole chart; photograph the page again, sharp.",
    "packed-unknown": (
        "The square code holds no chart that this program knows; a newer one may read it."
    ),
    "not-enough-yarns-for-keys": (
        "'{file}' needs {needed:yarn} ({keys: }) and gets {given}; name a yarn for every key."
    ),
    "table-empty": "'{file}' is empty; give one line a round and one key a stitch.",
    "table-line-too-long": (
        "'{file}', line {line}, has {cells} cells; a chart has {most} at the most."
    ),
    "table-without-stitches": "'{file}' has no stitches; at least one cell must hold a key.",
    "table-of-many-keys": (
        "'{file}' has {keys} different letters or words for yarns; a chart has {most} yarns at the most."
    ),
    "png-of-many-colours": (
        "'{file}' has {colours} colours; a chart of one pixel a stitch has {most} at the most. "
        "Use {command[chart]} to turn a picture into a chart."
    ),
    "png-transparent": "'{file}' is transparent all over; it holds no stitch.",
    "not-a-png": "'{file}' is not a PNG picture that can be read.",
    "png-too-large": (
        "'{file}' is {width} by {height} pixels; a chart of one pixel a stitch has {most} at the "
        "most each way. Use {command[chart]} to turn a picture into a chart."
    ),
    "png-damaged": "'{file}' is a damaged PNG picture; save it again.",
    "in-file": "'{file}': {why}",
    "not-a-table": "'{file}' is not a table of a chart's stitches: {why}.",
    "table-bad-cell": (
        "'{file}', line {line}, cell {cell}, holds {key}; a cell is one character, the letter of "
        "a yarn, or '{gap}' for no stitch."
    ),
    "folder-without-charts": "The folder '{folder}' holds no chart file (*.chart.json).",
    "chart-unreadable": "The chart '{path}' cannot be read: {why}.",
    "table-too-long": "'{file}' has more than {most} lines, the most a chart has.",
    "chart-bad-shape": (
        "A chart needs 1 to {most} rounds of 1 to {most} stitches; this one has the shape {shape}."
    ),
    "chart-bad-yarns": "A chart has 1 to {most} yarns; this one has {yarns}.",
    "chart-without-stitches": "The chart has no stitches; at least one square must hold a yarn.",
    "chart-unknown-yarn": "A stitch uses yarn {yarn}, but the chart has {yarns:yarn}.",
    "fixed-bad-shape": "The fixed stitches do not have the chart's shape.",
    "no-chart-file": 'This is not a chart file; a chart file says "format": "{format}".',
    "chart-file-newer": (
        "The chart file has format version {version}, newer than the {known} this program reads; "
        "update pic2chart."
    ),
    "first-round-empty": "{where}, round 1, is empty; it must hold a key for every stitch.",
    "fixed-mismatch": (
        "{where} does not match the rounds: give {rounds:row} of {stitches:character}, '{mark}' "
        "fixed and '{free}' free."
    ),
    "fixed-stitches": "fixed",
    "fixed-stitches-of-round": "fixed round {round}",
    "catch-outside": (
        "The catch in round {round}, stitch {stitch} of yarn {yarn} lies outside the chart; take "
        "it out."
    ),
    "bad-yarn-key": "The key of {where} is {key}; use a letter, like {like}.",
    "yarns-share-key": "Yarns {first} and {second} share the key {key}; give each its own.",
    "gauge-bad-span": "The gauge is given over {over_cm:g} cm; use 10 cm.",
    "gauge-unreadable": (
        "The gauge '{text}' cannot be read; write stitches x rounds in 10 cm, like 28x31."
    ),
    "gauge-out-of-range": (
        "The gauge says {count:g} {word} in 10 cm; it must be between {low:g} and {high:g}. "
        "Measure a washed swatch."
    ),
    "not-a-key": (
        "Round {round}, stitch {stitch}: {key} is not the key of a yarn; the keys are {keys: } "
        "and '{gap}' for no stitch."
    ),
    "round-of-other-length": (
        "Round {round} has {squares:square}, but round 1 has {first}; give every round as many, "
        "with '{gap}' where there is no stitch."
    ),
    "json-too-many-parts": "The {what} holds more than {most} lists and objects; make it smaller.",
    "json-no-object": "{where} is {value}; it must be an object in braces.",
    "json-no-list": "{where} is {value}; it must be a list in brackets.",
    "json-list-length": "{where} has {parts:part}; it must have {low:,} to {high:,}.",
    "json-no-whole-number": "{where} is {value}; it must be a whole number from {low} to {high}.",
    "json-no-number": "{where} is {value}; it must be a number from {low:g} to {high:g}.",
    "json-no-text": "{where} is {value}; it must be text in quotes.",
    "json-text-too-long": (
        "{where} has {characters} characters; it must have {longest} at the most."
    ),
    "json-not-allowed": "{where} is {value}; it must be {allowed}.",
    "json-too-deep": "The {what} is nested too deeply; {most} levels are allowed.",
    "json-refused": "The {what} {why}.",
    "json-cannot-hold": "The chart holds a value that JSON cannot: {why}.",
    "json-half-character": "The {what} holds half a character (a lone surrogate); remove it.",
    "yarn-bad-name": "The yarn name {name} must have 1 to {most} printable characters.",
    "yarn-bad-shades": ("The yarn '{name}' has {shades:shade}; give 2 to {most}, or one colour."),
    "yarn-bad-colour": (
        "The colour '{colour}' of yarn '{name}' must be written #rrggbb, like #26304c."
    ),
    "yarn-unreadable": "The yarn '{text}' must be written name=#rrggbb, like oat=#ece2d0.",
    "yarn-amount-out-of-range": (
        "'{field}' of yarn '{name}' is {amount}; it cannot be negative, and must be below 10 million."
    ),
    "yarn-too-heavy": (
        "Yarn '{name}' has {amount:g} m in 100 g; no yarn has less than {least:g}: give the metres of its "
        "label, or none."
    ),
    "row-outside": (
        "The row told for round {round}, stitches {first} to {last}, does not lie on the chart of "
        "{rounds:round} and {stitches:stitch}; change it."
    ),
    "row-told-twice": "Two rows are told for round {round}; keep one of them.",
    "row-too-short": (
        "Round {round}, stitch {stitch}: the row reaches from stitch {first} to {last}; take the "
        "stitch out or make the row longer."
    ),
    "row-bad-side": "The wrong_side of {where} is {value}; it must be true or false.",
    "plain-part-unknown-yarn": (
        "The plain part '{part}' is in yarn {yarn}, but the chart has {yarns:yarn}."
    ),
    "construction-not-allowed": "construction {name} is {value}; it must be {wanted}.",
    "a-text": "a text",
    "an-object": "an object in braces",
    "true-or-false": "true or false",
    "a-limit": "a whole number from 1 to 60",
    "a-list": "a list in brackets",
    "part-not-right": "{where:capital} is not right: {why}",
    "json-not-valid": "The {what} is not valid JSON at line {line}, column {column}: {why}.",
}
