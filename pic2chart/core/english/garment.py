"""Garments: what does not fit, and what would."""

GARMENT = {
    "make-it": "{option[0]:{value:g}}",
    "make-it-these": "make it {hints}",
    "either-or": "{one} or {other}",
    "back-of-hand": "the back of this hand",
    "front-of-hat": "the front of this hat",
    "this-band": "this band",
    "this-panel": "this panel",
    "this-cowl": "this cowl",
    "front-of-jumper": "the front of this jumper",
    "neck-leaves-no-shoulders": (
        "A neck that goes over a head of {head:g} cm takes {neck} of the front's {half} stitches and "
        "leaves no shoulders; it does from a body of about {least:.0f} cm on, so give a larger "
        "{option[chest]} or a smaller head."
    ),
    "this-leg": "the leg of this sock",
    "foot-too-short": (
        "A foot {long:g} cm long has no room for a heel and a toe of {stitches} sts; it needs "
        "{option[length]:{least:g}}, or fewer stitches round."
    ),
    "this-scarf": "this scarf",
    "this-cushion": "the front of this cushion",
    "scarf-too-long": (
        "The scarf would have {rounds} rounds, and {most} are the most; make it "
        "{option[length]:{length}} or shorter."
    ),
    "repeat-too-wide": (
        "A repeat of {unit} stitches is wider than {where}, which has room for {room}; make it {hint}."
    ),
    "largest-that-fits": "the largest that fits is {stitches} stitches",
    "motif-does-not-fit": (
        "A motif of {width:stitch} and {high:round} does not fit {where}, which has room for "
        "{stitches:stitch} and {rounds:round}; {best}."
    ),
    "picture-small-here": (
        "The picture is only {wide:stitch} wide here; under {enough} it is hard to recognise. A "
        "larger size, a finer gauge or less ribbing makes it larger."
    ),
    "picture-small-in-frame": (
        "The picture is only {wide:stitch} wide here; under {enough} it is hard to recognise. Let "
        "the subject fill its place with {option[frame]:close} and without {option[crop]}; a larger "
        "size, a finer gauge or less ribbing makes it larger too."
    ),
    "lone-stitches": (
        "Floats over {over} run on both sides of {lone:stitch}, at the cost of {saved:catch}. "
        "{option[embroider]:{over}} leaves them to be embroidered afterwards."
    ),
    "wide-ground": ("{count:float} over {over} stitches, the longest {longest}. {ways: }"),
    "ladder-offered": (
        "{option[ladder]:{over}} lets ladder stitches behind the work hold them: {rungs:stitch} to make, "
        "{saved:catch} fewer."
    ),
    "narrower-panel": (
        "{option[width]:{width:g}} makes it so narrow, {across} stitches, that hardly a float passes {over}."
    ),
    "narrower-flat": (
        "On a flat panel {width:g} cm wide, {across} stitches, hardly a float would pass {over}."
    ),
    "ground-of-picture": (
        "A subject marked with {option[subject]}, and so a filler behind it, or another "
        "{option[background]} makes floats short at any width."
    ),
    "ground-of-chart": "A chart with a small pattern on its ground, or a narrower one, has none.",
    "no-intarsia-round": (
        "Intarsia does not go round: its yarn would hang at the wrong end of its stitches."
    ),
    "no-intarsia-flat": (
        "Intarsia would be another fabric, with an end for every area, and these charts do not tell it."
    ),
    "head-small-here": (
        "If it has a face: what looks like its head is only {wide:stitch} wide here; "
        "{option[frame]:head} makes it about {closer} wide."
    ),
    "picture-flat-here": (
        "The picture is only {high:round} high here; under {enough} hardly anything can be seen. Take a "
        "part of it with {option[crop]:x,y,width,height}, or another picture."
    ),
    "letters-small-here": (
        "The picture has {count} parts side by side, as words have, each about {wide:.1f} stitches "
        "wide here; letters under {enough} run together. A larger size or a finer gauge makes them "
        "wider."
    ),
    "painted-kept": (
        "What was kept by hand on the chart ({count:stitch}) stays here too, where it stands in the "
        "picture."
    ),
    "painted-stitches-rest": (
        "What was painted by hand ({count:stitch}) rests, because its piece has another size now; the "
        "size it had brings it back."
    ),
    "painted-stitches-stay": "What was painted by hand on the pieces ({count:stitch}) stays.",
    "painted-nowhere": (
        "What was kept by hand on '{title}' ({count:stitch}) is left out: only a chart of the same "
        "picture says where in it that stands."
    ),
    "painted-pieces-one-size": (
        "Stitches painted on a piece belong to one size; leave {option[sizes]} out."
    ),
    "painted-too-many": (
        "Two charts of pictures with painted stitches are given, '{first}' and '{other}'; a garment keeps "
        "those of one."
    ),
    "band-does-not-close": (
        "The band '{name}' has a repeat of {across} stitches; round {about} the nearest is {count}. "
        "Choose another size, or a band of a narrower repeat."
    ),
    "no-room-for-bands": (
        "The bands need {high} rounds and there is room for {room}; leave one out or make the piece "
        "{lacks:round} higher."
    ),
    "too-many-bands": "{bands} bands are given, and {most} are the most.",
    "no-charts-in-folder": "There is no chart in the folder '{folder}'.",
    "band-is-no-chart": (
        "'{file}' is no chart; make one of it first, since a band brings its own stitches."
    ),
    "text-too-long": "{option[text]} needs 1 to {most} letters.",
    "letter-not-drawn": (
        "'{letter}' in {option[text]} is not among the knitted letters; they are Latin, Greek and "
        "Cyrillic capitals and numerals."
    ),
    "catches-behind-ground": (
        "{catches:catch}, most of them behind plain ground. Mark the subject with "
        "{option[subject]:x,y,width,height}, and a filler without long floats takes the ground."
    ),
    "chart-brings-its-own": (
        "'{file}' is a chart and brings its own yarns and size; leave {option[crop]}, "
        "{option[subject]}, {option[shelf]} and {option[yarns]} out ({option[yarn]} gives its yarns "
        "new names and colours)."
    ),
    "motif-crowded": (
        "'{name}' cannot be knitted: its round {round} needs {yarns} yarns, and {rounds:round} in all "
        "more than {most}; two are common, and {most} the most that can be carried. Bring it down to two "
        "a round with {command[mend]} first."
    ),
    "chart-has-one-yarn": "'{file}' has one yarn; stranded knitting needs at least two.",
    "other-count-of-yarns": (
        "The chart has {own:yarn}, and {option[yarn]} names {given}; name as many."
    ),
    "other-gauge": (
        "The chart was made for {own}, and this garment is reckoned at {given}; give "
        "{option[gauge]:{stitches:g}x{rounds:g}} if that is still yours."
    ),
    "not-the-charts-width": (
        "{option[across]} is {asked}, but the chart has {own} stitches; leave it out."
    ),
    "not-the-repeats-width": (
        "{option[across]} is {asked}, but the chart's repeat has {own} stitches; leave it out."
    ),
    "no-such-garment": "'{kind}' is no garment; choose {known:,}.",
    "no-named-sizes": "A {kind} has no named sizes, so {option[sizes]} cannot be given.",
    "sizes-or-measures": (
        "{option[1]} makes one garment to measure and {option[0]} several; leave one of them out."
    ),
    "sizes-too-many": "{option[sizes]} names {count} sizes; give 2 to {most} that differ.",
    "no-such-size": "{option[0]} is '{size}'; the sizes are {known:,}.",
    "hand-too-short": (
        "A hand {long:g} cm long has no room for a thumb and a pointed top of {top} rounds at "
        "{stitches} sts; it needs {option[length]:{least:g}}, or fewer stitches round."
    ),
    "hat-too-shallow": (
        "A hat {deep:g} cm deep has no room for a body of {needed} rounds between its brim of "
        "{brim:g} cm and its crown of {crown} rounds; make it {option[depth]:{least:g}} or the brim "
        "lower."
    ),
    "panel-too-large": (
        "The panel would have {stitches} stitches and {rounds} rounds; {most} are the most. Make it "
        "smaller."
    ),
    "motif-too-high-for-yoke": (
        "The motif has {rounds} rounds and the lowest band of this yoke has room for {room}; choose "
        "a lower one or a finer gauge, or make it {option[chest]:{chest:g}}."
    ),
    "sleeve-too-short": (
        "A sleeve of {arm:g} cm has {rounds} rounds for {increases} increase rounds; it needs "
        "{option[sleeve_length]:{least}} at the least."
    ),
    "motif-too-high-for-hat": (
        "The motif has {high} rounds and the body of this hat {rounds}; make it {hint}."
    ),
    "sleeves-out-of-proportion": (
        "With a motif of {unit} stitches the sleeves would have {sleeve} of the body's {body} "
        "stitches; they should have about a third. Choose a narrower motif."
    ),
    "no-multiple-for-yoke": (
        "No multiple of {unit} lies between {least} and {most} stitches, so this motif cannot go "
        "round the upper yoke; choose a narrower one."
    ),
    "neck-too-narrow": (
        "The neck needs {neck} sts ({cm:.1f} cm, stretched {stretched:.0f} cm) for a head of "
        "{head:g} cm, and the yoke has only {stitches} there; it closes from a body of about "
        "{least:.0f} cm on."
    ),
    "no-stitch-count-near": (
        "No stitch count near {wanted:.0f} is {why}; choose another motif width."
    ),
    "nearest-stitch-count": (
        "{cm:.1f} cm is {wanted:.0f} stitches at your gauge, and the nearest count that is {why} "
        "is {best} ({best_cm:.1f} cm); choose {instead} or that measure."
    ),
}
