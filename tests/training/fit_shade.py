"""Fit what `pic2chart.yarns.camera` holds of phones, on rendered photos that no test uses.

    PYTHONPATH=. python tests/training/fit_shade.py --photos 300

Prints the mean and spread of tone curves (`curve`, `curve_sd`, `misfit`), of what winding does to light
(`FIBRE` of `yarns.shade`, `light_sd`) and of saturation; then, with these numbers in the module, the
variances of L* and of (a*, b*) by their causes (non-negative least squares, weighed by what they
predict) and the standard deviations that hold 19 of 20. How far the result may be trusted is for the
tests to say: they photograph with other spectra, lamps, sensors, yarn and phones.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

import fit_studio as studio
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from pic2chart.core.colour import lightness_from_luminance, linear_rgb, linear_to_lab
from pic2chart.yarns.camera import Known, correction_of
from pic2chart.yarns.shade import fibre_factor, lit_light, mean_light

Floats = NDArray[np.float64]


def curves(rng: np.random.Generator, phones: int) -> None:
    """Print how phones bend grey light: ln true light over ln light in the file, from white down."""
    grey, found = np.geomspace(0.01, 0.9, 60), []
    for _ in range(phones):
        phone = studio.Phone.drawn(rng)
        shown = linear_rgb(phone.encoded(grey[:, None] * np.ones(3), phone.matrices[0]))[:, 1]
        white = linear_rgb(phone.encoded(np.full((1, 3), 0.8), phone.matrices[0]))[0, 1]
        u, x = np.log(np.maximum(shown, 1e-4) / white), np.log(grey / 0.8)
        kept = (u > -4) & (grey < 0.85)
        rows = np.stack([u, u**2], axis=1)[kept]
        fitted = np.linalg.lstsq(rows, x[kept], rcond=None)[0]
        found.append([*fitted, float(np.std(rows @ fitted - x[kept]))])
    g, k, misfit = np.array(found).T
    print(f"curve {g.mean():.3f} {k.mean():.4f}  curve_sd {g.std():.3f} {k.std():.4f}")
    print(f"misfit {misfit.mean():.3f}")


def windings(rng: np.random.Generator, patches: int) -> None:
    """Print the light of the fibre over that of the lit half, and how differently it comes out."""
    logs = []
    for _ in range(patches):
        shading = np.repeat(studio.cylinders(rng).shading[..., None], 3, axis=2)
        logs.append(-np.log(lit_light(0.3 * shading)[0] / 0.3))
    print(f"fibre {np.exp(np.mean(logs)):.3f}  light_sd {np.std(logs):.3f}")


def questions(scene: studio.Scene) -> Iterator[list[Known]]:
    """What a knitter may have beside her yarn: paper, a card, both, greys, yarns she knows."""

    def even(pixels: NDArray[np.uint8], L: float, sd: float) -> Known:
        return Known(mean_light(pixels)[0], (L, 0.0, 0.0), sd, True)

    paper, card = even(scene.paper, 94.5, 1.5), even(scene.card, 50.0, 0.8)
    greys = [even(p, float(lightness_from_luminance(np.array(r))), 0.4) for p, r in scene.greys]
    yarns = []
    for pixels, truth in scene.knowns:
        linear = linear_rgb(pixels)
        L, a, b = (float(v) for v in linear_to_lab(truth))
        yarns.append(Known(lit_light(linear) * fibre_factor(linear), (L, a, b), 1.0, False))
    yield from ([paper], [card], [paper, card], [paper, card, *greys], [paper, *yarns])


def saturations(photos: int) -> None:
    """Print true chroma over the file's once the curve is undone, photo by photo."""
    found = []
    for seed in range(photos):
        scene = studio.photograph(np.random.default_rng(seed))
        *_, greys, _ = questions(scene)
        correction = correction_of(greys)
        ratios = []
        for pixels, truth, _ in scene.yarns:
            linear = correction.light(linear_rgb(pixels))
            seen = np.hypot(*linear_to_lab(lit_light(linear))[1:])
            true = np.hypot(*linear_to_lab(truth)[1:])
            if 15 < true < 60 and seen > 5:
                ratios.append(correction.saturation * true / seen)
        if ratios:
            found.append(np.median(ratios))
    print(f"saturation {np.median(found):.3f}  saturation_sd {np.std(found):.3f}")


def causes(photos: int) -> tuple[Floats, Floats, Floats]:
    """Causes [n, 5], squared errors of L* [n] and of (a*, b*) [n] of every yarn of every photo."""
    rows, light, hue = [], [], []
    for seed in range(photos):
        scene = studio.photograph(np.random.default_rng(seed))
        for knowns in questions(scene):
            correction = correction_of(knowns)
            for pixels, truth, _ in scene.yarns:
                linear = correction.light(linear_rgb(pixels))
                lab = linear_to_lab(lit_light(linear) * fibre_factor(linear))
                off = (lab - linear_to_lab(truth)) ** 2
                rows.append(correction.causes(lab, 0.3))
                light.append(off[0])
                hue.append(off[1] + off[2])
    return np.array(rows), np.array(light), np.array(hue)


def weighed(rows: Floats, squares: Floats) -> Floats:
    """Variances by cause: least squares, each square weighed by what is expected of it."""
    expected = np.full(len(squares), squares.mean())
    for _ in range(8):
        found, _ = nnls(rows / expected[:, None], squares / expected)
        expected = np.maximum(rows @ found, 0.2)
    return np.asarray(found)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=300)
    asked = parser.parse_args()
    curves(np.random.default_rng(1), asked.photos)
    windings(np.random.default_rng(2), asked.photos)
    saturations(asked.photos)
    rows, light, hue = causes(asked.photos)
    lightness, chroma = weighed(rows, light), weighed(rows, hue)
    ratio = np.sqrt((light + hue) / (rows @ (lightness + chroma)))
    print("lightness", lightness.round(2).tolist())
    print("chroma", chroma.round(2).tolist())
    print(f"reach {np.quantile(ratio, 0.95):.2f}, of L* alone "
          f"{np.quantile(np.sqrt(light / (rows @ lightness)), 0.95):.2f}")  # fmt: skip
