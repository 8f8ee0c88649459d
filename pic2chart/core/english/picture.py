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
}
