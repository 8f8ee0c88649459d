"""A library of motifs: its folder, its recipe, its catalogue and questions to it."""

LIBRARY = {
    "cluster-not-installed": (
        "{option[cluster]} needs the extra 'cluster': python -m pip install 'pic2chart[cluster]'."
    ),
    "no-cluster": (
        "There is no cluster at '{address}' ({why}); start its scheduler, or leave {option[cluster]} "
        "out to work on this machine."
    ),
    "no-such-layout": "{option[per_page]} is {asked}; choose one of {known:,}.",
    "passed-over": "Passed over, as neither pictures nor charts: {kinds:,}.",
    "so-many-of-a-kind": "{count:,} {ending}",
    "so-many-without-ending": "{count:,} without an ending",
    "side-file-alone": "'{path}' has no picture of its name beside it, so it is not used.",
    "more-side-files-alone": "Nor have {count:,} more such files.",
    "pattern-fits-nothing": "The recipe's pattern '{pattern}' fits no picture.",
    "not-a-library": "{option[out]:'{folder}'} is not a library and not empty; choose a new folder.",
    "library-of-another-folder": (
        "The library '{library}' holds no picture of '{folder}' and would lose its {motifs:,} motifs; "
        "choose another {option[out]} for this folder."
    ),
    "not-one-of": "{option[0]} is '{value}'; choose {known:,}.",
    "not-a-range": ("{option[0]} is '{text}'; give a number or a range such as 40-60, 40- or -60."),
    "not-a-catalogue": "'{path}' is not a catalogue of motifs; choose another {option[out]}.",
}
