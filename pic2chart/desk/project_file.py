"""A whole project as one file, to keep or to send: its pictures, its settings, every step.

The file is a zip archive: `project.json` with its format, its changes and what is kept beside them,
`steps.jsonl` with one step a line, and the pictures. What comes from another desk is as hostile as
any file: counted before it is unpacked, and held to what this desk itself could have written.
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from pic2chart.core.errors import InputError, Pic2ChartError
from pic2chart.core.messages import message
from pic2chart.desk.facts import sound_facts
from pic2chart.desk.history import HistoryChange, HistoryStep
from pic2chart.desk.project import Project, Shown
from pic2chart.desk.state import is_picture_name, picture_name
from pic2chart.desk.trust import trusted
from pic2chart.model import plain_json

ENDING = ".pic2chart"
MEDIA = "application/zip"
_FORMAT, _VERSION = "pic2chart project", 1
_ABOUT, _STEPS = "project.json", "steps.jsonl"
_SAME_TIME = (2020, 1, 1, 0, 0, 0)
"""The archive's own clock stands: the same project gives the same bytes."""
MOST_BYTES = 400_000_000
"""Bytes of all its parts unpacked: several pictures of the largest size, and a long history."""
_LONGEST_STEP = 60_000_000
_MOST_CHANGES = 1_000_000
_MOST_FILES = 200
_SPOILT = (KeyError, ValueError, TypeError, AttributeError, NotImplementedError, RuntimeError)
"""What reading an archive that holds anything at all may raise, beside its own errors."""


def project_bytes(project: Project) -> bytes:
    """The project as one file. To be called with the project's lock held."""
    history = project.history
    steps, pictures = io.BytesIO(), set[str]()
    for step in history.every_step():
        steps.write(json.dumps(asdict(step), separators=(",", ":")).encode() + b"\n")
        if step.state.get("picture"):
            pictures.add(str(step.state["picture"]))
    about = {
        "format": _FORMAT,
        "version": _VERSION,
        "changes": [asdict(change) for change in history.every_change()],
        "kept": history.all_kept(),
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        _put(archive, _ABOUT, json.dumps(about).encode(), zipfile.ZIP_DEFLATED)
        _put(archive, _STEPS, steps.getvalue(), zipfile.ZIP_DEFLATED)
        for name in sorted(pictures):
            _put(archive, name, (project.folder / name).read_bytes(), zipfile.ZIP_STORED)
    return out.getvalue()


def _put(archive: zipfile.ZipFile, name: str, data: bytes, how: int) -> None:
    archive.writestr(zipfile.ZipInfo(name, _SAME_TIME), data, how)


def start_from_file(project: Project, data: bytes, name: str) -> Shown:
    """Fill an empty project with what a project's file holds. Raises InputError, SettingError, naming
    the file by the knitter's `name` for it.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = _members(archive)
            about = plain_json.mapping(
                plain_json.parse(archive.read(_ABOUT).decode(), _ABOUT), _ABOUT
            )
            _expect_version(about, name)
            steps = list(_steps(archive.read(_STEPS)))
            pictures = {part: archive.read(part) for part in parts - {_ABOUT, _STEPS}}
        changes = [_change(one) for one in _listed(about["changes"], _MOST_CHANGES)]
        kept = plain_json.mapping(about["kept"], "kept")
        if not {change.shown for change in changes} <= {step.place for step in steps}:
            raise ValueError("a change to a step that is not there")
        _expect_pictures(steps, pictures)
    except Pic2ChartError as error:
        raise InputError(
            message("project-file-unreadable", name=name, why=str(error).rstrip("."))
        ) from error
    except (*_SPOILT, zipfile.BadZipFile, zlib.error) as error:
        why = f"it is not what a desk writes ({type(error).__name__})"
        raise InputError(message("project-file-unreadable", name=name, why=why)) from error
    shown = project.start_from_history(pictures, steps, changes)
    for key, value in kept.items():
        project.history.keep(key, value)
    return shown


def _members(archive: zipfile.ZipFile) -> set[str]:
    """The names of its parts, once they are known to be those of a project and not too large."""
    parts = archive.infolist()
    names = {part.filename for part in parts}
    pictures = names - {_ABOUT, _STEPS}
    if (
        len(parts) != len(names)
        or len(parts) > _MOST_FILES
        or not all(map(is_picture_name, pictures))
    ):
        raise ValueError("parts that no project has")
    if sum(part.file_size for part in parts) > MOST_BYTES:
        raise InputError(message("project-file-too-large", megabytes=MOST_BYTES // 1_000_000))
    return names


def _expect_version(about: Mapping[str, Any], name: str) -> None:
    if about["format"] != _FORMAT:
        raise ValueError("another format")
    if about["version"] != _VERSION:
        raise InputError(message("project-file-newer", version=str(about["version"])[:20]))


def _steps(text: bytes) -> Iterator[HistoryStep]:
    """The steps, each after the one it was done after. Raises one of _SPOILT, or InputError."""
    seen: set[int] = set()
    for line in text.splitlines():
        if len(line) > _LONGEST_STEP:
            raise ValueError("a step is too long")
        plain = plain_json.mapping(plain_json.parse(line.decode(), _STEPS), "a step")
        place, before = plain["place"], plain["before"]
        if type(place) is not int or (seen and place <= max(seen)) or not 0 <= place < 2**53:
            raise ValueError("places that do not follow one another")
        if before is not None and (type(before) is not int or before not in seen):
            raise ValueError("a step after one that is not there")
        seen.add(place)
        state = plain_json.mapping(plain["state"], "state")
        trusted(dict(plain_json.mapping(state["settings"], "settings")))
        sound = {"facts": sound_facts(plain_json.mapping(state["facts"], "facts"))}
        what = plain_json.text(plain["what"], "what", 300)
        yield HistoryStep(place, before, what, {**state, **sound})


def _listed(value: Any, most: int) -> list[Any]:
    return list(plain_json.sequence(value, "changes", 1, most))


def _change(value: Any) -> HistoryChange:
    plain = plain_json.mapping(value, "a change")
    shown, at_ms = plain["shown"], plain["at_ms"]
    if type(shown) is not int or type(at_ms) is not int or not 0 <= at_ms < 2**53:
        raise ValueError("a change without its step or time")
    return HistoryChange(shown, plain_json.text(plain["mark"], "mark", 40), at_ms)


def _expect_pictures(steps: list[HistoryStep], pictures: Mapping[str, bytes]) -> None:
    """Every picture that a step names is there, and each is the one it was."""
    if not {step.state["picture"] for step in steps} <= {None, *pictures}:
        raise ValueError("a picture is missing")
    for name, data in pictures.items():
        if name != picture_name(data):
            raise ValueError("a picture is not the one it was")
