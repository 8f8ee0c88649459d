"""Embedded colour profiles → sRGB, through Little CMS."""

from __future__ import annotations

import io

from PIL import Image, ImageCms

_MODES = {"RGB": "RGB", "GRAY": "L", "CMYK": "CMYK", "Lab": "LAB"}
"""Colour space named in a profile's header → the mode its pixels must have."""


def to_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """The image in sRGB, mode RGB or RGBA. A profile that is broken or does not fit is ignored."""
    if image.mode == "RGBA":
        solid = to_srgb(image.convert("RGB"), profile)
        solid.putalpha(image.getchannel("A"))
        return solid
    converted = _converted(image, profile) if profile else None
    if converted is None and image.mode == "LAB":
        converted = _transform(image, ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")))
    if converted is not None:
        return converted
    return image if image.mode == "RGB" else image.convert("RGB")


def _converted(image: Image.Image, profile: bytes) -> Image.Image | None:
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        mode = _MODES.get(source.profile.xcolor_space.strip())
        if mode == "RGB" and image.mode == "L":
            image = image.convert("RGB")
        return _transform(image, source) if image.mode == mode else None
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return None


def _transform(image: Image.Image, source: ImageCms.ImageCmsProfile) -> Image.Image | None:
    target = ImageCms.createProfile("sRGB")
    return ImageCms.profileToProfile(image, source, target, outputMode="RGB")
