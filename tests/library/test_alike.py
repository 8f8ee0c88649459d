"""Like motifs are found when mirrored, recoloured, shifted or resized, and others are not."""

from __future__ import annotations

import io
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.checks.report import YarnUse
from pic2chart.library.catalogue import opened
from pic2chart.library.indexing import index_fresh
from pic2chart.library.motif import MotifRecord
from tests.helpers import mixed_folder

COLOURS = ("#ece2d0", "#26304c", "#a8502f")


def _motif(name: str, squares: np.ndarray, colours: tuple[str, ...] = COLOURS) -> MotifRecord:
    picture = Image.fromarray(squares.astype(np.uint8)).convert("L")
    picture.putpalette([0] * 768)
    data = io.BytesIO()
    picture.save(data, "PNG")
    yarns = tuple(
        YarnUse("ABC"[i], f"yarn {i}", c, int((squares == i).sum()), 0.0, 0.0)
        for i, c in enumerate(colours)
    )
    texts = dict.fromkeys(("digest", "title", "kind", "worked", "hand", "gauge"), "")
    texts |= dict.fromkeys(("path", "sha256", "place"), name)
    zero = dict.fromkeys(
        (
            "repeat_stitches",
            "repeat_rounds",
            "longest_float",
            "longest_uncaught",
            "float_limit",
            "catches",
            "isolated",
            "ends",
            "errors",
            "size",
            "warnings",
            "notes",
            "colours_per_round",
        ),
        0,
    )
    none = dict.fromkeys(("contrast", "ratio", "likeness"))
    return MotifRecord(
        name=name, **texts, files=(), tags=(), stitches=squares.shape[1], rounds=squares.shape[0],
        width_cm=1, height_cm=1, repeat_kind="once", mirrored=False, agreement=1.0,
        difficulty=1.0, said=(), pixels=data.getvalue(), yarns=yarns, **zero, **none,
    )  # fmt: skip


AlikePair = tuple[str, str, str, float]


def alike_in(motifs: list[MotifRecord]) -> list[AlikePair]:
    """The pairs that a catalogue with these motifs notes."""
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder)) as catalogue:
        with catalogue.change():
            for motif in motifs:
                catalogue.put(motif)
        index_fresh(catalogue)
        return catalogue.connection.execute("SELECT * FROM alike ORDER BY 1, 2").fetchall()


def _photo(name: str, size: int = 48) -> np.ndarray:
    """A photograph as light, middle and dark."""
    pixels = Image.fromarray(mixed_folder.photographs()[name]).convert("L")
    grey = np.asarray(pixels.resize((size, size), Image.Resampling.BOX), float)
    return np.digitize(grey, np.quantile(grey, [0.4, 0.75])).astype(np.uint8)


def _pair(a: np.ndarray, b: np.ndarray, colours: tuple[str, ...] = COLOURS) -> list[AlikePair]:
    return alike_in([_motif("a", a), _motif("b", b, colours)])


NAMES = ("astronaut", "chelsea", "coffee", "flower", "temple", "rocket")


@pytest.mark.parametrize("name", NAMES)
def test_copies_are_found_and_told_apart(name: str) -> None:
    chart = _photo(name)
    (same,) = _pair(chart, chart)
    assert same == ("a", "b", "as it is", 1.0)
    (mirrored,) = _pair(chart, chart[:, ::-1])
    assert mirrored[2:] == ("mirrored", 1.0)
    swapped = np.array([1, 2, 0], np.uint8)[chart]
    (recoloured,) = _pair(chart, swapped)
    assert recoloured[2:] == ("in other yarns", 1.0)
    (dyed,) = _pair(chart, chart, ("#5d6b3a", "#26304c", "#a8502f"))
    assert dyed[2] == "in other yarns"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("shift", [(0, 6), (5, 0), (-4, 5)])
def test_shifted_windows_of_a_picture_are_found(name: str, shift: tuple[int, int]) -> None:
    wide = _photo(name, 64)
    a = wide[8:56, 8:56]
    b = wide[8 + shift[0] : 56 + shift[0], 8 + shift[1] : 56 + shift[1]]
    (found,) = _pair(a, b)
    assert found[2] == "shifted"
    assert found[3] > 0.95


@pytest.mark.parametrize("name", NAMES)
def test_the_same_picture_at_another_size_and_with_wrong_stitches_is_found(name: str) -> None:
    chart = _photo(name)
    rng = np.random.default_rng(3)
    noisy = np.where(rng.random(chart.shape) < 0.04, rng.integers(0, 3, chart.shape), chart)
    assert len(_pair(chart, noisy)) == 1
    assert len(_pair(chart, _photo(name, 60))) == 1


def test_different_pictures_are_not_alike() -> None:
    motifs = [_motif(name, _photo(name)) for name in (*NAMES, "camera", "coins", "page", "horse")]
    assert alike_in(motifs) == []


def test_plain_charts_are_not_alike_for_their_ground() -> None:
    plain = np.zeros((48, 48), np.uint8)
    left, right = plain.copy(), plain.copy()
    left[10:20, 10:16] = 1
    right[30:33, 20:44] = 1
    assert _pair(left, right) == []


def _landscape(number: int) -> np.ndarray:
    """Sky over ground, with low hills."""
    rng = np.random.default_rng(number)
    hills = np.convolve(rng.standard_normal(60), np.ones(13) / 13, "valid") * rng.uniform(1, 9)
    return (np.arange(48)[:, None] > rng.uniform(18, 30) + hills[None]).astype(np.uint8)


def test_horizons_and_blobs_on_a_plain_ground_are_not_alike() -> None:
    """By agreement alone, more than half of these pairs would be."""
    assert alike_in([_motif(f"l{n}", _landscape(n)) for n in range(24)]) == []
    y, x = np.mgrid[:48, :48]
    blobs = [
        (((y - 24) / (8 + n)) ** 2 + ((x - 24) / (17 - n)) ** 2 < 1).astype(np.uint8)
        for n in range(9)
    ]
    assert alike_in([_motif(f"b{n}", blob) for n, blob in enumerate(blobs[::3])]) == []


def test_identical_files_are_called_so_and_sizes_of_one_picture_are_not_told() -> None:
    chart = _photo("coffee")
    first, second = _motif("a", chart), replace(_motif("b", chart), sha256="a")
    assert alike_in([first, second]) == [("a", "b", "the same file", 1.0)]
    family = replace(_motif("c", _photo("coffee", 60)), path="a", size=1)
    assert alike_in([first, family]) == []


def test_what_is_alike_does_not_depend_on_the_order_of_coming() -> None:
    motifs = [
        _motif(f"{name}{i}", _photo(name)[:, :: (1, -1)[i]]) for name in NAMES for i in (0, 1)
    ]
    assert alike_in(motifs) == alike_in(motifs[::-1])
    assert len(alike_in(motifs)) == len(NAMES)


def test_one_motif_or_none_has_no_like() -> None:
    assert alike_in([]) == []
    assert alike_in([_motif("a", _photo("coffee"))]) == []
