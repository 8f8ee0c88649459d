"""The sample pictures: drawn again they are the same, and they are what the examples need."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.helpers.places import SAMPLES

NAMES = sorted(path.stem for path in SAMPLES.glob("*.png"))


def pixels(name: str, folder: Path = SAMPLES) -> np.ndarray:
    with Image.open(folder / f"{name}.png") as image:
        return np.asarray(image)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with all pictures drawn anew by a copy of the script, which draws beside itself."""
    folder = tmp_path_factory.mktemp("drawn")
    for source in SAMPLES.glob("*.py"):
        (folder / source.name).write_bytes(source.read_bytes())
    command = [sys.executable, str(folder / "draw.py")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stderr
    assert sorted(done.stdout.split()) == [f"{name}.png" for name in NAMES]
    return folder


def test_there_are_eight_of_them_and_they_are_light() -> None:
    assert len(NAMES) >= 8
    assert sum(path.stat().st_size for path in SAMPLES.glob("*.png")) < 2_000_000


@pytest.mark.slow
def test_drawing_again_gives_the_same_pixels(drawn: Path) -> None:
    assert sorted(path.stem for path in drawn.glob("*.png")) == NAMES
    for name in NAMES:
        kept, anew = pixels(name), pixels(name, drawn)
        assert kept.shape == anew.shape, name
        assert np.array_equal(kept, anew), f"{name}: {np.count_nonzero(kept != anew)} values differ"


def test_the_dog_has_the_tones_of_a_photograph() -> None:
    grey = pixels("harbour-dog") @ (0.2126, 0.7152, 0.0722)
    assert grey.shape == (960, 900)
    low, high = np.percentile(grey, (2, 98))
    assert low < 45
    assert high > 205
    tenths = np.histogram(grey, bins=10, range=(0, 256))[0] / grey.size
    assert (tenths > 0.02).sum() >= 8


def test_the_background_of_the_dog_is_softer_than_its_fur() -> None:
    grey = pixels("harbour-dog").astype(float).mean(axis=2)
    steps = np.abs(np.diff(grey, axis=1))
    assert steps[300:420, 300:400].mean() > 5 * steps[0:120, 300:400].mean()


def test_the_boat_is_flat() -> None:
    colours, counts = np.unique(pixels("boat").reshape(-1, 3), axis=0, return_counts=True)
    five = np.sort(counts)[-5:]
    assert len(colours) > 5  # the edges are antialiased
    assert five.sum() > 0.97 * counts.sum()
    assert five.min() > 0.02 * counts.sum()


def test_the_tabby_stands_on_nothing() -> None:
    alpha = pixels("tabby")[..., 3]
    assert set(np.unique(alpha[[0, -1]])) == {0}
    assert alpha[320, 320] == 255
    assert 0.3 < (alpha == 255).mean() < 0.7
    assert ((alpha > 0) & (alpha < 255)).any()


def test_the_repeat_is_one_pixel_a_stitch_in_two_yarns_and_easy_to_knit() -> None:
    wave = pixels("wave-repeat")
    assert wave.shape == (12, 12, 3)
    assert len(np.unique(wave.reshape(-1, 3), axis=0)) == 2
    ink = wave[..., 0] < 128
    for row in ink:
        changes = np.flatnonzero(row != np.roll(row, 1))
        runs = np.diff(np.append(changes, changes[:1] + 12))
        assert len(changes) == 0 or runs.max() <= 5
