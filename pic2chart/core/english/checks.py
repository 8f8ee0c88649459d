"""What the rules find, and what to do: each rule by its code, and its cure with '-mend'."""

CHECKS = {
    "long-float": "{place}: the {yarn} yarn floats behind {length:stitch}; the limit is {limit}.",
    "long-float-mend": "Put a stitch of {yarn} near stitch {stitch}, or let long floats be caught.",
    "catch-missing": (
        "{place}: the {yarn} yarn floats behind {length:stitch}, and the limit is {limit}."
    ),
    "catch-missing-mend": "Catch {yarn} {where}.",
    "catch-stacked": (
        "{place}: caught here and again in {word} {above}; catches above each other show on the front."
    ),
    "catch-stacked-mend": "Move the catch in {word} {above} a stitch or two to one side.",
    "catch-stacked-on-itself-mend": "Move it a stitch or two to one side each time it comes.",
    "catch-beside-change": "{place}: {yarn} is caught right beside a colour change.",
    "catch-beside-change-mend": "Catch it behind stitch {stitch} instead.",
    "buried-stitch": (
        "{place}: a single stitch of {yarn} between floats of {left} and {right} can be pulled out of "
        "sight."
    ),
    "buried-stitch-mend": "Give it a second {yarn} stitch beside it, or keep both floats loose.",
    "snag-risk": (
        "{place}: {yarn} runs loose behind {length:stitch}, the longest of {count:float} over {safe}. {who} "
        "can catch in such strands."
    ),
    "fingers": "Fingers and toes",
    "a-childs-fingers": "A child's fingers and toes",
    "snag-risk-mend": (
        "Set the float limit to {safe} and plan the catches again, or line the piece."
    ),
    "too-many-colours": "{where} uses {count} yarns ({yarns}); the most allowed is {allowed}.",
    "too-many-colours-mend": "Knit the {count:stitch} of {yarn} in another yarn of the {word}.",
    "low-contrast": (
        "{first} and {second} differ by {gap:.1f} in lightness, less than {least:g}, and meet in "
        "{rounds}."
    ),
    "contrast-unsure": (
        "{first} and {second} are {gap:.0f} ± {unsure:.0f} L* apart as far as their colours are known, so "
        "it is not sure that they differ by {least:g}."
    ),
    "contrast-unsure-mend": "Photograph both in black and white side by side, or knit a swatch.",
    "low-contrast-mend": "Choose a lighter or darker yarn for {first} or {second}.",
    "same-colour": (
        "{first} and {second} have the same colour and meet in {rounds}: no pattern will show."
    ),
    "same-colour-apart": "{first} and {second} have the same colour; they look alike in the chart.",
    "same-colour-mend": "Give {first} or {second} another colour, or make them one yarn.",
    "unused-yarn": "No stitch of the chart is knitted in {yarn}.",
    "unused-yarn-mend": "Knit some stitches in it, or leave it out of the yarns.",
    "unknown-yarn": "{place}: {why}.",
    "unknown-yarn-mend": "Take this catch out, or name the yarn that floats behind the stitch.",
    "catch-on-no-stitch": "a catch lies where there is no stitch",
    "catch-of-no-yarn": "a catch names yarn {yarn}, but the chart has {yarns}",
    "catch-on-its-own-stitch": "{yarn} is to be caught behind the stitch it knits",
    "catch-of-unused-yarn": "{yarn} is to be caught, but this {word} does not use it",
    "catch-not-here": "{yarn} cannot be caught here",
    "isolated-stitch": "{place}: a lone stitch of {yarn}.",
    "isolated-stitches": "{place}, and {more} more there: lone stitches of {yarn}.",
    "isolated-stitch-mend": "Knit it in a neighbour's yarn, or give it a neighbour of its own.",
    "isolated-stitch-kept": (
        "The chart keeps such stitches; knit it snug, and nothing need be changed."
    ),
    "repeat-misfit": "{rounds:capital}: {count:stitch} cannot be filled by a repeat of {repeat}; {over}.",
    "one-is-over": "1 is over",
    "some-are-over": "{over} are over",
    "repeat-misfit-mend": "Use {counts:or} stitches there, or change the repeat.",
    "repeat-misfit-up": "The chart has {rounds}, but its repeat has {repeat}.",
    "repeat-misfit-up-mend": "Make the chart a multiple of {repeat} high.",
    "join-jog": (
        "The pattern steps at the join in {count:round} ({rounds}): a last stitch meets another yarn in "
        "the next round."
    ),
    "join-jog-mend": "Put the join where it is not seen.",
    "join-jog-lift": (
        "It can be hidden: work on to the next round; before you knit its first stitch, lift the stitch "
        "below it onto the needle beside it and knit both together."
    ),
    "join-jog-begin-at": (
        "Begin the round at stitch {stitch}, or put the join where it is not seen."
    ),
    "ragged-round": (
        "{where} has {count:stitch} after {before} in {word} {round}, more of a change than shaping "
        "makes."
    ),
    "ragged-round-mend": "Spread it over more {word}s, or cast on or bind off the difference.",
    "empty-round": "{where} has no stitch.",
    "empty-round-mend": "Take the {word} out of the chart.",
    "short-round": "{where} has only {count:stitch}, too few to knit in the round.",
    "short-round-mend": "Fasten off before this round: draw the yarn through the stitches left.",
    "shaping-unreadable": "{count:mark} in the chart's list of shaping cannot be read.",
    "shaping-unreadable-mend": "Make the chart again, or mend the list by hand.",
    "shaping-misplaced": "{place}: {kind} is marked where there is no stitch for it.",
    "shaping-misplaced-mend": "Move the mark to its stitch.",
    "shaping-lacks-stitches": "{place}: {kind} has {left:stitch} to join, not {need}.",
    "shaping-lacks-stitches-mend": "Take the decrease out, or work it earlier in the {word}.",
    "shaping-misfit": (
        "{where}: to make its {count:stitch} takes {used} of {word} {below}, which has {before}."
    ),
    "shaping-misfit-row": (
        "{where}: to make its {count:stitch} takes {used} of the {before} waiting below it."
    ),
    "shaping-misfit-mend": "Mark as many decreases or increases as the stitch count changes by.",
}
