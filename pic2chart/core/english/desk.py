"""The desk: projects, changes by hand, what comes from the page."""

DESK = {
    "mended": "Mending changed {moved:stitch}; undo takes that back.",
    "mended-nothing": "Mending changed no stitch: what is left needs your choice.",
    "kept-stitches-lost": (
        "{held:stitch} kept by hand had to be let go, because the chart's size or frame changed. Undo "
        "takes that back."
    ),
    "desk-no-one-subject": (
        "No one subject stands out in this picture, so all of it is charted; paint what belongs to it "
        "on the picture, or draw a box round it."
    ),
    "desk-part-without-subject": (
        "The part {part} of '{file}' that is used shows nothing of the subject; choose another part, "
        "or use 'Keep everything'."
    ),
    "desk-no-such-mark": (
        "The marks of a subject are {option[subject]}, {option[keep]} and {option[leave]}."
    ),
    "desk-no-mask-file": "The desk takes no mask's file; paint the subject on the picture.",
    "too-many-marks": "A picture takes at most {most} marks; take some away first.",
    "port-taken": "{option[port]:{port}} is taken or not allowed; leave it out or try another.",
    "edit-no-such-key": "'{key}' is no yarn of this chart; its keys are {keys}.",
    "edit-no-stitch": "No stitch is named; name stitches or a box.",
    "edit-bad-place": "A place is written as [round, stitch].",
    "edit-outside": (
        "Round {round}, stitch {stitch} lies outside the chart of {rounds:round} and "
        "{stitches:stitch}."
    ),
    "edit-bad-box": "A box is written as two corners, [[round, stitch], [round, stitch]].",
    "edit-insert-what": "Say what to insert or delete: 'round' or 'stitch'.",
    "edit-bad-number": "'{name}' must be a whole number from {low} to {high}.",
    "no-such-edit": "'{kind}' is no edit; the edits are {kinds:,}.",
    "edit-leaves-nothing": "That would leave no stitch; keep at least one.",
    "edit-too-large": "A chart has at most {most} {word}s; this would have {size}.",
    "edit-leaves-none-of": "That would leave no {word}; keep at least one.",
    "edit-name-yarns": "Name 1 to {most} yarns.",
    "edit-bad-yarn": "A yarn is given by name, colour and the key it takes over.",
    "edit-yarn-on-no-stitch": "A yarn cannot take over where there is no stitch.",
    "no-such-export": "There is no file '{ending}' of a chart.",
    "no-thing": "This project is a chart; choose what to make of it first.",
    "piece-keeps-its-shape": (
        "The shape of a piece follows from its measures, so rounds and columns cannot be put in or "
        "taken out; change the size instead."
    ),
    "project-stands-alone": (
        "A project brings what was painted and makes one size; leave {option[sizes]} and "
        "{option[painted]} out."
    ),
    "project-names-no-files": (
        "A garment of a project takes no {option[0]}; make a chart of it first, and the garment from that."
    ),
    "no-such-turn": "A picture is turned {ways:or}.",
    "no-such-piece": "This garment has no piece '{name}'.",
    "no-such-garment-option": "'{name}' is no option of a {kind}.",
    "history-damaged": "The history '{path}' cannot be read: {why}.",
    "project-empty": "The project '{name}' holds nothing yet.",
    "project-changed-elsewhere": (
        "The project '{name}' was changed by another program meanwhile; close the desk and open "
        "it again."
    ),
    "history-step-unreadable": (
        "A step of the project's history cannot be read ({kind}: {why}); undo it, or open the "
        "chart's file in a new project."
    ),
    "change-not-saved": "The change could not be saved: {why}.",
    "too-few-own-yarns": "You keep {yarns:yarn} here, and a set of {count} needs as many; add some first.",
    "desk-several-colours": (
        "There is more than one colour in the frame; press on a part that holds only the yarn."
    ),
    "no-yarns-before": "There is no earlier list of yarns to put back.",
    "list-not-chart": "'{name}' is a list of yarns and no chart; open it under 'Your yarns'.",
    "no-such-own-yarn": "You keep no yarn called '{name}' here.",
    "no-home-network": (
        "This machine is in no network now; connect it to the home network and open the desk again."
    ),
    "address-not-private": (
        "This machine's address {address} is none of a home network, so others than you may reach it; "
        "the desk stays closed to the network."
    ),
    "network-not-opened": "The desk cannot listen at {address}; its ports are taken or not allowed.",
    "no-code-now": "No code is waiting, or it is over; let the desk's own screen show a new one.",
    "code-is-wrong": "That is not the code on the desk's own screen.",
    "too-many-devices": (
        "{most} devices are let in already; withdraw one on the desk's own screen first."
    ),
    "devices-unreadable": (
        "The list of devices '{path}' is spoilt; remove it, and let your devices in anew."
    ),
    "project-file-unreadable": "'{name}' is no project that can be opened here: {why}.",
    "project-file-too-large": "it unpacks to more than {megabytes} MB",
    "project-file-newer": "it is of version {version}, which this pic2chart does not know",
    "chart-without-picture": "This chart came without a picture.",
    "no-picture-to-remake": (
        "This chart came without a picture, so {options_named} cannot be changed; insert or "
        "delete rounds and columns by hand, or start from a picture."
    ),
    "reshaped-by-hand": (
        "This chart was reshaped by hand and no longer lies on its picture, so {options_named} "
        "cannot be changed. Make it from the picture again first."
    ),
    "work-ended": (
        "The process that worked at this ended before it was done; nothing was changed. Try it once "
        "more, or with another picture."
    ),
    "stopped": "Stopped; the chart stays as it was.",
    "desk-shelf-only": "The desk's own list of yarns is the only one; open a list there first.",
    "setting-not-printable": "A setting holds text that is too long or cannot be shown.",
    "desk-already-open": (
        "A desk is already open on '{folder}'; use its page, or close it with Ctrl-C in its terminal "
        "and open it anew, or give another folder."
    ),
}
