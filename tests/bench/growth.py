"""What one more picture costs as a library grows, and what a motif costs in time and memory.

    python -m tests.bench.growth 1000 4000 16000 64000

Drawings at 14 x 12 stitches, 1,000 in a folder. The first of them (CHARTED in the environment, 200 when
left out) are charted. Each further one is a picture of its own, whose row is a charted motif's with its
own name, hash and pixels, and whose folder holds that motif's files under its own names: charting is
what does not change with size. The rows go through `Catalogue.put`, and the run that follows numbers,
indexes and compares all of them and writes their pages.

For each size, processor time and highest memory of a process of its own: of that run, by the motif that
is new; of a run with nothing new; and of one with one more picture, which is charted.
"""

from __future__ import annotations

import io
import os
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import cycle
from multiprocessing import get_context
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from pic2chart.library.catalogue import opened
from pic2chart.library.motif import MotifRecord, hash_of, place_of
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import Found, scan
from tests.helpers.library_runs import SMALL, run

OPTIONS = {**SMALL, "take": "picture"}
CHARTED = int(os.environ.get("CHARTED", "200"))
A_FOLDER = 1000


def tones(number: int) -> NDArray[np.uint8]:
    """uint8 [24, 28], 0 or 1, unlike any other: waves in two tones."""
    rng = np.random.default_rng(number)
    y, x = np.mgrid[:24, :28] / 24.0
    field = sum(
        rng.uniform(-1, 1) * np.cos(rng.uniform(2, 9) * (x * np.cos(t) + y * np.sin(t)) + t)
        for t in rng.uniform(0, 6.3, 4)
    )
    return np.asarray(field > np.median(field), np.uint8)


def draw(folder: Path, numbers: range) -> None:
    """The pictures of these numbers."""
    for number in numbers:
        place = folder / f"{number // A_FOLDER:03}"
        place.mkdir(parents=True, exist_ok=True)
        grey = np.kron(np.where(tones(number), 30, 230).astype(np.uint8), np.ones((2, 2), np.uint8))
        Image.fromarray(grey).convert("RGB").save(place / f"{number:06}.png")


def seed(folder: Path, out: Path) -> None:
    """Put a motif into the library for every picture that has none."""
    recipe = Recipe().over(OPTIONS)
    with opened(out) as catalogue:
        charted = list(catalogue.motifs(f"number <= {CHARTED}"))
        known = catalogue.kept()
        new = [file for file in scan(folder, frozenset()).found if (file.path, 0) not in known]
        for first in range(0, len(new), A_FOLDER):
            with catalogue.change():
                for file, model in zip(new[first : first + A_FOLDER], cycle(charted), strict=False):
                    motif = made_from(model, file, recipe)
                    place_files(out, model, motif)
                    catalogue.own(motif.place, motif.files)
                    catalogue.put(motif)


def made_from(model: MotifRecord, file: Found, recipe: Recipe) -> MotifRecord:
    """The row of a picture's motif, after that of another."""
    assert isinstance(file.file, Path)
    order = recipe.order(file.path)
    picture = Image.open(io.BytesIO(model.pixels))
    picture.putdata(tones(int(file.file.stem))[::2, ::2].ravel().tolist())
    pixels = io.BytesIO()
    picture.save(pixels, "PNG")
    return replace(
        model,
        name=file.name,
        title=file.file.stem,
        path=file.path,
        place=place_of(file.name),
        files=tuple(file.name + name.removeprefix(model.name) for name in model.files),
        sha256=hash_of(file.file),
        digest=recipe.digest(order),
        tags=order.tags,
        pixels=pixels.getvalue(),
    )


def place_files(out: Path, model: MotifRecord, motif: MotifRecord) -> None:
    """The motif's folder, with the files of another."""
    (out / motif.place).mkdir(parents=True)
    for old, new in zip(model.files, motif.files, strict=True):
        shutil.copyfile(out / model.place / old, out / motif.place / new)


def counted(work: Callable[..., object], *given: object) -> tuple[float, float]:
    """Processor seconds of doing it in this process, and the highest memory of that process in MB."""
    before = time.process_time()
    work(*given)
    return time.process_time() - before, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def apart(work: Callable[..., object], *given: object) -> tuple[float, float]:
    """The same in a process that begins with all that this one has loaded."""
    with ProcessPoolExecutor(1, get_context("fork")) as pool:
        return pool.submit(counted, work, *given).result()


def main(sizes: list[int], place: Path) -> None:
    folder, out = place / "pictures", place / "library"
    draw(folder, range(CHARTED))
    run(folder, out, OPTIONS)
    base = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"Memory of a process before it begins: {base:.0f} MB")
    print(
        "| motifs | taking in, ms a new motif | memory | nothing new | memory | one more | memory |"
    )
    print("|---|---|---|---|---|---|---|")
    before = CHARTED
    for size in sizes:
        draw(folder, range(before, size))
        apart(seed, folder, out)
        time.sleep(3)  # files changed within two seconds of a run are not trusted by their times
        (taken, most) = apart(run, folder, out, OPTIONS)
        nothing = apart(run, folder, out, OPTIONS)
        draw(folder, range(size, size + 1))
        more = apart(run, folder, out, OPTIONS)
        print(
            f"| {size:,} | {1000 * taken / (size - before):.1f} | {most:.0f} MB "
            f"| {nothing[0]:.2f} s | {nothing[1]:.0f} MB | {more[0]:.2f} s | {more[1]:.0f} MB |",
            flush=True,
        )
        before = size + 1


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        main([int(size) for size in sys.argv[1:]] or [1000, 4000], Path(made))
