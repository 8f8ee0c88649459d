"""Colour as arrays: sRGB, CIE Lab, lightness, differences, contrast, colour-vision simulation.

Colours run along the last axis: [..., 3]. sRGB is integers 0–255 or floats 0–1 (IEC 61966-2-1);
Lab is CIE 1976 L*a*b*, D65, 2° observer (CIE 15): L* 0–100. Only numpy is imported here, because
every command converts colours and should not wait for a larger library to load; the conversions
are held to scikit-image's in the tests, and ΔE2000 is scikit-image's own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Deficiency = Literal["protan", "deutan", "tritan"]

# Linear sRGB → XYZ: the primaries of ITU-R BT.709 and D65, before IEC 61966-2-1 rounds to 4 digits.
_XYZ_FROM_RGB = np.array(
    [
        [0.412453, 0.357580, 0.180423],
        [0.212671, 0.715160, 0.072169],
        [0.019334, 0.119193, 0.950227],
    ]
)
_RGB_FROM_XYZ = np.linalg.inv(_XYZ_FROM_RGB)
_WHITE = np.array([0.95047, 1.0, 1.08883])
_WHITED_FROM_RGB = (_XYZ_FROM_RGB / _WHITE[:, None]).T
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
_EPSILON, _KAPPA = 216 / 24389, 24389 / 27

# Machado, Oliveira & Fernandes 2009, IEEE TVCG 15(6), severity 1.0; they act on linear RGB.
_SIMULATIONS: dict[str, Floats] = {
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
}
# Brettel, Viénot & Mollon 1997, J. Opt. Soc. Am. A 14(10), for tritan eyes, whose two half planes (through
# white and 485 or 660 nm) one matrix cannot be: linear RGB on the bluish side, on the reddish side, and
# what parts them (reddish where positive). Cones after Smith & Pokorny 1975, the lights' XYZ after CIE
# 1931, white that of the screen so that greys stay grey; the tests work these numbers out.
_TRITAN_485 = np.array(
    [
        [0.933364, 0.199986, -0.133350],
        [0.058091, 0.825659, 0.116250],
        [-0.379289, 1.138311, 0.240977],
    ]
)
_TRITAN_660 = np.array(
    [
        [1.013540, 0.142673, -0.156214],
        [-0.011804, 0.875622, 0.136182],
        [0.077071, 0.812091, 0.110838],
    ]
)
_TRITAN_SIDE = np.array([0.039601, -0.028308, -0.011293])
DEFICIENCIES: tuple[Deficiency, ...] = ("protan", "deutan", "tritan")
SIMULATED_BY = "protan and deutan after Machado et al. 2009, tritan after Brettel et al. 1997"


def srgb_to_lab(rgb: ArrayLike) -> Floats:
    """SRGB [..., 3] → Lab [..., 3] (D65). Integers are 0–255, floats 0–1."""
    return _lab_from_whited(_linear(rgb) @ _WHITED_FROM_RGB)


def lab_to_srgb(lab: ArrayLike) -> NDArray[np.uint8]:
    """Lab [..., 3] (D65) → sRGB uint8 [..., 3]; what sRGB cannot show is clipped per channel."""
    return _encode(_linear_from_lab(lab))


def linear_rgb(rgb: ArrayLike) -> Floats:
    """Linear light 0–1 [..., 3] of sRGB [..., 3]."""
    return _linear(rgb)


def linear_to_lab(linear: ArrayLike) -> Floats:
    """Lab [..., 3] (D65) of linear light [..., 3], which may lie outside 0–1."""
    return _lab_from_whited(np.asarray(linear, dtype=np.float64) @ _WHITED_FROM_RGB)


def lab_to_linear(lab: ArrayLike) -> Floats:
    """Linear light [..., 3] of Lab [..., 3] (D65), outside 0–1 where sRGB cannot show it."""
    return _linear_from_lab(lab)


def white_balance(seen: ArrayLike, known: ArrayLike) -> Floats:
    """The matrix [3, 3] that turns what a reference looks like into what it is known to be.

    `seen` and `known` [3] are linear light; multiply linear light [..., 3] by the matrix from the
    right. A cast is partly the camera's own gains, which act on its channels, and partly the light,
    to which the eye adapts by gains in cone space (Bradford, Lam 1985, as ICC.1 prints it). One
    part of the first and two of the second keep the worst error small whichever it was.
    """
    first, last = (np.maximum(np.asarray(c, dtype=np.float64), 1e-6) for c in (seen, known))
    to_cones = _BRADFORD @ _XYZ_FROM_RGB
    gains = (to_cones @ last) / (to_cones @ first)
    cones = np.linalg.inv(to_cones) @ np.diag(gains) @ to_cones
    return np.asarray((np.diag(last / first) + 2 * cones).T / 3)


def in_gamut(lab: ArrayLike) -> NDArray[np.bool_]:
    """Whether sRGB can show a Lab colour [..., 3], to within half an 8-bit step near black."""
    linear = _linear_from_lab(lab)
    return np.asarray(((linear >= -1.5e-4) & (linear <= 1 + 1.5e-4)).all(axis=-1))


def lightness(rgb: ArrayLike) -> Floats:
    """L* [...] of sRGB [..., 3] (CIE 15), 0 black to 100 white."""
    return lightness_from_luminance(_linear(rgb) @ _XYZ_FROM_RGB[1])


def lightness_from_luminance(luminance: ArrayLike) -> Floats:
    """L* of luminance Y relative to white, 0–1 (CIE 15)."""
    return np.asarray(116 * _cube_root(np.asarray(luminance, dtype=np.float64)) - 16)


def relative_to_white(L: float) -> float:
    """Luminance relative to white, 0–1, of L* (CIE 15)."""
    root = (L + 16) / 116
    return float(root**3 if root**3 > _EPSILON else (116 * root - 16) / _KAPPA)


def relative_luminance(rgb: ArrayLike) -> Floats:
    """Relative luminance [...] as WCAG 2.2 defines it: 0 black, 1 white."""
    return np.asarray(_linear(rgb) @ np.array([0.2126, 0.7152, 0.0722]))


def contrast_ratio(rgb1: ArrayLike, rgb2: ArrayLike) -> Floats:
    """WCAG 2.2 contrast (L1 + 0.05) / (L2 + 0.05), 1 to 21, whichever colour is lighter."""
    first, second = relative_luminance(rgb1), relative_luminance(rgb2)
    return np.asarray(
        (np.maximum(first, second) + 0.05) / (np.minimum(first, second) + 0.05),
    )


def delta_e76(lab1: ArrayLike, lab2: ArrayLike) -> Floats:
    """ΔE*ab (CIE 1976), the straight distance in Lab; the last axes are 3, the others broadcast."""
    difference = np.asarray(lab1, dtype=np.float64) - np.asarray(lab2, dtype=np.float64)
    return np.asarray(np.sqrt((difference**2).sum(axis=-1)))


def delta_e2000(lab1: ArrayLike, lab2: ArrayLike, kL: float = 1.0) -> Floats:
    """CIEDE2000 through scikit-image; kL 2 is the practice for textiles (ISO 105-J03)."""
    from skimage.color import deltaE_ciede2000

    # Broadcast first: scikit-image takes the channel axis from the first array alone.
    first, second = np.broadcast_arrays(
        np.asarray(lab1, dtype=np.float64), np.asarray(lab2, dtype=np.float64)
    )
    return np.asarray(deltaE_ciede2000(first, second, kL=kL))  # type: ignore[no-untyped-call]


def simulate(rgb: ArrayLike, deficiency: Deficiency) -> NDArray[np.uint8]:
    """SRGB uint8 [..., 3] as a person without one kind of cone sees it (`SIMULATED_BY`)."""
    linear = _linear(rgb)
    if deficiency != "tritan":
        return _encode(linear @ _SIMULATIONS[deficiency].T)
    reddish = (linear @ _TRITAN_SIDE > 0)[..., None]
    return _encode(np.where(reddish, linear @ _TRITAN_660.T, linear @ _TRITAN_485.T))


def parse_hex(text: str) -> tuple[int, int, int]:
    """'#rrggbb' or '#rgb' → 0–255 each; raises ValueError on anything else."""
    match = re.fullmatch(r"#([0-9a-fA-F]{3}|[0-9a-fA-F]{6})", text)
    if match is None:
        raise ValueError(f"'{text[:20]}' is not written #rrggbb or #rgb")
    digits = match[1] if len(match[1]) == 6 else "".join(digit * 2 for digit in match[1])
    return (int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16))


def mixed(colours: Iterable[str]) -> str:
    """What colours '#rrggbb' make together, seen from too far to tell them apart: their mean light."""
    return to_hex(_encode(_linear([parse_hex(colour) for colour in colours]).mean(axis=0)))


def to_hex(rgb: ArrayLike) -> str:
    """Three integers 0–255 → '#rrggbb'."""
    red, green, blue = (int(channel) for channel in np.asarray(rgb).tolist())
    return f"#{red:02x}{green:02x}{blue:02x}"


def _linear(rgb: ArrayLike) -> Floats:
    """Linear light 0–1 of sRGB; integers go through a table, which is what images are."""
    values = np.asarray(rgb)
    if values.dtype.kind not in "iu":
        return _decode(values)
    if values.dtype != np.uint8:
        if values.size and not 0 <= int(values.min()) <= int(values.max()) <= 255:
            raise ValueError("sRGB in whole numbers must lie between 0 and 255")
        values = values.astype(np.uint8)
    return np.asarray(_TABLE[values])


def _decode(values: NDArray[Any]) -> Floats:
    clipped = np.clip(values.astype(np.float64), 0.0, 1.0)
    return np.where(clipped <= 0.04045, clipped / 12.92, ((clipped + 0.055) / 1.055) ** 2.4)


def _encode(linear: Floats) -> NDArray[np.uint8]:
    clipped = np.clip(linear, 0.0, 1.0)
    encoded = np.where(clipped <= 0.0031308, clipped * 12.92, 1.055 * clipped ** (1 / 2.4) - 0.055)
    return np.asarray(encoded * 255 + 0.5).astype(np.uint8)


def _cube_root(ratio: Floats) -> Floats:
    """The f(t) of CIE 15: a cube root with a straight foot."""
    root = np.cbrt(ratio)
    foot = ~(ratio > _EPSILON)
    if foot.any():
        root = np.where(foot, (_KAPPA * ratio + 16) / 116, root)
    return root


def _lab_from_whited(whited: Floats) -> Floats:
    """Lab from XYZ [..., 3] already divided by the white."""
    root = _cube_root(whited)
    lab = np.empty_like(root)
    lab[..., 0] = 116 * root[..., 1] - 16
    lab[..., 1] = 500 * (root[..., 0] - root[..., 1])
    lab[..., 2] = 200 * (root[..., 1] - root[..., 2])
    return lab


def _linear_from_lab(lab: ArrayLike) -> Floats:
    """Linear sRGB of Lab [..., 3], below 0 or above 1 where sRGB cannot show the colour."""
    L, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    y = (L + 16) / 116
    root = np.stack([y + a / 500, y, y - b / 200], axis=-1)
    ratio = np.where(root**3 > _EPSILON, root**3, (116 * root - 16) / _KAPPA)
    return np.asarray((ratio * _WHITE) @ _RGB_FROM_XYZ.T)


_TABLE = _decode(np.arange(256) / 255)
_TABLE.setflags(write=False)
