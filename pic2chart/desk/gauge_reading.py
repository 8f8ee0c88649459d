"""A photo of a swatch for the page: its gauge, and the picture of what was counted."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pic2chart.desk.exports import data_address
from pic2chart.desk.store import with_photo
from pic2chart.reading.counted_gauge import CountedGauge, measure_counted
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.reading.swatch_photo import SwatchGauge, measure_swatch


def gauge_for_page(data: bytes, root: Path, settings: GaugeSettings) -> dict[str, Any]:
    """The gauge of the swatch in a photo, with the picture to check it by. Nothing is kept.

    Raises InputError where no scale or no clear fabric is found, SettingError for marks outside it.
    """
    measure = measure_counted if settings.counted else measure_swatch
    found: SwatchGauge | CountedGauge = with_photo(data, root, lambda path: measure(path, settings))
    return {
        "gauge": found.option,
        "verdict": found.verdict,
        "check": f"Check that {found.to_check}.",
        "overlay": data_address(found.overlay, "image/jpeg"),
    }
