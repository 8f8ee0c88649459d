"""A chart as an indexed PNG, one pixel a stitch: top of the picture = last round."""

from __future__ import annotations

import io

from PIL import Image

from pic2chart.chart import NO_STITCH, Chart
from pic2chart.draw.order import to_page

_ABSENT = (128, 128, 128)


def pixels_png(chart: Chart) -> bytes:
    """One pixel a stitch, palette in yarn order, no stitch = index 255, transparent.

    Always stored with stitch 1 on the right, whichever hand knits: the file carries the chart's
    data, and a picture cannot say which hand it is for.
    """
    colours = [channel for yarn in chart.yarns for channel in yarn.rgb]
    options: dict[str, object] = {}
    if not chart.live.all():
        colours += _ABSENT * (NO_STITCH + 1 - len(chart.yarns))
        options["transparency"] = bytes([255] * NO_STITCH + [0])
    picture = Image.fromarray(to_page(chart.stitches, "right").copy()).convert("L")
    picture.putpalette(colours)
    out = io.BytesIO()
    picture.save(out, "PNG", optimize=False, compress_level=9, **options)
    return out.getvalue()
