"""From how far away a pattern still reads: contrast sensitivity of the eye and the viewing angle.

Barten, *Contrast Sensitivity of the Human Eye and Its Effects on Image Quality*, 1999 (standard
observer of 20 to 30 years, both eyes, the constants as `colour-science` and ITU-R BT.2246 print
them). A pattern of stitches knitted in turn is a square wave whose half period is one stitch; its
fundamental is 4/π times its Michelson contrast, and it is seen for sure, not only suspected, when
that is RESERVE times the threshold (after Whittaker & Lovie-Kitchin 1993, who ask a contrast
reserve of 10 for fluent reading; from memory). The fabric's own light and shade hides what is no
stronger than itself, so FABRIC is taken off first. Lengths are metres, angles degrees, luminance cd/m².
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

RESERVE = 10.0
DISTANCE_NOTE = (
    "Distances are for good eyes in a room lit well enough to read in; their margin over the faintest "
    "contrast seen (ten times) is from memory, not tried on people."
)
ROOM = 100.0
"""Luminance of a white surface in a well-lit room, cd/m² (about 310 lx)."""
ACUITY = 30.0
"""Cycles a degree at which a half period fills one minute of arc: finer detail is not told apart."""
FABRIC = 0.12
"""Contrast that the shadows between stitches hide; judged by eye on drawn swatches in grey."""
_CYCLES = 4.0
"""Periods of the pattern side by side: a motif of eight single stitches."""
_PEAK = 3.0
"""Cycles a degree near the peak. Coarser patterns are seen by their edges, so no worse."""
_STEPS = 24

_SIGMA_0, _C_AB = 0.5 / 60, 0.08 / 60
_SNR, _SECONDS, _FIELD, _MOST_CYCLES = 3.0, 0.1, 12.0, 15.0
_QUANTUM, _PHOTONS, _NEURAL, _INHIBITION = 0.03, 1.2274e6, 3e-8, 7.0


def pupil(luminance: ArrayLike, size: ArrayLike = 60.0) -> Floats:
    """Diameter of the pupil, mm, for a square field of `size` degrees (Barten 1999)."""
    area = np.asarray(luminance) * np.asarray(size, np.float64) ** 2
    return np.asarray(5 - 3 * np.tanh(0.4 * np.log10(area / 40**2)))


def sensitivity(frequency: ArrayLike, luminance: ArrayLike, size: ArrayLike = 60.0) -> Floats:
    """Contrast sensitivity S [...], 1 over the modulation seen half of the time (Barten 1999).

    `frequency` in cycles a degree, `luminance` the mean in cd/m², `size` the object's side in
    degrees; they broadcast.
    """
    u = np.asarray(frequency, np.float64)
    size = np.asarray(size, np.float64)
    wide = pupil(luminance)
    sigma = np.hypot(_SIGMA_0, _C_AB * wide)
    light = np.pi * wide**2 / 4 * np.asarray(luminance)
    light = light * (1 - (wide / 9.7) ** 2 + (wide / 12.4) ** 4)
    area = 1 / (1 / size**2 + 1 / _FIELD**2 + u**2 / _MOST_CYCLES**2)
    noise = 1 / (_QUANTUM * _PHOTONS * light) + _NEURAL / (1 - np.exp(-((u / _INHIBITION) ** 2)))
    optics = np.exp(-2 * np.pi**2 * sigma**2 * u**2)
    return np.asarray(optics / _SNR / np.sqrt(2 / _SECONDS / area * noise))


def michelson(first: ArrayLike, second: ArrayLike) -> Floats:
    """Michelson contrast |a - b| / (a + b) of two luminances, 0 to 1; 0 for two blacks."""
    a, b = np.asarray(first, np.float64), np.asarray(second, np.float64)
    return np.asarray(np.abs(a - b) / np.maximum(a + b, 1e-9))


def finest(first: ArrayLike, second: ArrayLike) -> Floats:
    """Finest pattern of two surfaces that still reads, cycles a degree [...]; 0 when none does.

    `first` and `second` are luminances relative to white, 0 to 1.
    """
    contrast = np.maximum(4 / np.pi * michelson(first, second) - FABRIC, 0.0)
    mean = np.maximum(ROOM * (np.asarray(first) + np.asarray(second)) / 2, 0.05)
    low, high = np.full(contrast.shape, _PEAK), np.full(contrast.shape, ACUITY)
    sharp = _reads(high, contrast, mean)
    for _ in range(_STEPS):
        middle = (low + high) / 2
        seen = _reads(middle, contrast, mean)
        low, high = np.where(seen, middle, low), np.where(seen, high, middle)
    coarse = np.where(_reads(np.full(contrast.shape, _PEAK), contrast, mean), low, 0.0)
    return np.where(sharp, ACUITY, coarse)


def reading_distance(frequency: ArrayLike, stitch_m: float, block: int = 1) -> Floats:
    """Metres up to which blocks of `block` stitches of that width, in turn, are no finer.

    0 where the frequency is 0.
    """
    u = np.asarray(frequency, np.float64)
    angle = np.radians(0.5 / np.where(u > 0, u, 1.0))
    return np.where(u > 0, block * stitch_m / np.tan(angle), 0.0)


def _reads(frequency: Floats, contrast: Floats, mean: Floats) -> NDArray[np.bool_]:
    reserve = contrast * sensitivity(frequency, mean, _CYCLES / frequency)
    return np.asarray(reserve >= RESERVE)
