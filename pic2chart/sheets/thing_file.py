"""Garment files, `*.garment.json`: which charts of a folder make one thing, and how it looks.

They hold what no single chart can: the title, the order of the pieces, and the lines of the schematic.
The picture beside them is used while the charts are still those that it was drawn of.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.files import read_bytes, read_text
from pic2chart.core.messages import message
from pic2chart.model import plain_json as read
from pic2chart.model.any_file import chart_paths, read_any
from pic2chart.model.chart import Chart
from pic2chart.model.keys import clean_title, rows_of
from pic2chart.model.plain_json import document, parse
from pic2chart.sheets.stems import stem_of
from pic2chart.sheets.thing import (
    FlatShape,
    FlatView,
    Item,
    Thing,
    thing_of_chart,
    thing_of_pieces,
)

FORMAT, VERSION, ENDING = "pic2chart.garment", 1, ".garment.json"
PARTS = "parts"
"""The folder for single drawings, beside the document."""
MAX_BYTES, MAX_PICTURE = 5_000_000, 40_000_000
_MOST, _MOST_POINTS = 60, 20_000
_LEAST, _FAR = 0.1, 1000.0
"""A shape's least extent and farthest point, cm."""
_MOST_PIXELS = 40_000_000
_BROKEN = frozenset({"pieces", "views"})


def garment_text(thing: Thing, picture: str) -> str:
    """The text of a thing's garment file. `picture`: the name of its picture among the parts."""
    return document(
        {
            "format": FORMAT,
            "version": VERSION,
            "title": clean_title(thing.title),
            "pieces": [
                {"name": i.name, "chart": f"{i.stem}.chart.json", "drawn": digest_of(i.chart)}
                for i in thing.items
            ],
            "picture": picture,
            "views": [_view_data(view) for view in thing.views],
        },
        _BROKEN,
    )


def _view_data(view: FlatView) -> dict[str, Any]:
    shapes = [
        {"points": [[round(x, 2), round(y, 2)] for x, y in shape.points]}
        | ({"rib": True} if shape.rib else {})
        for shape in view.shapes
    ]
    return {"caption": view.caption, "facts": list(view.facts), "shapes": shapes}


def digest_of(chart: Chart) -> str:
    """A short mark of a chart's squares and colours."""
    squares = "\n".join(
        [chart.hand, *(yarn.colour for yarn in chart.yarns), *rows_of(chart.stitches)]
    )
    return hashlib.sha256(squares.encode()).hexdigest()[:16]


def things_of(paths: Sequence[Path]) -> list[Thing]:
    """The things meant by some paths: a chart, or a folder of the pieces of one garment.

    A folder without a garment file is one thing where its charts say that they are of one piece, else
    as many as charts. Raises InputError for what cannot be read.
    """
    found: list[Thing] = []
    for path in paths:
        if not path.is_dir():
            found.append(thing_of_chart(read_any(path), stem_of(path)))
            continue
        files = sorted(path.glob(f"*{ENDING}"))
        if len(files) == 1:
            found.append(read_thing(files[0]))
            continue
        items = [Item("", read_any(p), stem_of(p)) for p in chart_paths([path])]
        kinds = {item.chart.construction.piece for item in items}
        if len(items) > 1 and len(kinds) == 1 and None not in kinds:
            found.append(thing_of_pieces(items, stem_of(path)))
        else:
            found += [thing_of_chart(item.chart, item.stem) for item in items]
    return found


def read_thing(path: Path) -> Thing:
    """The thing that a garment file tells of, with the charts beside it. Raises InputError."""
    try:
        data = parse(read_text(path, MAX_BYTES, "garment file"), "garment file")
        if not isinstance(data, dict) or data.get("format") != FORMAT:
            raise InputError(message("no-garment-file", format=FORMAT))
        version = read.whole(data.get("version"), "version", 1, 10**9)
        if version > VERSION:
            raise InputError(message("garment-file-newer", version=version, known=VERSION))
        title = clean_title(read.text(data.get("title", "untitled"), "title", 10_000))
        pieces = _list(data.get("pieces"))
        items = tuple(_item(part, path.parent) for part in pieces)
    except InputError as error:
        raise InputError(message("in-file", file=path.name, why=error.message)) from error
    if not items:
        raise InputError(message("garment-without-pieces", file=path.name))
    as_drawn = all(
        part.get("drawn") == digest_of(item.chart) for part, item in zip(pieces, items, strict=True)
    )
    picture = _picture(path.parent, data.get("picture")) if as_drawn else None
    views = tuple(filter(None, map(_view, _list(data.get("views")))))
    sections = max((item.chart.construction.steps for item in items), key=len)
    stem = path.name.removesuffix(ENDING)
    return Thing(title, stem, items, sections, views, picture)


def _list(value: Any) -> list[Mapping[str, Any]]:
    """The objects of a list, at most 60."""
    if not isinstance(value, list):
        return []
    return [part for part in value[:_MOST] if isinstance(part, Mapping)]


def _item(part: Mapping[str, Any], folder: Path) -> Item:
    """A piece; its chart lies in the same folder."""
    name = read.text(part.get("name", ""), "name", 200)
    file = read.text(part.get("chart"), "chart", 300)
    if Path(file).name != file or not file:
        raise InputError(message("garment-chart-elsewhere", chart=read.shown(file)))
    return Item(name, read_any(folder / file), stem_of(Path(file)))


def _picture(folder: Path, name: Any) -> bytes | None:
    """The picture of that name among the parts; None where it is not a PNG that can be shown."""
    from PIL import Image

    if not isinstance(name, str) or Path(name).name != name:
        return None
    try:
        data = read_bytes(folder / PARTS / name, MAX_PICTURE, "picture")
        with Image.open(io.BytesIO(data), formats=["PNG"]) as picture:
            if picture.width * picture.height > _MOST_PIXELS:
                return None
            picture.load()
    except Exception:  # whatever is wrong with it, the pieces' own fabric is shown instead
        return None
    return data


def _view(part: Mapping[str, Any]) -> FlatView | None:
    """A view of the schematic; None where it has no shape that can be drawn."""
    shapes = tuple(filter(None, map(_shape, _list(part.get("shapes")))))
    caption = part.get("caption")
    if not shapes or not isinstance(caption, str):
        return None
    facts = part.get("facts")
    lines = [fact for fact in facts if isinstance(fact, str)] if isinstance(facts, list) else []
    return FlatView(clean_title(caption)[:200], tuple(lines[:20]), shapes)


def _shape(part: Mapping[str, Any]) -> FlatShape | None:
    points = part.get("points")
    if not isinstance(points, list) or not 3 <= len(points) <= _MOST_POINTS:
        return None
    if not all(isinstance(p, list) and len(p) == 2 and all(map(_near, p)) for p in points):
        return None
    if any(max(side) - min(side) < _LEAST for side in zip(*points, strict=True)):
        return None
    return FlatShape(
        tuple((round(float(x), 2), round(float(y), 2)) for x, y in points), part.get("rib") is True
    )


def _near(value: Any) -> bool:
    return type(value) in (int, float) and abs(value) <= _FAR
