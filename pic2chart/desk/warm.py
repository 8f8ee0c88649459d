"""Preparing the solver before the first chart is wished for."""

from __future__ import annotations

import contextlib
from pathlib import Path


def warm_up() -> None:
    """Load what the first chart needs, and compile the solver where it never ran, before it is asked."""
    import tempfile

    import numpy as np
    from PIL import Image

    from pic2chart.core.settings import Settings
    from pic2chart.mending import mend
    from pic2chart.pipeline import make_chart

    with contextlib.suppress(Exception), tempfile.TemporaryDirectory() as folder:
        # whatever fails here is said when it is asked for
        picture = Path(folder) / "warm.png"
        shades = np.add.outer(np.arange(64), np.arange(64)) % 32 * 8
        Image.fromarray(shades.astype(np.uint8)).save(picture)
        for yarns in (2, 3):  # each with kernels of its own
            mend(make_chart(picture, Settings(stitches=16, yarns=yarns)).chart)
