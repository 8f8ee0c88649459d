"""A gallery: a folder of plain pages that any web server, or a disk, shows; one page for each motif.

The pages need no script; the one that searches and selects brings its own. What is held or withdrawn
is not in it. A file that is as it was is not written again, and of the files of an earlier gallery
those that no longer belong are removed, and no others.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from pic2chart.checks.cautions import IN_SHORT
from pic2chart.core.errors import SettingError
from pic2chart.core.files import make_folder, read_text, write_all
from pic2chart.core.messages import message
from pic2chart.library.catalogue import Catalogue, reading
from pic2chart.library.depot import real_folder
from pic2chart.library.difficulty import grade
from pic2chart.library.motif import MotifRecord, repeat_words
from pic2chart.model.wording import many

MANIFEST = "gallery.json"
_A_PAGE = 120
"""Motifs on one page of thumbnails."""
_A_SHARD = 2_000
"""Motifs in one file of what is searched."""
_MAX_BYTES = 200_000_000


def write_gallery(
    out: Path, folder: Path, say: Callable[[str, float], None] = lambda step, share: None
) -> int:
    """Write the gallery of the library at `out` into `folder`, or renew it; how many motifs.

    Raises InputError, SettingError (a folder that holds something else), OutputError.
    """
    before = _written_before(folder)
    make_folder(folder)
    now: set[str] = set()
    with reading(out) as catalogue:
        title = catalogue.about("title") or out.name
        motifs = _published(catalogue)
        for name, data in _files(out, catalogue, title, motifs, say):
            now.add(name)
            _put(folder, name, data)
    _put(folder, MANIFEST, json.dumps(sorted(now)).encode())
    for name in sorted(before - now):
        _remove(folder, name)
    return len(motifs)


def _published(catalogue: Catalogue) -> list[tuple[int, str, str, int, int, float]]:
    """Number, path, title, stitches, rounds and difficulty of every motif that is shown, by number."""
    query = (
        "SELECT number, path, title, stitches, rounds, difficulty FROM listed "
        "WHERE state IN ('new', 'approved') AND number > 0 ORDER BY number, size DESC"
    )
    return list({row[0]: row for row in catalogue.connection.execute(query)}.values())


def _files(
    out: Path,
    catalogue: Catalogue,
    title: str,
    motifs: list[tuple[int, str, str, int, int, float]],
    say: Callable[[str, float], None],
) -> Iterator[tuple[str, bytes]]:
    """Every file of the gallery, by name."""
    yield "style.css", _part("gallery.css").encode()
    yield "search.js", _part("gallery.js").encode()
    shared = {"title": title, "count": len(motifs)}
    pages = max(1, -(-len(motifs) // _A_PAGE))
    names = [_page_name(at) for at in range(pages)]
    for at, name in enumerate(names):
        shown = motifs[at * _A_PAGE : (at + 1) * _A_PAGE]
        yield name, _page("gallery_index", **shared, motifs=shown, pages=names, at=at)
    shards = []
    for at in range(0, len(motifs), _A_SHARD):
        shards.append(f"search-{at // _A_SHARD + 1}.js")
        numbers = motifs[at][0], motifs[min(at + _A_SHARD, len(motifs)) - 1][0]
        yield shards[-1], _shard(catalogue, numbers)
    yield "search.html", _page("gallery_search", **shared, shards=shards)
    for at, (number, path, *_) in enumerate(motifs):
        if at % 200 == 0:
            say("Writing the gallery", at / len(motifs))
        sizes = list(catalogue.motifs("path = ? ORDER BY size", (path,)))
        yield f"thumbnails/{number}.png", sizes[0].pixels
        for size in sizes:
            for file in size.files:
                with suppress(OSError):  # told by the next run, which makes it again
                    yield f"files/{number}/{file}", (out / size.place / file).read_bytes()
        near = [motifs[i][0] for i in (at - 1, at + 1) if 0 <= i < len(motifs)]
        ahead = next((n for n in near if n > number), None)
        back = next((n for n in near if n < number), None)
        yield (
            f"motifs/{number}.html",
            _page("gallery_motif", **shared, m=sizes[0], sizes=sizes, facts=_facts, cautions=IN_SHORT, back=back,
                  ahead=ahead, home=names[at // _A_PAGE]),
        )  # fmt: skip


def _facts(motif: MotifRecord) -> list[tuple[str, str]]:
    """What a page says of one size."""
    in_round = motif.worked == "round"
    around = "in the round" if in_round else "flat"
    up = many(motif.rounds, "round" if in_round else "row")
    return [
        ("Size", f"{many(motif.stitches, 'stitch')} × {up}, {around}"),
        ("Measures", f"{motif.width_cm:.1f} × {motif.height_cm:.1f} cm at {motif.gauge}"),
        ("Repeat", repeat_words(motif)),
        ("Longest float", f"{many(motif.longest_float, 'stitch')}, {many(motif.catches, 'catch')}"),
        ("Difficulty", f"{motif.difficulty:g} of 10, {grade(motif.difficulty)}"),
    ]


def _shard(catalogue: Catalogue, numbers: tuple[int, int]) -> bytes:
    """What is searched of a stretch of motifs, as a script that any page may load from a disk."""
    rows: list[list[Any]] = []
    where = (
        "number BETWEEN ? AND ? AND state IN ('new', 'approved') AND number > 0 "
        "ORDER BY number, size DESC"
    )
    first = {motif.number: motif for motif in catalogue.motifs(where, numbers)}
    for m in first.values():
        words = " ".join([m.path, *m.tags, *(y.name for y in m.yarns), *m.rights.as_list()])
        rows.append(
            [m.number, m.title, words, m.stitches, m.rounds, m.repeat_stitches, m.difficulty,
             m.longest_float, [[y.key, y.name, y.colour] for y in m.yarns], list(m.files)]
        )  # fmt: skip
    plain = json.dumps(rows, separators=(",", ":"), ensure_ascii=True)
    return f"take({plain});\n".encode()


def _page_name(at: int) -> str:
    return "index.html" if at == 0 else f"page-{at + 1}.html"


@cache
def _part(name: str) -> str:
    return files("pic2chart.library").joinpath(name).read_text(encoding="utf-8")


@cache
def _template(name: str) -> Any:
    from jinja2 import Environment

    return Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True).from_string(
        _part(f"{name}.html.j2")
    )


def _page(name: str, **values: Any) -> bytes:
    text: str = _template(name).render(many=many, **values)
    return text.encode("utf-8", "replace")


def _written_before(folder: Path) -> set[str]:
    """The files of an earlier gallery there. Raises SettingError when it holds something else."""
    if not folder.exists() or not any(folder.iterdir()):
        return set()
    if not (folder / MANIFEST).is_file():
        raise SettingError(message("not-a-gallery", folder=str(folder)))
    try:
        names = json.loads(read_text(folder / MANIFEST, _MAX_BYTES, "list of the gallery's files"))
    except ValueError as error:
        raise SettingError(message("not-a-gallery", folder=str(folder))) from error
    return {name for name in names if isinstance(name, str) and _inside(name)}


def _inside(name: str) -> bool:
    return not name.startswith("/") and ".." not in name.split("/") and "\\" not in name


def _put(folder: Path, name: str, data: bytes) -> None:
    place = folder / name
    real_folder(folder, place.parent, make=True)
    with suppress(OSError):
        if place.stat().st_size == len(data):
            with place.open("rb") as there:
                if hashlib.file_digest(there, "sha256").digest() == hashlib.sha256(data).digest():
                    return
    write_all({place: data})


def _remove(folder: Path, name: str) -> None:
    with suppress(OSError):
        real_folder(folder, (folder / name).parent)
        (folder / name).unlink()
        os.rmdir((folder / name).parent)
