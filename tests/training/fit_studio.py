"""Photographs of yarn to fit the measuring of shades to: spectra, lamps, invented sensors and phones.

Nothing here is used by the tests, and nothing of the tests' renderer (`yarn_studio`) is used here, so
that what is fitted here can be tested there. Reflectances: the 190 of the Academy's rawtoaces; lamps:
half of those that colour-science holds; sensors: three bells of random place and width. Yarn is drawn
as lit cylinders side by side.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

Floats = NDArray[np.float64]
NM = np.arange(380, 781, 5)
DAYLIGHT = ("D50", "D65", "D75")
LAMPS = (
    *DAYLIGHT,
    *("FL2", "FL11", "LED-B1", "LED-B3", "LED-V1"),
    *("Philips TL-84", "Cool White FL", "Incandescent", "PHOS-1", "PHOS-3", "Luxeon WW 2880"),
    *("F32T8/TL830 (Triphosphor)", "F40/C50 (Broadband FL)"),
)


_RGB = np.linalg.inv(
    np.array([[0.412453, 0.357580, 0.180423], [0.212671, 0.715160, 0.072169], [0.019334, 0.119193, 0.950227]])
)  # fmt: skip


@cache
def science() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


def _spectrum(one: Any) -> Floats:
    return np.interp(NM, one.wavelengths, one.values)


@cache
def lamp(name: str) -> Floats:
    colour = science()
    table = colour.SDS_ILLUMINANTS if name in colour.SDS_ILLUMINANTS else colour.SDS_LIGHT_SOURCES
    power = _spectrum(table[name])
    return power / power.mean()


@cache
def reflectances() -> Floats:
    """[colours, nm], 0 to 1."""
    from colour.characterisation.aces_it import read_training_data_rawtoaces_v1

    data = read_training_data_rawtoaces_v1()
    found = np.stack([np.interp(NM, data.wavelengths, data.values[:, i]) for i in range(190)])
    found = np.clip(found[found.max(axis=1) < 1.02], 0.005, 1)
    return found[(found @ observer() @ _RGB.T >= 0).all(axis=1)]  # dyed wool lies within sRGB


@cache
def observer() -> Floats:
    """Weights [nm, 3] from reflectance to XYZ under D65, white's Y 1."""
    cmf = science().MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    bars = np.stack([np.interp(NM, cmf.wavelengths, cmf.values[:, i]) for i in range(3)], axis=1)
    weights = bars * lamp("D65")[:, None]
    return weights / weights[:, 1].sum()


def linear_truth(reflectance: Floats) -> Floats:
    """Linear sRGB [..., 3] of what reflects so, under D65."""
    return np.asarray(reflectance @ observer() @ _RGB.T)


def _matrix(sensor: Floats, light: Floats) -> Floats:
    """From light balanced on white to linear sRGB, as good as the eye sees it."""
    raw = (reflectances() * light) @ sensor / (light @ sensor)
    wanted = linear_truth(reflectances())
    weight = np.maximum(wanted @ [0.2126, 0.7152, 0.0722], 0.01)[:, None] ** (-2 / 3)
    matrix = np.linalg.lstsq(raw * weight, wanted * weight, rcond=None)[0]
    return matrix / matrix.sum(axis=0)


@dataclass(frozen=True)
class Phone:
    """A sensor with its matrix, and what its software does to light."""

    sensor: Floats
    matrices: tuple[Floats, Floats]
    contrast: float
    gamma: float
    saturation: float
    adapts: float

    @classmethod
    def drawn(cls, rng: np.random.Generator) -> Phone:
        peaks = rng.normal((600, 535, 460), (7, 7, 6))
        widths = rng.uniform((32, 34, 24), (52, 52, 38))
        sensor = np.exp(-0.5 * ((NM[:, None] - peaks) / widths) ** 2)
        sensor[:, 0] += rng.uniform(0, 0.15) * np.exp(-0.5 * ((NM - 450) / 25) ** 2)
        daylight, lamplight = (_matrix(sensor, lamp(name)) for name in ("D65", "Incandescent"))
        plain = rng.random() < 0.3
        return cls(
            sensor,
            (daylight, lamplight),
            0.0 if plain else rng.uniform(0.0, 0.55),
            1.0 if plain else rng.normal(1, 0.05),
            1.0 if plain else rng.uniform(1.0, 1.28),
            rng.uniform(0.55, 1.0),
        )

    def exposed(self, light: Floats, rng: np.random.Generator) -> Floats:
        """Gains [3] of the white balance, which looks at the scene and misses a little."""
        neutral = light @ self.sensor
        gains = neutral.mean() / neutral
        daylight = (lamp("D65") @ self.sensor).mean() / (lamp("D65") @ self.sensor)
        mixed = np.exp(self.adapts * np.log(gains) + (1 - self.adapts) * np.log(daylight))
        return np.asarray(mixed * np.exp(rng.normal(0, 0.025, 3)))

    def matrix(self, light: Floats) -> Floats:
        """Between the matrices for daylight and for lamplight, by the light's red over its blue."""
        ratios = []
        for power in (lamp("D65"), lamp("Incandescent"), light):
            red, _, blue = power @ self.sensor
            ratios.append(np.log(red / blue))
        share = float(np.clip((ratios[2] - ratios[0]) / (ratios[1] - ratios[0]), 0, 1))
        return (1 - share) * self.matrices[0] + share * self.matrices[1]

    def encoded(self, raw: Floats, matrix: Floats) -> Floats:
        """8-bit values of raw channels after their gains, 1 the clip."""
        linear = np.minimum(raw, 1) @ matrix
        grey = (linear @ [0.2127, 0.7152, 0.0722])[..., None]
        linear = np.clip(grey + self.saturation * (linear - grey), 0, 1)
        value = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
        value = np.clip(value, 0, 1) ** self.gamma
        value += self.contrast * (3 * value**2 - 2 * value**3 - value)
        return np.rint(np.clip(value, 0, 1) * 255).astype(np.uint8)


@dataclass(frozen=True)
class Yarnlight:
    """How a surface of yarn is lit beside paper: shading [h, w] and gloss, 1 what paper gets."""

    shading: Floats
    gloss: Floats


def cylinders(rng: np.random.Generator, side: int = 56) -> Yarnlight:
    """Strands as cylinders under a lamp and the room, by Lambert; a patch may curve like a ball."""
    rows, columns = np.mgrid[:side, :side].astype(float)
    angle, period = rng.uniform(0, np.pi), rng.uniform(7, 18)
    across = columns * np.cos(angle) + rows * np.sin(angle)
    along = -columns * np.sin(angle) + rows * np.cos(angle)
    across += rng.uniform(0, 0.12) * period * np.sin(along / period * rng.uniform(2, 5))
    t = 1.94 * ((across / period) % 1 - 0.5)
    bulge = rng.uniform(0, 0.35) * (columns - side / 2) / side * 2
    nx, ny = t * np.cos(angle) + bulge, t * np.sin(angle)
    nz = np.sqrt(np.clip(1 - t**2, 0.02, 1))
    norm = np.sqrt(nx**2 + ny**2 + nz**2)
    tilt, turn = rng.uniform(0, 0.9), rng.uniform(0, 2 * np.pi)
    share = rng.uniform(0, 0.7)
    lamp_at = np.array([np.sin(tilt) * np.cos(turn), np.sin(tilt) * np.sin(turn), np.cos(tilt)])
    facing = np.clip((nx * lamp_at[0] + ny * lamp_at[1] + nz * lamp_at[2]) / norm, 0, 1)
    open_ = (0.5 + 0.5 * nz / norm) * (1 - rng.uniform(0.2, 0.7) * np.abs(t / 0.97) ** 6)
    paper = share * lamp_at[2] + 1 - share
    shading = (share * facing + (1 - share) * open_) / paper
    shading *= 1 + rng.uniform(0.02, 0.07) * gaussian_filter(rng.standard_normal(t.shape), 0.7) * 2
    shading *= np.exp(rng.normal(0, 0.04))
    gloss = rng.uniform(0, 0.02) * np.clip(facing, 0, 1) ** 12
    blur = rng.uniform(0, 1.6)
    return Yarnlight(gaussian_filter(shading, blur), gaussian_filter(gloss, blur))


@dataclass(frozen=True)
class Scene:
    """A photograph in parts. `yarns`: pixels [h, w, 3], linear fibre colour, linear mean as seen;
    `greys`: pixels of neutrals by the reflectance they have; `paper_lab`: of the paper."""

    yarns: tuple[tuple[NDArray[np.uint8], Floats, Floats], ...]
    paper: NDArray[np.uint8]
    card: NDArray[np.uint8]
    greys: tuple[tuple[NDArray[np.uint8], float], ...]
    knowns: tuple[tuple[NDArray[np.uint8], Floats], ...]
    daylight: bool


def photograph(rng: np.random.Generator, yarns: int = 6) -> Scene:
    """A phone's photo of some yarns with paper, a grey card, more greys and yarns of known colour."""
    phone = Phone.drawn(rng)
    daylight = rng.random() < 0.5
    light = lamp(str(rng.choice(DAYLIGHT if daylight else LAMPS)))
    gains = phone.exposed(light, rng)
    white, matrix = light @ phone.sensor, phone.matrix(light)
    exposure = rng.uniform(0.55, 0.92)

    def raw(reflectance: Floats) -> Floats:
        return (light * reflectance) @ phone.sensor / white.mean() * gains

    level = exposure / raw(np.ones(len(NM))).max()

    def flat(reflectance: Floats) -> NDArray[np.uint8]:
        grain = 1 + 0.012 * rng.standard_normal((24, 24, 1))
        uneven = np.exp(rng.normal(0, 0.02))
        return phone.encoded(level * raw(reflectance) * grain * uneven, matrix)

    def wound(reflectance: Floats) -> tuple[NDArray[np.uint8], Floats]:
        lit = cylinders(rng)
        radiance = lit.shading[..., None] * raw(reflectance)
        radiance = radiance + lit.gloss[..., None] * raw(np.ones(len(NM)))
        seen = linear_truth(reflectance) * lit.shading.mean() + lit.gloss.mean()
        return phone.encoded(level * radiance, matrix), np.asarray(seen)

    chosen = reflectances()[rng.choice(len(reflectances()), yarns + 3, replace=False)]
    rows = [(*wound(one), linear_truth(one)) for one in chosen]
    y = ((rng.uniform(92, 97) + 16) / 116) ** 3
    tint = 1 + rng.normal(0, 0.015) * (NM - 560) / 180
    greys = tuple((flat(np.full(len(NM), r)), r) for r in (0.6, 0.36, 0.09, 0.04))
    return Scene(
        tuple((pixels, truth, seen) for pixels, seen, truth in rows[:yarns]),
        flat(np.clip(y * tint, 0, 1)),
        flat(np.full(len(NM), 0.18 * np.exp(rng.normal(0, 0.03)))),
        greys,
        tuple((pixels, truth) for pixels, _, truth in rows[yarns:]),
        daylight,
    )
