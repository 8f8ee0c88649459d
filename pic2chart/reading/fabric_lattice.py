"""Where every stitch lies in a photo of stranded fabric, from the phases of its columns and rounds.

The waves are found and followed as they are for a gauge (`fabric.py`, `follow.py`), over all of the
cloth. A stiff surface follows the phase of each, and what is left of it is added where it is firm, so
that stitches that stray are met. Places (u, v) count stitches across and rounds down the view; the
middle between the two legs of a V lies at whole numbers of u, and v is known but for a constant.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.fabric import (
    Chosen,
    Unclear,
    candidates,
    choose,
    is_stocking_stitch,
    judged_wave,
)
from pic2chart.reading.follow import HALVED, Followed, follow
from pic2chart.reading.lattice import fit_phase, surface_terms
from pic2chart.reading.perspective import Floats
from pic2chart.reading.stitch_view import STITCH, Judged, StitchView, upright
from pic2chart.reading.waves import (
    PER_MM,
    SLOW,
    Floats32,
    Waves,
    blurred,
    largest,
    strength_of,
)

_SIZES = (1.0, 0.5, 2.0, 3.0)
"""Reductions of the photo at which stitches are looked for: of 9 to 57 pixels, then of others."""
_MOST_SIDE = 2600
_NEAR = 0.25
"""Waves that differ by less than this share are of one cloth, which may fan out."""
SIDE = 200
"""Stitches along the side of the view, at the most."""
_STRONG, _THIN, _LARGE, _BETWEEN = 0.35, 2.0, 0.03, 10.0
"""Share of the strongest lean that cloth has; parts that are thinner, in stitches, or smaller, as a share
of the largest, are none; what lies between parts no farther apart than so many stitches is cloth too."""
_SOFT_REST = 1.0
_V = -0.25
"""Where the middle of a V lies against the wave of the yarn's lean, in stitches."""
_ROUNDS = 5


@dataclass(frozen=True, slots=True, eq=False)
class StitchLattice:
    """`count`: u and v at every pixel of the maps, float32 [rows, columns, 2]; `to_photo`: affine
    [2, 3] from the maps' pixels to the photo's; `firm`: where stitches are surely followed;
    `stocking_stitch`: whether there are clearly long upright legs."""

    count: Floats32
    to_photo: Floats
    firm: NDArray[np.bool_]
    stocking_stitch: bool

    def places(self, uv: Floats) -> Floats:
        """Photo pixels [..., 2] of places (u, v) [..., 2]."""
        at = self.in_map(uv)
        return np.asarray(at @ self.to_photo[:, :2].T + self.to_photo[:, 2])

    def in_map(self, uv: Floats) -> Floats:
        """Pixels of the maps [..., 2] of places (u, v) [..., 2], by Newton's steps."""
        flat = uv.reshape(-1, 2)
        back, origin = self._linear()
        at = (flat - origin) @ back.T
        for _ in range(_ROUNDS):
            found = np.empty_like(flat)
            inside = np.clip(at, 0, np.array(self.count.shape[1::-1]) - 1.0)
            x, y = (np.ascontiguousarray(inside[:, k][None], dtype=np.float32) for k in (0, 1))
            for axis in (0, 1):
                part = np.ascontiguousarray(self.count[..., axis])
                found[:, axis] = _looked_up(part, x, y)
            # Beyond the map the lattice goes on straight.
            found += (at - inside) @ np.linalg.inv(back).T
            at = at + (flat - found) @ back.T
        return np.asarray(at.reshape(uv.shape))

    def _linear(self) -> tuple[Floats, Floats]:
        """The plane that fits the counts: its inverse [2, 2], and (u, v) at the origin."""
        y, x = np.nonzero(self.firm)
        terms = np.column_stack([x, y, np.ones(len(x))])
        plane = np.linalg.lstsq(terms, self.count[y, x].astype(np.float64), rcond=None)[0]
        return np.asarray(np.linalg.inv(plane[:2].T)), np.asarray(plane[2])


def _looked_up(part: Floats32, x: Floats32, y: Floats32) -> Floats:
    """Values of a map at any number of places, which cv2 takes by rows of no more than 32,767."""
    import cv2

    step = 30000
    found = [
        cv2.remap(part, x[:, k : k + step], y[:, k : k + step], cv2.INTER_LINEAR)
        for k in range(0, x.shape[1], step)
    ]
    return np.asarray(np.concatenate(found, axis=1)[0], dtype=np.float64)


def find_stitches(gray: NDArray[np.uint8]) -> StitchLattice | Unclear:
    """The lattice of the stitches in a photo, or why there is none that is clear."""
    import cv2

    why: Unclear = "no-fabric"
    for size in _SIZES:
        if not 200 < max(gray.shape) * size < _MOST_SIDE:
            continue
        how = cv2.INTER_AREA if size < 1 else cv2.INTER_CUBIC
        small = gray if size == 1 else cv2.resize(gray, None, fx=size, fy=size, interpolation=how)
        found = _whole(np.asarray(small, dtype=np.uint8))
        if isinstance(found, Judged):
            followed = follow(found)
            return _lattice(followed, size, is_stocking_stitch(found, followed))
        why = found if why == "no-fabric" else why
    return why


def _whole(gray: NDArray[np.uint8]) -> Judged | Unclear:
    """The wave that is the stitches', in a view of all the cloth."""
    seen = np.ones(gray.shape, dtype=bool)
    waves = candidates(gray, seen)
    tried = [(judged_wave(gray, seen, lean, wave), lean) for lean, wave in waves]
    leans = {id(one.view): lean for one, lean in tried if one is not None}
    found = [one for one, _ in tried if one is not None]
    chosen = choose(found, near=_NEAR, any_stitch=True)
    if not isinstance(chosen, Chosen):
        return "small-swatch" if waves and not leans else chosen
    best = chosen.judged
    view = _view(gray, leans[id(best.view)], best.view.across)
    return best if view is None else replace(best, view=view)


def _view(gray: NDArray[np.uint8], lean: Waves, across: Floats) -> StitchView | None:
    """All cloth turned upright: every large part that has the stitches' wave, and what lies between."""
    import cv2

    turned = lean * np.exp(-2j * np.arctan2(across[1], across[0])).astype(np.complex64)
    strength, _ = strength_of(turned, across, np.ones(gray.shape, dtype=bool))
    stitch = PER_MM / SLOW / float(np.hypot(*across))
    strong = (strength > _STRONG * float(np.percentile(strength, 95))).astype(np.uint8)
    tidy = cv2.morphologyEx(strong, cv2.MORPH_OPEN, _square(_THIN * stitch))
    _, parts, stats, _ = cv2.connectedComponentsWithStats(tidy)
    areas = stats[1:, cv2.CC_STAT_AREA]
    kept = np.isin(parts, 1 + np.flatnonzero(areas > _LARGE * areas.max(initial=1)))
    closed = cv2.morphologyEx(kept.astype(np.uint8), cv2.MORPH_CLOSE, _square(_BETWEEN * stitch))
    cloth = largest(np.asarray(closed > 0), 1)
    size = (gray.shape[1], gray.shape[0])
    whole = cv2.resize(cloth.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    rows, columns = np.nonzero(cloth)
    if not rows.size:
        return None
    ends = np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]])
    return upright(gray, np.asarray(whole), across, ends.mean(axis=0) * SLOW, SIDE)


def _square(side: float) -> NDArray[np.uint8]:
    return np.ones((max(3, int(side) | 1),) * 2, np.uint8)


def _lattice(found: Followed, size: float, stocking_stitch: bool) -> StitchLattice:
    """The counts over the maps of phase; `size`: what the photo was reduced by."""
    counts = [
        _count(part, wave, found.firm)
        for part, wave in ((found.columns, found.across), (found.rounds, found.up))
    ]
    counts[0] = counts[0] - _V
    place = np.vstack([found.view.place, [0, 0, 1]])
    halved = np.array([[HALVED, 0, (HALVED - 1) / 2], [0, HALVED, (HALVED - 1) / 2], [0, 0, 1]])
    grown = np.array([[1 / size, 0, 0.5 / size - 0.5], [0, 1 / size, 0.5 / size - 0.5], [0, 0, 1]])
    to_photo = np.asarray((grown @ place @ halved)[:2])
    return StitchLattice(
        np.stack(counts, axis=-1).astype(np.float32), to_photo, found.firm, stocking_stitch
    )


def _count(part: Waves, wave: Floats, firm: NDArray[np.bool_]) -> Floats:
    """Turns of a wave's whole phase at every pixel of its map."""
    rows, columns = part.shape
    pixels = np.stack(np.meshgrid(np.arange(columns), np.arange(rows)), axis=-1)
    places = (pixels * HALVED + (HALVED - 1) / 2) / STITCH
    kept = np.where(firm, part, 0).astype(np.complex128)
    span = (0.0, 0.0, float(places[..., 0].max()), float(places[..., 1].max()))
    thin = (slice(None, None, 4), slice(None, None, 4))
    surface = surface_terms(places, span) @ fit_phase(places[thin], kept[thin], span)
    # Beyond the firm part what there is of the wave still tells its phase; it counts by its strength.
    rest = (part * np.exp(-2j * np.pi * surface)).astype(np.complex64)
    rest = blurred(np.asarray(rest), _SOFT_REST * STITCH / HALVED)
    return np.asarray(places @ wave + surface + np.angle(rest) / (2 * np.pi))
