"""Pictures: what cannot be read of them, or charted."""

PICTURE = {
    "spot-unreadable": (
        "The spot '{text}' of {option[focus]} cannot be read; write x,y,radius in whole pixels, like "
        "210,140,25."
    ),
    "spot-outside": (
        "The {option[focus]} spot {x},{y},{r} lies outside the part of the picture that is used; give "
        "the middle of the spot in pixels of the picture."
    ),
    "too-few-rounds": (
        "'{file}' gives only {rounds} of the {least} rounds a chart has at least, at {stitches} "
        "stitches across; crop the picture or ask for more stitches."
    ),
    "whole-box-is-subject": (
        "Nothing stood out inside the subject box, so the whole box is taken as the subject; draw it "
        "closer round the subject if too much shows."
    ),
    "no-background": (
        "There is no background to fill: mark the subject with {option[subject]:x,y,width,height}, or "
        "use a picture with a transparent background."
    ),
    "picture-empty": "The picture '{path}' is {width} × {height} pixels; it holds nothing.",
    "box-too-small": "The box {box} must start at 0 or more and be at least 1 pixel wide and high.",
    "box-unreadable": (
        "The box '{text}' cannot be read; write x,y,width,height in whole pixels, like "
        "40,10,300,280."
    ),
    "box-outside": (
        "The box {box} reaches outside the picture '{file}', which is {width} pixels wide and "
        "{height} high; choose a box within it."
    ),
    "picture-of-no-known-kind": (
        "The picture '{path}' is not a {kinds} file; save it as one of these."
    ),
    "picture-needs-memory": "The picture '{path}' needs more memory than there is.",
    "picture-damaged": "The picture '{path}' is damaged or cut short ({why}); export it again.",
    "too-many-rounds": (
        "'{file}' needs {rounds} rounds at {stitches} stitches across, and a chart has at most "
        "{most}; crop the picture or ask for fewer stitches."
    ),
    "subject-box-misses": (
        "The subject box {box} misses the part {window} of '{file}' that is used; choose a box "
        "that overlaps it."
    ),
    "picture-transparent": "'{file}' is transparent everywhere; there is no subject to chart.",
    "box-transparent": (
        "'{file}' is transparent everywhere in the box {box}; there is no subject to chart."
    ),
    "too-many-pixels": "The picture '{path}' has more than {most} million pixels; make it smaller.",
    "so-many-pixels": (
        "The picture '{path}' is {width} × {height} pixels and has more than {most} million pixels; "
        "make it smaller."
    ),
}
