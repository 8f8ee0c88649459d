"""Pictures: boxes in them, their colour profiles, and a file → upright sRGB pixels."""

from __future__ import annotations

import hashlib
import io
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import astuple, dataclass
from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageCms, UnidentifiedImageError

from pic2chart.core.confined import Parts, confined, confining
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import plain_name, read_bytes
from pic2chart.core.messages import message

# A box in a picture: whole pixels of the picture as it is seen, counted from its top left corner.

_NUMBERS = re.compile(r"\s*(\d{1,7})\s*,\s*(\d{1,7})\s*,\s*(\d{1,7})\s*,\s*(\d{1,7})\s*", re.ASCII)


@dataclass(frozen=True, slots=True)
class Box:
    """Left edge `x`, top edge `y`, width `w` and height `h`, in pixels of the upright picture.

    Raises SettingError when an edge is negative or a side is empty.
    """

    x: int
    y: int
    w: int
    h: int

    def __post_init__(self) -> None:
        if self.x < 0 or self.y < 0 or self.w < 1 or self.h < 1:
            raise SettingError(message("box-too-small", box=str(self)))

    @classmethod
    def parse(cls, text: str) -> Self:
        """Read 'x,y,width,height'; raises SettingError when the text says anything else."""
        match = _NUMBERS.fullmatch(text)
        if not match:
            raise SettingError(message("box-unreadable", text=text[:80]))
        return cls(*(int(number) for number in match.groups()))

    @classmethod
    def whole(cls, size: tuple[int, int]) -> Self:
        """The box round a whole picture of (width, height) pixels."""
        return cls(0, 0, *size)

    def inside(self, size: tuple[int, int], name: str) -> Self:
        """This box, when it lies within a picture of (width, height); raises InputError if not."""
        if self.x + self.w > size[0] or self.y + self.h > size[1]:
            raise InputError(
                message("box-outside", box=str(self), file=name, width=size[0], height=size[1])
            )
        return self

    def __str__(self) -> str:
        return f"{self.x},{self.y},{self.w},{self.h}"


# Embedded colour profiles → sRGB, through Little CMS.

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


# A picture file → upright sRGB pixels, no more of them than the chart can use.
#
# The file is read once; its size, its format and its pixel count are settled before any pixel is
# decoded. JPEG files are decoded at 1/2, 1/4 or 1/8 where that leaves enough pixels for each
# stitch; other formats are averaged down in bands, so that no second full-size copy is ever held.

MAX_BYTES = 200_000_000
MAX_PIXELS = 120_000_000
MAX_WEBP_PIXELS = 50_000_000
"""A WebP file is decoded whole, at 16 bytes a pixel."""
MAX_SIDE = 65_500
"""What JPEG files can have; decoders of other formats need far more memory for longer lines."""
MAX_SCANS = 4_000
"""Of a JPEG file, times its millions of pixels. Every scan goes over all of them: ten are usual, and
a small file can hold thousands."""
PIXELS_PER_STITCH = 8
"""Pixels across a stitch that reduction leaves: at 8 the mean colour error is far below 1 ΔE."""
JPEG_PIXELS_PER_STITCH = 5
"""The same for JPEG files, which are decoded smaller at once: a cat of 12 megapixels then differs by
0.14 ΔE in the mean at 60 × 64 (0.06 at 8 pixels), and is read in about two thirds of the time."""

_FORMATS = ("JPEG", "PNG", "GIF", "BMP", "WEBP", "TIFF")
_JPEG = ("JPEG", "MPO")
_WORDS = "JPEG, PNG, WebP, TIFF, HEIC, GIF or BMP"
_TRANSPOSE = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""Exif 2.3, tag 0x0112: what turns the stored picture upright."""


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """Upright sRGB pixels in page order (row 0 at the top), and where they came from.

    `rgb`: uint8 [H, W, 3], read-only, laid on white where the picture is transparent.
    `opacity`: float32 [H, W], 0 clear to 1 solid, read-only; None when the picture has none.
    `name`, `sha256`: of the file. `size`: (width, height) of the whole upright picture in its
    own pixels. `window`: the part of it that `rgb` shows, in the same pixels.
    """

    rgb: NDArray[np.uint8]
    opacity: NDArray[np.float32] | None
    name: str
    sha256: str
    size: tuple[int, int]
    window: Box

    def __post_init__(self) -> None:
        for pixels in (self.rgb, self.opacity):
            if pixels is not None:
                pixels.setflags(write=False)

    @property
    def scale(self) -> float:
        """Pixels of `rgb` for each pixel of the file: 1, or less when it was reduced."""
        return float(self.rgb.shape[1] / self.window.w)

    @property
    def gray(self) -> NDArray[np.uint8]:
        """`rgb` in grey, [H, W], made anew each time."""
        import cv2

        return np.asarray(cv2.cvtColor(self.rgb, cv2.COLOR_RGB2GRAY), dtype=np.uint8)


def load_picture(
    path: Path,
    *,
    crop: Box | None = None,
    cells: tuple[int, int | None] | None = None,
    across: int | None = None,
) -> Picture:
    """Read a picture file.

    `crop`: the part to use, in pixels of the upright picture. `cells`: (stitches, rounds) the
    part will be averaged to; the pixels may then be reduced, to no fewer than PIXELS_PER_STITCH
    (JPEG_PIXELS_PER_STITCH) across a stitch. `across`: or to no fewer than so many across the
    part, whatever the format. Raises InputError, with one clear sentence, when the file is
    missing, too large, of no known format, damaged or cut short, or when `crop` leaves the picture.
    """
    data = read_bytes(path, MAX_BYTES, "picture")
    with _apart(data):
        facts, pixels = confined(
            decoded_parts, path, data, crop=crop and astuple(crop), cells=cells, across=across
        )
    with _explained(path):
        shape = tuple(facts["shape"])
        rgb = np.frombuffer(pixels[0], np.uint8).reshape(*shape, 3)
        opacity = np.frombuffer(pixels[1], np.float32).reshape(shape) if pixels[1:] else None
        width, height = facts["size"]
        window = Box(*facts["window"])
    digest = hashlib.sha256(data).hexdigest()
    return Picture(rgb, opacity, plain_name(path), digest, (width, height), window)


def _apart(data: bytes) -> AbstractContextManager[None]:
    """HEIC is decoded apart whoever asks: pi-heif (1.4) ends its process over an item whose kind is no text."""
    return confining() if _is_heif(data) else nullcontext()


def decoded_parts(
    path: Path,
    data: bytes,
    crop: Sequence[int] | None,
    cells: tuple[int, int | None] | None,
    across: int | None,
) -> Parts:
    """What `load_picture` reads, as plain data and buffers; its `crop` as four numbers."""
    with _explained(path), opened(data) as image:
        _check_size(image, path)
        _check_scans(data, image, path)
        size, window = _measured(image, path, Box(*crop) if crop else None)
        least = _fewest(image.format, cells) if cells else (across, None)
        upright = _decode(image, window, _factor(window, *least))
        rgb, opacity = _flatten(upright)
    facts = {
        "shape": rgb.shape[:2],
        "size": size,
        "window": astuple(window),
    }
    return facts, [rgb] if opacity is None else [rgb, opacity]


def _measured(image: Image.Image, path: Path, crop: Box | None) -> tuple[tuple[int, int], Box]:
    """Upright size and the part to use."""
    if image.format == "TIFF":
        image.load()  # Pillow turns TIFF files upright itself, and only TIFF files
    size = _upright_size(image)
    return size, (crop or Box.whole(size)).inside(size, path.name)


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """Turn whatever a decoder throws at hostile bytes into one InputError."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # the limits here are ours, and decided earlier
            yield
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        raise InputError(
            message("too-many-pixels", path=str(path), most=MAX_PIXELS // 1_000_000)
        ) from error
    except UnidentifiedImageError as error:
        raise InputError(
            message("picture-of-no-known-kind", path=str(path), kinds=_WORDS)
        ) from error
    except MemoryError as error:
        raise InputError(message("picture-needs-memory", path=str(path))) from error
    except Exception as error:  # decoders raise anything from struct.error to SyntaxError
        raise InputError(message("picture-damaged", path=str(path), why=_short(error))) from error


def _short(error: Exception) -> str:
    words = " ".join(str(error).split())[:120].rstrip(".")
    return words or type(error).__name__


def opened(data: bytes) -> Image.Image:
    """Read a picture's head only, with the decoders on the list and no other; raises whatever they do."""
    formats: tuple[str, ...] = _FORMATS
    if _is_heif(data):
        from pi_heif import register_heif_opener

        register_heif_opener()
        formats = ("HEIF",)
    return Image.open(io.BytesIO(data), formats=formats)


def _is_heif(data: bytes) -> bool:
    """Whether it is an ISO base media file: HEIC, which Pillow learns from pi-heif."""
    return data[4:8] == b"ftyp"


def _check_size(image: Image.Image, path: Path) -> None:
    width, height = image.size
    if width < 1 or height < 1:
        raise InputError(message("picture-empty", path=str(path), width=width, height=height))
    most = MAX_WEBP_PIXELS if image.format == "WEBP" else MAX_PIXELS
    if width * height > most:
        raise InputError(
            message(
                "so-many-pixels",
                path=str(path),
                width=width,
                height=height,
                most=most // 1_000_000,
            )
        )
    if max(width, height) > MAX_SIDE:
        raise InputError(
            message("side-too-long", path=str(path), width=width, height=height, most=MAX_SIDE)
        )


def _check_scans(data: bytes, image: Image.Image, path: Path) -> None:
    """Refuse a JPEG file that is gone over more often than any camera's or program's."""
    millions = image.size[0] * image.size[1] / 1_000_000
    if image.format in _JPEG and _scans(data) * millions > MAX_SCANS:
        raise InputError(message("too-many-scans", path=str(path)))


def _scans(data: bytes) -> int:
    """How often a JPEG's mark of a scan, FF DA, is in a file; in a third of the time of `bytes.count`."""
    values = np.frombuffer(data, np.uint8)
    begins = np.flatnonzero(values[:-1] == 0xFF)
    return int(np.count_nonzero(values[begins + 1] == 0xDA))


def _orientation(image: Image.Image) -> int:
    try:
        return int(image.getexif().get(ExifTags.Base.Orientation, 1))
    except (OSError, InputError):
        raise
    except Exception:  # a broken Exif block is no reason to refuse the picture
        return 1


def _upright_size(image: Image.Image) -> tuple[int, int]:
    width, height = image.size
    return (height, width) if _orientation(image) in (5, 6, 7, 8) else (width, height)


def _fewest(image_format: str | None, cells: tuple[int, int | None]) -> tuple[int, int | None]:
    """The fewest pixels across and up that are worth averaging to so many stitches and rounds."""
    each = JPEG_PIXELS_PER_STITCH if image_format in _JPEG else PIXELS_PER_STITCH
    return each * cells[0], each * cells[1] if cells[1] else None


def _factor(window: Box, across: int | None, up: int | None) -> int:
    """How many times smaller the window may become, so many pixels being left across and up."""
    times = [size // least for size, least in ((window.w, across), (window.h, up)) if least]
    return max(1, min(times, default=1))


def _decode(image: Image.Image, window: Box, factor: int) -> Image.Image:
    """Decode, reduce, crop, convert to sRGB and turn upright."""
    stored = image.size
    if image.format in _JPEG:
        image.draft(None, (max(1, stored[0] // factor), max(1, stored[1] // factor)))
    drafted = round(stored[0] / image.size[0])
    image.load()
    turn = _orientation(image)
    box = _mapped(_stored(window, turn, stored), drafted, image.size)
    small = to_srgb(_reduced(image, box, max(1, factor // drafted)), image.info.get("icc_profile"))
    return small.transpose(_TRANSPOSE[turn]) if turn in _TRANSPOSE else small


def _stored(window: Box, turn: int, stored: tuple[int, int]) -> Box:
    """Where a window of the upright picture lies in the picture as stored."""
    x, y, w, h = window.x, window.y, window.w, window.h
    if turn in (5, 6, 7, 8):
        x, y, w, h = y, x, h, w
    if turn in (2, 3, 7, 8):
        x = stored[0] - x - w
    if turn in (3, 4, 6, 7):
        y = stored[1] - y - h
    return Box(x, y, w, h)


def _mapped(part: Box, drafted: int, small: tuple[int, int]) -> tuple[int, int, int, int]:
    """The corners of `part` in pixels of drafted × drafted: the last ones may hang over the edge."""
    left = min(round(part.x / drafted), small[0] - 1)
    top = min(round(part.y / drafted), small[1] - 1)
    right = min(max(left + 1, round((part.x + part.w) / drafted)), small[0])
    bottom = min(max(top + 1, round((part.y + part.h) / drafted)), small[1])
    return left, top, right, bottom


def _reduced(image: Image.Image, box: tuple[int, int, int, int], factor: int) -> Image.Image:
    """The box, averaged over factor × factor pixels, band by band to save memory."""
    left, top, right, bottom = box
    if image.mode in ("RGB", "L", "CMYK") and "transparency" not in image.info:
        whole_size = factor == 1 and box == (0, 0, *image.size)
        return image if whole_size else image.reduce(factor, box)
    step = factor * max(1, 4_000_000 // (factor * (right - left)))
    pieces = [
        _plain(image.crop((left, y, right, min(y + step, bottom)))).reduce(factor)
        for y in range(top, bottom, step)
    ]
    whole = Image.new(pieces[0].mode, (pieces[0].width, sum(piece.height for piece in pieces)))
    for number, piece in enumerate(pieces):
        whole.paste(piece, (0, number * (step // factor)))
    return whole


def _plain(image: Image.Image) -> Image.Image:
    """The same pixels in a mode that can be averaged: L, RGB, RGBA, CMYK or LAB."""
    if image.mode.startswith("I") or image.mode == "F":
        return _grey(image)
    if image.has_transparency_data:
        return image.convert("RGBA")
    if image.mode in ("L", "RGB", "CMYK", "LAB"):
        return image
    return image.convert("L" if image.mode == "1" else "RGB")


def _grey(image: Image.Image) -> Image.Image:
    """Deep greys to 8 bits: whole numbers are taken as 0–65535, fractions as 0–1."""
    full = 1.0 if image.mode == "F" else 65535.0
    values = np.nan_to_num(np.asarray(image, dtype=np.float32))
    return Image.fromarray((np.clip(values / full, 0, 1) * 255 + 0.5).astype(np.uint8))


def _flatten(image: Image.Image) -> tuple[NDArray[np.uint8], NDArray[np.float32] | None]:
    """Colour of an RGB or RGBA image laid on white, and opacity if any pixel is not solid."""
    if image.mode != "RGBA":
        return np.asarray(image), None
    opacity = np.asarray(image.getchannel("A"), dtype=np.float32) / np.float32(255)
    white = Image.new("RGBA", image.size, "white")
    rgb = np.asarray(Image.alpha_composite(white, image).convert("RGB"))
    return rgb, (None if bool((opacity == 1).all()) else opacity)
