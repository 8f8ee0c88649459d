"""Making a chart: options that contradict each other, and what came of the others."""

DESIGN = {
    "yarn-and-shelf-given": (
        "{option[yarn]} and {option[shelf]} are both given; name yarns or choose from those you have."
    ),
    "only-one-yarn": (
        "Only one yarn is given; stranded knitting needs at least two. Add another {option[yarn]}."
    ),
    "yarns-and-yarn-differ": (
        "{option[yarns]} is {yarns} but {option[yarn]} names {given:yarn}; leave {option[yarns]} out."
    ),
    "yarn-given-twice": "The yarn name '{name}' is given twice; name each differently.",
    "too-many-yarns-given": "{yarns} yarns are given; a chart has at most {most}.",
    "shelf-too-small": "'{shelf}' holds {yarns:yarn}; {option[yarns]} asks for {count}.",
    "filler-not-known": "{option[filler]} is '{name}'; the fillers are {known:,}.",
    "no-such-filler": "'{name}' is not a filler; choose one of {known:,}.",
    "no-such-background": (
        "{option[background]} names the yarn '{name}'; the yarns are {known:,}."
    ),
    "fixed-of-another-size": (
        "The fixed stitches are of a chart of {stitches:stitch} and {rounds:round}, and this one "
        "has {now_stitches} and {now_rounds}; keep the size or free them."
    ),
    "subject-small": (
        "The subject is only {wide:stitch} wide; under {least} it is hard to recognise. Use "
        "{option[stitches]:{stitches}} to make it {well} wide."
    ),
    "subject-small-far": (
        "The subject is only {wide:stitch} wide; under {least} it is hard to recognise. Use "
        "{option[frame]:close} without {option[crop]} to make it {closer} wide, or "
        "{option[stitches]:{stitches}} to make it {well} wide."
    ),
    "head-small": (
        "If it has a face: what looks like its head is only {wide:stitch} wide, and a face needs {least}; "
        "{option[frame]:head} makes it {closer} wide."
    ),
    "drawn-in": "Drawn in the look '{look}', which shows this picture best of all looks.",
    "drawn-in-on": (
        "Drawn in the look '{look}' on a ground of {ground}, which show this picture best of all looks."
    ),
    "fewer-yarns-enough": (
        "Of the {yarns} yarns asked for {enough} will do: another would cost more changes of yarn "
        "than it shows."
    ),
    "floats-broken-by-ticks": (
        "Long floats are broken with single stitches in staggered rows, which are meant to be there; "
        "the picture shows clearer with {option[long_floats]:catch}."
    ),
    "round-blocked": "{where} cannot hold the rules with its fixed stitches kept: {why}.",
    "fixed-use-too-many-yarns": "they use {yarns} yarns, and the most allowed is {allowed}",
    "fixed-leave-a-float": ("they leave a float over {limit} stitches that nothing can break"),
    "short-rows-kept": "Mending leaves short rows as they are ({rounds}).",
    "catches-not-settled": (
        "Of {planned:catch} planned at least {least} must be; whether fewer than {planned} would do was "
        "not settled."
    ),
    "catches-beside": (
        "In {beside:place} two of the {catches:,} catches lie side by side in consecutive rounds, "
        "since their floats leave little room; they may show on the front."
    ),
    "catch-limit-too-small": (
        "A float limit of {limit} cannot be kept; it must be at least 1 stitch."
    ),
    "catch-plan-unknown-yarn": "A stitch uses yarn {yarn}, but the catch plan knows {yarns:yarn}.",
}
