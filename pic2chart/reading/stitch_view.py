"""Fabric turned upright and brought to one size of stitch: what repeats in it, patch by patch.

Here a wave that may be the stitches' is judged by the shape of a stitch. Its two legs lean mirrored,
so the lean has the period of a stitch, and next to nothing of half or of twice of one. Rounds are the
period of the gaps between legs. Gaps are looked for by their curvature, divided by how strong
curvature is about them, so that a step between yarns counts no more than a gap within one; every
patch of eight stitches is looked at by itself, since hand knitting does not keep step for longer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.perspective import Floats
from pic2chart.reading.waves import PER_MM, SLOW, Floats32, PatchSlices, spread_out

STITCH = 14
"""Pixels of a stitch in the upright view."""
SIDE = 60
"""Stitches along the side of the view, at the most."""
PATCH = 8
"""Stitches along the side of a patch: its spectrum has steps of an eighth of a wave a stitch."""
ROUNDS_PER_STITCH = (0.8, 1.72)
"""Rounds over stitches that are looked for: 1.00 to 1.57 are seen (common practice), and fewer where
fabric is stretched or photographed at an angle."""
LEAST_MIRRORED = 0.015
"""Share of the lean's strength that must have the period of a stitch: 0.02 for tight, steep stitches
to 0.8; rounds are not looked for under it."""
_MOST_PATCHES = 24
_LEAN_SCALES = (0.07, 0.14)
_GAP_SCALE, _GAP_REACH = 0.07, 0.6
_LEG, _HOLLOW_SCALE, _HOLLOW_REACH = 0.4, 0.05, 0.8
"""Hollows are narrower than this, in stitches; and how smooth they are seen, and against how wide a
part."""
_ALSO = 0.3
"""Share of the strongest period's strength from which another may be the rounds'."""
_SLANTS = (-2, -1, 0, 1, 2)
"""How far rounds may slant against the columns, in steps of the spectrum: up to 11°."""
_USUAL = 1.25 * PATCH
_COMB = (-3, -2, -1, 0, 1, 2, 3)
_DARK = 12.0


@dataclass(frozen=True, slots=True, eq=False)
class StitchView:
    """`gray`, `seen`: the view, columns upright; `place`: affine [2, 3] from its pixels to the
    picture's; `across`: the wave (x, y) a mm of one stitch."""

    gray: NDArray[np.uint8]
    seen: NDArray[np.bool_]
    place: Floats
    across: Floats

    @property
    def patches(self) -> list[PatchSlices]:
        """Whole patches of cloth, half overlapping."""
        side = PATCH * STITCH
        rows, columns = self.seen.shape
        return [
            (slice(y, y + side), slice(x, x + side))
            for y in range(0, rows - side + 1, side // 2)
            for x in range(0, columns - side + 1, side // 2)
            if self.seen[y : y + side, x : x + side].mean() > 0.85
        ]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A wave taken for the stitches'. `mirrored`: share of the lean's strength that has its period;
    `up`: rounds a stitch (x, y) in the view's frame; `clear`: how far the rounds stand out;
    `rival`: strength of the next likely period over theirs; `finer`: likewise of shorter ones
    that no round has; `steep`: -1 for yarn that lies along rounds to 1 for upright yarn; `also`: other
    periods that may be the rounds'."""

    view: StitchView
    mirrored: float
    up: Floats
    clear: float
    rival: float
    finer: float
    steep: float
    also: tuple[Floats, ...] = ()


def upright(
    gray: NDArray[np.uint8],
    cloth: NDArray[np.bool_],
    across: Floats,
    middle: Floats,
    side: int = SIDE,
) -> StitchView:
    """The cloth about a place (x, y) px of a picture at PER_MM, columns upright, STITCH px each, at
    most `side` stitches square."""
    import cv2

    count = float(np.hypot(*across))
    along = across / count
    step = PER_MM / count / STITCH
    ways = np.column_stack([along, [-along[1], along[0]]]) * step
    rows, columns = np.nonzero(cloth[::SLOW, ::SLOW])
    reach = np.abs((np.column_stack([columns, rows]) * SLOW - middle) @ np.linalg.inv(ways).T)
    half = np.minimum(np.ceil(np.percentile(reach, 99, axis=0)), side * STITCH // 2).astype(int)
    size = (int(2 * half[0]), int(2 * half[1]))
    place = np.column_stack([ways, middle - ways @ half])
    factor = min(1.0, 1.1 / step)
    if factor < 0.8:
        small = cv2.resize(gray, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    else:
        small, factor = gray, 1.0
    seen = cv2.warpAffine(
        cloth.astype(np.uint8), place, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    shrunk = place * factor
    shrunk[:, 2] += 0.5 * factor - 0.5
    view = cv2.warpAffine(small, shrunk, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    return StitchView(
        np.asarray(view, dtype=np.uint8), np.asarray(seen > 0), np.asarray(place), across
    )


def judge(view: StitchView) -> Judged | None:
    """How well the view's wave and the best period of rounds explain it; None where there is no whole patch."""
    patches = spread_out(view.patches, _MOST_PATCHES)
    if not patches:
        return None
    mirrored = max(_mirrored(view, scale, patches) for scale in _LEAN_SCALES)
    steep = _steep(view, patches)
    if mirrored < LEAST_MIRRORED:
        return Judged(view, mirrored, np.zeros(2), 0.0, 1.0, 1.0, steep)
    power = _power(_evened(_hollows(view, _HOLLOW_SCALE)), patches)
    steps = np.arange(1, 3 * PATCH + 1)
    combs = np.stack([_comb(power, steps, slant, 0.0) for slant in _SLANTS])
    low, high = (bound * PATCH for bound in ROUNDS_PER_STITCH)
    near = (steps > low - 1) & (steps < high + 1)
    height = combs.max(axis=0)
    # A period just outside is none of rounds; its foot reaches in, but has no top there.
    inside = np.flatnonzero((steps > low) & (steps < high + 1)).tolist()
    tops = [k for k in inside if height[k - 1] < height[k] >= height[k + 1]]
    if not tops:
        return Judged(view, mirrored, np.zeros(2), 0.0, 1.0, 1.0, steep)
    tops.sort(key=lambda k: -height[k])
    best = tops[0]
    slant = int(np.argmax(combs[:, best]))
    line = combs[slant]
    between = _comb(power, steps[best : best + 1], _SLANTS[slant], 0.5)[0]
    others = near & (np.abs(steps - steps[best]) > 1)
    finer = steps > high + 1
    top = float(line[best])
    return Judged(
        view,
        mirrored,
        _period(combs, best),
        top / float(between + 1e-12),
        float(line[others].max()) / top,
        float(line[finer].max()) / top,
        steep,
        tuple(_period(combs, k) for k in tops[1:] if height[k] > _ALSO * top),
    )


def _period(combs: Floats, k: int) -> Floats:
    """Rounds a stitch (x, y) at a step of the combs [slants, steps]."""
    slant = int(np.argmax(combs[:, k]))
    aside = _SLANTS[slant] + _peak(combs[:, k], slant)
    step = k + 1
    return np.array([aside * step / _USUAL, step + _peak(combs[slant], k)]) / PATCH


def lean(view: StitchView, scale: float) -> NDArray[np.complex64]:
    """Direction of the yarn as a double angle, at most 1 in size; `scale` in stitches."""
    import cv2

    smooth = cv2.GaussianBlur(_logs(view), (0, 0), scale * STITCH)
    return _direction(np.asarray(smooth, dtype=np.float32), scale * STITCH)


def _direction(smooth: Floats32, sigma: float) -> NDArray[np.complex64]:
    """The same of a picture that is smooth to `sigma` pixels."""
    import cv2

    gx, gy = (
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3),
        cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3),
    )
    parts = [
        cv2.GaussianBlur(part, (0, 0), 1.2 * sigma)
        for part in (gx * gx - gy * gy, 2 * gx * gy, gx * gx + gy * gy)
    ]
    floor = 0.1 * float(np.median(parts[2])) + 1e-6
    return np.asarray((parts[0] + 1j * parts[1]) / (parts[2] + floor), dtype=np.complex64)


def gaps(view: StitchView) -> Floats32:
    """Where the view is dark between light, -2 to 2, as strongly within a yarn as between two."""
    import cv2

    smooth = cv2.GaussianBlur(_logs(view), (0, 0), _GAP_SCALE * STITCH)
    curved = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3) + cv2.Sobel(
        smooth, cv2.CV_32F, 0, 2, ksize=3
    )
    usual = cv2.GaussianBlur(curved * curved, (0, 0), _GAP_REACH * STITCH)
    return np.asarray(np.clip(curved / (np.sqrt(usual) + 1e-4), -2, 2), dtype=np.float32)


def _hollows(view: StitchView, scale: float) -> Floats32:
    """How much darker the view is than the yarn about it, as a difference of logarithms; `scale` in
    stitches.

    Hollows narrower than a leg are closed; what that changes are the gaps, and no step between yarns,
    however strong (a top-hat, Serra 1982).
    """
    import cv2

    smooth = cv2.GaussianBlur(_logs(view), (0, 0), scale * STITCH)
    width = int(_LEG * STITCH) | 1
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
    return np.asarray(cv2.morphologyEx(smooth, cv2.MORPH_CLOSE, disc) - smooth)


def _evened(hollows: Floats32) -> Floats32:
    """Hollows as strong in a yarn whose legs hardly show as in another."""
    import cv2

    usual = cv2.GaussianBlur(hollows * hollows, (0, 0), _HOLLOW_REACH * STITCH)
    return np.asarray(np.clip(hollows / (np.sqrt(usual) + 1e-3), 0, 3), dtype=np.float32)


def _logs(view: StitchView) -> Floats32:
    return np.asarray(np.log(view.gray.astype(np.float32) + _DARK), dtype=np.float32)


def _mirrored(view: StitchView, scale: float, patches: list[PatchSlices]) -> float:
    """Share of the lean's power that has the period of a stitch."""
    field = lean(view, scale)
    power = _power(np.ascontiguousarray(field.imag), patches)
    beside = slice(PATCH - PATCH // 8, PATCH + PATCH // 8 + 1)
    whole = 2 * (power[:2, beside].sum() + power[-1:, beside].sum())
    return float(whole / power.sum())


def _steep(view: StitchView, patches: list[PatchSlices]) -> float:
    """How steep the gaps between the yarn lie, whatever the colours are."""
    scale = _LEAN_SCALES[1]
    field = _direction(_hollows(view, scale), scale * STITCH)
    lying = sum(float(field.real[part].mean()) for part in patches)
    return lying / sum(float(np.abs(field[part]).mean()) for part in patches)


def _power(signal: Floats32, patches: list[PatchSlices]) -> Floats:
    """Mean power of the patches, each brought to the same strength, [PATCH · STITCH] squared."""
    from scipy.fft import rfft2

    side = PATCH * STITCH
    window = np.hanning(side).astype(np.float32)
    window = window[:, None] * window[None, :]
    total = np.zeros((side, side // 2 + 1), np.float32)
    for part in patches:
        values = signal[part] - signal[part].mean()
        spectrum = rfft2(values * window)
        total += (spectrum.real**2 + spectrum.imag**2) / (float((values**2).mean()) + 1e-6)
    half = total.astype(np.float64) / len(patches)
    mirrored = np.roll(half[::-1], 1, axis=0)[:, side // 2 - 1 : 0 : -1]
    return np.hstack([half, mirrored])


def _comb(power: Floats, steps: NDArray[np.int_], slant: int, aside: float) -> Floats:
    """Power of waves so many steps up a round, at every whole stitch across moved by `aside`."""
    across = np.rint((np.array(_COMB) + aside) * PATCH).astype(int)[None, :]
    # Rounds that slant by so much go across in proportion to how many waves of them there are.
    lean_by = np.rint(slant * steps / _USUAL).astype(int)[:, None]
    return np.asarray(power[steps[:, None], across + lean_by].sum(axis=1))


def _peak(line: Floats, index: int) -> float:
    """How far a peak lies from a place, by a parabola through the logarithms, -0.5 to 0.5."""
    if not 0 < index < len(line) - 1:
        return 0.0
    low, mid, high = np.log(line[index - 1 : index + 2] + 1e-12)
    curvature = low - 2 * mid + high
    return float(np.clip(0.5 * (low - high) / curvature, -0.5, 0.5)) if curvature < 0 else 0.0
