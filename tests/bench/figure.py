"""Is the subject seen? Outline and ground of charts made from photographs without any mark.

    python tests/bench/figure.py pictures.zip [--stitches 60] [--every 1]
    python tests/bench/figure.py pictures.zip --sheet OUT.png [--every 5]
    python tests/bench/figure.py pictures.zip --spoil [--every 3]
    python tests/bench/figure.py pictures.zip --frames [--stitches 40]

The zip is the one that tests/training/subject_data.py describes; only its validation part is used,
which nothing was fitted to. Every photograph becomes a chart in two yarns, once as it is (the subject
found by the program) and once with the true mask given. Against the true mask, on the chart's own
stitches:

* outline: of all places where a stitch of the subject lies beside one of the ground, the share with a
  change of yarn within one stitch of either;
* ground: the share of the ground's stitches, two and more away from the subject, in its main yarn;
* figure: their harmonic mean.

Prints a Markdown table. `--sheet` writes a contact sheet instead, to be looked at: of each photograph
its subject, the chart of the whole picture and that of its subject in two and in three yarns, and the
subject on the back of a mitten and round a hat. `--spoil` asks whether the likeness falls when the true
mask is spoiled: a part of the subject cut off, or a piece of the ground added. `--frames` asks whether
a closer frame shows more of the subject (`pic2chart.compare`).
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[2]))

from pic2chart.checks.likeness import changes_near, near
from pic2chart.compare import compare_frames
from pic2chart.core.settings import Settings
from pic2chart.design.draft import CLOSER
from pic2chart.garment.kinds import kind_named
from pic2chart.garment.making import make_garment
from pic2chart.model.chart import Chart, Stitches
from pic2chart.model.gauge import Gauge
from pic2chart.picture.grid import make_grid
from pic2chart.picture.source import framed
from pic2chart.picture.subject_view import subject_view
from pic2chart.pipeline import Made, make_chart
from tests.bench.subject import pictures

YARNS = ("oat=#ece2d0", "ink=#26304c")
KINDS = ("found by itself", "true mask")
THIRD = "rust=#a8502f"
Bools = NDArray[np.bool_]
Chosen = list[tuple[str, str, np.ndarray, np.ndarray]]
"""File, source, picture and mask of each photograph."""


def truth(mask: np.ndarray) -> NDArray[np.float32]:
    """The true mask, 0 or 1; a ring of unsure pixels is cut in its middle."""
    inside = cv2.distanceTransform((mask != 255).astype(np.uint8), cv2.DIST_L2, 3)
    outside = cv2.distanceTransform((mask != 0).astype(np.uint8), cv2.DIST_L2, 3)
    return ((mask == 255) | ((mask == 128) & (inside <= outside))).astype(np.float32)


def figure(stitches: Stitches, subject: Bools) -> tuple[float, float, float]:
    """Outline, ground and their harmonic mean; see the module."""
    seen = changes_near(stitches.astype(np.float64))
    found = [
        (seen[a] | seen[b])[subject[a] != subject[b]]
        for a, b in (
            ((slice(None), slice(1, None)), (slice(None), slice(-1))),
            ((slice(1, None), slice(None)), (slice(-1), slice(None))),
        )
    ]
    places = np.concatenate(found)
    outline = float(places.mean()) if places.size else 1.0
    far = stitches[~near(subject, 2)]
    ground = float(np.bincount(far).max() / far.size) if far.size else 1.0
    return outline, ground, 2 * outline * ground / max(outline + ground, 1e-9)


def chart_of(
    folder: Path, picture: np.ndarray, mask: NDArray[np.float32] | None, stitches: int
) -> Made:
    """The chart of a photograph, its subject found, or given as a mask."""
    Image.fromarray(picture).save(folder / "photo.png")
    settings = Settings(stitches=stitches, yarn=YARNS)
    if mask is not None:
        Image.fromarray((mask * 255).astype(np.uint8)).save(folder / "mask.png")
        settings = replace(settings, subject=str(folder / "mask.png"))
    return make_chart(folder / "photo.png", settings)


def true_subject(made: Made, mask: NDArray[np.float32]) -> Bools:
    """Where the true subject lies on the chart's stitches."""
    source, chart = made.source, made.chart
    assert source is not None
    part = framed(mask, source.whole, source.picture)
    size = chart.stitch_count, chart.round_count
    return make_grid(source.picture, Gauge.parse("28x30"), *size, part).subject >= 0.5


def tile(picture: np.ndarray, side: int = 190) -> np.ndarray:
    """The picture fitted into a grey square."""
    scale = side / max(picture.shape[:2])
    size = max(1, round(picture.shape[1] * scale)), max(1, round(picture.shape[0] * scale))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_NEAREST
    square = np.full((side + 6, side + 6, 3), 205, np.uint8)
    square[3 : 3 + size[1], 3 : 3 + size[0]] = cv2.resize(picture, size, interpolation=how)
    return square


def drawn(chart: Chart) -> np.ndarray:
    """The chart as a tile, its stitches square."""
    colours = np.array([*(yarn.rgb for yarn in chart.yarns), (205, 205, 205)], np.uint8)
    seen = np.minimum(chart.stitches[::-1, ::-1], len(chart.yarns))
    return tile(np.repeat(colours[seen], 5, axis=1).repeat(5, axis=0))


def sheet_line(path: Path, stitches: int) -> np.ndarray:
    """A photograph with its subject, its charts, a mitten and a hat, in one line."""
    one = Settings(stitches=stitches, yarn=YARNS)
    several = replace(one, yarn=(*YARNS, THIRD))
    made = make_chart(path, one)
    charts = [made.chart]
    for settings in (several, replace(one, subject="none"), replace(several, subject="none")):
        charts.append(make_chart(path, settings).chart)
    for kind in ("mitten", "hat"):
        options = kind_named(kind).options()
        charts.append(make_garment(kind, path, one, options).pieces[0].chart)
    assert made.source is not None
    whole, mask = made.source.whole.rgb, made.source.subject.mask
    photo = tile(whole if mask is None else subject_view(whole, mask))
    order = (2, 0, 3, 1, 4, 5)
    return np.hstack([photo, *(drawn(charts[place]) for place in order)])


def write_sheet(chosen: Chosen, stitches: int, out: Path) -> None:
    """The contact sheet: photograph; whole and subject in two, then in three yarns; mitten; hat."""
    lines = []
    with tempfile.TemporaryDirectory() as name:
        for _, _, picture, _ in chosen:
            path = Path(name) / "photo.png"
            Image.fromarray(picture).save(path)
            lines.append(sheet_line(path, stitches))
    Image.fromarray(np.vstack(lines)).save(out)


def compare_frames_of(chosen: Chosen, stitches: int) -> None:
    """Print in how many photographs, and by how much, a closer frame shows more of the subject."""
    gains = []
    with tempfile.TemporaryDirectory() as name:
        for _, _, picture, _ in chosen:
            path = Path(name) / "photo.png"
            Image.fromarray(picture).save(path)
            offers = compare_frames(path, Settings(stitches=stitches, yarn=YARNS))
            far, near = offers.get("whole"), offers.get("close")
            if far and near and near.across >= CLOSER * far.across:
                gains.append((near.shown - far.shown, far.readable, near.readable))
    array = np.array(gains, dtype=float)
    print(
        f"{len(gains)} photographs whose subject a closer frame makes wider: shown better in "
        f"{int((array[:, 0] > 0).sum())}, by {np.median(array[:, 0]):.3f} at the median; readable "
        f"{int(array[:, 1].sum())} before and {int(array[:, 2].sum())} after"
    )


def spoiled(mask: NDArray[np.float32], kind: str, rng: np.random.Generator) -> NDArray[np.float32]:
    """The mask with 28 % of the subject cut off along a line ('cut'), or with a disc of half its size
    added at a place of its outline ('add').
    """
    y, x = np.mgrid[: mask.shape[0], : mask.shape[1]]
    out = mask.copy()
    if kind == "cut":
        turn = rng.uniform(0, 2 * np.pi)
        along = x * np.cos(turn) + y * np.sin(turn)
        out[along > np.quantile(along[mask > 0.5], 0.72)] = 0
        return out
    edge = np.argwhere(near(mask > 0.5, 1) & (mask < 0.5))
    middle = edge[rng.integers(len(edge))]
    out[(y - middle[0]) ** 2 + (x - middle[1]) ** 2 < mask.sum() / (2 * np.pi)] = 1
    return out


def count_falls(chosen: Chosen, stitches: int) -> None:
    """Print in how many of the pairs the likeness falls."""
    rng = np.random.default_rng(7)
    falls: dict[str, list[bool]] = {"cut": [], "add": []}
    with tempfile.TemporaryDirectory() as name:
        for _, _, picture, mask in chosen:
            own = truth(mask)
            best = score(chart_of(Path(name), picture, own, stitches))
            for kind, found in falls.items():
                worse = spoiled(own, kind, rng)
                found.append(score(chart_of(Path(name), picture, worse, stitches)) < best)
    for kind, found in falls.items():
        print(f"{kind}: the likeness falls in {sum(found)} of {len(found)}")


def score(made: Made) -> float:
    """The likeness that a report prints."""
    assert made.report.likeness is not None
    return made.report.likeness.chart.headline


def main() -> None:
    """Print the table, or what is asked for instead."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("zip", type=Path)
    parser.add_argument("--stitches", type=int, default=60)
    parser.add_argument("--every", type=int, default=1, help="only every so many photographs")
    parser.add_argument("--sheet", type=Path)
    parser.add_argument("--spoil", action="store_true")
    parser.add_argument("--frames", action="store_true")
    words = parser.parse_args()
    chosen = list(pictures(words.zip, "val"))[:: words.every]
    if words.spoil:
        return count_falls(chosen, words.stitches)
    if words.frames:
        return compare_frames_of(chosen, words.stitches)
    if words.sheet:
        return write_sheet(chosen, words.stitches, words.sheet)
    rows: dict[tuple[str, str], list[tuple[float, float, float]]] = {}
    with tempfile.TemporaryDirectory() as name:
        for _, source, picture, mask in chosen:
            own = truth(mask)
            for kind, given in zip(KINDS, (None, own), strict=True):
                made = chart_of(Path(name), picture, given, words.stitches)
                value = figure(made.chart.stitches, true_subject(made, own))
                for group in (source, "all"):
                    rows.setdefault((group, kind), []).append(value)
    print("| photographs | subject | outline | ground | figure | a tenth under |")
    print("|---|---|---|---|---|---|")
    for (group, kind), values in sorted(rows.items()):
        array = np.array(values)
        middle = " | ".join(f"{x:.3f}" for x in np.median(array, axis=0))
        low = np.percentile(array[:, 2], 10)
        print(f"| {group} ({len(values)}) | {kind} | {middle} | {low:.3f} |")


if __name__ == "__main__":
    main()
