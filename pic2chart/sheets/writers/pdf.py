"""Write sheets as the pages of one PDF: vectors, real text, the fonts embedded.

The type is Roboto (Apache licence 2.0), which ships with this package in `fonts/`. The same sheets
give the same bytes: the date in the file is a fixed one.
"""

from __future__ import annotations

import io
import zlib
from collections.abc import Sequence
from functools import cache
from typing import Any

from pic2chart import __version__
from pic2chart.model.attached import Attachment
from pic2chart.sheets.marks.page import (
    Boxes,
    Label,
    Lines,
    Paths,
    Point,
    Raster,
    Sheet,
    Stamps,
    Style,
    clean,
)
from pic2chart.sheets.marks.printed import shown
from pic2chart.sheets.marks.type_files import BOLD, REGULAR, type_file

_MM = 72 / 25.4
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}


def sheets_pdf(
    sheets: Sequence[Sheet],
    *,
    title: str,
    author: str = "",
    outline: Sequence[str] = (),
    attached: Sequence[Attachment] = (),
) -> bytes:
    """One page a sheet, each at its own true size. `outline` names the pages for the side
    bar; a page with an empty name has no entry. `attached`: files that the document carries."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # streams as bytes: a fifth smaller, and nothing to encode in Python
    _fonts()
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=REGULAR, lang="en")
    canvas.setTitle(clean(title))
    canvas.setAuthor(clean(author))
    canvas.setSubject("Knitting chart for stranded colourwork")
    canvas.setCreator(f"pic2chart {__version__}")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for number, sheet in enumerate(sheets):
        canvas.setPageSize((sheet.width * _MM, sheet.height * _MM))
        if number < len(outline) and outline[number]:
            canvas.bookmarkPage(f"page-{number + 1}")
            canvas.addOutlineEntry(clean(outline[number]), f"page-{number + 1}")
        _page(canvas, sheet)
        canvas.showPage()
    if attached:
        _attach(canvas, attached)
    canvas.save()
    return out.getvalue()


def _attach(canvas: Any, files: Sequence[Attachment]) -> None:
    """Files embedded in the document, listed in its name tree by name (ISO 32000-1, 7.11.4)."""
    from reportlab.pdfbase import pdfdoc

    document = canvas._doc
    named: list[Any] = []
    for file in sorted(files, key=lambda file: file.name):
        stream = pdfdoc.PDFStream(content=zlib.compress(file.content, 9))
        stream.dictionary["Type"] = pdfdoc.PDFName("EmbeddedFile")
        stream.dictionary["Subtype"] = pdfdoc.PDFName("application#2Fjson")
        stream.dictionary["Filter"] = pdfdoc.PDFName("FlateDecode")
        stream.dictionary["Params"] = pdfdoc.PDFDictionary({"Size": len(file.content)})
        stream.filters = []
        name = pdfdoc.PDFString(file.name)
        entry = {
            "Type": pdfdoc.PDFName("Filespec"),
            "F": name,
            "UF": name,
            "Desc": pdfdoc.PDFString(file.description),
            "EF": pdfdoc.PDFDictionary({"F": document.Reference(stream)}),
        }
        named += [name, document.Reference(pdfdoc.PDFDictionary(entry))]
    tree = pdfdoc.PDFDictionary({"Names": pdfdoc.PDFArray(named)})
    document.Catalog.Names = pdfdoc.PDFDictionary({"EmbeddedFiles": tree})


def _page(canvas: Any, sheet: Sheet) -> None:
    """Millimetres from the top left, y downward; text is turned upright again."""
    canvas.transform(_MM, 0, 0, -_MM, 0, sheet.height * _MM)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    for mark in sheet.marks:
        if isinstance(mark, Label):
            _label(canvas, mark)
        elif isinstance(mark, Raster):
            _raster(canvas, mark)
        else:
            _figure(canvas, mark)


def _raster(canvas: Any, mark: Raster) -> None:
    from reportlab.lib.utils import ImageReader

    left, top, width, height = mark.box
    canvas.saveState()
    canvas.transform(1, 0, 0, -1, left, top + height)
    canvas.drawImage(ImageReader(io.BytesIO(mark.png)), 0, 0, width, height)
    canvas.restoreState()


def _figure(canvas: Any, mark: Boxes | Lines | Paths | Stamps) -> None:
    style = mark.style
    _brush(canvas, style)
    path = _Trace(mark)
    canvas.drawPath(path, stroke=int(style.stroke is not None), fill=int(style.fill is not None))
    if style.opacity < 1:
        canvas.setFillAlpha(1)


class _Trace:
    """The path of a mark, as a canvas takes it, in thousandths of a millimetre.

    The canvas's own path turns every number into text with six digits, one by one: a fifth of the time
    that a document of large charts took.
    """

    def __init__(self, mark: Boxes | Lines | Paths | Stamps) -> None:
        self._steps = ["n"]
        if isinstance(mark, Boxes):
            self._steps += [
                f"{x:.3f} {y:.3f} {wide:.3f} {high:.3f} re" for x, y, wide, high in mark.boxes
            ]
        elif isinstance(mark, Lines):
            self._steps += [f"{a:.3f} {b:.3f} m {x:.3f} {y:.3f} l" for (a, b), (x, y) in mark.lines]
        elif isinstance(mark, Paths):
            for line in mark.paths:
                self._polyline(line, mark.closed)
        else:
            for x, y in mark.places:
                for line in mark.shape.polylines:
                    self._polyline([(x + dx, y + dy) for dx, dy in line], mark.shape.closed)

    def _polyline(self, points: Sequence[Point], closed: bool) -> None:
        steps = [f"{x:.3f} {y:.3f} l" for x, y in points]
        steps[0] = steps[0][:-1] + "m"
        self._steps += steps
        if closed:
            self._steps.append("h")

    def getCode(self) -> str:  # noqa: N802
        """The name by which the canvas asks for it."""
        return " ".join(self._steps)


def _brush(canvas: Any, style: Style) -> None:
    if style.fill is not None:
        canvas.setFillColorRGB(*_rgb(style.fill))
        if style.opacity < 1:
            canvas.setFillAlpha(style.opacity)
    if style.stroke is not None:
        canvas.setStrokeColorRGB(*_rgb(style.stroke))
        canvas.setLineWidth(style.width)
        canvas.setDash(list(style.dash) if style.dash else [])


def _label(canvas: Any, label: Label) -> None:
    font = BOLD if label.bold else REGULAR
    text = shown(label.text)
    shift = _ANCHORS[label.anchor]
    width = canvas.stringWidth(text, font, label.size) if shift else 0.0
    canvas.setFillColorRGB(*_rgb(label.colour))
    words = canvas.beginText()
    words.setFont(font, label.size)
    words.setTextTransform(1, 0, 0, -1, label.at[0] - shift * width, label.at[1])
    words.textOut(text)
    canvas.drawText(words)


@cache
def _fonts() -> None:
    """Register the two fonts, once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(type_file(name))))


def _rgb(colour: str) -> tuple[float, float, float]:
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))  # type: ignore[return-value]
