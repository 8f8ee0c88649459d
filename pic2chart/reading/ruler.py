"""A millimetre ruler or tape measure in a photo: its ticks, and where each of them lies.

Ticks stand every millimetre, longer ones every 5 and the longest every 10, all from one straight
line (common practice). Nothing else is taken for a ruler: a comb whose longer ticks keep another
order, or whose ticks do not end, may have any period.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.combs import combs
from pic2chart.reading.lattice import projected
from pic2chart.reading.perspective import Floats

_TRIED = 12
_FINE = 8
"""Samples a millimetre."""
_REACH_MM, _NARROW_MM = 14.0, 1.0
"""How far the ruler is seen to either side of the middle of its short ticks; and while it is followed."""
_WINDOW, _EVERY = 8, 4
"""Ticks that are followed together, and how far such groups lie apart."""
_SEEN = 0.35
"""Share of the usual strength of ticks from which they are seen."""
_SHORT_MM, _LEAST_MM = (1.2, 6.5), 50
"""How long ticks of a millimetre are, and how much of a ruler must be seen."""
_LONGER_MM, _RIGHT = 0.35, 0.85
"""By how much ticks of 5 and of 10 must be longer, and what share of them must keep the order."""
_NUMBERS_MM = 6.0
"""How far longer ticks and numbers reach beyond the short ticks."""
_MOST_OFF = 0.08
"""How far ticks may lie off where a camera would see them, mm (standard deviation)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ruler:
    """`to_photo`: homography 3×3 from (mm along, mm across) to photo pixels, the second only roughly in
    mm, (0, 0) being the middle of a centimetre's tick, as far as short ticks reach, near the middle;
    `ends`: float [2] mm along, where ticks begin and end; `long`: of the short ticks, mm; `off`: how far
    groups of ticks lie off that, mm (standard deviation)."""

    to_photo: Floats
    ends: Floats
    long: float
    off: float

    @property
    def places(self) -> Floats:
        """Places [3, 9, 2] on its ticks, mm: rows at one end of the short ones, in the middle, at the
        other end."""
        rows = np.array([-0.5, 0.0, 0.5]) * self.long
        return np.stack(np.meshgrid(np.linspace(self.ends[0], self.ends[1], 9), rows), axis=-1)

    @property
    def seen(self) -> Floats:
        """Those places in photo pixels, [3, 9, 2]."""
        places = self.places
        return projected(self.to_photo, places.reshape(-1, 2)).reshape(places.shape)

    @property
    def outline(self) -> Floats:
        """Corners [4, 2] of where its ticks and numbers are, photo pixels."""
        up = self.long / 2 + _NUMBERS_MM
        left, right = self.ends
        return projected(
            self.to_photo, np.array([[left, -up], [right, -up], [right, up], [left, up]])
        )


def find_ruler(gray: NDArray[np.uint8]) -> Ruler | None:
    """The clearest millimetre ruler in a grey photo [rows, columns]; None where none is sure."""
    import cv2

    found = combs(gray, 1.0)
    if min(gray.shape) > 1:
        half = cv2.resize(gray, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        found += combs(np.asarray(half, dtype=np.uint8), 0.5)
    for _, start in sorted(found, key=lambda comb: -comb[0])[:_TRIED]:
        followed = _followed(gray, start)
        ruler = None if followed is None else _checked(gray, followed)
        if ruler is not None:
            return ruler
    return None


# Following the ticks: the phase of their wave in a view in which they stand a millimetre apart.


@dataclass(frozen=True, slots=True, eq=False)
class _Followed:
    to_photo: Floats
    ends: Floats
    off: float


def _view(
    gray: NDArray[np.uint8], to_photo: Floats, ends: tuple[int, int], reach: float
) -> NDArray[np.float32]:
    """The ruler from above [rows, columns], _FINE a millimetre, its first column at ends[0]."""
    import cv2

    size = ((ends[1] - ends[0]) * _FINE, round(2 * reach * _FINE) + 1)
    frame = to_photo @ np.array([[1 / _FINE, 0, ends[0]], [0, 1 / _FINE, -reach], [0, 0, 1]])
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    seen = cv2.warpPerspective(gray, frame, size, flags=flags, borderMode=cv2.BORDER_REPLICATE)
    return seen.astype(np.float32)


def _in_photo(shape: tuple[int, ...], to_photo: Floats) -> tuple[int, int]:
    """The whole ticks that lie in the photo."""
    ticks = np.arange(-700, 701)
    row = np.column_stack([ticks, 0 * ticks, 0 * ticks + 1]) @ to_photo.T
    ahead = row[:, 2] > 0.2 * to_photo[2, 2]
    places = row[:, :2] / np.where(ahead, row[:, 2], 1)[:, None]
    inside = ahead & (places > 0).all(axis=1) & (places < [shape[1] - 1, shape[0] - 1]).all(axis=1)
    kept = ticks[inside]
    return (int(kept[0]), int(kept[-1])) if len(kept) else (0, 0)


def _followed(gray: NDArray[np.uint8], to_photo: Floats) -> _Followed | None:
    for _ in range(4):
        ends = _in_photo(gray.shape, to_photo)
        if ends[1] - ends[0] < _LEAST_MM:
            return None
        view = _view(gray, to_photo, ends, _NARROW_MM)
        strength = _waves(view)
        at = np.asarray(ends[0] + _WINDOW / 2 + _EVERY * np.arange(strength.shape[1]), np.float64)
        across = np.arange(len(view)) / _FINE - _NARROW_MM
        power = (np.abs(strength) ** 2).mean(axis=0)
        seen = power > (_SEEN * np.sqrt(np.percentile(power, 80))) ** 2
        first, last = _longest(seen)
        if (last - first) * _EVERY < _LEAST_MM:
            return None
        change, off = _phases(strength[:, first:last], at[first:last], across)
        to_photo = _moved(to_photo, change, at[[first, last - 1]])
    reach = np.array([at[first] - _WINDOW / 2, at[last - 1] + _WINDOW / 2])
    return _Followed(to_photo, reach, off) if off < _MOST_OFF else None


def _waves(view: NDArray[np.float32]) -> NDArray[np.complex64]:
    """The wave of one millimetre in every row, over windows of ticks [rows, windows]."""
    columns = np.arange(view.shape[1]) / _FINE
    turned = (view - view.mean(axis=1, keepdims=True)) * np.exp(-2j * np.pi * columns)
    window = np.hanning(_WINDOW * _FINE + 1)[:-1]
    parts = np.lib.stride_tricks.sliding_window_view(turned, len(window), axis=1)
    return np.asarray(parts[:, :: _EVERY * _FINE] @ window, dtype=np.complex64)


def _longest(seen: NDArray[np.bool_]) -> tuple[int, int]:
    """The longest run, a gap of one bridged: its first and the one after its last."""
    bridged = seen.copy()
    bridged[1:-1] |= seen[:-2] & seen[2:]
    steps = np.flatnonzero(np.diff(np.concatenate([[0], bridged.astype(int), [0]])))
    runs = steps.reshape(-1, 2)
    return tuple(runs[int(np.argmax(runs[:, 1] - runs[:, 0]))]) if len(runs) else (0, 0)


def _phases(waves: NDArray[np.complex64], at: Floats, across: Floats) -> tuple[Floats, float]:
    """How far ticks lie on from where they are looked for, mm: its share that is even, grows along,
    along twice, across, and along and across; and what is left (standard deviation)."""
    along = at - at.mean()
    steps = np.angle((waves[:, 1:] * waves[:, :-1].conj()).sum(axis=0))
    rises = np.angle((waves[1:] * waves[:-1].conj()).sum(axis=0)) / (across[1] - across[0])
    strength = np.abs(waves).mean(axis=0)
    guess = np.concatenate([[0], np.cumsum(steps)])
    guess = guess + across[:, None] * np.poly1d(np.polyfit(along, rises, 1, w=strength))(along)
    guess = guess + np.angle((waves * np.exp(-1j * guess)).sum())
    left = np.angle(waves * np.exp(-1j * guess))
    x, y = np.broadcast_arrays(along, across[:, None])
    terms = np.stack([x**0, x, x**2, y, x * y], axis=-1)
    weight = np.abs(waves)[..., None]
    change = np.linalg.lstsq(
        (terms * weight).reshape(-1, 5), ((guess + left)[..., None] * weight).ravel(), rcond=None
    )[0]
    rest = np.average(guess + left - terms @ change, axis=0, weights=np.abs(waves))
    return change / (2 * np.pi), float(rest.std() / (2 * np.pi))


def _moved(to_photo: Floats, change: Floats, ends: Floats) -> Floats:
    """The homography with ticks where they were found; across it changes as a camera's must."""
    import cv2

    even, slope, curvature, lean, turn = change
    middle = ends.mean()
    u, v = (
        part.ravel() for part in np.meshgrid(np.linspace(ends[0], ends[1], 7), [-3.0, 0.0, 3.0])
    )
    away = u - middle
    on = u + even + slope * away + curvature * away**2 + (lean + turn * away) * v
    up = v * (1 + slope + curvature * away) + turn * v**2
    found, _ = cv2.findHomography(
        np.column_stack([on, up]), projected(to_photo, np.column_stack([u, v])), 0
    )
    return np.asarray(found, dtype=np.float64)


# Which ticks are longer: the order of 1, 5 and 10 is what tells a millimetre.


def _checked(gray: NDArray[np.uint8], followed: _Followed) -> Ruler | None:
    ends = (int(np.ceil(followed.ends[0])), int(followed.ends[1]))
    for half in (0.0, 0.5):
        shift = np.array([[1, 0, half], [0, 1, 0], [0, 0, 1]])
        to_photo = followed.to_photo @ shift
        view = _view(gray, to_photo, ends, _REACH_MM)
        for depth in (_depth(view), -_depth(view)):
            across = _short_ticks(depth)
            tens = None if across is None else _tens(depth, across)
            if across is None or tens is None:
                continue
            middle = 10 * round(((ends[1] - ends[0]) / 2 - tens) / 10) + tens + ends[0]
            row = (across[0] + across[1] - 1) / 2 / _FINE - _REACH_MM
            based = to_photo @ np.array([[1, 0, middle], [0, 1, row], [0, 0, 1]])
            long = (across[1] - across[0]) / _FINE
            return Ruler(based, np.array(ends, float) - middle, long, followed.off)
    return None


def _depth(view: NDArray[np.float32]) -> Floats:
    """How much darker each tick is than the gaps beside it [rows, ticks]."""
    import cv2

    soft = cv2.blur(view, (3, 3))
    gaps = soft[:, _FINE // 2 :: _FINE]
    ticks = soft[:, _FINE : _FINE * gaps.shape[1] : _FINE]
    return np.asarray((gaps[:, :-1] + gaps[:, 1:]) / 2 - ticks, dtype=np.float64)


def _short_ticks(depth: Floats) -> tuple[int, int] | None:
    """The rows in which ticks of a millimetre are seen, where they begin and end in the view."""
    usual = np.median(depth, axis=1)
    middle = round(_REACH_MM * _FINE)
    near = slice(middle - 2 * _FINE, middle + 2 * _FINE)
    most = float(np.percentile(usual[near], 80))
    if most < 1.5:
        return None
    low, high = _longest(usual > 0.5 * most)
    if not _SHORT_MM[0] < (high - low) / _FINE < _SHORT_MM[1]:
        return None
    beside = [usual[max(0, low - _FINE) : max(0, low - 2)], usual[high + 2 : high + _FINE]]
    if any(len(part) < 3 or np.median(part) > 0.3 * most for part in beside):
        return None
    return low, high


def _tens(depth: Floats, across: tuple[int, int]) -> int | None:
    """The first column of the view with a centimetre's tick, mm: every fifth is longer than the short
    ones, to one side, and every tenth longer yet. None where they are not."""
    low, high = across
    level = np.median(depth[low:high], axis=0)
    level = np.clip(level, 0.6 * np.median(level), 1.4 * np.median(level))
    for beyond in (depth[high:], depth[:low][::-1]):
        on = beyond[: 6 * _FINE] > 0.5 * level
        longer = np.cumprod(on, axis=0).sum(axis=0) / _FINE
        tens = _tens_of(longer)
        if tens is not None:
            return tens + 1
    return None


def _tens_of(longer: Floats) -> int | None:
    """The first tick of 10 by lengths [ticks], mm beyond the short ones; None where they are not those
    of 1, 5 and 10 in turn."""
    turn = np.arange(len(longer)) % 10
    usual = np.array([np.median(longer[turn == k]) for k in range(10)])
    tens = int(np.argmax(usual + 0.5 * np.roll(usual, -5)))
    ten, five = usual[tens], usual[(tens + 5) % 10]
    others = np.delete(usual, [tens, (tens + 5) % 10])
    if five - others.max() < _LONGER_MM or ten - five < _LONGER_MM:
        return None
    fifth = (turn - tens) % 5 == 0
    right = (longer > (five + others.max()) / 2) == fifth
    tenth = longer > (five + ten) / 2
    order = tenth[fifth] == (turn[fifth] == tens)
    return tens if min(right.mean(), right[fifth].mean(), order.mean()) > _RIGHT else None
