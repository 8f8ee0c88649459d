"""Garments on the desk: the thing in hand, made by the same makers as the command `make`."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from pic2chart.checks.finding import Findings
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import Message, message, said
from pic2chart.core.settings import Settings
from pic2chart.design.solution import silent
from pic2chart.desk.exports import stem
from pic2chart.desk.facts import plain_settings, yarns_of
from pic2chart.desk.findings import found_meanwhile
from pic2chart.desk.form import worded
from pic2chart.desk.in_hand import InHand, edited, edited_only, mirrored_name
from pic2chart.desk.project import ON_PICTURE, Project, Shown
from pic2chart.desk.state import State
from pic2chart.garment.build import DrawnGarment, GarmentOrder, assembled, drawn
from pic2chart.garment.kind import GarmentOptions
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.piece import Garment, Piece
from pic2chart.mending import mend
from pic2chart.model.chart_file import write_chart

# The garment of a project. Drawing it is what takes time, and is remembered; painted stitches are
# laid over what was drawn.


@dataclass(frozen=True, slots=True, eq=False)
class Worked:
    """A garment drawn, its pieces with what was painted on them, and what the knitter should know."""

    order: GarmentOrder[Any]
    draft: DrawnGarment
    pieces: tuple[Piece, ...]
    remarks: tuple[Message, ...]

    def piece(self, name: str) -> Piece:
        """The piece of that name. Raises InputError when there is none."""
        for piece in self.pieces:
            if piece.name == name:
                return piece
        raise InputError(message("no-such-piece", name=name[:40]))

    @property
    def all_remarks(self) -> tuple[Message, ...]:
        """What the knitter should know of the garment and its pieces, each thing once."""
        of_pieces = (remark for piece in self.pieces for remark in piece.report.remarks)
        garment = (*self.draft.design.remarks, *self.draft.remarks, *self.remarks)
        return tuple(dict.fromkeys([*garment, *of_pieces]))

    def whole(self) -> Garment:
        """The garment with its pattern and outline."""
        made = assembled(self.order, replace(self.draft, pieces=self.pieces))
        return replace(made, remarks=(*made.remarks, *self.remarks))


def thing_of(project: Project, request: Mapping[str, Any] | None = None) -> Worked:
    """The thing in hand, with other settings than the project's if they are given.

    Raises InputError when the project makes none, SettingError when it cannot be made so.
    """
    state = project.now.state
    if state.thing is None:
        raise InputError(message("no-thing"))
    return made_as(project, state.thing, request)


def made_as(project: Project, thing: InHand, request: Mapping[str, Any] | None = None) -> Worked:
    """The project's picture or chart as that thing, as `thing_of`. Raises InputError, SettingError."""
    order, draft = _drawn(project, thing, request or {})
    bare = tuple(draft.pieces)
    pieces = tuple(_worked(project, thing, piece) for piece in bare)
    return Worked(order, draft, pieces, thing.resting(bare))


def _worked(project: Project, thing: InHand, piece: Piece) -> Piece:
    """The piece as painted; remembered, since mostly one piece changes at a time."""
    painted = thing.painted.get(piece.name)
    if painted is None:
        return piece
    key = ("worked", id(piece), json.dumps(painted.to_plain()))
    before = project.recall(key, lambda: (piece, thing.worked(piece)))
    return before[1]  # type: ignore[no-any-return]


def _drawn(
    project: Project, thing: InHand, changes: Mapping[str, Any]
) -> tuple[GarmentOrder[Any], DrawnGarment]:
    own = kind_named(thing.kind).label
    state = project.now.state
    settings = _settings(state, changes)
    key = (
        "drawn",
        thing.kind,
        json.dumps(dict(thing.options), sort_keys=True),
        settings,
        _source(project),
        state.chart.title,
    )
    try:
        options = _options(thing.kind, thing.options)
        found: tuple[GarmentOrder[Any], DrawnGarment] = project.recall(
            key, lambda: _made(project, thing.kind, options, settings)
        )
    except SettingError as refused:
        raise SettingError(said(worded(refused.message, own))) from None
    return found


def _from_picture(state: State) -> bool:
    return state.picture is not None and state.follows


def _source(project: Project) -> Any:
    """What of a project decides what a garment is made from."""
    state = project.now.state
    held = state.chart.fixed is not None and bool(state.chart.fixed.any())
    return state.picture if _from_picture(state) and not held else project.history.revision


def _settings(state: State, changes: Mapping[str, Any]) -> Settings:
    """The project's settings with the yarns of its chart, so that every piece has the same ones."""
    settings = Settings.from_mapping(plain_settings(state.settings) | dict(changes))
    if settings.yarn or len(state.chart.yarns) < 2 or {"yarn", "yarns", "shelf"} & changes.keys():
        return settings
    return replace(settings, yarn=yarns_of(state.chart), shelf=None, yarns=None)


def _options(kind: str, request: Mapping[str, Any]) -> GarmentOptions:
    found = kind_named(kind)
    options = found.options
    known = {f.name for f in fields(options)} - set(found.files)  # a page names no files
    for name in request:
        if name not in known:
            raise SettingError(message("no-such-garment-option", name=name[:40], kind=kind))
    return options(**request)


def _made(
    project: Project, kind: str, options: GarmentOptions, settings: Settings
) -> tuple[GarmentOrder[Any], DrawnGarment]:
    """Made from a file with the knitter's own name, since pieces and files are named after it;
    from a picture with the stitches kept by hand on its chart, or from a chart that was reshaped.
    """
    state = project.now.state
    with tempfile.TemporaryDirectory(dir=project.folder) as folder:
        motif = Path(folder) / stem(state.chart)
        keep = None
        if _from_picture(state):
            shutil.copyfile(project.original()[0], motif)
            keep = state.chart
        else:
            settings = _of_chart(settings)
            motif = motif.with_name(f"{motif.name}.chart.json")
            write_chart(state.chart, motif)
        order = GarmentOrder(kind_named(kind), motif, settings, options, silent, keep)
        return order, drawn(order)


def _of_chart(settings: Settings) -> Settings:
    """The settings without what belongs to a picture; a chart brings its own yarns."""
    usual = Settings()
    own = {name: getattr(usual, name) for name in (*ON_PICTURE, "yarn", "yarns", "shelf")}
    return replace(settings, **own | {"title": settings.title})


# Changes by hand.


def paint(project: Project, name: str, request: Mapping[str, Any], both: bool) -> Shown:
    """Change stitches of a piece; with `both` also those of its mirror image. Raises InputError."""
    worked = thing_of(project)
    piece = worked.piece(name)
    done, what = edited(piece, request)
    return _keep(project, worked, piece, done, f"{what}, {_called(name)}", both)


def look(project: Project, name: str, request: Mapping[str, Any]) -> Findings:
    """What the checks would say of a piece after a change still under way."""
    return found_meanwhile(edited_only(thing_of(project).piece(name).chart, request).chart)


def mend_piece(project: Project, name: str) -> Shown:
    """Mend a piece; what was painted stays."""
    worked = thing_of(project)
    piece = worked.piece(name)
    mended = mend(piece.chart)
    done = replace(piece, chart=mended.chart)
    return _keep(project, worked, piece, done, f"Mend the {_called(name)}", False)


def _keep(
    project: Project, worked: Worked, piece: Piece, done: Piece, what: str, both: bool
) -> Shown:
    thing = project.now.state.thing
    assert thing is not None
    other = mirrored_name(piece.name) if both else None
    partner = next((p for p in worked.pieces if p.name == other), None)
    if partner is not None and partner.chart.stitches.shape != piece.chart.stitches.shape:
        partner = None
    return project.make_thing(what, thing.after(piece, done, partner))


def _called(name: str) -> str:
    return name.replace("-", " ")
