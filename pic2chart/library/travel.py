"""A task that goes to another machine, with the bytes of every file it needs; its result comes back
the same way. So a cluster's workers need no folder of the one who gives the work."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from pic2chart.core.errors import OutputError
from pic2chart.library.motif import Missed, Result, Task
from pic2chart.library.motif_making import make_motif, unread
from pic2chart.library.stores import StoredFile

_PICTURE = "picture"


@dataclass(frozen=True, slots=True)
class Parcel:
    """A task, and the contents of files by the option that names them; 'picture' is its own."""

    task: Task
    contents: Mapping[str, bytes]


def packed(task: Task) -> Parcel | Missed:
    """The parcel; what was missed when a file cannot be read here."""
    try:
        contents = {name: file.read_bytes() for name, file in task.order.files()}
        if isinstance(task.file, Path):  # what lies at a store is read by who does the work
            contents[_PICTURE] = task.file.read_bytes()
        return Parcel(replace(task, staging=None), contents)
    except OSError as error:
        return unread(task, error)


def make_far(parcel: Parcel) -> Result:
    """Make the motif from a parcel; its files come back in memory."""
    task = parcel.task
    try:
        with tempfile.TemporaryDirectory(prefix="pic2chart-") as folder:
            places = {name: Path(folder, name, "file") for name in parcel.contents}
            contents = dict(parcel.contents)
            if isinstance(task.file, StoredFile):
                contents[_PICTURE] = task.file.read_bytes()
            places[_PICTURE] = Path(folder, _PICTURE, task.file.name)
            for name, place in places.items():
                place.parent.mkdir()
                place.write_bytes(contents[name])
            at_hand = {name: str(place) for name, place in places.items() if name != _PICTURE}
            return make_motif(replace(task, file=places[_PICTURE], at_hand=at_hand))
    except OSError as error:
        return unread(task, error)
    except OutputError as error:
        return Missed(task.path, str(error), task.size, unread=True)
