"""Motifs taken out of a library: as a table, as JSON, as one PDF, or their files in one archive."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import write_all
from pic2chart.core.messages import message
from pic2chart.library.booklet import booklet_pdf
from pic2chart.library.catalogue import Catalogue, reading
from pic2chart.library.difficulty import PARTS, grade
from pic2chart.library.motif import MotifRecord
from pic2chart.library.rights import Rights
from pic2chart.library.states import chosen

FORMULA_SIGNS = "=+-@\t\r"
"""Beginnings by which a spreadsheet would take a cell for a formula."""


def export(
    out: Path,
    target: Path,
    stretches: Sequence[tuple[int, int]] = (),
    *,
    state: str | None = None,
    per_page: int = 1,
) -> int:
    """Write motifs of the library at `out` to `target`; how many.

    Its ending says how: .csv and .json (what the catalogue knows, a row for each size), .pdf (so many
    a page), .zip (their files). `stretches`: of numbers, all when there are none; `state`: only those.
    Raises InputError, SettingError, OutputError.
    """
    kind = target.suffix.lower()
    if kind not in _WRITERS:
        raise SettingError(
            message("export-ending-unknown", ending=kind or target.name, known=tuple(_WRITERS))
        )
    numbers = set(chosen(out, stretches)) if stretches else None
    with reading(out) as catalogue:
        motifs = [
            motif
            for motif in catalogue.motifs()
            if (numbers is None or motif.number in numbers) and state in (None, motif.state)
        ]
        data = _WRITERS[kind](out, catalogue, motifs, per_page)
    write_all({target: data})
    return len({motif.number for motif in motifs})


def facts(motif: MotifRecord) -> dict[str, Any]:
    """What the catalogue knows of a motif as plain data, but for its pixels and its order's digest."""
    plain = asdict(motif)
    del plain["pixels"], plain["digest"]
    plain["files"] = [f"{motif.place}/{file}" for file in motif.files]
    plain["parts"] = dict(zip(PARTS, motif.parts, strict=False))
    plain["grade"] = grade(motif.difficulty)
    return plain


def _json(out: Path, catalogue: Catalogue, motifs: list[MotifRecord], per_page: int) -> str:
    plain = {"title": catalogue.about("title") or "", "motifs": [facts(m) for m in motifs]}
    return json.dumps(plain, indent=1, ensure_ascii=False) + "\n"


def _csv(out: Path, catalogue: Catalogue, motifs: list[MotifRecord], per_page: int) -> str:
    return export_csv(motifs)


def export_csv(motifs: Sequence[MotifRecord]) -> str:
    """A table for spreadsheets: lists as words between semicolons, no cell that is a formula."""
    names = [
        *("number", "state", "why", "title", "path", "tags", "stitches", "rounds", "width_cm"),
        *("height_cm", "gauge", "worked", "repeat_kind", "repeat_stitches", "repeat_rounds"),
        *("longest_float", "float_limit", "catches", "isolated", "ends", "contrast", "likeness"),
        *("difficulty", "grade", "errors", "warnings", "proposed"),
    ]
    text = io.StringIO()
    table = csv.writer(text)
    table.writerow([*names, "yarns", *Rights.names(), "folder", "sha256"])
    for motif in motifs:
        plain = facts(motif)
        yarns = [f"{yarn.name}={yarn.colour}" for yarn in motif.yarns if yarn.stitches]
        row = [plain[name] for name in names]
        row += [yarns, *(getattr(motif.rights, name) for name in Rights.names())]
        table.writerow(map(_cell, [*row, motif.place, motif.sha256]))
    return "\ufeff" + text.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, list | tuple):
        value = "; ".join(map(str, value))
    if isinstance(value, str) and value[:1] and value[0] in FORMULA_SIGNS:
        return "'" + value
    return value


def _pdf(out: Path, catalogue: Catalogue, motifs: list[MotifRecord], per_page: int) -> bytes:
    first = {motif.number: motif for motif in reversed(motifs)}
    title = catalogue.about("title") or out.name
    return booklet_pdf([first[number] for number in sorted(first)], title, per_page)


def _zip(out: Path, catalogue: Catalogue, motifs: list[MotifRecord], per_page: int) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for motif in motifs:
            for file in motif.files:
                path = out / motif.place / file
                try:
                    content = path.read_bytes()
                except OSError as error:
                    raise InputError(
                        message("motif-file-missing", path=str(path), number=motif.number)
                    ) from error
                name = f"{motif.number:04}-{motif.name}/{file}"
                archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content)
    return data.getvalue()


_Writer = Callable[[Path, Catalogue, list[MotifRecord], int], "bytes | str"]
_WRITERS: dict[str, _Writer] = {".csv": _csv, ".json": _json, ".pdf": _pdf, ".zip": _zip}
