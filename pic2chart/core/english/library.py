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
    "catalogue-newer": (
        "The catalogue '{path}' is of version {version} and this program knows up to {known}; use "
        "a newer pic2chart."
    ),
    "no-library": "'{folder}' is not a library (it has no {file}); make one first.",
    "catalogue-unreadable": "The catalogue '{path}' cannot be read: {why}.",
    "catalogue-not-written": "The catalogue cannot be written: {why}.",
    "catalogue-older": (
        "The catalogue '{path}' is of an older version; run the library again on its folder to "
        "bring it up to date."
    ),
    "cluster-without-workers": "The cluster has no workers; start some and run again.",
    "worker-of-another-version": (
        "The worker {worker} has pic2chart {version} and this is {own}; install the same on all "
        "machines."
    ),
    "worker-without-folder": (
        "The worker {worker} does not see '{folder}'; the folder and the library must have the "
        "same paths on all machines."
    ),
    "cluster-lost-work": "The cluster lost its work: {why}.",
    "round-not-fitted": "A round of {stitches} stitches cannot be fitted; give 4 to {most}.",
    "folder-not-writable-why": "'{folder}' cannot be written to: {why}.",
    "recipe-no-such-take": "take is {take}; choose {known:or}.",
    "recipe-not-words": "{name} is {value}; it must be a list of words in quotes.",
    "recipe-too-many-dots": "The {what} '{path}' has a line with more than {most} dots; break it.",
    "recipe-bad-tables": "'{path}': 'pictures' must be tables, each headed [[pictures]].",
    "recipe-no-such-sheet-option": "{name} is no option of sheets; those are {known:,}.",
    "recipe-not-toml": "The {what} '{path}' is not good TOML: {why}.",
    "recipe-no-match": (
        "'{path}': a [[pictures]] table has no 'match'; give a pattern such as 'cats/*'."
    ),
    "no-folder-of-pictures": "'{folder}' is not a folder of pictures.",
    "folder-unreadable": "The folder '{folder}' cannot be read: {why}.",
    "library-in-use": "Another run is at work on the library '{library}'; wait until it is done.",
    "workers-ended": ("Making a chart of '{file}' ended the workers that did it; leave it out."),
}
