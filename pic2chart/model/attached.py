"""Charts that a drawing carries inside it: an SVG in its metadata, a PDF as attached files.

What is carried is the chart file's own text without where the chart came from, so that a pattern that
is handed out does not name its maker's pictures. A checksum tells whether it is whole.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import io
import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from pic2chart.core.errors import InputError
from pic2chart.core.files import read_bytes
from pic2chart.core.messages import message
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import MAX_BYTES, chart_from_text, chart_to_text

ENDING = ".chart.json"
MOST_FILES = 60
"""Charts that are taken from one file."""
_MAX_DRAWING = 100_000_000
_SPACE = "urn:pic2chart:chart"
_IN_SVG = re.compile(
    rb'<chart xmlns="' + _SPACE.encode() + rb'" sha256="([0-9a-f]{64})">([A-Za-z0-9+/=\s]*)</chart>'
)
_DIGEST = re.compile("SHA-256 ([0-9a-f]{64})")
_SVG, _PDF = b"<svg", b"%PDF-"


def carried_text(chart: Chart) -> str:
    """The text of the chart file that a drawing of the chart carries."""
    return chart_to_text(chart.with_(source={}))


@lru_cache(maxsize=8)
def svg_metadata(chart: Chart) -> str:
    """The chart as a metadata element for an SVG; those of the last few are kept, since a chart never
    changes and several drawings carry it.
    """
    text = carried_text(chart).encode()
    data = base64.b64encode(zlib.compress(text, 9)).decode("ascii")
    digest = hashlib.sha256(text).hexdigest()
    return f'<metadata><chart xmlns="{_SPACE}" sha256="{digest}">{data}</chart></metadata>'


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file inside a PDF; `description` holds its checksum."""

    name: str
    content: bytes
    description: str


def attachments(charts: Mapping[str, Chart]) -> tuple[Attachment, ...]:
    """The chart files that a PDF carries; `charts`: by the stem of their files."""
    found = []
    for stem, chart in charts.items():
        text = carried_text(chart).encode()
        digest = hashlib.sha256(text).hexdigest()
        found.append(Attachment(f"{stem}{ENDING}", text, f"Knitting chart; SHA-256 {digest}"))
    return tuple(found)


def is_drawing(path: Path, start: bytes) -> bool:
    """Whether a file that begins so is an SVG or a PDF."""
    words = start.removeprefix(b"\xef\xbb\xbf").lstrip()
    drawn = words.startswith(b"<") and _SVG in words
    return drawn or start.startswith(_PDF) or path.suffix.lower() in (".svg", ".pdf")


def charts_in(path: Path) -> dict[str, Chart]:
    """The charts that an SVG or a PDF carries, by the stem of their files, in order.

    Raises InputError when it carries none, or one that is damaged.
    """
    data = read_bytes(path, _MAX_DRAWING, "drawing")
    texts = _in_pdf(data, path) if data.startswith(_PDF) else _in_svg(data, path)
    found: dict[str, Chart] = {}
    for stem, text in texts:
        if len(found) == MOST_FILES:
            break
        try:
            found[stem] = chart_from_text(text.decode())
        except (InputError, UnicodeDecodeError) as error:
            raise InputError(message("carried-damaged", file=path.name)) from error
    if not found:
        raise InputError(message("carries-no-chart", file=path.name))
    return found


def _in_svg(data: bytes, path: Path) -> Iterator[tuple[str, bytes]]:
    """Looked for as bytes: no XML of strangers is ever interpreted."""
    for number, match in enumerate(_IN_SVG.finditer(data), 1):
        stem = path.stem if number == 1 else f"{path.stem}-{number}"
        try:
            press = zlib.decompressobj()
            text = press.decompress(base64.b64decode(match[2]), MAX_BYTES)
        except (binascii.Error, zlib.error) as error:
            raise InputError(message("carried-damaged", file=path.name)) from error
        if hashlib.sha256(text).hexdigest().encode() != match[1]:
            raise InputError(message("carried-damaged", file=path.name))
        yield stem, text


def _in_pdf(data: bytes, path: Path) -> Iterator[tuple[str, bytes]]:
    """The chart files attached to a PDF, held to the checksum in their description."""
    try:
        attached = list(_attached(data))
    except Exception as error:  # a damaged PDF fails in pypdf in every way there is
        raise InputError(message("pdf-damaged", file=path.name)) from error
    for name, text, described in attached:
        digest = _DIGEST.search(described)
        if digest is not None and hashlib.sha256(text).hexdigest() != digest[1]:
            raise InputError(message("carried-damaged", file=path.name))
        yield name.removesuffix(ENDING), text


def _attached(data: bytes) -> Iterator[tuple[str, bytes, str]]:
    """Name, content and description of the chart files attached to a PDF."""
    import logging

    from pypdf import PdfReader

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # it would print its own remarks
    for file in PdfReader(io.BytesIO(data)).attachment_list:
        name = Path(file.name.replace("\\", "/")).name
        if name.endswith(ENDING) and len(file.content) <= MAX_BYTES:
            yield name, file.content, file.description or ""
