"""Pictures for the page: the photo at a size for the screen, the fabric, the way the yarns run."""

from __future__ import annotations

import base64
import io
from typing import Any

from pic2chart.chart import Chart
from pic2chart.desk.exports import MEDIA, first_svg, one
from pic2chart.desk.project import Project
from pic2chart.draw import fabric_front, pixels_png
from pic2chart.looks import LOOKS

_ACROSS = 800
"""Pixels left across the picture, or more: enough for a page."""

_FRONT_PX, _FINEST = 720, 8
"""Pixels across a front shown in passing, and the most a stitch takes of them."""

SIGHTS = {"front": "-front.png", "back": "-back.png"}
"""Sides of the fabric, and the file of the sheets that shows each."""


def preview(project: Project) -> tuple[bytes, tuple[int, int]]:
    """The whole picture as JPEG, and its true (width, height). Raises InputError without one."""
    from PIL import Image

    from pic2chart.picture import load_picture

    picture = load_picture(project.original()[0], across=_ACROSS)
    out = io.BytesIO()
    Image.fromarray(picture.rgb).convert("RGB").save(out, "JPEG", quality=85)
    return out.getvalue(), picture.size


def looks(project: Project) -> list[dict[str, Any]]:
    """The picture's chart in every look, with what to weigh it by. Raises InputError without one."""
    from pic2chart.compare import compare_looks, look_words

    return [
        {
            "name": name,
            "description": LOOKS[name].description,
            "words": look_words(made),
            "front": front_address(made.chart),
        }
        for name, made in compare_looks(*project.original()).items()
    ]


def front_address(chart: Chart) -> str:
    """The fabric's front as a data address, for a page."""
    px = min(_FINEST, max(2, _FRONT_PX // chart.stitch_count))
    front = base64.b64encode(fabric_front(chart, stitch_px=px)).decode("ascii")
    return f"data:image/png;base64,{front}"


def sight(chart: Chart, what: str, number: int | None = None) -> tuple[bytes, str]:
    """Content and media type of one of SIGHTS, of the strand sheet, or of one pixel a stitch.

    The strand sheet is that of round `number`, counted from 1, or of a telling one.
    """
    if what == "small":
        return pixels_png(chart), "image/png"
    if what == "strands":
        asked = {} if number is None else {"rounds": str(number)}
        return first_svg(chart, "strands", asked), MEDIA["svg"]
    _, data, media = one(chart, SIGHTS[what], {})
    return data, media
