"""How well the subject is found: overlap with people's own outlines, and the time it takes.

    python tests/bench/subject.py pictures.zip [--network MODULE] [--split val]

The zip is the one that tests/training/subject_data.py describes. For every picture of the split the
intersection over union of the mask cut at .5 is taken, where the outline is sure; by itself, with a
box, and with the box and two marks. The box is the outline's, 0 to 10 % loose on every side; each
mark is a disc of a thirtieth of the picture in the middle of the largest wrong place, so the second
answers the first. A Markdown table of mean / median, then the processor time of a warm find.
"""

from __future__ import annotations

import argparse
import csv
import importlib.util
import io
import statistics
import sys
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import cv2
import numpy as np
from numpy.typing import NDArray

KINDS = ("by itself", "box", "box and two marks")
OURS = Path(__file__).parents[2] / "pic2chart" / "picture" / "subject_network.py"


def pictures(path: Path, split: str) -> Iterator[tuple[str, str, np.ndarray, np.ndarray]]:
    """File, source, RGB picture and mask (255 subject, 128 unsure, 0 ground) of a split."""
    with zipfile.ZipFile(path) as archive:
        for row in csv.DictReader(io.StringIO(archive.read("index.csv").decode())):
            if row["split"] != split:
                continue
            both = [
                np.frombuffer(archive.read(row["file"] + end), np.uint8) for end in (".jpg", ".png")
            ]
            picture = cv2.imdecode(both[0], cv2.IMREAD_COLOR)[..., ::-1]
            mask = cv2.imdecode(both[1], cv2.IMREAD_GRAYSCALE)
            yield row["file"], row["source"], np.ascontiguousarray(picture), mask


def overlap(share: NDArray[np.float32], mask: np.ndarray) -> float:
    """Intersection over union where the mask is sure."""
    own, yes, sees = share > 0.5, mask == 255, mask != 128
    either = ((own | yes) & sees).sum()
    return float((own & yes & sees).sum() / either) if either else 1.0


def box_around(mask: np.ndarray, rng: np.random.Generator) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the outline, each side 0 to 10 % of its extent further out."""
    height, width = mask.shape
    rows, columns = np.nonzero((mask == 255).any(1))[0], np.nonzero((mask == 255).any(0))[0]
    high, wide = rows[-1] + 1 - rows[0], columns[-1] + 1 - columns[0]
    off = rng.uniform(0, 0.1, 4)
    return (
        max(0.0, columns[0] - off[0] * wide),
        max(0.0, rows[0] - off[1] * high),
        min(float(width), columns[-1] + 1 + off[2] * wide),
        min(float(height), rows[-1] + 1 + off[3] * high),
    )


def worst_place(share: NDArray[np.float32], mask: np.ndarray) -> tuple[bool, float, float] | None:
    """Whether to keep, and the middle (x, y) of the place furthest inside a wrong region."""
    found = []
    for keep, wrong in (
        (True, (mask == 255) & (share <= 0.5)),
        (False, (mask == 0) & (share > 0.5)),
    ):
        padded = np.pad(wrong.astype(np.uint8), 1)
        depth = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1]
        y, x = np.unravel_index(int(depth.argmax()), depth.shape)
        found.append((float(depth[y, x]), keep, float(x), float(y)))
    depth_there, keep, x, y = max(found)
    return (keep, x, y) if depth_there >= 2 else None


def judged(net: ModuleType, picture: np.ndarray, mask: np.ndarray, seed: int) -> list[float]:
    """The overlap by each of KINDS."""
    box = net.Edges(*box_around(mask, np.random.default_rng(seed)))
    scores = [overlap(net.find(picture).mask, mask)]
    share = net.find(picture, box=box).mask
    scores.append(overlap(share, mask))
    marks: dict[bool, list[object]] = {True: [], False: []}
    for _ in range(2):
        place = worst_place(share, mask)
        if place is None:
            break
        marks[place[0]].append(net.Disc(place[1], place[2], max(mask.shape) / 30))
        share = net.find(picture, keep=marks[True], leave=marks[False], box=box).mask
    scores.append(overlap(share, mask))
    return scores


def processor_time(net: ModuleType, side: int) -> float:
    """Median seconds of processor for a warm find in a picture of side × ¾ side."""
    picture = np.random.default_rng(0).integers(0, 256, (side * 3 // 4, side, 3), dtype=np.uint8)
    picture = cv2.GaussianBlur(picture, (0, 0), 5)
    spent = []
    for _ in range(15):
        began = time.process_time()
        net.find(picture)
        spent.append(time.process_time() - began)
    return statistics.median(spent[3:])


def module_at(path: Path) -> ModuleType:
    """The module in a file."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    if spec is None or spec.loader is None:
        raise SystemExit(f"no module: {path}")
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """Read the command line, judge, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("data", type=Path, help="the zip of pictures and masks")
    parser.add_argument("--network", type=Path, default=OURS, help="the module that has find()")
    parser.add_argument("--split", default="val")
    parser.add_argument("--each", type=Path, help="write every picture's overlaps to this CSV")
    args = parser.parse_args()
    net = module_at(args.network)
    scores: dict[str, list[list[float]]] = {}
    rows = []
    for i, (file, source, picture, mask) in enumerate(pictures(args.data, args.split)):
        one = judged(net, picture, mask, i)
        scores.setdefault(source, []).append(one)
        rows.append([file, *(f"{x:.4f}" for x in one)])
    print(f"| mean / median | {' | '.join(KINDS)} |\n|---|{'---|' * len(KINDS)}")
    for source, found in sorted(scores.items()):
        columns = list(zip(*found, strict=True))
        cells = [f"{statistics.mean(c):.3f} / {statistics.median(c):.3f}" for c in columns]
        print(f"| {source} ({len(found)}) | {' | '.join(cells)} |")
    times = [f"{processor_time(net, side) * 1000:.0f} ms at {side}" for side in (300, 600, 900)]
    print(f"\nProcessor time of a warm find: {', '.join(times)} pixels.")
    if args.each:
        with args.each.open("w", newline="") as file_out:
            csv.writer(file_out).writerows([["file", *KINDS], *rows])


if __name__ == "__main__":
    main()
