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
    "more-side-files-alone": "So it is with {count:,} more.",
    "pattern-fits-nothing": "The recipe's pattern '{pattern}' fits no picture.",
    "not-a-library": "{option[out]:'{folder}'} is not a library and not empty; choose a new folder.",
    "library-of-another-folder": (
        "The library '{library}' holds no picture of '{folder}' and would lose its {motifs:motif}; "
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
    "cluster-lost-work": (
        "The cluster left in the middle of the work ({why}); what came back is in the library, and "
        "the same command goes on from there."
    ),
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
    "workers-ended": "Every worker that made its chart ended; it is tried again next time.",
    "process-ended": "The process that made its chart ended; it is tried again next time.",
    "motif-unread": "It cannot be read now ({why}); it is tried again next time.",
    "motif-fault": (
        "Something went wrong that should not ({words}); it is tried again next time. Please report "
        "it with this picture."
    ),
    "many-pictures-gone": (
        "Gone at once: {count:picture}. What was made of them stays, in case a disk is missing, until "
        "{option[prune]} lets it go."
    ),
    "not-ours-in-the-way": (
        "'{place}' holds what is not the library's where its files should be ({files:,}); move it "
        "away and run again."
    ),
    "not-a-folder-of-ours": (
        "'{path}' is a link or no folder; the library follows no links, so put a folder there."
    ),
    "left-in-place": ("Left in '{place}', as not the library's: {files:,} ({count:,} in all)."),
    "recipe-not-yes-or-no": "{name} is {value}; it must be true or false.",
    "recipe-bad-sizes": "stitches is {value}; a list of sizes holds 1 to {most} different ones.",
    "held-empty": "Next to nothing is drawn.",
    "held-errors": "It breaks {count:rule} of its own.",
    "held-clutter": (
        "No subject was found, and {share:.0f}% of the stitches are specks; mark the subject."
    ),
    "held-no-subject": "No subject was found for sure; mark it, or keep the whole picture.",
    "held-unlike": "It shows its picture badly (likeness {likeness:.2f}).",
    "no-such-state": "'{state}' is no state; choose {known:or}.",
    "no-such-motif": "There is no motif {number}; numbers are in the contact sheet.",
    "not-numbers": "'{text}' is no number of a motif; give numbers such as 7 or 12-20.",
    "nothing-chosen": "Choose motifs: numbers, {option[decisions]} or {option[proposed]}.",
    "decisions-unreadable": (
        "'{path}', line {line}: a number and a state are wanted, such as 12,approved."
    ),
    "export-ending-unknown": "'{ending}' says not how to write it; end the name with {known:or}.",
    "motif-file-missing": (
        "'{path}' of motif {number} is missing; run the library again, which makes it anew."
    ),
    "not-a-gallery": "'{folder}' holds something else than a gallery; choose a new folder.",
    "store-not-installed": (
        "'{address}' needs the extra 'store': python -m pip install 'pic2chart[store]'."
    ),
    "store-not-known": "'{address}' cannot be opened: {why:clause}.",
    "store-not-written": "'{place}' cannot be read or written now: {why:clause}.",
    "store-in-use": (
        "Another run, on {host}, is at work on the library '{library}'; wait until it is done."
    ),
    "no-press-profile": (
        "'{path}' is not the ICC profile of a press in CMYK; ask the printing house for theirs."
    ),
    "not-a-date": "{option[date]} is '{text}'; give a day such as 2026-03-01.",
    "nothing-approved": "No motif is approved, and a release holds what is; approve some first.",
    "edition-unreadable": "The edition '{path}' cannot be read, so changes cannot be told.",
}
