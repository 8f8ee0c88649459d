"""What is knitted behind the subject: one yarn, or a filler in two."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.canvas import FREE
from pic2chart.errors import SettingError
from pic2chart.filler import MAX_FLOAT, fill
from pic2chart.yarn import Yarn


def background(
    subject: NDArray[np.float32],
    lightness: NDArray[np.float64],
    yarns: tuple[Yarn, ...],
    yarn_lightness: NDArray[np.float64],
    name: str | None,
    filler: str | None,
) -> NDArray[np.uint8]:
    """Yarn wanted at each background stitch, FREE on the subject; uint8 [R, N].

    `subject` float32 [R, N] is the subject's share of each stitch, `lightness` [R, N] the target's
    L*. The ground is the yarn called `name`, or else the one that stands out most from the
    subject's edge. A filler's motif takes the yarn farthest from the ground in lightness.
    """
    behind = subject < 0.5
    ground = _ground(subject, lightness, yarn_lightness) if name is None else named(yarns, name)
    wanted = np.full(subject.shape, FREE, np.uint8)
    wanted[behind] = ground
    if filler is not None:
        motif = int(np.abs(yarn_lightness - yarn_lightness[ground]).argmax())
        tile = _stippled(fill(filler, *subject.shape), behind)
        wanted[behind & (tile == 1)] = motif
    return wanted


def _stippled(tile: NDArray[np.uint8], behind: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """The filler 0/1 [R, N] with single stitches of its motif in its plain rounds beside the subject.

    A plain round has no float by itself, but beside a subject in two yarns it would have one all round
    the back. The stitches lie in staggered rows, close enough for any fit of a float limit of 4.
    """
    rounds, stitches = np.indices(tile.shape)
    plain = (tile == tile[:, :1]).all(axis=1) & behind.any(axis=1) & ~behind.all(axis=1)
    spots = (stitches + 2 * rounds) % (MAX_FLOAT + 1) == 0
    return np.where(plain[:, None] & spots, 1 - tile, tile).astype(np.uint8)


def _ground(
    subject: NDArray[np.float32],
    lightness: NDArray[np.float64],
    yarn_lightness: NDArray[np.float64],
) -> int:
    """The yarn (index) that stands out most from L* [R, N] along the inside of the subject's edge."""
    inside = subject >= 0.5
    edge = inside & ~_shrunk(inside)
    if not edge.any():
        return int(yarn_lightness.argmax())
    return int(np.abs(yarn_lightness - np.median(lightness[edge])).argmax())


def _shrunk(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The subject without its outermost two stitches."""
    for _ in range(2):
        around = np.pad(inside, 1, mode="edge")
        inside = (
            inside & around[:-2, 1:-1] & around[2:, 1:-1] & around[1:-1, :-2] & around[1:-1, 2:]
        )
    return inside


def named(yarns: tuple[Yarn, ...], name: str) -> int:
    """The yarn (index) that --background names. Raises SettingError when there is none."""
    for index, yarn in enumerate(yarns):
        if yarn.name.casefold() == name.strip().casefold():
            return index
    raise SettingError(
        f"--background names the yarn '{name}'; the yarns are {', '.join(y.name for y in yarns)}."
    )
