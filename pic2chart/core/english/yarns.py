"""Yarns: contrast, colours from photos, amounts, the shelf."""

YARNS = {
    "partner-and-like-given": (
        "{option[partner]} and {option[like]} are both given; ask one at a time."
    ),
    "compare-yarn-or-shelf": (
        "{option[yarn]} and {option[shelf]} are both given; name yarns or compare those you have."
    ),
    "no-yarn-to-compare": (
        "There is no yarn to compare, and a pair needs two; give them with {option[yarn]:name=#rrggbb}, or "
        "{option[shelf]:FILE}."
    ),
    "one-yarn-to-compare": (
        "There is only one yarn, and a pair needs two; give another with {option[yarn]:name=#rrggbb}, "
        "or {option[shelf]:FILE}."
    ),
    "shelf-too-few": "{yarns:yarn} with a colour could be read, and a pair needs two. {why}",
    "perhaps": "As far as the colours are known it may be {verdicts:or}.",
    "no-such-yarn": "The chart has no yarn '{name}'; it has {names}.",
    "substitute-verdict": "With {name} the pattern was {before} and is {after}.",
    "substitute-weight-unknown": (
        "Its metres in 100 g are not known: knit a swatch before you take {name}."
    ),
    "substitute-thicker": "{name} is thicker: {part:.0%} fewer metres in 100 g; knit a swatch.",
    "substitute-thinner": "{name} is thinner: {part:.0%} more metres in 100 g; knit a swatch.",
    "substitute-short": "{name} is {grams:.0f} g short too.",
    "short-with-substitutes": "{yarn} is {grams:.0f} g short; of your yarns {names:or} could take its place.",
    "shading-even": "{option[even]} is '{even}'; it must be lightness or difference.",
    "shading-both": (
        "Name the shades of both {option[ground]} and {option[motif]}, or let both be chosen by number."
    ),
    "shading-one-yarn": "The chart has one yarn; a ground and a motif are two.",
    "shading-no-yarn": "There is no yarn '{name}' on the shelf to shade with.",
    "shading-shades": "{option[ground]} and {option[motif]} go through 1 to 6 shades each.",
    "shading-every": "{option[every]} is {rounds}; it must be between 2 and 1000 rounds.",
    "shading-shelf-small": "{shades:shade} cannot be chosen from {yarns:yarn}; ask for fewer.",
    "shading-yarn-twice": "The yarn '{name}' stands twice in the shades; name each once.",
    "shading-too-many": (
        "In shades the chart would have {yarns} yarns, and {most} are the most; ask for fewer shades."
    ),
    "stock-log-unreadable": (
        "Line {line} of the log '{path}' cannot be read; move the log away to begin a new one."
    ),
    "nothing-to-undo": "There is nothing to undo: no change of the shelf '{path}' stands in its log.",
    "changed-since": "'{name}' has changed since '{what}', so that cannot be undone any more.",
    "kit-unreadable": "The kit '{path}' is no TOML: {why:clause}.",
    "kit-no-such-entry": "'{name}' is nothing that {where} has; write one of {known:,}.",
    "kit-no-such-yarn": "The colourway '{colourway}' names the yarn '{name}', which no chart has.",
    "kit-not-on-shelf": "The colourway '{colourway}' needs '{name}', which is not on the shelf.",
    "kit-not-there": "There is no kit '{name}'; there are {names:,}.",
    "kit-short": (
        "No lot of {name} holds {balls:ball} any more: {packed} of {count} bags could be packed, and "
        "nothing was taken off the shelf."
    ),
    "kit-count": "{option[count]} is {count}; it must be between 1 and 1000.",
    "no-such-partner": "There is no yarn '{name}' to find partners for; perhaps {near:,}?",
    "set-out-of-range": "{option[k]} is {k}; it must be between 2 and {most}.",
    "as-lit-alone": (
        "{option[as_lit]} leaves the light as it is, so {option[white]}, {option[grey]} and "
        "{option[knowns]} say nothing; leave them out or it."
    ),
    "one-reference": (
        "With one patch of known colour the camera's tone curve is only guessed: a grey card beside it "
        "({option[grey]}), or more known colours ({option[knowns]}), make the colours surer."
    ),
    "yarn-of-several-colours": "{name} was taken as one yarn of {colours} colours.",
    "known-needs-patch": (
        "{option[known]} needs the patch it speaks of: {option[white]} or {option[grey]}."
    ),
    "known-unreadable": "{option[known]}: {why}.",
    "too-many-patches": "{patches} patches are marked; {most} are the most.",
    "two-patches-of-a-name": "Two patches are called '{name}'; give each its own name.",
    "no-reference": (
        "No white or grey patch was found in '{file}'. Lay white paper beside the yarn, mark it with "
        "{option[white]:x,y,width,height}, or keep the light with {option[as_lit]}."
    ),
    "no-reference-overexposed": (
        "No white or grey patch was found in '{file}'. {burnt:.0%} of it is over-exposed. Lay white "
        "paper beside the yarn, mark it with {option[white]:x,y,width,height}, or keep the light with "
        "{option[as_lit]}."
    ),
    "middle-measured": "No patch is marked: the middle third of the photo was measured.",
    "patch-of-several-colours": (
        "There are {colours} colours in the patch of {name}: mark a part that holds only the yarn, or, "
        "if the yarn itself has several, give {option[several]}."
    ),
    "light-not-corrected": (
        "The light was not corrected: the colours are as lit, their doubt unknown."
    ),
    "light-corrected": "Light corrected by the patch at {box} ({how}), taken as L* {light:.1f}.",
    "reference-found": "found by itself",
    "reference-marked": "as marked",
    "reference-uncertain": (
        "If that is not white paper, mark it with {option[white]:x,y,width,height}."
    ),
    "yarn-brighter-than-reference": (
        "A yarn is brighter than the patch that was found: it is not white paper."
    ),
    "amount-out-of-range": "{option[0]} is {value:g}; it must be between {low:g} and {high:g}.",
    "area-out-of-range": (
        "{option[0]} is {value:g} square cm; it must be between {low:g} and {high:g} square cm."
    ),
    "not-of-one-garment": (
        "'{first}' and '{other}' differ in yarns or gauge, so they are not of one garment; ask for the "
        "amounts of each alone."
    ),
    "swatch-weight-unlikely": (
        "The swatch weighs {grams:g} g where {expected:.1f} g are expected for {area:g} square cm; "
        "check {option[swatch_grams]}, {option[swatch_cm2]} and the yarns' metres in 100 g."
    ),
    "metres-guessed": (
        "Metres in 100 g are not on the label of {yarns}; a common value was taken. Put "
        "{option[m_per_100g]} into the list of your yarns, or weigh a swatch."
    ),
    "from-gauge-alone": (
        "From the gauge alone the yarn may come out 9% less: weigh a washed stranded swatch and give "
        "{option[swatch_grams]}."
    ),
    "swatch-weighs": "Your swatch weighs {factor:.2f} times what the gauge alone says.",
    "estimate": "An estimate for {what}, edges included: knit and wash a swatch first.",
    "charts-and-plain-parts": "the charts and the plain parts that go with them",
    "chart-alone": "the chart alone",
    "shelf-smaller-than-asked": (
        "{yarns} yarns cannot be chosen from a list of {shelf}; choose fewer or add yarns."
    ),
    "no-yarns-to-make": "{yarns} yarns cannot be made; ask for at least 1.",
    "nothing-to-choose-for": (
        "There is no stitch to choose yarns for; the grid has no weight anywhere."
    ),
    "sets-out-of-range": "Sets of {k} cannot be chosen from {yarns} yarns; ask for 2 to {most}.",
    "patch-too-small": "{what} has {pixels:pixel}; mark at least {least}.",
    "patch-over-exposed": (
        "{what} is over-exposed: {clipped:.0%} of it is as bright as the photo can show. Take the "
        "photo again, darker, or mark another part."
    ),
    "patch-too-dark": "{what} is almost black; take the photo in more light.",
    "shelf-too-many-columns": "it has {columns} columns; {most} are the most",
    "shelf-too-long": "A list holds at most {most} yarns, not {yarns}.",
    "shelf-two-columns-alike": "two columns are headed '{column}'; keep one",
    "two-yarns-of-a-name": "Two yarns are called '{name}'; give each its own name.",
    "shelf-bad-line": "Line {line} of '{path}': {what:clause}.",
    "shelf-full": "a list holds at most {most} yarns; split it",
    "shelf-name-taken": (
        "the yarn '{name}' is on line {line} already; give each its own name, or its own lot"
    ),
    "shelf-row-aside": "Line {line} of '{path}' was left aside: {what:clause}.",
    "shelf-cell-aside": "Line {line} of '{path}' is used but for one cell: {what:clause}.",
    "shelf-more-aside": "And {count:fault} more of '{path}', not named.",
    "shelf-no-colour": (
        "Without a colour, and so not compared: {names}. Measure them from a photo, or "
        "put their colours into the file."
    ),
    "shelf-no-colour-many": (
        "Without a colour, and so not compared: {names:,} and {rest} more. Measure them "
        "from a photo, or put their colours into the file."
    ),
    "workbook-too-large": "the sheet is too large; keep the yarns in a sheet of their own",
    "workbook-empty": "no sheet of the workbook holds anything",
    "workbook-unreadable": "the workbook cannot be read; save it as CSV",
    "workbook-not-written": (
        "'{path}' is a workbook, which is only read here; save it as CSV and use that."
    ),
    "table-without-headings": "the headings must hold {wanted}; they are {found}",
    "table-not-utf8": "it is not UTF-8 text; save it as CSV in UTF-8, or as xlsx or ods",
    "table-cells-unreadable": "the quotes or cells cannot be read ({why})",
    "patch-unreadable": (
        "The patch '{text}' must be written name=x,y,width,height, like rust=40,10,80,80."
    ),
    "patch-of": "The patch of '{name}'",
    "reference-patch": "The white or grey patch at {box}",
    "area-unreadable": (
        "{option[swatch_cm2]} is '{text}'; write width x height in cm, like 10x10."
    ),
}
