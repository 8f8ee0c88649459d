"""Counting stitches and rounds in a picture of stocking-stitch fabric of known scale.

The two legs of a stitch lean opposite ways, so the lean of the yarn changes sign twice a stitch and
comes back once a stitch: its period across is a stitch, never half of one and never two, whatever
the colours. The lean is the off-diagonal part of the structure tensor (Bigün & Granlund 1987) in
the fabric's own direction, divided by its trace, so that light and colour drop out. Periods are
peaks of a 2-D Fourier transform averaged over patches, checked against halves and doubles.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pic2chart.reading.cloth import Floats32, Periods, follow
from pic2chart.reading.perspective import Floats
from pic2chart.reading.signs import PER_MM, Waves

_PATCH = 128
_STITCHES = (7.0, 45.0)
"""Stitches in 10 cm that are looked for: from super bulky to lace (Craft Yarn Council, weights 0-6)."""
_ROUNDS_PER_STITCH = (0.92, 1.72)
"""Rounds over stitches that are looked for: 1.00 to 1.57 are seen (common practice). The range is
less than one to two, so that half or twice the rounds cannot be mistaken for them."""
_SCALES = (0.22, 0.45, 0.9)
_CLEAR = 5.0
_CLEAR_ROUNDS = 1.5
_SOME, _ENOUGH = 5.0, 9.0
"""How clear a wave of half the frequency must be to be a doubt, and to be the stitch itself."""
_MOST_PATCHES = 48
_RIVAL = 0.4
_SAME = 0.03
"""Share by which counts may differ that come of different waves."""
_LIKE = 0.08
_LOBE = 0.07
"""Waves a mm within which a peak is one peak: half the main lobe of a patch's window, and a bit."""


def find_periods(gray: NDArray[np.uint8], seen: NDArray[np.bool_]) -> Periods | None:
    """The periods of fabric in a picture at PER_MM; None when there is none that is clear.

    `seen`: where the picture may be looked at (not the card, nor outside the photo).
    """
    found = []
    for scale in _SCALES:
        lean = _lean(gray, seen, scale)
        wave = _strongest(lean)
        if wave is not None:
            found.append((wave[0], lean, wave[1]))
    come = [p for p in (_followed(gray, seen, *one) for one in _whole_stitches(found)) if p]
    basic = [one for one in come if not any(_made_of(one, other) for other in come)]
    if not basic or _differ(basic):
        return None
    return basic[0]


def _followed(
    gray: NDArray[np.uint8], seen: NDArray[np.bool_], lean: Waves, across: Floats
) -> Periods | None:
    """What comes of taking a wave for the stitches'."""
    turned = lean * np.exp(-2j * np.arctan2(across[1], across[0])).astype(np.complex64)
    up = _rounds_wave(gray, turned, across)
    return None if up is None else follow(turned, (across, up), seen)


def _made_of(one: Periods, other: Periods) -> bool:
    """Whether the waves of one are but sums of the other's, such as the two diagonals of its squares.

    The stitches' and rounds' own waves make up all others, and no others make up them.
    """
    parts = np.stack(one.waves) @ np.linalg.inv(np.stack(other.waves))
    whole = np.rint(parts)
    return bool(np.abs(parts - whole).max() < _LIKE and abs(np.linalg.det(whole)) > 1.5)


def _differ(come: list[Periods]) -> bool:
    """Whether different waves, each taken for the stitches', give different counts."""
    middles = np.array([np.median(periods.counts, axis=0) for periods in come])
    return bool((np.ptp(middles, axis=0) > _SAME * middles.mean(axis=0)).any())


def _whole_stitches(found: list[tuple[float, Waves, Floats]]) -> list[tuple[Waves, Floats]]:
    """The clearest wave, then those of other scales that differ from it: in stripes the clearest may
    be slanted. Waves that another scale shows to be the half of a stitch are left out."""
    chosen: list[tuple[Waves, Floats]] = []
    for _, lean, wave in sorted(found, key=lambda one: -one[0]):
        halved = any(_near(wave, 2 * slower) for _, _, slower in found)
        if not halved and not any(_near(wave, other) for _, other in chosen):
            chosen.append((lean, wave))
    return chosen


def _near(wave: Floats, other: Floats) -> bool:
    return bool(np.linalg.norm(wave - other) < 0.06 * np.linalg.norm(wave))


def _lean(gray: NDArray[np.uint8], seen: NDArray[np.bool_], scale_mm: float) -> Waves:
    """Direction of the yarn as a complex number of double angle, at most 1 in size; 0 where unseen."""
    import cv2

    sigma = scale_mm * PER_MM
    smooth = cv2.GaussianBlur(gray.astype(np.float32), (0, 0), max(sigma, 0.6))
    gx, gy = (
        cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3),
        cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3),
    )
    soft = [
        cv2.GaussianBlur(part, (0, 0), 1.2 * max(sigma, 0.6))
        for part in (gx * gx - gy * gy, 2 * gx * gy, gx * gx + gy * gy)
    ]
    inside = cv2.erode(seen.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    floor = 0.1 * float(np.median(soft[2][inside])) + 0.5 if inside.any() else 1.0
    lean = (soft[0] + 1j * soft[1]) / (soft[2] + floor)
    return np.asarray(np.where(inside, lean, 0), dtype=np.complex64)


def _power(real: Floats32, imaginary: Floats32 | None = None) -> Floats:
    """Mean power of overlapping patches, float [2 · _PATCH, 2 · _PATCH], zero frequency in the middle.

    With an imaginary part, the power of the lean against each wave's own direction: the imaginary
    part of the double angle turned back by twice the wave's direction.
    """
    window = np.hanning(_PATCH).astype(np.float32)
    window = window[:, None] * window[None, :]
    size = 2 * _PATCH
    sums = [np.zeros((size, size // 2 + 1), np.float32) for _ in range(3)]
    for part in _patches(real):
        first = _spectrum(real[part], window, size)
        sums[0] += first.real**2 + first.imag**2
        if imaginary is not None:
            second = _spectrum(imaginary[part], window, size)
            sums[1] += second.real**2 + second.imag**2
            sums[2] += first.real * second.real + first.imag * second.imag
    plain, crossed, both = (_whole_plane(part) for part in sums)
    if imaginary is None:
        return plain
    cos, sin = np.cos(2 * _directions(size)), np.sin(2 * _directions(size))
    return np.asarray(crossed * cos**2 + plain * sin**2 - 2 * sin * cos * both)


def _patches(values: Floats32) -> list[tuple[slice, slice]]:
    """Patches with something in them, at most about a hundred."""
    rows, columns = values.shape
    step = max(_PATCH // 2, int(np.sqrt(rows * columns / _MOST_PATCHES)))
    found = []
    for y in range(0, rows - _PATCH + 1, step):
        for x in range(0, columns - _PATCH + 1, step):
            part = (slice(y, y + _PATCH), slice(x, x + _PATCH))
            if np.count_nonzero(values[part]) > 0.7 * _PATCH**2:
                found.append(part)
    return found


def _spectrum(patch: Floats32, window: Floats32, size: int) -> NDArray[np.complex64]:
    from scipy.fft import rfft2

    return np.asarray(rfft2((patch - patch.mean()) * window, (size, size)), dtype=np.complex64)


def _whole_plane(half: Floats32) -> Floats:
    """A half plane of power as the whole one, zero frequency in the middle."""
    size = half.shape[0]
    mirrored = np.roll(half[::-1], 1, axis=0)[:, size // 2 - 1 : 0 : -1]
    return np.fft.fftshift(np.hstack([half, mirrored]).astype(np.float64))


def _directions(size: int) -> Floats:
    k = np.arange(size) - size // 2
    return np.arctan2(k[:, None], k[None, :])


def _frequencies(size: int) -> tuple[Floats, Floats]:
    """Waves a mm (x, y) of a shifted spectrum."""
    k = (np.arange(size) - size // 2) / size * PER_MM
    x, y = np.meshgrid(k, k)
    return x, y


def _strongest(lean: Waves) -> tuple[float, Floats] | None:
    """How clear, and the wave (x, y) a mm along which the yarn's lean against it turns most."""
    power = _power(np.ascontiguousarray(lean.real), np.ascontiguousarray(lean.imag))
    if not power.any():
        return None
    x, y = _frequencies(power.shape[0])
    size = np.hypot(x, y)
    band = (size > _STITCHES[0] / 100) & (size < _STITCHES[1] / 100) & (x >= 0)
    ring = np.minimum((np.log(size + 1e-6) * 8).astype(int), 30)
    level = np.full(power.shape, np.inf)
    for number in np.unique(ring[band]):
        inside = band & (ring == number)
        level[inside] = np.median(power[inside]) + 0.02 * np.median(power[band])
    clear = np.where(band, power / level, 0)
    peak = np.unravel_index(int(np.argmax(clear)), power.shape)
    if clear[peak] < _CLEAR**2 or _on_the_border(size[peak], _STITCHES):
        return None
    half = _half_of(clear, peak)
    if clear[half] > _SOME:  # the strongest wave may be half a stitch; the whole one shows as well
        if clear[half] < _ENOUGH:
            return None
        peak = half
    return float(clear[peak]), _refined(power, peak)


def _half_of(clear: Floats, peak: tuple[np.intp, ...]) -> tuple[np.intp, ...]:
    """The highest place near the wave of half the frequency."""
    middle = clear.shape[0] // 2
    row, column = (middle + round((int(p) - middle) / 2) for p in peak)
    window = clear[row - 2 : row + 3, column - 2 : column + 3]
    inner = np.unravel_index(int(np.argmax(window)), window.shape)
    return inner[0] + row - 2, inner[1] + column - 2


def _on_the_border(size: float, band: tuple[float, float]) -> bool:
    return bool(size < 1.04 * band[0] / 100 or size > 0.97 * band[1] / 100)


def _refined(power: Floats, peak: tuple[np.intp, ...]) -> Floats:
    """The peak's place to parts of a step, by parabolas through the logarithms."""
    logs = np.log(np.maximum(power, 0) + 1e-12)
    place = []
    for axis in (1, 0):
        step = np.eye(2, dtype=int)[axis]
        low, mid, high = (logs[tuple(np.array(peak) + k * step)] for k in (-1, 0, 1))
        bend = low - 2 * mid + high
        place.append(peak[axis] + (0.5 * (low - high) / bend if bend < 0 else 0.0))
    return np.asarray((np.array(place) - power.shape[0] // 2) / power.shape[0] * PER_MM)


def _rounds_wave(gray: NDArray[np.uint8], turned: Waves, across: Floats) -> Floats | None:
    """The wave of the rounds: nearly across the stitches' wave, seen in five signs of it at once."""
    import cv2

    stitch = float(np.hypot(*across))
    lightness = gray.astype(np.float32)
    sigma = 0.5 * PER_MM / stitch
    flat = lightness - cv2.GaussianBlur(lightness, (0, 0), sigma)
    flat /= cv2.GaussianBlur(np.abs(flat), (0, 0), sigma) + 2
    flat = np.where(turned == 0, 0, np.clip(flat, -3, 3)).astype(np.float32)
    lean = np.ascontiguousarray(turned.imag)
    powers = [_power(signal) for signal in (flat, np.ascontiguousarray(turned.real), lean)]
    size = powers[0].shape[0]
    x, y = _frequencies(size)
    length = np.hypot(x, y)
    slant = np.abs(x * across[0] + y * across[1]) / (length * stitch + 1e-9)
    low, high = _ROUNDS_PER_STITCH
    near = (length > low * stitch) & (length < high * stitch) & (slant < np.sin(np.radians(12)))
    near &= (across[0] * y - across[1] * x) > 0
    rows, columns = np.nonzero(near)
    shift = np.rint(across / PER_MM * size).astype(int)
    level = [np.log(_smoothed(p) + 1e-12) for p in powers]
    score = np.zeros(len(rows))
    # Stripes and motifs show in the lightness of whole rounds and little in the lean of the yarn.
    for log, move, share in (
        (level[1], 0, 2.0),
        (level[0], 1, 0.5),
        (level[0], -1, 0.5),
        (level[2], 1, 0.1),
        (level[2], -1, 0.1),
    ):
        at = log[(rows + move * shift[1]) % size, (columns + move * shift[0]) % size]
        score += share * np.maximum(at - np.median(at), 0)
    return _only_peak(score, rows, columns, length[near] / stitch, powers, stitch)


def _smoothed(power: Floats) -> Floats:
    import cv2

    return np.asarray(cv2.GaussianBlur(power, (0, 0), 0.8))


def _only_peak(
    score: Floats,
    rows: NDArray[np.intp],
    columns: NDArray[np.intp],
    ratio: Floats,
    powers: list[Floats],
    stitch: float,
) -> Floats | None:
    """The best place, unless another period does nearly as well or it lies on the border."""
    if not score.size:
        return None
    best = int(np.argmax(score))
    low, high = _ROUNDS_PER_STITCH
    if score[best] < _CLEAR_ROUNDS or not low * 1.03 < ratio[best] < high * 0.98:
        return None
    others = score[np.abs(ratio - ratio[best]) > _LOBE / stitch]
    if others.size and others.max() > _RIVAL * score[best]:
        return None
    peak = (rows[best], columns[best])
    mixed = powers[1]
    window = mixed[peak[0] - 2 : peak[0] + 3, peak[1] - 2 : peak[1] + 3]
    inner = np.unravel_index(int(np.argmax(window)), window.shape)
    return _refined(np.asarray(mixed), (peak[0] - 2 + inner[0], peak[1] - 2 + inner[1]))
