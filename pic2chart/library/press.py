"""Ink for a printing house: colours of the screen through the ICC profile of its press."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError
from pic2chart.core.files import read_bytes
from pic2chart.core.messages import message
from pic2chart.library.pdf_file import Print
from pic2chart.library.pdf_page import Ink

_MAX_BYTES = 20_000_000


def read_press(path: Path, condition: str, bleed: float) -> Print:
    """The profile of a press; `condition`: its name, the profile's own when ''. Raises InputError."""
    from PIL import ImageCms

    data = read_bytes(path, _MAX_BYTES, "colour profile")
    if data[36:40] != b"acsp" or data[16:20] != b"CMYK" or data[12:16] != b"prtr":
        raise InputError(message("no-press-profile", path=str(path)))
    try:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(data))
        name = condition or (profile.profile.profile_description or "").strip() or path.stem
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError) as error:
        raise InputError(message("no-press-profile", path=str(path))) from error
    return Print(data, name, bleed)


def press_ink(press: Print, path: Path) -> Ink:
    """Operators that set colours in CMYK. Greys, which are type and lines here, are of black alone, so
    that small letters need not fit four plates. Raises InputError for a profile that converts nothing."""
    from PIL import Image, ImageCms

    try:
        transform: Any = ImageCms.buildTransform(
            ImageCms.createProfile("sRGB"),
            ImageCms.ImageCmsProfile(io.BytesIO(press.profile)),
            "RGB",
            "CMYK",
            renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
        )
    except ImageCms.PyCMSError as error:
        raise InputError(message("no-press-profile", path=str(path))) from error

    @lru_cache(maxsize=4096)
    def ink(colour: str, stroke: bool) -> str:
        parts = tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))
        if len(set(parts)) == 1:
            inks: tuple[float, ...] = (0, 0, 0, 1 - parts[0] / 255)
        else:
            pixel = Image.new("RGB", (1, 1), parts)
            converted = ImageCms.applyTransform(pixel, transform)
            assert converted is not None
            value: Any = converted.getpixel((0, 0))
            inks = tuple(part / 255 for part in value)
        return f"{' '.join(f'{part:.4g}' for part in inks)} {'K' if stroke else 'k'}"

    return ink
