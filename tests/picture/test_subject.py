"""The subject: found by the network, kept to what a person marks, framed, and recorded."""

from __future__ import annotations

import json
import sys
import types
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from skimage import data
from sklearn.datasets import load_sample_image

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.settings import Settings
from pic2chart.picture import subject_network
from pic2chart.picture.decode import Box, Picture, load_picture
from pic2chart.picture.focus import Spot
from pic2chart.picture.framing import frame_of
from pic2chart.picture.source import WHOLE, read_source
from pic2chart.picture.subject import Marks, find_subject
from pic2chart.pipeline import make_chart, write_chart_folder
from tests.helpers.places import SAMPLES

YARNS = ("oat=#ece2d0", "ink=#26304c")


def saved(folder: Path, pixels: np.ndarray, name: str = "photo.png") -> Path:
    Image.fromarray(pixels).save(folder / name)
    return folder / name


@pytest.fixture(scope="module")
def flower(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The flower of scikit-learn (CC BY 2.0), orange on dark green: a photograph nobody fitted to."""
    return saved(tmp_path_factory.mktemp("flower"), load_sample_image("flower.jpg"))


def orange() -> np.ndarray:
    """Where that photograph is plainly the flower's orange."""
    rgb = load_sample_image("flower.jpg")
    return (rgb[..., 0] > 180) & (rgb[..., 2] < 140)


def whole(path: Path) -> Picture:
    return load_picture(path, across=WHOLE)


def overlap(a: np.ndarray, b: np.ndarray) -> float:
    return float((a & b).sum() / (a | b).sum())


def test_the_flower_is_found_by_itself(flower: Path) -> None:
    subject = find_subject(whole(flower), Marks())
    assert subject.mask is not None
    assert subject.how == "found"
    assert subject.certainty is not None
    assert subject.certainty > 0.9
    found, sure = subject.mask >= 0.5, orange()
    assert found[sure].mean() > 0.97
    assert (found & sure).sum() / found.sum() > 0.7  # pale and shaded petals are not orange
    assert not subject.mask.flags.writeable


@pytest.mark.parametrize("name", ["brick", "grass", "gravel", "text", "page", "coins", "moon"])
def test_pictures_without_a_subject_are_kept_whole(tmp_path: Path, name: str) -> None:
    grey = getattr(data, name)()
    subject = find_subject(whole(saved(tmp_path, np.dstack([grey] * 3))), Marks())
    assert subject.mask is None
    assert subject.how in ("unsure", "none")


@pytest.mark.parametrize("name", ["boat", "gull", "lighthouse", "word", "wave-repeat", "kelp"])
def test_drawings_and_repeats_are_kept_whole(name: str) -> None:
    subject = find_subject(whole(SAMPLES / f"{name}.png"), Marks())
    assert subject.mask is None
    assert not subject.remarks


def test_one_stroke_moves_more_than_its_disc(tmp_path: Path) -> None:
    """Two things side by side, the cat and the coffee of scikit-image: a stroke on either takes it."""
    cat, cup = data.chelsea()[:, :400], cv2.resize(data.coffee(), (400, 300))
    path = saved(tmp_path, np.hstack([cat[:300], cup]))
    picture = whole(path)
    left = find_subject(picture, Marks(keep=(Spot(150, 140, 25),), leave=(Spot(600, 150, 25),)))
    right = find_subject(picture, Marks(keep=(Spot(600, 150, 25),), leave=(Spot(150, 140, 25),)))
    assert left.mask is not None
    assert right.mask is not None
    assert left.how == "marked"
    on_left, on_right = left.mask >= 0.5, right.mask >= 0.5
    middle, disc = on_left.shape[1] // 2, np.pi * (25 * picture.scale) ** 2
    assert on_left[:, :middle].sum() > 3 * on_left[:, middle:].sum()
    assert on_right[:, middle:].sum() > on_right[:, :middle].sum()
    assert (on_left ^ on_right).sum() > 20 * disc


def test_marks_hold_where_they_are_made(flower: Path) -> None:
    marks = Marks(Box(100, 20, 400, 400), (Spot(120, 60, 15),), (Spot(330, 200, 12),))
    mask = find_subject(whole(flower), marks).mask
    assert mask is not None
    assert mask[60, 120] == 1
    assert mask[200, 330] == 0
    assert not mask[:, :90].any()


def test_the_mask_is_the_same_whatever_is_charted(flower: Path) -> None:
    asked = [
        Settings(stitches=30),
        Settings(stitches=90, rounds=60),
        Settings(stitches=60, crop="50,30,400,300", look="inked"),
    ]
    masks = [
        read_source(flower, settings, (settings.stitches, settings.rounds)).subject.mask
        for settings in asked
    ]
    assert all(np.array_equal(masks[0], mask) for mask in masks[1:])


def test_the_same_bytes_on_one_thread_and_two(flower: Path) -> None:
    picture, before, masks = whole(flower), cv2.getNumThreads(), []
    for threads in (1, 2):
        cv2.setNumThreads(threads)
        masks.append(find_subject(picture, Marks()).mask)
    cv2.setNumThreads(before)
    assert np.array_equal(*masks)


def test_the_frame_follows_the_subject(flower: Path) -> None:
    source = read_source(flower, Settings(), (60, None))
    window, mask = source.picture.window, source.mask
    assert mask is not None
    assert window.w * window.h < 0.9 * source.whole.size[0] * source.whole.size[1]
    rows, columns = (np.flatnonzero((mask >= 0.5).any(axis=side)) for side in (1, 0))
    assert rows[-1] - rows[0] > 0.85 * len(mask) or columns[-1] - columns[0] > 0.85 * mask.shape[1]


@pytest.mark.parametrize("shape", [None, 0.5, 1.0, 2.5])
def test_a_frame_holds_the_subject_and_lies_in_the_picture(shape: float | None) -> None:
    rng = np.random.default_rng(3)
    for _ in range(50):
        mask = np.zeros((60, 80), np.float32)
        top, left = rng.integers(0, 50), rng.integers(0, 70)
        bottom, right = top + rng.integers(1, 10), left + rng.integers(1, 10)
        mask[top:bottom, left:right] = 1
        box = frame_of(mask, (800, 600), shape)
        assert box.x <= left * 10
        assert box.x + box.w >= right * 10
        assert box.y <= top * 10
        assert box.y + box.h >= bottom * 10
        assert box.x + box.w <= 800
        assert box.y + box.h <= 600


def test_a_mask_of_ones_own_is_taken_as_it_is(tmp_path: Path, flower: Path) -> None:
    own = np.zeros((427, 640), np.uint8)
    own[100:300, 200:500] = 255
    mask = saved(tmp_path, own, "mask.png")
    subject = find_subject(whole(flower), Marks(mask))
    assert subject.mask is not None
    assert subject.how == "file"
    assert np.array_equal(subject.mask >= 0.5, own > 0)
    clear = saved(tmp_path, np.dstack([np.full((427, 640, 3), 90, np.uint8), own]), "clear.png")
    by_opacity = find_subject(whole(flower), Marks(clear)).mask
    assert by_opacity is not None
    assert np.array_equal(by_opacity >= 0.5, own > 0)


def test_opacity_is_the_subject(tmp_path: Path) -> None:
    rgba = np.full((90, 120, 4), 120, np.uint8)
    rgba[..., 3] = 0
    rgba[30:60, 40:80, 3] = 255
    picture = whole(saved(tmp_path, rgba))
    subject = find_subject(picture, Marks())
    assert subject.how == "opacity"
    assert np.array_equal(subject.mask, picture.opacity)
    part = find_subject(picture, Marks(Box(0, 0, 60, 90))).mask
    assert part is not None
    assert part.sum() == 30 * 20


@pytest.mark.parametrize(
    ("marks", "says"),
    [
        (Marks(keep=(Spot(900, 10, 5),)), "outside the picture"),
        (Marks(leave=(Spot(10, 427, 5),)), "outside the picture"),
        (Marks(Box(600, 400, 100, 100)), "outside the picture"),
        (Marks(Path("nowhere.png")), "nowhere"),
    ],
)
def test_what_does_not_fit_the_picture_is_refused(flower: Path, marks: Marks, says: str) -> None:
    with pytest.raises(InputError, match=says):
        find_subject(whole(flower), marks)


def test_masks_that_do_not_fit_are_refused(tmp_path: Path, flower: Path) -> None:
    empty = saved(tmp_path, np.zeros((427, 640), np.uint8), "empty.png")
    with pytest.raises(InputError, match="holds no subject"):
        find_subject(whole(flower), Marks(empty))
    tall = saved(tmp_path, np.full((640, 427), 255, np.uint8), "tall.png")
    with pytest.raises(InputError, match="same shape"):
        find_subject(whole(flower), Marks(tall))


def test_marks_in_words() -> None:
    marks = Marks.parse("10,20,30,40", ("1,2,3",), ())
    assert marks == Marks(Box(10, 20, 30, 40), (Spot(1, 2, 3),))
    assert Marks.parse("own-mask.png", (), ()).which == Path("own-mask.png")
    with pytest.raises(SettingError, match="keep"):
        Marks.parse("auto", ("1,2",), ())
    with pytest.raises(SettingError):
        Marks.parse("none", ("1,2,3",), ())


@pytest.mark.parametrize("damage", ["missing", "cut", "one bit", "no runtime", "broken runtime"])
def test_without_the_network_a_box_still_works(
    flower: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, damage: str
) -> None:
    lost, data = tmp_path / "subject.onnx", bytearray(subject_network.MODEL.read_bytes())
    if damage == "one bit":
        data[len(data) // 2] ^= 1
    if damage != "missing":
        lost.write_bytes(data[:100_000] if damage == "cut" else data)
    if damage.endswith("runtime"):
        broken = types.ModuleType("onnxruntime")  # as a library that cannot be loaded is met
        monkeypatch.setitem(sys.modules, "onnxruntime", broken if damage != "no runtime" else None)
    monkeypatch.setattr(subject_network, "MODEL", lost)
    subject = find_subject(whole(flower), Marks(Box(170, 40, 320, 330)))
    assert subject.mask is not None
    (said,) = map(str, subject.remarks)
    assert {"missing": "missing", "cut": "damaged", "one bit": "damaged"}.get(
        damage, "onnxruntime"
    ) in said
    found, sure = subject.mask[40:370, 170:490] >= 0.5, orange()[40:370, 170:490]
    assert found[sure].mean() > 0.98
    kept = find_subject(whole(flower), Marks())
    assert kept.mask is None
    assert len(kept.remarks) == 1


def test_onnxruntime_says_what_opencv_says(flower: Path) -> None:
    """OpenCV's dnn module, another implementation of ONNX's operators, is the oracle."""
    picture = cv2.cvtColor(cv2.imread(str(flower)), cv2.COLOR_BGR2RGB)
    square = subject_network._squeezed(picture)
    planes = np.zeros((2, subject_network.SIDE, subject_network.SIDE), np.float32)
    planes[0, 100:120, 100:120] = planes[1, :20] = 1
    other = cv2.dnn.readNetFromONNX(str(subject_network.MODEL))
    other.setInput(square, "picture")
    other.setInput(planes[None], "marks")
    share, sure = other.forward(["subject", "certainty"])
    ours, own = subject_network._answer(square, planes, subject_network.MODEL)
    assert np.allclose(ours, share[0, 0], atol=1e-4)
    assert own == pytest.approx(float(np.ravel(sure)[0]), abs=1e-4)


def test_what_was_found_is_recorded_and_shown(flower: Path, tmp_path: Path) -> None:
    made = make_chart(flower, Settings(yarn=YARNS))
    written = write_chart_folder(made, tmp_path / "out")
    assert tmp_path / "out" / "photo-subject.jpg" in written
    told = json.loads((tmp_path / "out" / "photo.chart.json").read_text("utf-8"))["source"]
    assert told["subject"]["how"] == "found"
    assert 0.8 < told["subject"]["certainty"] <= 1
    x, y, w, h = told["window"]
    assert 0 <= x < x + w <= 640
    assert 0 <= y < y + h <= 427
    kept = make_chart(flower, replace(Settings(yarn=YARNS), subject="none"))
    assert kept.source is not None
    assert kept.source.subject.mask is None
    assert kept.source.picture.window == Box(0, 0, 640, 427)
