"""Which part of a picture is its subject, found by our own small network.

The network (subject.onnx, its making in tests/training) takes the picture squeezed to a square and
two planes of marks, and answers with a soft mask at half that size and with how sure it is. This
module brings picture and marks into that form, and the answer back to the picture's size with its
edges laid onto the picture's own (He, Sun & Tang, "Guided Image Filtering", PAMI 2013).
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from pic2chart.core.inference import session_of

Pixels = NDArray[np.uint8]
"""[h, w, 3], sRGB."""
Plane = NDArray[np.float32]
"""[h, w], shares from 0 to 1."""

SIDE = 256
"""Pixels of the square that the network sees."""
LEAST_RADIUS = 4.0
"""A mark's least radius in that square: the network learned from discs of 4 pixels and more."""
MODEL = Path(__file__).with_name("subject.onnx")
SHA256 = "70db530402a6659fd34939ceb45b5843a21fb90c12e87a38ba4773ff91a1430e"
"""Of that file. Another one is not asked: most damage would still give some mask."""
CALIBRATION = (-2.4867, 1.3983, 0.9616)
"""Offset and the weights of the two log odds of `_certainty`; by tests/training/calibrate_subject.py
on pictures that the network never learned from."""

_LOCK = threading.Lock()


@dataclass(frozen=True)
class Disc:
    """A disc that a person drew, in the picture's pixels; the pixel (0, 0) is centred at 0, 0."""

    x: float
    y: float
    radius: float


@dataclass(frozen=True)
class Edges:
    """A box that a person drew around the subject, in pixels; right and bottom lie outside it."""

    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class NetworkAnswer:
    """The subject: a soft mask of the picture's size, and how likely it is that it was found."""

    mask: Plane
    certainty: float
    """0 to 1: the probability that the mask overlaps a person's own by more than .7 (intersection over
    union). Low for pictures that have no one subject."""


def find(
    picture: Pixels,
    *,
    keep: Sequence[Disc] = (),
    leave: Sequence[Disc] = (),
    box: Edges | None = None,
    model: Path = MODEL,
) -> NetworkAnswer:
    """The subject of a picture; what is marked belongs to it (keep) or does not (leave, box).

    The mask has the picture's size, float32, 0 to 1; within a mark it is 1 or 0 as marked, and 0
    outside the box. The same picture and marks give the same bytes on any number of threads.

    Raises ValueError if the picture is not uint8 [h, w, 3] with sides of 16 pixels and more, or the
    box is empty or misses the picture; OSError if the network cannot be had.
    """
    if picture.dtype != np.uint8 or picture.ndim != 3 or picture.shape[2] != 3:
        raise ValueError(f"a picture is uint8 [h, w, 3], not {picture.dtype} {picture.shape}")
    height, width = picture.shape[:2]
    if min(height, width) < 16:
        raise ValueError(
            f"a picture of {width} × {height} pixels is too small to find a subject in"
        )
    planes = np.stack([_discs(keep, width, height), _discs(leave, width, height)])
    if box is not None:
        planes[1] = np.maximum(planes[1], _outside(box, width, height))
    with one_thread():
        share, sure = _answer(_squeezed(picture), planes, model)
        mask = _refined(share, picture)
    certainty = _certainty(share, sure)
    mask = with_marks(mask, keep, leave)
    return NetworkAnswer(mask if box is None else _within(mask, box), certainty)


@contextmanager
def one_thread() -> Iterator[None]:
    """Keep OpenCV to one thread: the order of its sums, so the mask's bytes, depends on how many."""
    before = cv2.getNumThreads()
    cv2.setNumThreads(1)
    try:
        yield
    finally:
        cv2.setNumThreads(before)


@lru_cache(maxsize=1)
def _network(model: Path) -> Any:
    """The network's session; OSError if its file is lost or damaged, or it cannot be run here."""
    if not model.is_file():
        raise OSError(f"the subject's network is missing: {model}")
    data = model.read_bytes()
    if hashlib.sha256(data).hexdigest() != SHA256:
        raise OSError(f"the subject's network is damaged: {model}")
    try:
        return session_of(data, keep_memory=True)
    except Exception as error:  # a library that is lost or broken raises anything
        raise OSError("onnxruntime cannot be loaded or cannot run the subject's network") from error


def _squeezed(picture: Pixels) -> Plane:
    """[1, 3, SIDE, SIDE], (value − 127) / 128: the picture squeezed to the network's square."""
    smaller = max(picture.shape[:2]) > SIDE
    how = cv2.INTER_AREA if smaller else cv2.INTER_LINEAR
    square = cv2.resize(picture, (SIDE, SIDE), interpolation=how).astype(np.float32)
    return np.ascontiguousarray(((square - 127) / 128).transpose(2, 0, 1)[None])


def _discs(marks: Sequence[Disc], width: int, height: int) -> Plane:
    """[SIDE, SIDE], 1 within the marks as they lie in the network's square."""
    plane = np.zeros((SIDE, SIDE), np.float32)
    y, x = np.ogrid[0:SIDE, 0:SIDE]
    for mark in marks:
        across, down = SIDE / width, SIDE / height
        radii = [max(LEAST_RADIUS, mark.radius * scale) for scale in (across, down)]
        centre = (mark.x + 0.5) * across - 0.5, (mark.y + 0.5) * down - 0.5
        inside = ((x - centre[0]) / radii[0]) ** 2 + ((y - centre[1]) / radii[1]) ** 2 <= 1
        plane[inside] = 1
    return plane


def _outside(box: Edges, width: int, height: int) -> Plane:
    """[SIDE, SIDE], 1 outside the box."""
    left, right = (round(side * SIDE / width) for side in (box.left, box.right))
    top, bottom = (round(side * SIDE / height) for side in (box.top, box.bottom))
    if right <= max(left, 0) or bottom <= max(top, 0) or left >= SIDE or top >= SIDE:
        raise ValueError(f"the box holds nothing of the picture: {box}")
    plane = np.ones((SIDE, SIDE), np.float32)
    plane[max(top, 0) : bottom, max(left, 0) : right] = 0
    return plane


def _answer(square: Plane, planes: Plane, model: Path) -> tuple[Plane, float]:
    """The network's mask [SIDE / 2, SIDE / 2] and its own sureness, both 0 to 1."""
    with _LOCK:  # loaded once
        network = _network(model)
    given = {"picture": square, "marks": planes[None]}
    share, sure = network.run(["subject", "certainty"], given)
    return share[0, 0], float(sure[0])


def _refined(share: Plane, picture: Pixels) -> Plane:
    """The mask at the picture's size, its edges drawn to the picture's: a guided filter.

    The linear model from colour to mask is fitted at about the mask's own scale and applied at the
    picture's, so that whiskers and ears come back that the mask's grid is too coarse to hold. Only
    where the mask is undecided: a like colour deep in the ground stays ground.
    """
    height, width = picture.shape[:2]
    rough = _resized(share, width, height)
    side = share.shape[0]
    small = cv2.resize(picture, (side, side), interpolation=cv2.INTER_AREA)
    guide: Plane = small.astype(np.float32) / np.float32(255)
    slope, offset = _linear_model(guide, share, radius=2, smooth=2e-3)
    drawn = _resized(offset, width, height)
    # Plane by plane: numpy is slow where three lie together.
    for plane, channel in zip(np.moveaxis(slope / 255, 2, 0), cv2.split(picture), strict=True):
        part = _resized(plane, width, height)
        part *= channel
        drawn += part
    between: Plane = np.asarray(cv2.blur(8 * share * (1 - share), (3, 3)), np.float32)
    undecided = _resized(between, width, height)
    drawn -= rough
    drawn *= np.minimum(undecided, 1, out=undecided)
    drawn += rough
    return np.clip(drawn, 0, 1, out=drawn)


def _resized(plane: Plane, width: int, height: int) -> Plane:
    """A plane [h, w] at another size, linearly between."""
    plane = np.ascontiguousarray(plane)
    return np.asarray(
        cv2.resize(plane, (width, height), interpolation=cv2.INTER_LINEAR), dtype=np.float32
    )


def _linear_model(guide: Plane, share: Plane, radius: int, smooth: float) -> tuple[Plane, Plane]:
    """Slope [h, w, 3] and offset [h, w] that best explain the share by the colour around each place."""
    size = (2 * radius + 1, 2 * radius + 1)
    mean, mean_share = cv2.blur(guide, size), cv2.blur(share, size)
    joint = cv2.blur(guide * share[..., None], size) - mean * mean_share[..., None]
    r, g, b = (guide[..., i] for i in range(3))
    products = cv2.blur(np.dstack([r * r, g * g, b * b]), size)
    crossed = cv2.blur(np.dstack([r * g, r * b, g * b]), size)
    rr, gg, bb = (products[..., i] - mean[..., i] ** 2 + smooth for i in range(3))
    rg = crossed[..., 0] - mean[..., 0] * mean[..., 1]
    rb = crossed[..., 1] - mean[..., 0] * mean[..., 2]
    gb = crossed[..., 2] - mean[..., 1] * mean[..., 2]
    # The inverse of a symmetric 3 × 3 matrix by its cofactors, at every place at once.
    c_rr, c_rg, c_rb = gg * bb - gb * gb, gb * rb - rg * bb, rg * gb - gg * rb
    c_gg, c_gb, c_bb = rr * bb - rb * rb, rg * rb - rr * gb, rr * gg - rg * rg
    determinant = rr * c_rr + rg * c_rg + rb * c_rb
    j_r, j_g, j_b = (joint[..., i] for i in range(3))
    slope = np.dstack(
        [
            c_rr * j_r + c_rg * j_g + c_rb * j_b,
            c_rg * j_r + c_gg * j_g + c_gb * j_b,
            c_rb * j_r + c_gb * j_g + c_bb * j_b,
        ]
    )
    slope /= determinant[..., None]
    offset = mean_share - np.einsum("hwc,hwc->hw", slope, mean)
    both: Plane = np.asarray(cv2.blur(np.dstack([slope, offset]), size), np.float32)
    return both[..., :3], both[..., 3]


def with_marks(mask: Plane, keep: Sequence[Disc], leave: Sequence[Disc]) -> Plane:
    """The mask with what a person marked as marked; where two marks disagree, the mask decides."""
    sides = np.zeros((2, *mask.shape), bool)
    for side, marks in zip(sides, (keep, leave), strict=True):
        for mark in marks:
            top, left = max(0, int(mark.y - mark.radius)), max(0, int(mark.x - mark.radius))
            end = max(0, int(mark.y + mark.radius) + 1), max(0, int(mark.x + mark.radius) + 1)
            part = side[top : end[0], left : end[1]]  # a brush lays many small marks
            y, x = np.ogrid[top : top + part.shape[0], left : left + part.shape[1]]
            part |= (x - mark.x) ** 2 + (y - mark.y) ** 2 <= mark.radius**2
    return np.where(sides[0] ^ sides[1], sides[0].astype(np.float32), mask)


def _within(mask: Plane, box: Edges) -> Plane:
    """The mask, 0 outside the box."""
    left, top = max(0, int(np.floor(box.left))), max(0, int(np.floor(box.top)))
    inside = np.zeros_like(mask)
    inside[top : int(np.ceil(box.bottom)), left : int(np.ceil(box.right))] = 1
    return mask * inside


def evidence(share: Plane, sure: float) -> tuple[float, float]:
    """Two log odds: the network's own sureness, and the overlap that its soft mask itself expects.

    The latter is the expected intersection over union of the mask cut at .5 if every pixel were
    subject with the probability that the network gives it.
    """
    cut = share > 0.5
    within, without = float(share[cut].sum()), float(share[~cut].sum())
    expected = within / max(float(cut.sum()) + without, 1.0)
    return _log_odds(sure), _log_odds(expected)


def _log_odds(probability: float) -> float:
    probability = min(max(probability, 1e-3), 1 - 1e-3)
    return float(np.log(probability / (1 - probability)))


def _certainty(share: Plane, sure: float) -> float:
    """The calibrated probability that the subject was found."""
    own, expected = evidence(share, sure)
    total = CALIBRATION[0] + CALIBRATION[1] * own + CALIBRATION[2] * expected
    return float(1 / (1 + np.exp(-total)))
