"""Pictures for the page: the photo at a size for the screen, the fabric, the way the yarns run."""

from __future__ import annotations

import io

from pic2chart.chart import Chart
from pic2chart.desk.exports import MEDIA, first_svg, one
from pic2chart.desk.project import Project
from pic2chart.draw import pixels_png

_ACROSS = 800
"""Pixels left across the picture, or more: enough for a page."""

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


def looks(project: Project) -> bytes:
    """The picture's chart in every look, side by side, as PNG. Raises InputError without one."""
    from pic2chart.compare import compare_looks, looks_picture

    return looks_picture(compare_looks(*project.original()))


def sight(chart: Chart, what: str) -> tuple[bytes, str]:
    """Content and media type of one of SIGHTS, of the strand sheet, or of one pixel a stitch."""
    if what == "small":
        return pixels_png(chart), "image/png"
    if what == "strands":
        return first_svg(chart, "strands"), MEDIA["svg"]
    _, data, media = one(chart, SIGHTS[what], {})
    return data, media
