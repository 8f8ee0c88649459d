"""A garment of a project's file: the desk's work taken up where there is no desk.

What was painted on the project's chart and on its pieces stays, as on the desk.
"""

from __future__ import annotations

import tempfile
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import SettingError
from pic2chart.core.files import read_bytes
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.core.threads import on_one_thread
from pic2chart.desk.garments import made_as
from pic2chart.desk.in_hand import InHand
from pic2chart.desk.project import Project
from pic2chart.desk.project_file import MOST_BYTES, start_from_file
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.painted_pieces import staying
from pic2chart.garment.piece import Garment


@on_one_thread
def garment_of_project(
    kind: str, path: Path, settings: Settings, options: GarmentOptions
) -> Garment:
    """The garment of that kind of a project's file.

    The project's settings, and its options where it makes that kind, hold for all that `settings` and
    `options` leave as usual. Raises InputError for a file that is no project, SettingError as
    `make_garment`, and for options that name files.
    """
    chosen = _changed(options)
    files = [name for name in kind_named(kind).files if name in chosen]
    if files:
        raise SettingError(message("project-names-no-files", options=(files[0],)))
    data = read_bytes(path, MOST_BYTES, "project file")
    with tempfile.TemporaryDirectory() as folder:
        project = Project(Path(folder), Path(folder) / "shelf.csv")
        try:
            state = start_from_file(project, data, path.name).state
            thing = state.thing
            if thing is None or thing.kind != kind:
                thing = InHand(kind)
            thing = replace(thing, options={**thing.options, **chosen})
            worked = made_as(project, thing, settings.changed())
            garment = worked.whole()
        finally:
            project.history.close()
    remarks = staying(thing.painted, worked.pieces)
    return replace(garment, remarks=(*garment.remarks, *remarks))


def _changed(options: GarmentOptions) -> dict[str, Any]:
    """The options that are not as usual, by name."""
    given = {f.name: getattr(options, f.name) for f in fields(options)}
    return {f.name: given[f.name] for f in fields(options) if given[f.name] != f.default}
