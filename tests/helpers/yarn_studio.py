"""Photographs of yarn that nothing was fitted to: published spectra, lamps and sensors, JPEG files.

Reflectances: the 99 colour samples of CIE 224:2017 (textiles, leaves, paints), those within sRGB.
Lamps: half of those that colour-science holds, none of which the fit has seen. Sensors: the Nikon D5100
and the Sigma SD1 Merrill as the National Physical Laboratory measured them. Yarn is a height field of
strands, stocking stitch or wound, lit by a lamp and a room; what a fibre is and what the winding looks
like are kept apart. A phone turns raw light into a file by a sigmoid curve and by more colour in YCbCr.
Nothing of `tests/training` is used here.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import gaussian_filter, uniform_filter

Floats = NDArray[np.float64]
NM = np.arange(380, 781, 5)
DAY = ("D55", "D60", "ISO 7589 Photographic Daylight", "ID65")
INDOORS = ("A", "LED-B2", "LED-B4", "LED-B5", "LED-BH1", "PHOS-4", "F32T8/TL841 (Triphosphor)")
SENSORS = ("Nikon 5100 (NPL)", "Sigma SDMerill (NPL)")
Phone = Literal["ideal", "plain", "mild"]
SIDE = 96


@cache
def _science() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


def _on_grid(one: Any) -> Floats:
    values = one.values if one.values.ndim > 1 else one.values[:, None]
    return np.stack([np.interp(NM, one.wavelengths, v) for v in values.T], axis=1)


@cache
def lamp(name: str) -> Floats:
    """Relative power [nm]."""
    colour = _science()
    known = name in colour.SDS_ILLUMINANTS
    found = _on_grid((colour.SDS_ILLUMINANTS if known else colour.SDS_LIGHT_SOURCES)[name])[:, 0]
    return np.asarray(found / found.max())


@cache
def _to_xyz() -> Floats:
    bars = _on_grid(_science().MSDS_CMFS["CIE 1931 2 Degree Standard Observer"])
    weighted = bars * lamp("D65")[:, None]
    return np.asarray(weighted / weighted[:, 1].sum())


def true_xyz(reflectance: Floats) -> Floats:
    """XYZ under D65, a perfect white's Y 1."""
    return np.asarray(reflectance @ _to_xyz())


def true_lab(xyz: Floats) -> Floats:
    """CIE Lab (D65), by colour-science."""
    colour = _science()
    white = np.ones(len(NM)) @ _to_xyz()
    return np.asarray(colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white)))


@cache
def samples() -> Floats:
    """Reflectances [colours, nm] of the samples that sRGB can show."""
    from colour.quality.cfi2017 import load_TCS_CIE2017

    data = load_TCS_CIE2017(_science().SpectralShape(380, 780, 5))
    found = np.clip(_on_grid(data).T, 0.003, 1)
    linear = true_xyz(found) @ _science().RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
    return np.asarray(found[(linear > 0.002).all(axis=1) & (linear < 1).all(axis=1)])


@cache
def _sensor(name: str) -> Floats:
    """Sensitivities [nm, 3]."""
    return _on_grid(_science().MSDS_CAMERA_SENSITIVITIES[name])


@cache
def _matrix(name: str, light: str) -> Floats:
    """From light balanced on white to linear sRGB, for one kind of light: the ColorChecker (Ohta's
    spectra), its patches weighed as the eye weighs them."""
    colour = _science()
    checker = colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"].values()
    patches = np.stack([_on_grid(one)[:, 0] for one in checker])
    raw = (patches * lamp(light)) @ _sensor(name) / (lamp(light) @ _sensor(name))
    wanted = true_xyz(patches) @ colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
    weight = np.maximum(true_xyz(patches)[:, 1:2], 0.01) ** (-2 / 3)
    matrix = np.linalg.lstsq(raw * weight, wanted * weight, rcond=None)[0]
    return np.asarray(matrix / matrix.sum(axis=0))


def _matrix_for(name: str, power: Floats) -> Floats:
    """As phones have it: between the matrices for daylight and for lamplight, by how warm it is."""
    warm = [
        float(np.log(np.divide(*(light @ _sensor(name))[[0, 2]])))
        for light in (lamp("D55"), lamp("A"), power)
    ]
    share = np.clip((warm[2] - warm[0]) / (warm[1] - warm[0]), 0, 1)
    return np.asarray((1 - share) * _matrix(name, "D55") + share * _matrix(name, "A"))


# Yarn


def _stocking_stitch(rng: np.random.Generator) -> Floats:
    """Heights of columns of slanting legs."""
    wide, tall = rng.uniform(9, 15), rng.uniform(8, 13)
    y, x = np.mgrid[:SIDE, :SIDE].astype(float)
    column = x / wide
    side = np.where(column % 1 < 0.5, 1.0, -1.0)
    along = (y + side * 0.9 * wide * (np.abs(column % 1 - 0.5) - 0.25)) / tall
    leg = np.clip(1 - ((column % 0.5 - 0.25) / 0.27) ** 2, 0, 1) ** 0.5
    return np.asarray(wide * 0.3 * leg * (0.75 + 0.25 * np.cos(2 * np.pi * along)))


def _wound(rng: np.random.Generator, ball: bool) -> Floats:
    """Heights of strands laid over each other, on a ball if asked for."""
    y, x = np.mgrid[:SIDE, :SIDE].astype(float)
    height = np.zeros((SIDE, SIDE))
    for _layer in range(3 if ball else 1):
        turn, pitch = rng.uniform(0, np.pi), rng.uniform(7, 13)
        across = x * np.cos(turn) + y * np.sin(turn) + 1.2 * np.sin((y - x) / rng.uniform(14, 30))
        strand = np.floor(across / pitch)
        t = 2 * (across / pitch - strand) - 1
        lift = 0.35 * pitch * rng.random(400)[strand.astype(int) % 400]
        height = np.maximum(height, pitch * 0.5 * np.sqrt(np.clip(1 - t**2, 0, 1)) + lift)
    if ball:
        far = np.hypot(x - SIDE / 2, y - SIDE / 2)
        height += np.sqrt(np.maximum((1.6 * SIDE) ** 2 - far**2, 0)) * 0.8
    return height


def lit(rng: np.random.Generator, kind: str) -> tuple[Floats, Floats]:
    """Shading and gloss [SIDE, SIDE] of a swatch, skein or ball, 1 what paper lying beside it gets."""
    height = _stocking_stitch(rng) if kind == "swatch" else _wound(rng, kind == "ball")
    height = height + gaussian_filter(rng.standard_normal(height.shape), 0.8) * 0.5
    down, right = np.gradient(height)
    normal = np.stack([-right, -down, np.ones_like(height)])
    normal /= np.linalg.norm(normal, axis=0)
    slant, turn = np.radians(rng.uniform(5, 50)), rng.uniform(0, 2 * np.pi)
    at = np.array([np.sin(slant) * np.cos(turn), np.sin(slant) * np.sin(turn), np.cos(slant)])
    sky = rng.uniform(0.35, 1.0)
    hollow = np.clip((uniform_filter(height, 13) - height) / 6, 0, 1)
    room = (1 + normal[2]) / 2 * (1 - rng.uniform(0.4, 0.8) * hollow)
    direct = np.clip(np.tensordot(at, normal, 1), 0, None) * (1 - 0.6 * hollow)
    shading = (sky * room + (1 - sky) * direct) / (sky + (1 - sky) * at[2])
    half = at + np.array([0, 0, 1])
    gloss = (
        0.03
        * rng.random()
        * np.clip(np.tensordot(half / np.linalg.norm(half), normal, 1), 0, 1) ** 20
    )
    soft = rng.uniform(0.3, 1.4)
    return gaussian_filter(shading, soft), gaussian_filter(gloss, soft)


# Phones


def _file_values(linear: Floats, phone: Phone, rng: np.random.Generator) -> Floats:
    """Encoded values 0 to 1."""
    linear = np.clip(linear, 0, 1)
    value = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
    if phone != "mild":
        return value
    steep, middle = rng.uniform(1.5, 3.6), rng.uniform(0.42, 0.55)

    def sigmoid(v: Floats | float) -> Floats:
        return np.asarray(1 / (1 + np.exp(-steep * (np.asarray(v) - middle))))

    low, high = sigmoid(0.0), sigmoid(1.0)
    value = (sigmoid(value) - low) / (high - low)
    luma = value @ [0.299, 0.587, 0.114]
    more = rng.uniform(1.03, 1.2)
    value = luma[..., None] + more * (value - luma[..., None])
    return np.asarray(np.clip(value, 0, 1))


@dataclass(frozen=True)
class Shot:
    """A photo as a JPEG, where things lie in it ('x,y,w,h'), and the truth in Lab.

    `yarns`: box, fibre, as wound. `daylight`: whether it was taken in daylight.
    """

    jpeg: bytes
    yarns: tuple[tuple[str, Floats, Floats], ...]
    paper: str
    card: str
    greys: tuple[tuple[str, Floats], ...]
    daylight: bool


def photograph(seed: int, light: str, sensor: str, phone: Phone, yarns: int = 4) -> Shot:
    """A photo of yarns on a table with white paper, an 18 % grey card and four greys."""
    rng = np.random.default_rng(seed)
    bars, power = _sensor(sensor), lamp(light)
    matrix = _matrix_for(sensor, power)
    neutral = power @ bars
    day = lamp("D55") @ bars
    adapts = rng.uniform(0.6, 1.0)  # the rest of the way the phone trusts in daylight
    balance = (neutral / neutral[1]) ** -adapts * (day / day[1]) ** (adapts - 1)
    balance = balance * np.exp(rng.normal(0, 0.02, 3))
    shaded = 1 + rng.uniform(-0.06, 0.06) * np.linspace(-1, 1, (yarns + 1) * (SIDE + 16))

    def raw(reflectance: Floats) -> Floats:
        if phone == "ideal":
            xyz = true_xyz(reflectance) @ _science().RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
            return np.asarray(xyz * balance**0.5)
        return np.asarray((power * reflectance) @ bars / neutral[1] * balance)

    full = raw(np.ones(len(NM)))
    level = rng.uniform(0.6, 0.93) / full.max()
    wide = (yarns + 1) * (SIDE + 16)
    scene = np.tile(level * raw(np.full(len(NM), 0.11)), (2 * (SIDE + 16), wide, 1))
    scene *= 1 + 0.08 * rng.standard_normal(scene.shape[:2])[..., None]
    found = []
    for place, row in enumerate(rng.choice(len(samples()), yarns, replace=False)):
        reflectance = samples()[row]
        shading, gloss = lit(rng, ("swatch", "skein", "ball")[place % 3])
        left = 8 + place * (SIDE + 16)
        scene[8 : 8 + SIDE, left : left + SIDE] = level * (
            shading[..., None] * raw(reflectance) + gloss[..., None] * full
        )
        seen = true_xyz(reflectance) * shading.mean() + true_xyz(np.ones(len(NM))) * gloss.mean()
        box = f"{left + 8},16,{SIDE - 16},{SIDE - 16}"
        found.append((box, true_lab(true_xyz(reflectance)), true_lab(seen)))
    y = ((rng.uniform(92, 97) + 16) / 116) ** 3
    paper = y * (1 + rng.normal(0, 0.012) * (NM - 580) / 200)
    flats = [
        paper,
        np.full(len(NM), 0.184),
        *(np.full(len(NM), r) for r in (0.6, 0.36, 0.09, 0.04)),
    ]
    places = []
    for at, reflectance in enumerate(flats):
        left, top = 8 + at * 80, SIDE + 24
        if at == 0:
            left, top = yarns * (SIDE + 16) + 8, 8
        scene[top : top + 64, left : left + 64] = level * raw(np.clip(reflectance, 0, 1))
        places.append(f"{left + 6},{top + 6},52,52")
    scene *= shaded[:, None]
    scene += rng.normal(0, 0.003, scene.shape)
    linear = scene if phone == "ideal" else np.minimum(scene, 1) @ matrix
    values = np.rint(_file_values(linear, phone, rng) * 255).astype(np.uint8)
    file = io.BytesIO()
    Image.fromarray(values).save(file, "JPEG", quality=int(rng.integers(85, 96)))
    greys = tuple((places[at], true_lab(true_xyz(flats[at]))) for at in range(2, 6))
    return Shot(file.getvalue(), tuple(found), places[0], places[1], greys, light in DAY)
