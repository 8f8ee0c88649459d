"""Photos of charts and of swatches."""

READING = {
    "other-count-seen": (
        "{option[0]} is {wanted}, but only {seen:square} can be seen in '{file}'; take the photo so "
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
        "'{file}' seems to have {seen:yarn}; a chart has {most} at the most. Say how many there are "
        "with {option[yarns]}."
    ),
    "restored-from-file": "Restored whole from '{file}': every stitch, catch and yarn.",
    "restored-from-code": (
        "Restored whole from the square code on {pages:page}: every stitch, catch and yarn; the "
        "checksum agrees."
    ),
    "photo-without-code": (
        "'{file}' shows no square code of a chart; give photos of one chart's pages together, sharp and "
        "whole, and any other photo by itself."
    ),
    "photos-of-charts": (
        "The photos show pages of {count} charts; give the pages of one chart at a time."
    ),
    "pages-missing": (
        "The chart is in {count:part}; missing: part {missing:,}. Photograph all pages that bear its "
        "square codes."
    ),
    "pages-carry-no-chart": (
        "The square codes on these pages name the chart and do not hold it; give one photo at a time."
    ),
    "code-agrees": (
        "The page's square code says {stitches:stitch} × {rounds:round} too; it holds {parts:part} "
        "of the chart."
    ),
    "code-differs": (
        "The page's square code is of a chart of {stitches:stitch} × {rounds:round}, page {page}; "
        "{across:stitch} × {up:round} were read."
    ),
    "code-differs-mend": (
        "The page may show only a part of the chart: give photos of all its pages together. Else give "
        "the size with {option[stitches]} and {option[rounds]}, or the part with {option[region]}."
    ),
    "size-borne-out": (
        "Size: {stitches:stitch} × {rounds:round}; the heavy lines every {every} squares agree."
    ),
    "size-alone": (
        "Size: {stitches:stitch} × {rounds:round}, counted from the lines; nothing else bears it out, "
        "so count one row and one column yourself."
    ),
    "size-as-known": "Size: {stitches:stitch} × {rounds:round}, as given.",
    "size-contradicted": (
        "Size: {stitches:stitch} × {rounds:round}, which the heavy lines contradict."
    ),
    "size-exact": "Size: {stitches:stitch} × {rounds:round}, from exact pixels.",
    "heavy-lines-differ": (
        "The heavy lines do not lie evenly in a chart of {stitches:stitch} × {rounds:round}: a row or "
        "column may be missing, or squares may be split."
    ),
    "lines-faint": ("Only {share:.0%} of the lines are clearly seen, so the size may be wrong."),
    "line-beyond": (
        "Beside the chart are more lines like its own: rows or columns of it may be missing."
    ),
    "doubtful-rim": (
        "At the {side}, the squares are far less sure than the others: numbers beside the chart may "
        "have been read."
    ),
    "bare-rim": "Nothing but {yarn} is in {rims}: that may be paper beside the chart.",
    "rim-at": "{what} at the {side}",
    "margins-empty": (
        "The chart is taken to be {stitches:stitch} × {rounds:round}, all that something is drawn in; the "
        "squared paper goes on with empty squares, {sides:,}. Whether some of them are part of the chart cannot be seen."
    ),
    "margin-at": "{what} at the {side} of the photo",
    "margins-empty-mend": (
        "If some are, give the chart's size, up to {option[stitches]:{stitches}} and "
        "{option[rounds]:{rounds}} for all squares (empty ones are then shared out evenly), or its "
        "corners with {option[corners]}."
    ),
    "rim-columns": "{count:column}",
    "rim-rows": "{count:row}",
    "rim-left": "left",
    "rim-right": "right",
    "rim-top": "top",
    "rim-bottom": "bottom",
    "size-read-mend": (
        "Compare the photo that is written with your chart; give the size with {option[stitches]} and "
        "{option[rounds]}, or the part of the photo that holds the chart with {option[region]}."
    ),
    "one-yarn-read": (
        "Only one yarn, {yarn}, is seen, so the chart shows nothing; its motif may be too faint."
    ),
    "yarns-alike": (
        "{first} and {second} have the same colour on the photo; they are told apart by marks alone."
    ),
    "yarns-close": (
        "Two of the yarns seen are hardly told apart; they may be one, or squares of one may be sorted "
        "to the other."
    ),
    "yarn-in-few-squares": (
        "A yarn is seen in {count:square} alone; a speck or a mark may have been taken for it."
    ),
    "yarns-by-marks": (
        "Some yarns have one colour on the photo and are told apart by marks alone; their colours here "
        "are made up."
    ),
    "key-seen": (
        "Beside the chart lies a key of {count:square}, not read as chart; it shows {shown} of the "
        "{yarns:yarn} read. {names}"
    ),
    "key-names-read": "Names read beside its squares: {names}; compare them with the photo.",
    "key-names-unsure": "No name beside its squares is read for sure.",
    "key-names-not-installed": (
        "Names beside its squares are read with the extra 'letters': python -m pip install "
        "'pic2chart[letters]'."
    ),
    "yarn-not-in-key": (
        "{yarn} is not in the key beside the chart; a mark or a shadow may have been taken for it."
    ),
    "many-yarns-read": "{count} yarns are seen; marks or a shadow may have been taken for yarns.",
    "yarns-read-mend": (
        "Compare the photo that is written with your chart; say how many yarns there are with "
        "{option[yarns]}, or name each with its colour with {option[yarn]}."
    ),
    "turn-and-corners-given": (
        "{option[turn]} and {option[corners]} are both given; begin the corners with the chart's own "
        "top left one and leave {option[turn]} out."
    ),
    "fabric-size": (
        "Size: {stitches:stitch} × {rounds:round}, the largest rectangle of whole stitches in the "
        "fabric; count one row and one column yourself, since its edges may be one too few or too many."
    ),
    "fabric-unseen": (
        "No clear stocking stitch is found in '{file}': nothing in it leans like the two legs of a "
        "stitch. Photograph the right side, flat, from above and so near that a stitch is at least 10 "
        "pixels wide, or give the part of the photo that shows it with {option[region]}."
    ),
    "fabric-small": (
        "Too few whole stitches lie together in '{file}'; have at least 12 stitches and 12 rounds in "
        "view, flat and with nothing on them, or choose another part of the photo with {option[region]}."
    ),
    "fabric-rounds": (
        "Stitches are seen in '{file}', but no rounds that are sure; photograph the fabric flat, sharp, "
        "in light from the side, or give the part where its pattern is clearest with {option[region]}."
    ),
    "fabric-two": (
        "Two different lattices of stitches explain '{file}' as well, so nothing is read; photograph the "
        "fabric from straight above, filling the picture, or give one part of it with {option[region]}."
    ),
    "fabric-other": (
        "The fabric in '{file}' repeats, but its stitches have no long upright legs: it is the wrong "
        "side, another stitch or seen too small. Turn it right side up, come nearer, or give the part "
        "that is stocking stitch with {option[region]}."
    ),
    "fabric-one-yarn": (
        "The stitches in '{file}' are found, but only one yarn is seen, so there is no pattern to read; "
        "give the part of the photo that shows the pattern with {option[region]}, or say how many yarns "
        "there are with {option[yarns]}."
    ),
    "fabric-large": (
        "More than {most} stitches or rounds are seen in '{file}'; a chart has no more, so give a part of "
        "the photo with {option[region]}."
    ),
    "fabric-and-counts-given": (
        "{option[fabric]} counts the stitches itself; leave {option[1]} out, or give the part of the photo "
        "with {option[region]}."
    ),
    "fabric-way-up": (
        "Hardly anything in the fabric tells top from bottom; if the chart is upside down, say how the "
        "photo lies with {option[turn]}."
    ),
    "fabric-doubtful": (
        "{share:.0%} of the stitches are doubtful: yarns of like colours, fluff or shadow hide them."
    ),
    "fabric-part": (
        "Many stitches in rounds {first} to {last} are doubtful; a round or a column may have slipped "
        "there."
    ),
    "fabric-mend": (
        "Compare the photo that is written with your fabric, and take another one, nearer and in even "
        "light, where they differ; say how many yarns there are with {option[yarns]}, or read a smaller "
        "part with {option[region]}."
    ),
    "repeat-read": (
        "Repeat: {stitches:stitch} × {rounds:round}, {how}; {agreement:.1%} of stitches keep to it."
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
    "counts-belong-together": (
        "{option[stitches_along]}, {option[stitches_counted]}, {option[rounds_along]} and "
        "{option[rounds_counted]} belong together: two points and a number for stitches, and the same "
        "for rounds."
    ),
    "between-too-short": ("{option[0]} marks less than {least} pixels; mark a longer distance."),
    "scales-given": ("{option[0]} and {option[1]} are both given; the scale needs only one."),
    "no-coin": (
        "No coin is found in '{file}'. Lay one flat beside the swatch, all of it in view on plain ground "
        "of another colour, or mark its width with {option[between]} and {option[cm]}."
    ),
    "two-coins": (
        "Several round things are seen in '{file}'; leave one coin alone, or mark its width with "
        "{option[between]} and {option[cm]}."
    ),
    "coin-unclear": (
        "The edge of the coin in '{file}' does not stand out all around: its shadow or the ground has its "
        "colour. Lay it on plain ground of another colour, in even light, or mark its width with "
        "{option[between]} and {option[cm]}."
    ),
    "coin-leans": (
        "The coin in '{file}' tells lengths on the swatch only to {share:.0%}; take the photo straight from "
        "above and nearer, or lay a bank or library card there instead."
    ),
    "no-ruler": (
        "No millimetre ruler is found in '{file}'. Lay it flat beside the swatch with at least 6 cm in view, "
        "sharp and straight, a millimetre at least 4 pixels wide, those of 5 and 10 mm longer (one of inches "
        "is not read), or mark 10 cm on it with {option[between]} and {option[cm]}."
    ),
    "ruler-leans": (
        "The ruler in '{file}' tells lengths on the swatch only to {share:.0%}; have more of it in view and "
        "take the photo straight from above, or lay a bank or library card there instead."
    ),
    "no-card": (
        "No card is found in '{file}'. Lay a bank or library card (85.6 × 54 mm) flat beside the "
        "swatch, all of it in view on a ground of another colour, or mark it with {option[card]}, or a "
        "length with {option[between]} and {option[cm]}; or lay a ruler there and say {option[ruler]}."
    ),
    "bad-card": (
        "The sides of the card in '{file}' are {off:.1%} off a card's shape. Give the photo as it was "
        "taken, not cut, with the card flat and no hard shadow beside it, or mark the card with "
        "{option[card]}."
    ),
    "game-card": (
        "The card in '{file}' has the shape of a playing card (63 × 88 mm), not of a bank card "
        "(85.6 × 54 mm). Lay a bank or library card there instead, or mark a length that you know with "
        "{option[between]} and {option[cm]}."
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
        "No clear stocking stitch is found in '{file}': nothing in it leans evenly like the two legs of a "
        "stitch, as where cables cross, in woven cloth, or out of focus. Photograph plain stocking stitch, "
        "right side up, from above, in even light from the side, sharp. Or count for yourself between "
        "two points each: {option[stitches_along]} and {option[rounds_along]}."
    ),
    "small-swatch": (
        "Too few stitches lie together in '{file}'; have at least 12 stitches and 12 rounds in view, "
        "flat and with nothing on them. Or count for yourself between two points each: "
        "{option[stitches_along]} and {option[rounds_along]}."
    ),
    "unclear-rounds": (
        "Stitches are seen in '{file}', but no rounds that are sure: stripes of one round, fluff or "
        "blur can hide them. Photograph a plainer part, sharp, in light from below or above. Or count "
        "for yourself between two points each: {option[stitches_along]} and {option[rounds_along]}."
    ),
    "other-stitch": (
        "The fabric in '{file}' repeats, but its stitches are not all upright legs: right and wrong sides "
        "by turns, as in garter and moss stitch, another fabric, or stitches seen too small. Photograph "
        "stocking stitch, or come nearer. Or count for yourself between two points each: "
        "{option[stitches_along]} and {option[rounds_along]}."
    ),
    "lying-stitch": (
        "The yarn in '{file}' lies along the rounds instead of up its stitches: it is the wrong side, or "
        "crochet, ribbing or cloth. Turn a knitted swatch over, right side up. For any other fabric count "
        "for yourself between two points each: {option[stitches_along]} and {option[rounds_along]}."
    ),
    "two-fabrics": (
        "Two different counts explain '{file}' as well, so none is said; photograph one fabric alone, "
        "filling the picture beside the card. Or count for yourself between two points each: "
        "{option[stitches_along]} and {option[rounds_along]}."
    ),
}
