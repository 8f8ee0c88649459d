"""Files that come from the page: read by the same readers as any file, under a name of our own."""

from __future__ import annotations

from pathlib import Path

from pic2chart.chart import Chart
from pic2chart.chart.any_file import read_any
from pic2chart.chart.keys import clean_title
from pic2chart.errors import InputError
from pic2chart.files import write_atomic
from pic2chart.yarn.shelf import Shelf

_ENDINGS = (".json", ".png", ".csv", ".tsv", ".txt")


def read_chart_upload(data: bytes, name: str, folder: Path) -> Chart:
    """Read a chart's file; complaints carry the knitter's name for it. Nothing is left in `folder`."""
    title = clean_title(Path(name).stem.removesuffix(".chart"))
    ending = Path(name).suffix.lower()
    path = folder / f"opened{ending if ending in _ENDINGS else ''}"
    write_atomic(path, data)
    try:
        chart = read_any(path)
    except InputError as error:
        raise InputError(_renamed(str(error), path, clean_title(name))) from error
    finally:
        path.unlink(missing_ok=True)
    return chart.with_(title=title) if chart.title in ("opened", "untitled") else chart


def read_shelf_upload(data: bytes, shelf: Path) -> None:
    """Put a shelf in place of the one on the desk, once it has been read without a fault."""
    waiting = shelf.with_name("shelf-waiting.csv")
    write_atomic(waiting, data)
    try:
        Shelf.read(waiting)
        write_atomic(shelf, data)
    except InputError as error:
        raise InputError(_renamed(str(error), waiting, "the shelf")) from error
    finally:
        waiting.unlink(missing_ok=True)


def _renamed(message: str, path: Path, name: str) -> str:
    return message.replace(str(path), name).replace(path.name, name)
