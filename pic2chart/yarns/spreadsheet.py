"""Workbooks of spreadsheets, xlsx and ods, as records of text; they are read, never written."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

import numpy as np

from pic2chart.core.messages import message
from pic2chart.yarns.table import Record, TableError

_BEGINNING = b"PK\x03\x04"
_MOST_UNPACKED, _MOST_CELLS = 60_000_000, 2_000_000
"""Bytes of all parts of a workbook, and cells of a sheet: a small file may unpack to a huge one."""


def is_workbook(data: bytes) -> bool:
    """Whether a file's bytes begin as xlsx and ods do."""
    return data.startswith(_BEGINNING)


def workbook_records(data: bytes) -> Iterator[Record]:
    """The rows of a workbook's first sheet that is not empty, counted from 1. Raises TableError."""
    from python_calamine import CalamineWorkbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
        if unpacked > _MOST_UNPACKED:
            raise TableError(1, message("workbook-too-large"))
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = (book.get_sheet_by_index(at) for at in range(len(book.sheet_names)))
        sheet = next((sheet for sheet in sheets if sheet.height), None)
        if sheet is None:
            raise TableError(1, message("workbook-empty"))
        if sheet.height * sheet.width > _MOST_CELLS:
            raise TableError(1, message("workbook-too-large"))
        rows = sheet.to_python(skip_empty_area=False)
    except TableError:
        raise
    except (KeyboardInterrupt, MemoryError):
        raise
    except BaseException as error:  # a panic of the reader is no Exception
        raise TableError(1, message("workbook-unreadable")) from error
    return ((line, tuple(map(_text, row))) for line, row in enumerate(rows, 1))


def _text(value: Any) -> str:
    """A cell as it would be typed: numbers with a decimal point and no more digits than needed."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return np.format_float_positional(float(value), trim="-")
    if isinstance(value, date | datetime | time | timedelta):
        return str(value)
    return "" if value is None else str(value)
