"""The likeness table: python -m tests.bench.likeness [--out FOLDER] [--prove SECONDS] [--only WORD].

Every colour picture that comes inside scikit-image and scikit-learn and the pictures of sample_images, at
three sizes, with 2, 3 and 5 yarns, long floats caught and broken. Prints two Markdown tables, and writes
every figure as CSV and every chart as a picture into FOLDER. Times, those of the proof too, are of the
processor, so that a busy machine gives the same table.
"""

from __future__ import annotations

import argparse
import csv
import tempfile
import time
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from statistics import median

import numpy as np
from PIL import Image, ImageDraw
from skimage import data
from sklearn.datasets import load_sample_image

from pic2chart.core.settings import Settings
from pic2chart.pipeline import Made, make_chart
from pic2chart.solve import proving
from tests.helpers.places import SAMPLES

SIZES = ((40, 44), (60, 64), (100, 110))
YARNS = {
    2: ("oat=#ece2d0", "ink=#26304c"),
    3: ("oat=#ece2d0", "rust=#a8502f", "ink=#26304c"),
    5: ("oat=#ece2d0", "fawn=#b99468", "rust=#a8502f", "slate=#56616b", "ink=#26304c"),
}
"""Invented yarns; all reach from L* 20 to L* 90."""
BROKEN_AT = 5
PACKAGED = (
    "astronaut", "chelsea", "coffee", "colorwheel", "hubble_deep_field", "immunohistochemistry",
    "logo", "retina", "rocket",
)  # fmt: skip
FACTS = (
    "picture", "size", "yarns", "floats", "ssim", "ceiling", "floor", "kept", "gradients", "edges",
    "longest", "catches", "isolated", "errors", "warnings", "ends", "gap", "ms", "proof_s",
)  # fmt: skip


def pictures(folder: Path, only: str) -> dict[str, Path]:
    """Every picture as a file, by name."""
    arrays = {name: getattr(data, name)() for name in PACKAGED}
    arrays["motorcycle"] = data.stereo_motorcycle()[0]
    arrays |= {name: load_sample_image(f"{name}.jpg") for name in ("china", "flower")}
    for name, pixels in arrays.items():
        Image.fromarray(pixels).save(folder / f"{name}.png")
    found = {name: folder / f"{name}.png" for name in arrays}
    found |= {p.stem: p for p in sorted(SAMPLES.glob("*.png")) if Image.open(p).width > 100}
    return {name: path for name, path in found.items() if only in name}


def cases() -> Iterable[Settings]:
    """The settings of every case."""
    for stitches, rounds in SIZES:
        for yarn in YARNS.values():
            for mode in ("catch", "break"):  # the columns of a picture's sheet
                yield Settings(
                    stitches=stitches, rounds=rounds, yarn=yarn, long_floats=mode,
                    float_limit=BROKEN_AT,
                )  # fmt: skip


def figures(name: str, path: Path, settings: Settings, seconds: float) -> tuple[dict, Made]:
    """One line of the table, measured warm, and the chart."""
    began = time.process_time()
    made = make_chart(path, settings)
    middle = time.process_time()
    proved = make_chart(path, replace(settings, prove=seconds)) if seconds else made
    ended = time.process_time()
    r = made.report
    kept = r.likeness
    chart, ceiling, baseline = kept.chart, kept.ceiling, kept.baseline
    values = (
        name, f"{r.stitches}x{r.rounds}", len(r.yarns), settings.long_floats,
        chart.headline, ceiling.headline, baseline.headline, kept.share,
        chart.whole.gradients, chart.whole.edges, r.longest_float, r.catches, r.isolated,
        r.errors, r.warnings, r.ends, proved.report.gap, 1000 * (middle - began), ended - middle,
    )  # fmt: skip
    return dict(zip(FACTS, values, strict=True)), made


def chart_picture(made: Made, height: int = 190) -> Image.Image:
    """The chart as flat colours at true proportions, its figures beneath."""
    chart = made.chart
    palette = np.array([yarn.rgb for yarn in chart.yarns], np.uint8)
    flat = Image.fromarray(palette[chart.stitches[::-1, ::-1]])
    wide = round(height * flat.width / flat.height / chart.gauge.aspect)
    card = Image.new("RGB", (wide + 6, height + 16), "white")
    card.paste(flat.resize((wide, height), Image.Resampling.NEAREST), (0, 0))
    words = f"{made.report.likeness.share:.2f}"
    ImageDraw.Draw(card).text((2, height + 2), words, fill="black")
    return card


def sheet(cards: list[Image.Image], path: Path, columns: int) -> None:
    """All charts of one picture on one sheet."""
    wide, high = max(c.width for c in cards), max(c.height for c in cards)
    page = Image.new("RGB", (wide * columns, high * -(-len(cards) // columns)), "white")
    for i, card in enumerate(cards):
        page.paste(card, (i % columns * wide, i // columns * high))
    page.save(path)


def summary(lines: list[dict]) -> str:
    """Markdown: medians and worst over all pictures, by size, yarns and way with long floats."""
    head = (
        "| size | yarns | long floats | kept, median | kept, least | over floor, least "
        "| isolated, worst | errors | gap, median | gap, worst | ms, median |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|"
    )
    out = [head]
    keys = dict.fromkeys((x["size"], x["yarns"], x["floats"]) for x in lines)
    for size, yarns, mode in keys:
        part = [x for x in lines if (x["size"], x["yarns"], x["floats"]) == (size, yarns, mode)]
        live = int(np.prod([int(n) for n in size.split("x")]))
        kept, gaps = [x["kept"] for x in part], [x["gap"] or 0.0 for x in part]
        over = min(x["ssim"] - x["floor"] for x in part)
        lone = max(x["isolated"] for x in part) / live
        out.append(
            f"| {size} | {yarns} | {mode} | {median(kept):.3f} | {min(kept):.3f} | {over:+.3f} "
            f"| {lone:.2%} | {sum(x['errors'] for x in part)} | {median(gaps):.2%} "
            f"| {max(gaps):.2%} | {median(x['ms'] for x in part):.0f} |"
        )
    return "\n".join(out)


def by_picture(lines: list[dict], size: str) -> str:
    """Markdown: likeness kept of the ceiling for each picture at one size."""
    columns = dict.fromkeys((x["yarns"], x["floats"]) for x in lines)
    titles = " | ".join(f"{yarns} {mode}" for yarns, mode in columns)
    out = [f"| {size} | {titles} |", "|---" * (len(columns) + 1) + "|"]
    for name in dict.fromkeys(x["picture"] for x in lines):
        mine = {
            (x["yarns"], x["floats"]): f"{x['ssim']:.2f} / {x['ceiling']:.2f} / {x['floor']:.2f}"
            for x in lines
            if x["picture"] == name and x["size"] == size
        }
        out.append(f"| {name} | " + " | ".join(mine[c] for c in columns) + " |")
    return "\n".join(out)


def main() -> None:
    """Measure, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--prove", type=float, default=1.0)
    parser.add_argument("--only", default="")
    given = parser.parse_args()
    proving.monotonic = time.process_time
    lines = []
    with tempfile.TemporaryDirectory() as folder:
        for name, path in pictures(Path(folder), given.only).items():
            cards = []
            for settings in cases():
                line, made = figures(name, path, settings, given.prove)
                lines.append(line)
                cards.append(chart_picture(made))
            if given.out:
                given.out.mkdir(parents=True, exist_ok=True)
                sheet(cards, given.out / f"{name}.png", 6)
    print(summary(lines), end="\n\n")
    print(by_picture(lines, "60x64"))
    if given.out:
        with (given.out / "likeness.csv").open("w", newline="") as file:
            table = csv.DictWriter(file, FACTS)
            table.writeheader()
            table.writerows(lines)


if __name__ == "__main__":
    main()
