"""Workbooks of spreadsheets, xlsx and ods, as records of text; they are read, never written."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from pic2chart.core.confined import Parts, confined, confining
from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.yarns.table import Record, TableError

_BEGINNING = b"PK\x03\x04"
_MOST_UNPACKED, _MOST_CELLS = 60_000_000, 2_000_000
"""Bytes of all parts of a workbook, and cells of a sheet: a small file may unpack to a huge one."""


def is_workbook(data: bytes) -> bool:
    """Whether a file's bytes begin as xlsx and ods do."""
    return data.startswith(_BEGINNING)


_WHY = {
    "large": message("workbook-too-large"),
    "empty": message("workbook-empty"),
    "unreadable": message("workbook-unreadable"),
}


def workbook_records(path: Path, data: bytes) -> Iterator[Record]:
    """The rows of a workbook's first sheet that is not empty, counted from 1. Raises TableError.

    Always read in a process apart: between two cells far from each other the reader wants memory for
    all that could be there, and ends the process where it cannot have it.
    """
    try:
        with confining():
            plain, _ = confined(workbook_parts, path, data)
        if "refused" in plain:
            raise TableError(1, _WHY[plain["refused"]])
        records = [(line, tuple(map(str, row))) for line, row in enumerate(plain["rows"], 1)]
    except InputError as error:  # it ended over the file: for want of memory, or of time
        raise TableError(1, _WHY["large"]) from error
    except (LookupError, TypeError) as error:
        raise TableError(1, _WHY["unreadable"]) from error
    return iter(records)


def workbook_parts(path: Path, data: bytes) -> Parts:
    """The rows as plain data, or why there are none: a key of `_WHY`."""
    from python_calamine import CalamineWorkbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
        if unpacked > _MOST_UNPACKED:
            return {"refused": "large"}, ()
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = (book.get_sheet_by_index(at) for at in range(len(book.sheet_names)))
        sheet = next((sheet for sheet in sheets if sheet.height), None)
        if sheet is None:
            return {"refused": "empty"}, ()
        if sheet.height * sheet.width > _MOST_CELLS:
            return {"refused": "large"}, ()
        rows = sheet.to_python(skip_empty_area=False)
    except MemoryError:
        return {"refused": "large"}, ()
    except KeyboardInterrupt:
        raise
    except BaseException:  # a panic of the reader is no Exception
        return {"refused": "unreadable"}, ()
    return {"rows": [list(map(_text, row)) for row in rows]}, ()


def _text(value: Any) -> str:
    """A cell as it would be typed: numbers with a decimal point and no more digits than needed."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return np.format_float_positional(float(value), trim="-")
    if isinstance(value, date | datetime | time | timedelta):
        return str(value)
    return "" if value is None else str(value)
