"""A yarn's colour from a photo: the ColorChecker wound as yarn, photographed and measured back."""

from __future__ import annotations

import csv
import json
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from skimage import data

from pic2chart.cli.app import run
from pic2chart.core.colour import (
    delta_e76,
    delta_e2000,
    linear_rgb,
    parse_hex,
    srgb_to_lab,
    white_balance,
)
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import Box
from pic2chart.sheets.fabric.marked_photo import Patch, marked_photo
from pic2chart.sheets.marks.page import Boxes, Raster
from pic2chart.yarns.shade import (
    DIFFERENCES,
    GRADES,
    find_reference,
    grey_scale_grade,
    match_lots,
    measure_shade,
)
from pic2chart.yarns.shelf import read_shelf
from pic2chart.yarns.yarn_photo import (
    Measured,
    PhotoOptions,
    measure_photo,
    parse_patch,
    put_on_shelf,
)
from tests.helpers.colour_card import box, card, linear, photograph
from tests.helpers.places import PUBLISHED, SAMPLES
from tests.helpers.shelves import write_shelf

WHITE, GREY = 18, 21
SAMPLE = SAMPLES / "skeins.png"
LIGHTS = {
    "as it is": (None, (1.0, 1.0, 1.0)),
    "warm camera": (None, (1.0, 0.8, 0.6)),
    "cold camera": (None, (0.65, 0.8, 1.0)),
    "4500 K": ((0.3621, 0.3709), (1.0, 1.0, 1.0)),
    "8000 K": ((0.2952, 0.3048), (1.0, 1.0, 1.0)),
    "4500 K, warm camera": ((0.3621, 0.3709), (1.0, 0.9, 0.8)),
}


def shown() -> np.ndarray:
    """The patches that sRGB can show at all (one of 24, cyan, it cannot)."""
    return np.asarray((linear(card()[1]) >= 0).all(axis=1))


def known(place: int) -> str:
    L, a, b = card()[2][place]
    return f"lab({L:.2f}, {a:.2f}, {b:.2f})"


def measured(folder: Path, picture: Image.Image, **asked: object) -> Measured:
    path = folder / "card.png"
    picture.save(path)
    patches = tuple((name, Box.parse(box(i))) for i, name in enumerate(card()[0]))
    return measure_photo(path, PhotoOptions(patches, **asked))  # type: ignore[arg-type]


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("reference", [WHITE, GREY])
def test_the_colour_checker_is_measured_back(tmp_path: Path, light: str, reference: int) -> None:
    """X-Rite's values (November 2014). One patch leaves open what the camera did, which was nothing
    here: half lie within 2 ΔE2000 and every doubt is honest. With greys and yarns of known colour
    all lie within 3."""
    picture = photograph(*LIGHTS[light])
    found = measured(tmp_path, picture, white=Box.parse(box(reference)), known=known(reference))
    assert shown().sum() == 23
    off = delta_e2000([shade.lab for shade in found.shades], card()[2])[shown()]
    assert np.median(off) < 2.2
    assert off.max() < 4.7
    off = delta_e76([shade.lab for shade in found.shades], card()[2])[shown()]
    assert (off <= np.array(found.uncertainties, float)[shown()]).mean() >= 0.95
    knowns = tuple(
        (known(place), Box.parse(box(place))) for place in (*range(12, 18), *range(18, 24))
    )
    better = measured(tmp_path, picture, knowns=knowns)
    rest = np.arange(24)[shown()]
    rest = rest[rest < 12]
    off = delta_e2000([better.shades[place].lab for place in rest], card()[2][rest])
    assert off.max() < 3
    assert np.median(better.within_L) < np.median(found.within_L)  # type: ignore[type-var]


def test_a_plain_mean_would_be_far_off(tmp_path: Path) -> None:
    """Shadows between the strands make the mean of the pixels much darker than the yarn."""
    rgb = np.asarray(photograph())
    b = Box.parse(box(1))
    mean = linear_rgb(rgb[b.y : b.y + b.h, b.x : b.x + b.w]).mean(axis=(0, 1))
    flat = np.asarray(photograph(wound=False))
    true = linear_rgb(flat[b.y : b.y + b.h, b.x : b.x + b.w]).mean(axis=(0, 1))
    assert mean.mean() < 0.8 * true.mean()


def test_white_paper_is_found_by_itself(tmp_path: Path) -> None:
    """The card's white is L* 95.2; taken as neutral L* 95 the yarns come within 4 ΔE2000."""
    found = measured(tmp_path, photograph(*LIGHTS["warm camera"]))
    (reference,) = found.references
    assert reference.how == "found"
    inside = Box.parse(box(WHITE, 0))
    at = reference.box
    assert inside.x - 6 <= at.x
    assert at.x + at.w <= inside.x + inside.w + 6
    labs = np.array([shade.lab for shade in found.shades])[:18]
    assert delta_e2000(labs, card()[2][:18])[shown()[:18]].max() < 4
    assert any("found by itself" in str(remark) for remark in found.remarks)


def test_as_lit_keeps_the_cast_and_promises_nothing(tmp_path: Path) -> None:
    found = measured(tmp_path, photograph(*LIGHTS["warm camera"]), as_lit=True)
    assert found.uncertainties == (None,) * 24
    assert "not corrected" in str(found.remarks[0])


@pytest.mark.parametrize("name", ["chelsea", "coffee", "astronaut"])
def test_pictures_without_paper_have_no_reference(name: str) -> None:
    assert find_reference(np.asarray(getattr(data, name)())) is None


def test_white_balance_is_exact_for_its_reference() -> None:
    seen, wanted = np.array([0.9, 0.6, 0.3]), np.array([0.85, 0.85, 0.85])
    np.testing.assert_allclose(seen @ white_balance(seen, wanted), wanted, rtol=1e-12)
    np.testing.assert_allclose(white_balance(seen, seen), np.eye(3), atol=1e-12)


def as_it_is(linear: np.ndarray) -> np.ndarray:
    return linear


def noise(colour: tuple[int, int, int], spread: float, seed: int = 1) -> np.ndarray:
    grain = np.random.default_rng(seed).normal(0, spread, (60, 60, 1))
    return np.clip(np.array(colour) + grain, 0, 255).astype(np.uint8)


def test_an_even_patch_with_shadows_and_glints() -> None:
    pixels = noise((168, 80, 47), 2)
    pixels[:, ::4] = (40, 18, 10)
    pixels[::7, 1::4] = (255, 240, 230)
    shade = measure_shade("rust", pixels, as_it_is)
    true = srgb_to_lab(np.array([168, 80, 47], np.uint8))
    assert float(delta_e2000(shade.lab, true)) < 1
    assert shade.spread < 2


@pytest.mark.parametrize(
    ("pixels", "word"),
    [
        (np.full((50, 50, 3), 255, np.uint8), "over-exposed: 100%"),
        (np.zeros((50, 50, 3), np.uint8), "almost black"),
        (np.full((5, 5, 3), 90, np.uint8), "mark at least 64"),
    ],
)
def test_patches_a_camera_could_not_see(pixels: np.ndarray, word: str) -> None:
    with pytest.raises(InputError, match=word):
        measure_shade("a", pixels, as_it_is)


def test_an_overexposed_photo_says_so_and_leaves_the_shelf(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    photo, shelf = tmp_path / "white.png", tmp_path / "shelf.csv"
    Image.fromarray(np.full((200, 200, 3), 255, np.uint8)).save(photo)
    write_shelf(shelf, [Yarn("ink", "#26304c")])
    before = shelf.read_bytes()
    for more, word in (([], "100% of it is over-exposed"), (["--as-lit"], "over-exposed")):
        assert run(["shade", str(photo), "--shelf", str(shelf), *more]) == 2
        error = capsys.readouterr().err
        assert word in error
        assert error.count("\n") == 1
    assert shelf.read_bytes() == before


def test_the_shelf_gets_new_yarns_and_keeps_the_rest(tmp_path: Path) -> None:
    path = tmp_path / "shelf.csv"
    path.write_text("name,colour,grams,my own\nInk,#000000,50,drawer 2\noat,#ece2d0,100,top\n")
    names = [i for i, name in enumerate(card()[0]) if name in ("blue sky", "foliage")]
    photo = tmp_path / "card.png"
    photograph().save(photo)
    patches = (("ink", Box.parse(box(names[0]))), ("kelp", Box.parse(box(names[1]))))
    said = put_on_shelf(measure_photo(photo, PhotoOptions(patches)), path)
    assert said[0].startswith("ink: #000000 becomes #") or said[0].startswith("Ink: #000000")
    assert said[1] == "kelp added"
    yarns = {yarn.name: yarn for yarn in read_shelf(path)}
    assert list(yarns) == ["Ink", "oat", "kelp"]
    assert yarns["Ink"].colour != "#000000"
    assert yarns["Ink"].grams == 50
    assert "colour from card.png" in (yarns["kelp"].note or "")
    assert "drawer 2" in path.read_text("utf-8-sig")


def test_several_colours_in_one_patch_are_noticed(tmp_path: Path) -> None:
    photo = tmp_path / "card.png"
    photograph(wound=False).save(photo)
    found = measure_photo(photo, PhotoOptions((("all", Box(0, 0, 400, 300)),), as_lit=True))
    assert any("colours in the patch of all" in str(remark) for remark in found.remarks)


def test_the_photo_is_shown_with_its_patches_and_their_colours(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    patches = ["--patch", "rust=50,60,60,60", "--patch", "moss=170,150,60,60"]
    command = ["shade", str(SAMPLE), *patches, "--out", str(tmp_path / "out"), "--json"]
    assert run(command) == 0
    told = json.loads(capsys.readouterr().out)
    (file,) = told["files"]
    assert Path(file).name == "skeins-shades.png"
    assert [shade["box"] for shade in told["shades"]] == ["50,60,60,60", "170,150,60,60"]
    with Image.open(file) as picture:
        shown = np.asarray(picture.convert("RGB")).reshape(-1, 3)
    for shade in told["shades"]:
        near = np.abs(shown.astype(int) - parse_hex(shade["colour"])).max(axis=1) <= 1
        assert near.sum() > 4000, "the chip of its colour"
    measured = measure_photo(SAMPLE, PhotoOptions((("rust", Box(50, 60, 60, 60)),)))
    with Image.open(SAMPLE) as photo:
        sheet = marked_photo(
            np.asarray(photo.convert("RGB")),
            [Patch((50, 60, 60, 60), "rust", ("", ""), "#a8502f")],
            "t",
        )
    raster = next(mark for mark in sheet.marks if isinstance(mark, Raster))
    frame = next(m for m in sheet.marks if isinstance(m, Boxes) and m.name == "patch").boxes[0]
    scale = raster.box[2] / photo.width
    assert frame[0] == pytest.approx(raster.box[0] + 50 * scale)
    assert frame[1] == pytest.approx(raster.box[1] + 60 * scale)
    assert (frame[2], frame[3]) == pytest.approx((60 * scale, 60 * scale))
    assert measured.boxes == (Box(50, 60, 60, 60),)


def test_grey_scale_grades_are_the_standards() -> None:
    path = PUBLISHED / "iso105_a02_grey_scale.csv"
    rows = list(csv.reader(line for line in path.open() if not line.startswith("#")))[1:]
    assert [(grade, float(delta)) for grade, delta in rows] == list(
        zip(GRADES, DIFFERENCES, strict=True)
    )
    for grade, delta in rows:
        assert grey_scale_grade(float(delta)) == grade
    assert grey_scale_grade(99.0) == "1"


def test_two_lots_of_one_dye(tmp_path: Path) -> None:
    two = np.concatenate([noise((90, 107, 58), 2, 1), noise((93, 107, 60), 2, 2)], axis=1)
    path = tmp_path / "lots.png"
    Image.fromarray(two).save(path)
    patches = (("moss 11", Box(2, 2, 54, 54)), ("moss 12", Box(64, 2, 54, 54)))
    found = measure_photo(path, PhotoOptions(patches, as_lit=True)).lots
    lab = srgb_to_lab(np.array([[90, 107, 58], [93, 107, 60]], np.uint8))
    assert len(found) == 1
    assert found[0].delta_e == pytest.approx(float(delta_e76(*lab)), abs=0.4)
    assert found[0].grade in ("4-5", "4")


def test_lots_no_photo_could_tell_apart() -> None:
    assert "beyond what this photo" in match_lots("a", "b", (50, 0, 0), (50.5, 0, 0), 1.0).words
    far = match_lots("a", "b", (50, 0, 0), (63.2, 0, 0), 20.0).words
    assert "too uncertain" in far
    assert "20 ΔE" in far
    assert "do not use" in match_lots("a", "b", (50, 0, 0), (65, 0, 0), 1.0).words


@pytest.mark.parametrize(
    ("asked", "word"),
    [
        ({"knowns": (("#808080", Box(0, 0, 9, 9)),), "as_lit": True}, "leaves the light"),
        ({"white": Box(0, 0, 9, 9), "as_lit": True}, "leaves the light"),
        ({"known": "#ffffff"}, "needs the patch"),
        ({"patches": (("a", Box(0, 0, 9, 9)), ("A", Box(0, 0, 9, 9)))}, "called 'a'"),
        ({"patches": tuple((f"{i}", Box(0, 0, 9, 9)) for i in range(41))}, "40 are the most"),
    ],
)
def test_questions_that_contradict_themselves(asked: dict[str, object], word: str) -> None:
    with pytest.raises(SettingError, match=word):
        PhotoOptions(**asked)  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["rust", "=1,2,3,4", "rust=1,2,3", "rust=a,b,c,d", "rust=1,2,0,4"])
def test_patches_that_cannot_be_read(text: str) -> None:
    with pytest.raises(SettingError):
        parse_patch(text)


def test_a_patch_outside_the_photo(tmp_path: Path) -> None:
    path = tmp_path / "p.png"
    Image.fromarray(noise((90, 90, 90), 2)).save(path)
    with pytest.raises(InputError, match="patch 'far'"):
        measure_photo(path, PhotoOptions((("far", Box(50, 50, 20, 20)),), as_lit=True))


def test_the_sample_photo_in_warm_light_is_measured_back() -> None:
    """Balls wound on a sphere, drawn by sample_images/skeins.py from these very colours."""
    true = {"rust": (168, 80, 47), "moss": (93, 107, 58), "slate": (86, 97, 107)}
    places = {
        "rust": Box(50, 60, 60, 60),
        "moss": Box(170, 150, 60, 60),
        "slate": Box(296, 56, 60, 60),
    }
    found = measure_photo(SAMPLE, PhotoOptions(tuple(places.items())))
    for shade, uncertainty in zip(found.shades, found.uncertainties, strict=True):
        lab = srgb_to_lab(np.array(true[shade.name], np.uint8))
        assert float(delta_e2000(shade.lab, lab)) < 3
        assert float(delta_e76(shade.lab, lab)) < (uncertainty or 0)
    as_lit = measure_photo(SAMPLE, PhotoOptions(tuple(places.items()), as_lit=True))
    slate = next(shade for shade in as_lit.shades if shade.name == "slate")
    lab = srgb_to_lab(np.array(true["slate"], np.uint8))
    assert float(delta_e2000(slate.lab, lab)) > 6  # the light hides it


@settings(max_examples=60, deadline=None)
@given(
    st.integers(1, 90), st.integers(1, 90), st.integers(0, 2**32 - 1), st.sampled_from((0, 3, 60))
)
def test_any_pixels_are_measured_or_refused(h, w, seed, spread) -> None:  # type: ignore[no-untyped-def]
    rng = np.random.default_rng(seed)
    base = rng.integers(0, 256, 3)
    pixels = np.clip(base + rng.normal(0, spread or 0.1, (h, w, 3)), 0, 255).astype(np.uint8)
    found = find_reference(pixels)
    if found is not None:
        left, top, width, height = found
        assert left >= 0
        assert top >= 0
        assert left + width <= w
        assert top + height <= h
    with suppress(InputError):
        shade = measure_shade("any", pixels, as_it_is)
        assert np.isfinite([*shade.lab, shade.spread, shade.standard_error]).all()
        assert 0.45 <= shade.lit <= 1


def striped(folder: Path) -> Path:
    """A hand-dyed skein in three colours beside white paper."""
    rng = np.random.default_rng(3)
    photo = np.full((160, 260, 3), 60.0)
    photo[20:140, 180:250] = 240
    for at, colour in enumerate(((38, 48, 76), (93, 127, 163), (174, 182, 189))):
        photo[20:140, 20 + 48 * at : 68 + 48 * at] = colour
    photo[20:140, 20:164] *= np.where(np.arange(120) % 6 == 0, 0.4, 1.0)[:, None, None]
    photo[20:140, 20:164] *= 1 + 0.03 * rng.standard_normal((120, 144, 1))
    path = folder / "dyed.png"
    Image.fromarray(np.clip(photo, 0, 255).astype(np.uint8)).save(path)
    return path


def test_a_yarn_of_several_colours_is_noticed_and_measured(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    path, shelf = striped(tmp_path), tmp_path / "shelf.csv"
    shelf.write_text("name,colour,grams\noat,#ece2d0,50\nsea,,120\nink,#26304c,60\n")
    given = ["shade", str(path), "--patch", "sea=24,24,136,112", "--white", "190,30,50,100"]
    assert run(given) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "There are 3 colours in the patch of sea" in told
    assert "--several" in told
    assert run([*given, "--several", "--shelf", str(shelf)]) == 0
    capsys.readouterr()
    oat, sea, ink = read_shelf(shelf)
    assert (oat.name, sea.name, ink.name) == ("oat", "sea", "ink")
    assert sea.grams == 120
    assert len(sea.shades) == 3
    light = srgb_to_lab(np.array([parse_hex(shade) for shade in sea.shades], np.uint8))[:, 0]
    assert list(light) == sorted(light)
    assert light[-1] - light[0] > 40
    assert sea.within is not None


def test_one_colour_in_shadow_and_light_is_one_colour(tmp_path: Path) -> None:
    picture = photograph(*LIGHTS["as it is"])
    found = measured(tmp_path, picture, white=Box.parse(box(WHITE)))
    assert not any(shade.several for shade in found.shades[:18])
