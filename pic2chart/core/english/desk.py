"""The desk: projects, changes by hand, what comes from the page."""

DESK = {
    "mended": "Mending changed {moved:stitch}; undo brings them back.",
    "mended-nothing": "Mending changed no stitch: what is left needs your choice.",
    "kept-stitches-lost": (
        "{held:stitch} kept by hand had to be let go, because the chart's size or frame changed. Undo "
        "brings them back."
    ),
    "port-taken": "{option[port]:{port}} is taken or not allowed; leave it out or try another.",
}
