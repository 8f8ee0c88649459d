"""Looks: a few ways of drawing the same picture, as data.

A look changes what each stitch should have and what a change of yarn costs; the rules, the yarns and
the solver stay the same, so the looks of one picture can be put side by side and scored alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from pic2chart.checks.likeness import blur

_HATCH = np.array([0, 2, 1, 3])
"""Order in which the slanting lines of a hatched shade turn dark, by (round + stitch) modulo 4: every
shade has floats of three stitches or fewer, and its stitches always touch others of their yarn."""
_FAR = 3
"""Stitches to either side, and rounds, that are looked at for a calm drawing."""
_HALF = [(up, across) for up in range(_FAR + 1) for across in range(-_FAR, _FAR + 1)][_FAR + 1 :]
"""Those above a stitch, and in its round those after it."""
_PART = 1 << 15
"""Places that are calmed at a time, few enough for the processor's cache."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Look:
    """How a picture is drawn.

    `even`: how much of the broad differences in lightness is taken out, 0 to 1, over `around` stitch
    widths, so that light and dark parts both show their drawing. `lines`: how much darker a dark line
    or edge becomes, as a share of what it stands out by. `hatch`: how far slanting lines shade the
    tones between two yarns, as a share of the step between them. `calm`: the least difference in L*
    that counts as drawing; less is smoothed away. `change`: price of a change of yarn against the
    usual one.
    """

    name: str
    description: str
    even: float = 0.0
    around: float = 8.0
    lines: float = 0.0
    hatch: float = 0.0
    calm: float = 0.0
    change: float = 1.0


_ALL = (
    Look("clear", "light and dark as the picture has them", even=0.5),
    Look("calm", "flat areas, small marks left out", even=0.5, calm=10.0, change=3.0),
    Look("inked", "a drawing: dark lines and edges on light", even=0.85, around=4.0, lines=1.5),
    Look("hatched", "slanting lines shade the tones between", even=0.3, hatch=0.8),
)

LOOKS: Mapping[str, Look] = MappingProxyType({look.name: look for look in _ALL})
"""Every look by name, in the order they are shown."""


AUTO = "auto"
"""Stands for the look that shows a picture best."""
PLAIN = "clear"
"""The look to work with where that is not known."""


def look_named(name: str) -> Look:
    """The look of that name; AUTO is the plain one."""
    return LOOKS[PLAIN if name == AUTO else name]


def drawn(
    lightness: Floats, look: Look, aspect: float, inside: NDArray[np.bool_] | None = None
) -> Floats:
    """L* [R, N] with the look's lines and calm; `aspect` is the height of a stitch over its width.

    `inside` bool [R, N], the subject: what lies around it then has no say in how it is drawn.
    """
    out = _calmed(lightness, look.calm, aspect) if look.calm else lightness
    if look.lines:
        finer = _blurred(out, 0.6, aspect, inside)
        wider = _blurred(out, 1.6, aspect, inside)
        out = out + look.lines * np.minimum(finer - wider, 0.0)
    return np.asarray(np.clip(out, 0.0, 100.0))


def broad_tones(
    lightness: Floats, look: Look, aspect: float, inside: NDArray[np.bool_] | None = None
) -> Floats:
    """The broad differences of the picture's L* [R, N] that the look takes out; `inside` as for `drawn`."""
    return _blurred(lightness, look.around, aspect, inside)


def evened(
    lines: Floats, broad: Floats, look: Look, inside: NDArray[np.bool_] | None = None
) -> Floats:
    """The drawn L* [R, N] with the look's share of what `broad_tones` gives taken out.

    `inside` as for `drawn`.
    """
    middle = broad.mean() if inside is None else broad[inside].mean()
    return np.asarray(np.clip(lines - look.even * (broad - middle), 0.0, 100.0))


def _blurred(
    values: Floats, sigma: float, aspect: float, inside: NDArray[np.bool_] | None
) -> Floats:
    """Blurred round on the fabric, [R, N]; of a subject only by what lies inside it."""
    if inside is None:
        return blur(values, sigma / aspect, sigma)
    share = inside.astype(np.float64)
    weight = blur(share, sigma / aspect, sigma)
    mean = blur(values * share, sigma / aspect, sigma) / np.maximum(weight, 1e-9)
    return np.where(inside, mean, values)


def hatched(lightness: Floats, look: Look, steps: Floats) -> Floats:
    """Values [R, N] fitted to the yarns' levels `steps` (sorted), shaded where they lie between two."""
    if not look.hatch or steps.size < 2:
        return lightness
    rounds, stitches = np.indices(lightness.shape)
    order = (_HATCH[(rounds + stitches) % 4] + 0.5) / 4 - 0.5
    low = np.clip(np.searchsorted(steps, lightness, side="right") - 1, 0, steps.size - 2)
    step = steps[low + 1] - steps[low]
    between = np.clip((lightness - steps[low]) / step, 0, 1)
    shade = np.where((between > 0.2) & (between < 0.8), look.hatch * step * order, 0.0)
    return np.asarray(lightness + shade)


def _calmed(lightness: Floats, least: float, aspect: float) -> Floats:
    """Differences under `least` smoothed away, edges kept: a bilateral filter over two stitches."""
    out = np.empty_like(lightness)
    padded = np.pad(lightness.astype(np.float32), _FAR, mode="symmetric")
    rounds = max(1, _PART // padded.shape[1])
    for first in range(0, len(out), rounds):
        part = out[first : first + rounds]
        part[:] = _calmed_part(padded[first : first + len(part) + 2 * _FAR], least, aspect)
    return out


def _calmed_part(padded: NDArray[np.float32], least: float, aspect: float) -> NDArray[np.float32]:
    """The same for [R + 6, N + 6] without its margin, [R, N]; of two stitches each has the same say in
    the other, so their share is worked out once.
    """
    scaled = padded / np.float32(least * 2**0.5)
    total, weight = padded.copy(), np.ones_like(padded)
    room = np.empty((2, padded.size), np.float32)
    rounds, stitches = padded.shape
    for up, across in _HALF:
        left, right = max(-across, 0), stitches - max(across, 0)
        here = np.s_[: rounds - up, left:right]
        there = np.s_[up:, left + across : right + across]
        share, part = (line[: (rounds - up) * (right - left)] for line in room)
        share, part = (line.reshape(rounds - up, right - left) for line in (share, part))
        np.subtract(scaled[there], scaled[here], out=share)
        np.square(share, out=share)
        near = np.float32(-((up * aspect) ** 2 + across**2) / (2 * 2.0**2))
        np.subtract(near, share, out=share)
        np.exp(share, out=share)
        for own, other in ((here, there), (there, here)):
            total[own] += np.multiply(share, padded[other], out=part)
            weight[own] += share
    inner = np.s_[_FAR:-_FAR, _FAR:-_FAR]
    return np.asarray(total[inner] / weight[inner])
