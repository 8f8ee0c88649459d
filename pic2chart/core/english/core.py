"""Settings and files: what may be said of any of them."""

CORE = {
    "said": "{words}",
    "option-out-of-range": "{option[0]} is {value}; it must be between {low:g} and {high:g}{unit}.",
    "option-wrong-kind": "{option[0]} is {value}; it must be a {kind}.",
    "option-not-single": "{option[0]} is {value}; it must be one {kind}.",
    "option-not-a-list": "{option[0]} is {value}; it must be a list of words.",
    "option-single-word": (
        "{option[0]} is the single word {value}; it must be a list of words, like [{value}]."
    ),
    "option-not-a-choice": "{option[0]} is {value}; choose {choices:or}.",
    "whole-number": "whole number",
    "number": "number",
    "yes-or-no": "yes or no",
    "word": "word",
    "no-such-option": "{name} is not an option; the options are {known:,}.",
    "would-replace-source": (
        "'{path}' is the file that was read and would be lost; choose another {option[out]}."
    ),
    "would-replace-another": (
        "'{path}' is a chart of '{other}' and would be lost to one of '{picture}'; choose another "
        "{option[out]}, or take it away."
    ),
    "file-too-large": "The {what} '{path}' is larger than {megabytes:g} MB; use a smaller one.",
    "not-a-folder": "'{there}' is not a folder, so '{folder}' cannot be written to.",
    "folder-not-writable": "The folder '{folder}' does not allow writing; choose another.",
    "file-unreadable": "The {what} '{path}' cannot be read: {why}.",
    "file-not-utf8": "The {what} '{path}' is not UTF-8 text (byte {byte}); save it as UTF-8.",
    "target-is-folder": "'{path}' cannot be written: it is a folder.",
    "file-not-written": "'{path}' cannot be written: {why}.",
    "lock-not-written": (
        "The lock file '{path}' cannot be written: {why}; choose a folder that allows writing."
    ),
    "lock-not-locked": (
        "The lock file '{path}' cannot be locked: {why}; choose a folder whose disk has locks, as one "
        "of this machine's own does."
    ),
    "folder-not-moved": (
        "The folder '{path}' cannot be moved: {why}; close what has a file of it open, and try again."
    ),
    "folder-not-made": "The folder '{path}' cannot be made: {why}.",
    "decoder-ended": (
        "'{path}' cannot be read: the process that decodes it ended; save it anew in a program for "
        "pictures."
    ),
    "decoder-too-long": (
        "'{path}' takes more than {seconds} s of the processor to be read; save it smaller, or in "
        "another format."
    ),
}
