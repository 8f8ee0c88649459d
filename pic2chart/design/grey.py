"""Which grey a coloured picture becomes: lightness, or lightness with a share of hue where that is lost.

Two yarns show light against dark only. A red flower among green leaves of the same lightness would
disappear, so the grey may lean towards a direction of hue: G = L* + k (a* cos t + b* sin t), as in
decolourisation that keeps contrast (Gooch, Olsen, Tumblin & Gooch 2005, ACM TOG 24(3); Lu, Xu & Jia
2012, IEEE ICCP). How well a grey keeps contrast is measured on pairs of stitches, each beside the
other and far apart: their difference in grey against that in Lab, of either sign where they are
about as light (Lu, Xu & Jia's weak colour order), of the lightness' own sign elsewhere, so that no
face is turned to its negative.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SURE = 8.0
"""Difference in L* from which on lighter stays lighter."""
_SHARES = (0.35, 0.7, 1.0)
_DIRECTIONS = 12
_GAIN = 0.75
"""Share of the lightness' own error that another grey may have at the most: a picture that lightness
shows nearly as well is drawn by lightness."""
_KEPT = 0.85
"""Least correlation with lightness of another grey, where lightness shows anything: an eye that knows
the picture knows its lights and darks too."""
_FLAT = 6.0
"""Mean difference in L* of pairs below which lightness shows nothing."""
_LOST = 2.0
"""Mean error, in Lab, that is no loss: what hardly any grey keeps."""
_PAIRS, _SEED = 1500, 1
_LEANS = np.array(
    [
        (
            share * math.cos(2 * math.pi * turn / _DIRECTIONS),
            share * math.sin(2 * math.pi * turn / _DIRECTIONS),
        )
        for share in _SHARES
        for turn in range(_DIRECTIONS)
    ]
).T
"""What each grey adds of a* and of b*, [2, G]."""


def grey_of(lab: Floats, inside: Bools | None = None) -> Floats:
    """The grey float64 [R, N] for Lab [R, N, 3], on the scale of L*.

    `inside` bool [R, N]: the subject; only its own contrasts count then.
    """
    lightness = lab[..., 0]
    first, second = _pairs(lab.shape[:2], inside)
    if first.size == 0:
        return lightness
    flat = lab.reshape(-1, 3)
    apart = flat[first] - flat[second]
    straight = _LOST + _errors(apart[:, :1], apart)[0]
    greys = apart[:, :1] + apart[:, 1:2] * _LEANS[0] + apart[:, 2:] * _LEANS[1]
    errors = np.where(_alike(greys, apart[:, 0]), _LOST + _errors(greys, apart), np.inf)
    best = int(errors.argmin())
    if errors[best] >= _GAIN * straight:
        return lightness
    grey = lightness + lab[..., 1] * _LEANS[0, best] + lab[..., 2] * _LEANS[1, best]
    # on the scale of L*, so that what follows may think of it as lightness
    return np.asarray(np.clip(grey - np.median(grey) + np.median(lightness), 0.0, 100.0))


def _alike(greys: Floats, lightness: Floats) -> Bools:
    """Which greys [P, G] keep the lights and darks there are, by pairs' differences in L* [P]; [G]."""
    if np.abs(lightness).mean() < _FLAT:
        return np.ones(greys.shape[1], bool)
    shared = lightness @ greys
    both = np.sqrt((lightness**2).sum() * (greys**2).sum(axis=0))
    return np.asarray(shared >= _KEPT * both)


def _errors(greys: Floats, apart: Floats) -> Floats:
    """Mean difference [G] between what pairs differ by in each grey [P, G] and in Lab [P, 3]."""
    size = np.sqrt((apart**2).sum(axis=1))[:, None]
    sure = np.abs(apart[:, :1]) >= SURE
    wanted = np.where(sure, np.sign(apart[:, :1]), np.where(greys >= 0, 1.0, -1.0)) * size
    return np.asarray(np.abs(greys - wanted).mean(axis=0))


def _pairs(
    shape: tuple[int, ...], inside: Bools | None
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of stitches (flat indices): each with those beside and above it, and as many far apart."""
    index = np.arange(shape[0] * shape[1]).reshape(shape)
    beside = [
        (index[:, 2:].ravel(), index[:, :-2].ravel()),
        (index[2:].ravel(), index[:-2].ravel()),
    ]
    first, second = (np.concatenate(part) for part in zip(*beside, strict=True))
    here = np.ones(index.size, bool) if inside is None else inside.ravel()
    keep = here[first] & here[second]
    first, second = first[keep], second[keep]
    rng = np.random.default_rng(_SEED)
    places = np.flatnonzero(here)
    if places.size < 2:
        return first[:0], second[:0]
    far = rng.choice(places, (2, min(_PAIRS, 4 * places.size)))
    if first.size > _PAIRS:
        some = rng.choice(first.size, _PAIRS, replace=False)
        first, second = first[some], second[some]
    return np.concatenate([first, far[0]]), np.concatenate([second, far[1]])
