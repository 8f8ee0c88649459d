"""Which pixels are the subject: what the picture or the person says, else what the network finds.

A transparent picture says it itself. A mask of one's own is taken as it is. Else a small network
(`subject_network`) looks at the whole picture, with the box and the marks a person gave; without
any of these its answer counts only where it is sure. Where the network cannot be had a box still
works, by GrabCut (Rother, Kolmogorov & Blake, ACM Transactions on Graphics 23(3), 2004, as OpenCV
has it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.messages import Message, message, said
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.picture.focus import Spot

if TYPE_CHECKING:
    from pic2chart.picture.subject_network import Disc, Edges

SURE = 0.8
"""Certainty from which on a subject found without any mark is taken."""
_SOME, _NEARLY_ALL = 0.004, 0.95
"""Shares of the picture between which a found subject has a ground worth clearing."""
_FLAT, _FEWEST = 0.7, 48
"""Share of neighbouring pixels alike from which on a picture is drawn (the flattest of 150 photographs
has .64), and sides below which it is too small for a photograph."""
_SEEN = 480
"""Pixels of the longer side at which a subject is looked for; edges are drawn at that size."""
_SIDE = 200
_TURNS = 5
_SEED = 1
_OVAL, _CORE = 1.0, 0.1
"""Squared size, against the oval that touches the box's sides, of what is perhaps and surely subject.

Without the oval, ground inside the box is taken for subject; tried on six photographs.
"""
_LEAST = 0.03
"""Share of the box that must be found, or nothing was."""
_SAMPLES = 20
"""Fewer pixels than this of either kind are too few to learn colours from."""
_PIECE = 0.15
"""Pieces smaller than this share of the largest are dropped."""
_CRUMB = 0.04
"""The same share for what the network finds: several subjects stay, splinters go."""
_HOLE = 0.03
"""Holes smaller than this share of the subject are filled; the eye of a handle stays open."""

Mask = NDArray[np.float32]
_Bits = NDArray[np.uint8]
How = Literal["found", "marked", "box", "file", "opacity", "unsure", "none"]


@dataclass(frozen=True, slots=True)
class Marks:
    """What a person says of the subject, in pixels of the whole upright picture.

    `which`: 'auto', 'none', a box, or the file of a mask. `keep` and `leave`: spots that belong to
    the subject or do not.
    """

    which: Box | Path | Literal["auto", "none"] = "auto"
    keep: tuple[Spot, ...] = ()
    leave: tuple[Spot, ...] = ()

    @classmethod
    def parse(cls, subject: str, keep: Sequence[str], leave: Sequence[str]) -> Marks:
        """From the words of the options `subject`, `keep` and `leave`. Raises SettingError."""
        spots = [
            tuple(Spot.parse(text, name) for text in texts)
            for name, texts in (("keep", keep), ("leave", leave))
        ]
        if subject in ("auto", "none"):
            which: Box | Path | Literal["auto", "none"] = "auto" if subject == "auto" else "none"
        elif set(subject) <= set("0123456789, "):
            which = Box.parse(subject)
        else:
            which = Path(subject)
        if which == "none" and (keep or leave):
            raise SettingError(message("nothing-to-mark", options=("subject", "keep", "leave")))
        return cls(which, *spots)


@dataclass(frozen=True, slots=True, eq=False)
class Subject:
    """The subject of a whole picture.

    `mask`: float32 [H, W] on the pixels of the whole picture, 0 ground to 1 subject, read-only; None
    where everything is kept. `how` it was found: by itself ('found'), from marks, a box, a file or
    the picture's opacity; 'unsure' where nothing was sure enough, 'none' where none was wanted.
    `certainty`: 0 to 1, of what the network found. `remarks`: what the knitter should know. `belief`:
    what the network by itself takes for the subject, where the mask came from elsewhere; a likeness
    that only looked inside the mask would praise a chart without its head.
    """

    mask: Mask | None
    how: How
    certainty: float | None = None
    remarks: tuple[Message, ...] = ()
    belief: Mask | None = None

    def __post_init__(self) -> None:
        for plane in (self.mask, self.belief):
            if plane is not None:
                plane.setflags(write=False)


def find_subject(picture: Picture, marks: Marks) -> Subject:
    """The subject of a whole upright picture.

    The same picture and marks give the same mask. Raises InputError for a box, a mark or a mask
    that does not fit the picture, and when all of the picture is transparent.
    """
    _check(picture, marks)
    if marks.which == "none":
        return Subject(None, "none")
    if isinstance(marks.which, Path):
        own = _obeying(_mask_of(marks.which, picture), picture, marks)
        return Subject(own, "file", belief=_belief(picture))
    if picture.opacity is not None:
        return _from_opacity(picture, marks)
    if marks == Marks() and _drawn(picture):
        return Subject(None, "none")
    return _from_network(picture, marks)


def _drawn(picture: Picture) -> bool:
    """Whether a picture is a drawing, a pattern or words rather than a photograph: most of its
    neighbouring pixels are alike to the last bit, or there are too few of them to tell.
    """
    import cv2

    pixels = picture.rgb
    if min(pixels.shape[:2]) < _FEWEST:
        return True
    rows, columns = (  # a pixel's channels as one number
        cv2.cvtColor(np.ascontiguousarray(part), cv2.COLOR_RGB2RGBA).view(np.int32)[..., 0]
        for part in (pixels[::4], pixels[:, ::4])
    )
    across = (rows[:, 1:] == rows[:, :-1]).mean()
    down = (columns[1:] == columns[:-1]).mean()
    return bool((across + down) / 2 >= _FLAT)


def _check(picture: Picture, marks: Marks) -> None:
    """Refuse a box or a mark outside the picture."""
    if isinstance(marks.which, Box):
        marks.which.inside(picture.size, picture.name)
    for kept, spots in ((True, marks.keep), (False, marks.leave)):
        for spot in spots:
            if spot.x >= picture.size[0] or spot.y >= picture.size[1]:
                raise InputError(_outside(picture, spot, kept))


def _outside(picture: Picture, spot: Spot, kept: bool) -> Message:
    """A mark that lies outside the picture."""
    place, (width, height) = f"{spot.x},{spot.y},{spot.r}", picture.size
    if kept:
        return message(
            "keep-outside",
            spot=place,
            file=picture.name,
            width=width,
            height=height,
            options=("keep",),
        )
    return message(
        "leave-outside",
        spot=place,
        file=picture.name,
        width=width,
        height=height,
        options=("leave",),
    )


def _from_opacity(picture: Picture, marks: Marks) -> Subject:
    """What of a picture with transparency is solid, inside the box if there is one."""
    assert picture.opacity is not None
    mask = picture.opacity.copy()
    box = marks.which if isinstance(marks.which, Box) else None
    if box is not None:
        mask *= _boxed(picture, box)
    mask = _obeying(mask, picture, marks)
    if not mask.any():
        raise InputError(
            message("picture-transparent", file=picture.name)
            if box is None
            else message("box-transparent", file=picture.name, box=str(box))
        )
    return Subject(mask, "opacity")


def _from_network(picture: Picture, marks: Marks) -> Subject:
    """What the network finds, with the marks; what is left to say where it cannot be asked."""
    from pic2chart.picture import subject_network as network

    box = marks.which if isinstance(marks.which, Box) else None
    by_hand = box is not None or bool(marks.keep or marks.leave)
    small, ratio = _seen(picture)
    try:
        found = network.find(
            small,
            keep=_discs(marks.keep, ratio),
            leave=_discs(marks.leave, ratio),
            box=None if box is None else _edges(box, ratio),
            model=network.MODEL,
        )
    except OSError as error:
        return _without_network(picture, marks, str(error))
    mask = _without_crumbs(found.mask, _discs(marks.keep, ratio))
    cut = mask >= 0.5
    share = float(cut.mean())
    if not by_hand and not (found.certainty >= SURE and _SOME <= share <= _NEARLY_ALL):
        return Subject(
            None,
            "unsure",
            found.certainty,
            (message("no-one-subject", options=("subject", "keep")),),
        )
    if box is not None and not cut.any() and not marks.leave:
        whole = (message("whole-box-is-subject", options=("subject",)),)
        return Subject(_boxed(picture, box), "box", found.certainty, whole)
    if not cut.any():
        return Subject(
            None,
            "unsure",
            found.certainty,
            (message("marks-leave-nothing"),),
        )
    how: How = "box" if box is not None else "marked" if by_hand else "found"
    remarks = () if by_hand else (FOUND,)
    return Subject(_at_size(mask, picture), how, found.certainty, remarks)


FOUND = message("subject-found", options=("subject", "keep", "leave"))


def _without_crumbs(mask: Mask, keep: Sequence[Disc]) -> Mask:
    """The mask without pieces far smaller than the largest, but those that hold a mark stay."""
    areas, labels = _pieces((mask >= 0.5).astype(np.uint8))
    if areas.size < 2:
        return mask
    crumbs = np.append(False, areas < _CRUMB * areas.max())  # number 0 lies outside all pieces
    for disc in keep:
        row, column = round(disc.y), round(disc.x)
        label = int(labels[min(row, len(labels) - 1), min(column, labels.shape[1] - 1)])
        crumbs[label] = False
    return np.where(crumbs[labels], np.float32(0), mask) if crumbs.any() else mask


def _without_network(picture: Picture, marks: Marks, why: str) -> Subject:
    """A box by GrabCut, else everything, with a sentence that says why."""
    sorry = message("no-network", why=said(why))
    if not isinstance(marks.which, Box):
        return Subject(None, "unsure", None, (sorry,))
    inside = _boxed(picture, marks.which)
    cut = _grab_cut(picture, _corners(picture, marks.which))
    return Subject(
        _obeying(inside if cut is None else cut * inside, picture, marks), "box", None, (sorry,)
    )


def _belief(picture: Picture) -> Mask | None:
    """What the network takes for the subject, unasked; None where it cannot tell."""
    from pic2chart.picture import subject_network as network

    try:
        found = network.find(_seen(picture)[0], model=network.MODEL)
    except OSError:
        return None
    return _at_size(found.mask, picture) if found.certainty >= SURE else None


def _seen(picture: Picture) -> tuple[NDArray[np.uint8], float]:
    """The picture at the size a subject is looked for, and its pixels for one of the file's."""
    import cv2

    height, width = picture.rgb.shape[:2]
    ratio = min(1.0, _SEEN / max(height, width))
    if ratio == 1.0:
        return picture.rgb, width / picture.size[0]
    size = (max(16, round(width * ratio)), max(16, round(height * ratio)))
    small = cv2.resize(picture.rgb, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), size[0] / picture.size[0]


def _at_size(mask: Mask, picture: Picture) -> Mask:
    """A mask at the size of the picture's pixels."""
    import cv2

    height, width = picture.rgb.shape[:2]
    if mask.shape == (height, width):
        return mask
    larger = cv2.resize(mask, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.ascontiguousarray(larger, dtype=np.float32)


def _discs(spots: Sequence[Spot], ratio: float) -> list[Disc]:
    from pic2chart.picture.subject_network import Disc

    return [Disc(spot.x * ratio, spot.y * ratio, spot.r * ratio) for spot in spots]


def _edges(box: Box, ratio: float) -> Edges:
    from pic2chart.picture.subject_network import Edges

    sides = (box.x, box.y, box.x + box.w, box.y + box.h)
    return Edges(*(side * ratio for side in sides))


def _mask_of(path: Path, picture: Picture) -> Mask:
    """A person's own mask: white is subject, or what is solid of a transparent picture."""
    import cv2

    own = load_picture(path, across=picture.rgb.shape[1])
    width, height = picture.size
    if abs(own.size[0] * height - own.size[1] * width) > max(height, width) * 2:
        raise InputError(
            message(
                "mask-of-other-shape",
                mask=path.name,
                across=own.size[0],
                up=own.size[1],
                file=picture.name,
                width=width,
                height=height,
            )
        )
    plain = own.rgb.mean(axis=2) / 255 if own.opacity is None else own.opacity
    size = picture.rgb.shape[1], picture.rgb.shape[0]
    mask = cv2.resize(plain.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    if not (mask >= 0.5).any():
        raise InputError(message("mask-empty", mask=path.name))
    return np.ascontiguousarray(mask, dtype=np.float32)


def _obeying(mask: Mask, picture: Picture, marks: Marks) -> Mask:
    """The mask with the spots as they are marked; where two disagree, as it was."""
    if not (marks.keep or marks.leave):
        return mask
    from pic2chart.picture.subject_network import with_marks

    ratio = mask.shape[1] / picture.size[0]
    return with_marks(mask, _discs(marks.keep, ratio), _discs(marks.leave, ratio))


def _boxed(picture: Picture, box: Box) -> Mask:
    """A mask that is 1 inside the box."""
    inside = np.zeros(picture.rgb.shape[:2], dtype=np.float32)
    left, top, right, bottom = _corners(picture, box)
    inside[top:bottom, left:right] = 1
    return inside


def _corners(picture: Picture, box: Box) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the box in the pixels of `rgb`."""
    box.inside(picture.size, picture.name)
    window, (height, width) = picture.window, picture.rgb.shape[:2]
    rx, ry = width / window.w, height / window.h
    left, right = (round((edge - window.x) * rx) for edge in (box.x, box.x + box.w))
    top, bottom = (round((edge - window.y) * ry) for edge in (box.y, box.y + box.h))
    left, top, right, bottom = max(left, 0), max(top, 0), min(right, width), min(bottom, height)
    if left >= right or top >= bottom:
        raise InputError(
            message("subject-box-misses", box=str(box), window=str(window), file=picture.name)
        )
    return left, top, right, bottom


def _grab_cut(picture: Picture, corners: tuple[int, int, int, int]) -> Mask | None:
    """The cleaned cut at full size, or None when GrabCut finds nothing or has no background."""
    import cv2

    height, width = picture.rgb.shape[:2]
    ratio = min(1.0, _SIDE / max(height, width))
    size = (max(1, round(width * ratio)), max(1, round(height * ratio)))
    small = cv2.resize(picture.rgb[..., ::-1], size, interpolation=cv2.INTER_AREA)
    marks = _marks(corners, ratio, size)
    subject = int((marks & 1).sum())  # odd marks are subject, even ones background
    if min(subject, marks.size - subject) < _SAMPLES:
        return None
    cv2.setRNGSeed(_SEED)
    models = np.zeros((1, 65)), np.zeros((1, 65))  # OpenCV's working space for the two colours
    cv2.grabCut(small, marks, (0, 0, 0, 0), *models, _TURNS, cv2.GC_INIT_WITH_MASK)
    cut = _clean((marks & 1).astype(np.uint8))
    if cut.sum() < _LEAST * size[0] * size[1] * _share(corners, width, height):
        return None
    soft = cv2.resize(cut.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(soft, dtype=np.float32)


def _marks(corners: tuple[int, int, int, int], ratio: float, size: tuple[int, int]) -> _Bits:
    """GrabCut's starting marks: background outside the box, perhaps subject in its oval."""
    import cv2

    left, top, right, bottom = (round(edge * ratio) for edge in corners)
    marks = np.full(size[::-1], cv2.GC_BGD, dtype=np.uint8)
    marks[top : max(bottom, top + 1), left : max(right, left + 1)] = cv2.GC_PR_BGD
    y, x = np.ogrid[: size[1], : size[0]]
    across = (2 * x - left - right + 1) / max(right - left, 1)
    up = (2 * y - top - bottom + 1) / max(bottom - top, 1)
    away = across**2 + up**2
    marks[(away <= _OVAL) & (marks == cv2.GC_PR_BGD)] = cv2.GC_PR_FGD
    marks[away <= _CORE] = cv2.GC_FGD
    return marks


def _share(corners: tuple[int, int, int, int], width: int, height: int) -> float:
    return (corners[2] - corners[0]) * (corners[3] - corners[1]) / (width * height)


def _clean(cut: _Bits) -> _Bits:
    """Keep the large pieces, smooth their edge, fill the small holes."""
    import cv2

    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (3, 3))
    smooth = np.asarray(cv2.morphologyEx(cut, cv2.MORPH_OPEN, kernel), dtype=np.uint8)
    areas, labels = _pieces(smooth)
    if areas.size == 0:
        return smooth
    kept = np.isin(labels, 1 + np.flatnonzero(areas >= _PIECE * areas.max()))
    gaps, holes = _pieces((~kept).astype(np.uint8))
    small = 1 + np.flatnonzero(gaps < _HOLE * kept.sum())
    return (kept | np.isin(holes, small)).astype(np.uint8)


def _pieces(bits: _Bits) -> tuple[NDArray[np.int64], NDArray[np.int32]]:
    """Area of each connected piece, and the label (from 1) of each pixel."""
    import cv2

    _, labels, stats, _ = cv2.connectedComponentsWithStats(bits, connectivity=4)
    areas = np.asarray(stats[1:, cv2.CC_STAT_AREA], dtype=np.int64)
    return areas, np.asarray(labels, dtype=np.int32)
