"""The lattice of squared paper in a photo: which point of the photo is which place of the chart."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.errors import InputError
from pic2chart.reading.perspective import Floats, no_grid

# Where lines run in a picture of squared paper seen upright, and how far apart they are.
#
# The pitch comes from the autocorrelation of a map of lines, averaged over narrow strips so that bent
# lines do not blur it.

_STRIP = 24
_LEVEL = 41
_UNBROKEN = (9, 18, 36)
"""Lengths a line must have to count, px: for small, middling and large squares."""
_CLEAR = 0.06
_MULTIPLES = 6
_BUSY = 0.02

Maps = NDArray[np.float32]


def line_map(flat: NDArray[np.uint8], axis: int, sigma: float, unbroken: int) -> Maps:
    """How strongly a line or an edge runs down (axis 0) or across (axis 1) at each pixel.

    `sigma` is the smoothing across the line. What is not `unbroken` for so many pixels along the
    line is wiped out, which leaves the lines of the paper and takes the marks within the squares.
    """
    return _opened(_strength(flat, axis, sigma), axis, unbroken)


def _strength(flat: NDArray[np.uint8], axis: int, sigma: float) -> Maps:
    """Slope and curvature together, which answer to edges and to fine lines alike."""
    import cv2

    smooth = cv2.blur(flat, (1, 5) if axis == 0 else (5, 1)).astype(np.float32)
    sigmas = (sigma, 0.3) if axis == 0 else (0.3, sigma)
    wide = cv2.GaussianBlur(smooth, (0, 0), sigmaX=sigmas[0], sigmaY=sigmas[1])
    dx, dy = (1, 0) if axis == 0 else (0, 1)
    slope = cv2.Sobel(wide, cv2.CV_32F, dx, dy, ksize=1)
    curve = cv2.Sobel(wide, cv2.CV_32F, 2 * dx, 2 * dy, ksize=1, scale=1.5 * sigma)
    return np.asarray(cv2.magnitude(slope, curve), dtype=np.float32)


def _opened(strength: Maps, axis: int, unbroken: int) -> Maps:
    import cv2

    bar = np.ones((unbroken, 1) if axis == 0 else (1, unbroken), np.uint8)
    return np.asarray(cv2.morphologyEx(strength, cv2.MORPH_OPEN, bar), dtype=np.float32)


def line_pitch(flat: NDArray[np.uint8], seen: NDArray[np.bool_], axis: int) -> float | None:
    """Pixels between lines, from the line maps for squares of several sizes; None without lines."""
    best: tuple[float, float] | None = None
    strength = _strength(flat, axis, 1.2)
    for unbroken in _UNBROKEN:
        echo = _echo(_opened(strength, axis, unbroken), seen, axis)
        found = None if echo is None else _smallest_pitch(echo)
        fits = found is not None and found[1] <= 2.4 * unbroken
        if found is not None and fits and (best is None or found[0] > 1.15 * best[0]):
            best = found
    return None if best is None else best[1]


def _echo(strength: Maps, seen: NDArray[np.bool_], axis: int) -> Floats | None:
    """Autocorrelation of the lines across, averaged over narrow strips; 1 at lag 0."""
    import cv2

    if not seen[::4, ::4].any():
        return None
    mean = cv2.blur(strength, (_LEVEL, _LEVEL))
    floor = float(np.percentile(mean[::4, ::4][seen[::4, ::4]], 75)) / 2 + 1e-3
    lines = np.where(seen, np.minimum(strength / (mean + floor), 2.5), 0.0).astype(np.float32)
    lines = lines - cv2.blur(lines, (_LEVEL, 1) if axis == 0 else (1, _LEVEL))
    lines = lines if axis == 0 else lines.T
    count = lines.shape[0] // _STRIP
    if count < 2 or lines.shape[1] < 40:
        return None
    strips = lines[: count * _STRIP].reshape(count, _STRIP, -1).mean(axis=1)
    power = (np.abs(np.fft.rfft(strips, 2 * strips.shape[1])) ** 2).sum(axis=0)
    echo = np.fft.irfft(power)[: strips.shape[1] // 3]
    return np.asarray(echo / (echo[0] + 1e-9))


def _smallest_pitch(echo: Floats) -> tuple[float, float] | None:
    """How clear it is, and the smallest lag at whose multiples the echo is high, halfway between low."""
    lags = np.arange(4.0, len(echo) / 2.6, 0.1)
    if not lags.size:
        return None
    x = np.arange(len(echo))
    at = np.array([np.interp(k * lags / 2, x, echo) for k in range(1, 2 * _MULTIPLES + 2)])
    inside = np.arange(1, 2 * _MULTIPLES + 2)[:, None] * lags / 2 < len(echo)
    peaks = at[1::2] - (at[0:-2:2] + at[2::2]) / 2
    counted = inside[2::2]
    score = (peaks * counted).sum(axis=0) / counted.sum(axis=0)
    score *= np.minimum(1.0, 0.6 + 0.1 * counted.sum(axis=0))  # few multiples may agree by chance
    best = float(score.max())
    if best < _CLEAR:
        return None
    high = score >= 0.6 * best
    first = int(np.argmax(high))
    last = first + int(np.argmin(high[first:])) if not high[first:].all() else len(lags)
    return best, _sharper(echo, float(lags[first + int(np.argmax(score[first:last]))]))


def _sharper(echo: Floats, pitch: float) -> float:
    """The pitch refined on ever higher multiples."""
    x = np.arange(len(echo))
    for times in (3, 6):
        if times * pitch * 1.05 < len(echo):
            near = pitch * (1 + np.linspace(-0.25, 0.25, 201) / times)
            sums = np.interp(np.outer(near, np.arange(1, times + 1)), x, echo).sum(axis=1)
            pitch = float(near[int(np.argmax(sums))])
    return pitch


def lined_part(flat: NDArray[np.uint8], pitch: tuple[float, float]) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the largest part of the view where lines run both ways, px."""
    import cv2

    both: Maps = np.ones(flat.shape, np.float32)
    for axis in (0, 1):
        lines = line_map(flat, axis, 1.2, max(4, int(0.85 * pitch[1 - axis])))
        near = cv2.blur(lines, (int(2.5 * pitch[0]) | 1, int(2.5 * pitch[1]) | 1))
        both = np.asarray(both * near / (float(np.percentile(near[::4, ::4], 98)) + 1e-6))
    busy = (both > _BUSY).astype(np.uint8)
    parts, _, stats, _ = cv2.connectedComponentsWithStats(busy)
    if parts < 2:
        return 0, 0, flat.shape[1], flat.shape[0]
    x, y, w, h, _ = stats[1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))]
    across, up = 2 * pitch[0], 2 * pitch[1]
    return (
        max(0, int(x - across)),
        max(0, int(y - up)),
        min(flat.shape[1], int(x + w + across)),
        min(flat.shape[0], int(y + h + up)),
    )


# The lattice, followed over a photo by the phase of its lines.
#
# Lines are turned into a map of how strongly an edge or a fine line runs down (or across) at each
# point. Its pitch comes from its autocorrelation, averaged over narrow strips so that bent lines do
# not blur it; the place of the lines from its local phase (demodulation at the pitch), to which a
# smooth surface is fitted, so that curled paper and a view not quite upright are followed.

FINE = 16
"""Pixels of a square in the view in which lines are followed."""
MOST_IMAGE_PX = 2400
MOST_SQUARES = 420
_DEGREE = 4
_STIFF = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """A place (u, v) counts squares from the left and from the top; lines lie at whole numbers.

    `homography` 3×3 from photo pixels to squares, nearly right; `warp`: polynomial
    coefficients [2, terms] of what is to be added to u and v there. `span`: left, top, right,
    bottom of the photo in squares, within which the polynomial holds.
    """

    homography: Floats
    warp: Floats
    span: tuple[float, float, float, float]

    def to_photo(self, places: Floats) -> Floats:
        """Photo pixels [..., 2] of places [..., 2] (u, v)."""
        near = places
        for _ in range(4):
            near = places - self.shift(near)
        return projected(np.asarray(np.linalg.inv(self.homography), dtype=np.float64), near)

    def shift(self, near: Floats) -> Floats:
        """What is to be added at points [..., 2] of the flat view, in squares."""
        return np.asarray(surface_terms(near, self.span) @ self.warp.T)

    def moved(self, left: int, top: int) -> Lattice:
        """The same lattice with place (left, top) as its origin."""
        step = np.array([[1, 0, -left], [0, 1, -top], [0, 0, 1.0]])
        west, north, east, south = self.span
        span = (west - left, north - top, east - left, south - top)
        return Lattice(step @ self.homography, self.warp, span)

    def before(self, homography: Floats) -> Lattice:
        """The same lattice for a photo that `homography` takes to this one's."""
        return replace(self, homography=np.asarray(self.homography @ homography))

    def coarser(self, axis: int, first: int, times: float) -> Lattice:
        """The lattice whose squares are `times` as large across `axis` (0: between upright lines).

        Line `first` is kept; with `times` below 1 there are more lines.
        """
        scale, offset = np.ones(2), np.zeros(2)
        scale[axis], offset[axis] = 1 / times, first
        west, north, east, south = self.span
        low, high = (np.array(end) - offset for end in ((west, north), (east, south)))
        low, high = low * scale, high * scale
        step = np.array(
            [[scale[0], 0, -offset[0] * scale[0]], [0, scale[1], -offset[1] * scale[1]], [0, 0, 1]]
        )
        span = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        return Lattice(step @ self.homography, self.warp * scale[:, None], span)


def projected(homography: Floats, points: Floats) -> Floats:
    """Points [..., 2] through a homography 3×3."""
    full = points @ homography[:, :2].T + homography[:, 2]
    return np.asarray(full[..., :2] / full[..., 2:])


def find_lattice(gray: NDArray[np.uint8], homography: Floats, name: str) -> Lattice:
    """The lattice of the lines in a photo, given a view in which they are nearly upright.

    Raises InputError when no pitch stands out in both directions.
    """
    frame, flat, seen = _flat_image(gray, homography)
    pitch = [line_pitch(flat, seen, axis) for axis in (0, 1)]
    if pitch[0] is None or pitch[1] is None:
        raise InputError(no_grid(name))
    left, top, right, bottom = lined_part(flat, (pitch[0], pitch[1]))
    squares = np.diag([1 / pitch[0], 1 / pitch[1], 1.0]) @ frame
    span = (left / pitch[0], top / pitch[1], right / pitch[0], bottom / pitch[1])
    return followed(gray, Lattice(squares, no_warp(), span))


def lattice_of_corners(corners: Floats, columns: int, rows: int) -> Lattice:
    """The flat lattice whose four corners [4, 2] are given: top left, then clockwise, photo pixels."""
    import cv2

    square = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], np.float32)
    homography = cv2.getPerspectiveTransform(corners.astype(np.float32), square).astype(np.float64)
    return Lattice(homography, no_warp(), (0.0, 0.0, float(columns), float(rows)))


def pitch_between(
    gray: NDArray[np.uint8], corners: Floats, side: int
) -> tuple[float | None, float | None]:
    """Pixels between lines across and up, in a view of `side` pixels between four corners."""
    square = lattice_of_corners(corners, side, side)
    _, flat, seen = _flat_image(gray, square.homography, (0.0, 0.0, float(side), float(side)))
    return line_pitch(flat, seen, 0), line_pitch(flat, seen, 1)


def no_warp() -> Floats:
    """No bend at all."""
    return np.zeros((2, (_DEGREE + 1) * (_DEGREE + 2) // 2))


def _flat_image(
    gray: NDArray[np.uint8],
    homography: Floats,
    span: tuple[float, float, float, float] | None = None,
) -> tuple[Floats, NDArray[np.uint8], NDArray[np.bool_]]:
    """The homography into a view that holds the whole photo, the photo warped by it, and where it is."""
    import cv2

    left, top, right, bottom = span or _span(homography, gray.shape)
    scale = min(1.0, MOST_IMAGE_PX / max(right - left, bottom - top))
    frame = (
        np.diag([scale, scale, 1.0])
        @ np.array([[1, 0, -left], [0, 1, -top], [0, 0, 1.0]])
        @ homography
    )
    size = (int((right - left) * scale) + 1, int((bottom - top) * scale) + 1)
    flat = cv2.warpPerspective(
        gray, frame, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    seen = cv2.warpPerspective(np.full_like(gray, 255), frame, size, flags=cv2.INTER_NEAREST)
    inside = cv2.erode(seen, np.ones((9, 9), np.uint8)) > 0
    return np.asarray(frame), np.asarray(flat, dtype=np.uint8), inside


def _span(homography: Floats, shape: tuple[int, ...]) -> tuple[float, float, float, float]:
    height, width = shape[:2]
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    places = projected(homography, corners)
    return (*map(float, places.min(axis=0)), *map(float, places.max(axis=0)))  # type: ignore[return-value]


def fine_image(
    gray: NDArray[np.uint8], lattice: Lattice, span: tuple[int, int, int, int], fine: int = FINE
) -> NDArray[np.uint8]:
    """The photo drawn square by square: `fine` pixels a square, left, top, right, bottom in squares."""
    import cv2

    left, top, right, bottom = span
    step = 1.0  # the mapping is smooth: work it out on a coarse mesh and stretch it
    columns, rows = int((right - left) / step) + 1, int((bottom - top) / step) + 1
    u, v = np.meshgrid(left + step * np.arange(columns), top + step * np.arange(rows))
    mesh = lattice.to_photo(np.stack([u, v], axis=-1)).astype(np.float32)
    width, height = (right - left) * fine, (bottom - top) * fine
    per = fine * step
    x = ((np.arange(width, dtype=np.float32) + 0.5) / per)[None, :].repeat(height, axis=0)
    y = ((np.arange(height, dtype=np.float32) + 0.5) / per)[:, None].repeat(width, axis=1)
    at = cv2.remap(mesh, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    source = _thinned(gray, lattice, span, fine)
    factor = source.shape[1] / gray.shape[1]
    at = (at + 0.5) * factor - 0.5
    return np.asarray(
        cv2.remap(source, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    )


def _thinned(
    gray: NDArray[np.uint8], lattice: Lattice, span: tuple[int, int, int, int], fine: int
) -> NDArray[np.uint8]:
    """The photo reduced, when its squares are much larger than they will be drawn."""
    import cv2

    middle = np.array([(span[0] + span[2]) / 2, (span[1] + span[3]) / 2])
    across = lattice.to_photo(middle + np.array([[0.5, 0], [-0.5, 0], [0, 0.5], [0, -0.5]]))
    size = min(float(np.hypot(*(across[0] - across[1]))), float(np.hypot(*(across[2] - across[3]))))
    if size < 1.6 * fine:
        return gray
    factor = max(1.2 * fine / size, 1 / min(gray.shape))
    return np.asarray(cv2.resize(gray, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA))


def followed(
    gray: NDArray[np.uint8], lattice: Lattice, box: tuple[int, int, int, int] | None = None
) -> Lattice:
    """Shift the lattice's lines onto the photo's, by the phase of the line maps.

    `box`: left, top, right, bottom of the squares to go by; all that are in the span at first.
    """
    span, fine = box or whole_span(lattice.span), FINE
    # A line on the view's border is seen only with a square beyond it.
    wider = (span[0] - 1, span[1] - 1, span[2] + 1, span[3] + 1)
    image = fine_image(gray, lattice, wider, fine)
    warp = lattice.warp.copy()
    for axis in (0, 1):
        strength = line_map(image, axis, 1.3, fine - 2)[fine:-fine, fine:-fine]
        places, wave = _waves(strength, axis, span, fine)
        warp[axis] += fit_phase(places - lattice.shift(places), wave, lattice.span)
    return replace(lattice, warp=warp)


def whole_span(span: tuple[float, float, float, float]) -> tuple[int, int, int, int]:
    """The whole squares that hold a span, at most MOST_SQUARES each way about its middle."""
    sides = []
    for low, high in ((span[0], span[2]), (span[1], span[3])):
        middle = (low + high) / 2
        reach = min((high - low) / 2, MOST_SQUARES / 2)
        sides.append((int(np.floor(middle - reach)), int(np.ceil(middle + reach))))
    return sides[0][0], sides[1][0], sides[0][1], sides[1][1]


def _waves(
    strength: Maps, axis: int, span: tuple[int, int, int, int], fine: int
) -> tuple[Floats, NDArray[np.complex128]]:
    """Local amplitude and phase of the lines, once a square: places [rows, columns, 2] and wave."""
    import cv2

    rows, columns = strength.shape[0] // fine, strength.shape[1] // fine
    cells = strength.reshape(rows, fine, columns, fine)
    turn = np.exp(-2j * np.pi * (np.arange(fine) + 0.5) / fine)
    wave = np.einsum("rfcg,g->rc" if axis == 0 else "rfcg,f->rc", cells, turn)
    # Each square counts by how much of its strength is on the lines, faint lines as much as marks
    # and the edge of the paper.
    whole = cells.sum(axis=(1, 3))
    wave = wave / (whole + 0.4 * float(np.median(whole)) + 1e-6)
    soft = [
        cv2.GaussianBlur(part.astype(np.float32), (0, 0), 1.5) for part in (wave.real, wave.imag)
    ]
    u, v = np.meshgrid(span[0] + np.arange(columns) + 0.5, span[1] + np.arange(rows) + 0.5)
    return np.stack([u, v], axis=-1), soft[0] + 1j * soft[1].astype(np.complex128)


def fit_phase(
    near: Floats, wave: NDArray[np.complex128], span: tuple[float, float, float, float]
) -> Floats:
    """Coefficients of the smooth surface, in turns, whose phase is the wave's.

    `near`: places [rows, columns, 2], `wave`: complex there, `span`: what the surface is scaled to.

    First from the steps of phase between neighbours, which need no unwrapping; then what is left.
    """
    strong = np.abs(wave) / (np.percentile(np.abs(wave), 95) + 1e-9)
    strong = np.clip(strong - 0.25, 0, 1)
    terms = surface_terms(near, span)
    parts, values = [], []
    for axis in (0, 1):
        first = (slice(None, -1), slice(None)) if axis == 0 else (slice(None), slice(None, -1))
        second = (slice(1, None), slice(None)) if axis == 0 else (slice(None), slice(1, None))
        weight = np.sqrt(strong[first] * strong[second])
        step = np.angle(wave[second] * np.conj(wave[first])) / (2 * np.pi)
        parts.append(
            ((terms[second] - terms[first]) * weight[..., None]).reshape(-1, terms.shape[-1])
        )
        values.append((step * weight).ravel())
    surface = _least(np.vstack(parts), np.concatenate(values))
    for _ in range(4):
        left = wave * np.exp(-2j * np.pi * (terms @ surface))
        whole = np.angle((left * strong).sum()) / (2 * np.pi)
        surface[0] += whole
        rest = np.angle(left * np.exp(-2j * np.pi * whole)) / (2 * np.pi)
        weight = strong * (np.abs(rest) < 0.3)
        surface = surface + _least(
            (terms * weight[..., None]).reshape(-1, terms.shape[-1]), (rest * weight).ravel()
        )
    return surface


def _least(terms: Floats, values: Floats) -> Floats:
    """Least squares, the higher powers damped where the data do not ask for them."""
    square = terms.T @ terms
    damp = _STIFF ** _degrees() * float(np.trace(square)) / len(square) + 1e-12
    return np.asarray(np.linalg.solve(square + np.diag(1e-9 * damp), terms.T @ values))


def surface_terms(near: Floats, span: tuple[float, float, float, float]) -> Floats:
    """Products of powers of u and v, both scaled to -1…1 over the span, up to the fourth degree."""
    left, top, right, bottom = span
    u = (near[..., 0] - (left + right) / 2) * 2 / (right - left)
    v = (near[..., 1] - (top + bottom) / 2) * 2 / (bottom - top)
    u, v = np.clip(u, -1.3, 1.3), np.clip(v, -1.3, 1.3)
    across, down = _powers(u), _powers(v)
    terms = np.empty((*u.shape, len(_degrees())))
    pairs = ((i, j) for i in range(_DEGREE + 1) for j in range(_DEGREE + 1 - i))
    for term, (i, j) in enumerate(pairs):
        np.multiply(across[i], down[j], out=terms[..., term])
    return terms


def _powers(x: Floats) -> list[Floats]:
    """x to the power of 0 and on; multiplying is ten times as fast as np.power."""
    powers = [np.ones_like(x)]
    for _ in range(_DEGREE):
        powers.append(powers[-1] * x)
    return powers


def _degrees() -> Floats:
    """The degree of each of `_terms`."""
    return np.array([i + j for i in range(_DEGREE + 1) for j in range(_DEGREE + 1 - i)], float)
