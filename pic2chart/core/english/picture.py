"""Pictures: what cannot be read of them, or charted."""

PICTURE = {
    "spot-unreadable": (
        "The spot '{text}' of {option[focus]} cannot be read; write x,y,radius in whole pixels, like "
        "210,140,25."
    ),
    "keep-unreadable": (
        "The mark '{text}' of {option[keep]} cannot be read; write x,y,radius in whole pixels, like "
        "210,140,25."
    ),
    "leave-unreadable": (
        "The mark '{text}' of {option[leave]} cannot be read; write x,y,radius in whole pixels, like "
        "210,140,25."
    ),
    "keep-outside": (
        "The {option[keep]} mark {spot} lies outside the picture '{file}', which is {width} pixels wide "
        "and {height} high; mark a place within it."
    ),
    "leave-outside": (
        "The {option[leave]} mark {spot} lies outside the picture '{file}', which is {width} pixels "
        "wide and {height} high; mark a place within it."
    ),
    "nothing-to-mark": (
        "{option[subject]:none} keeps the whole picture, so {option[keep]} and {option[leave]} have "
        "nothing to mark; leave one of them out."
    ),
    "no-one-subject": (
        "No one subject stands out in this picture, so all of it is charted; "
        "{option[subject]:x,y,width,height} or {option[keep]:x,y,radius} marks one."
    ),
    "marks-leave-nothing": (
        "The marks leave nothing of the picture, so all of it is charted; mark less."
    ),
    "subject-found": (
        "The subject was found by itself and its ground made plain; {option[subject]:none} keeps "
        "everything, {option[keep]:x,y,radius} and {option[leave]:x,y,radius} correct it."
    ),
    "no-network": "Subjects cannot be found: {why}. Install pic2chart again to have them found.",
    "mask-of-other-shape": (
        "The mask '{mask}' is {across} × {up} pixels and the picture '{file}' {width} × {height}; make "
        "it as large, or of the same shape."
    ),
    "mask-empty": ("The mask '{mask}' holds no subject; paint what belongs to it white on black."),
    "part-without-subject": (
        "The part {part} of '{file}' that is used shows nothing of the subject; choose another "
        "{option[crop]}, or keep everything with {option[subject]:none}."
    ),
    "frame-without-subject": (
        "No subject is known for {option[frame]} to follow, so the whole picture is charted; mark one with "
        "{option[subject]:x,y,width,height}."
    ),
    "picture-coarse": (
        "What is charted is only {pixels:pixel} wide for {stitches:stitch}, so much of it is guessed; "
        "take a larger picture, or fewer {option[stitches]}."
    ),
    "spot-outside": (
        "The {option[focus]} spot {x},{y},{r} lies outside the part of the picture that is used; give "
        "the middle of the spot in pixels of the picture."
    ),
    "too-few-rounds": (
        "'{file}' gives only {rounds} of the {least} rounds a chart has at least, at "
        "{stitches:stitch} across; crop the picture or ask for more stitches."
    ),
    "whole-box-is-subject": (
        "Nothing stood out inside the subject box, so the whole box is taken as the subject; draw it "
        "closer round the subject if too much shows."
    ),
    "no-background": (
        "There is no background to fill: mark the subject with {option[subject]:x,y,width,height}, or "
        "use a picture with a transparent background."
    ),
    "side-too-long": (
        "The picture '{path}' is {width} × {height} pixels and a side of it longer than {most} pixels; cut it "
        "into parts."
    ),
    "too-many-scans": (
        "The picture '{path}' is a JPEG file of far more scans than any camera writes; save it anew "
        "from a picture program."
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
        "'{file}' needs {rounds:round} at {stitches:stitch} across, and a chart has at most "
        "{most:,}; crop the picture or ask for fewer stitches."
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
