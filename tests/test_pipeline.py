"""From picture to chart, end to end, on real pictures: no chart breaks a rule that can be kept.

Pictures: scikit-image's `chelsea` (CC0), `astronaut`, `coffee` and `rocket`; scikit-learn's `china`
and `flower` (CC BY 2.0). They are read from the installed packages.
"""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from skimage import data
from sklearn.datasets import load_sample_image

from pic2chart import Rules, Settings, chart_sheet, make_chart, mend
from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model import measure
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import chart_from_text, chart_to_text
from pic2chart.model.yarn import Yarn
from pic2chart.pipeline import write_chart_folder
from tests.helpers.places import SAMPLES

OAT_INK = ("oat=#ece2d0", "ink=#26304c")
YARNS = (
    Yarn("oat", "#ece2d0"),
    Yarn("ink", "#26304c"),
    Yarn("rust", "#a8502f"),
)


@pytest.fixture(scope="session")
def photographs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("photographs")
    pictures = {
        "chelsea": data.chelsea(),
        "astronaut": data.astronaut(),
        "coffee": data.coffee(),
        "rocket": data.rocket(),
        "china": load_sample_image("china.jpg"),
        "flower": load_sample_image("flower.jpg"),
    }
    for name, pixels in pictures.items():
        Image.fromarray(pixels).save(folder / f"{name}.png")
    return folder


NAMES = ("chelsea", "astronaut", "coffee", "rocket", "china", "flower")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "asked",
    [
        Settings(yarn=OAT_INK),
        Settings(yarn=OAT_INK, long_floats="break", flat=True),
        Settings(yarns=5, stitches=48),
        Settings(yarns=4, per_round=3, stitches=40, float_limit=4, long_floats="break"),
    ],
    ids=["two-caught", "two-broken-flat", "five", "three-a-round"],
)
def test_a_chart_of_a_photograph_keeps_its_rules(photographs, name, asked):
    made = make_chart(photographs / f"{name}.png", asked)
    chart = made.chart
    assert [f for f in made.findings if f.level == "error"] == []
    assert measure.yarns_per_round(chart.stitches, 12).sum(axis=1).max() <= asked.per_round
    assert (
        measure.stretches(chart.stitches, chart.in_round, chart.catches).longest
        <= asked.float_limit
    )
    if asked.long_floats == "break":
        assert measure.floats(chart.stitches, chart.in_round).longest <= asked.float_limit
    else:
        assert made.report.isolated <= 0.005 * chart.stitches.size
    aspect = chart.round_count * chart.gauge.aspect / chart.stitch_count
    window = made.source.picture.window
    assert aspect == pytest.approx(window.h / window.w, abs=1.2 / chart.stitch_count)


def test_the_same_picture_and_seed_give_the_same_bytes(tmp_path):
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        write_chart_folder(make_chart(SAMPLES / "kelp.png", Settings(yarns=3, seed=4)), folder)
    names = sorted(path.name for path in folders[0].iterdir())
    assert names == ["kelp-front.png", "kelp.chart.json", "kelp.png", "kelp.svg"]
    for name in names:
        assert (folders[0] / name).read_bytes() == (folders[1] / name).read_bytes()


def test_the_picture_is_upright_and_not_mirrored(tmp_path):
    """A dark corner at the top left of the picture is the last stitch of the last round."""
    pixels = np.full((80, 80, 3), 235, np.uint8)
    pixels[:30, :30] = 20
    Image.fromarray(pixels).save(tmp_path / "corner.png")
    made = make_chart(tmp_path / "corner.png", Settings(stitches=20, gauge="30x30", yarn=OAT_INK))
    stitches = made.chart.stitches
    assert stitches[-1, -1] == 1
    assert [int(stitches[r, s]) for r, s in ((0, 0), (0, -1), (-1, 0))] == [0, 0, 0]


def test_fewer_pixels_than_stitches_are_told(tmp_path):
    path = tmp_path / "small.png"
    Image.fromarray(data.camera()[::12, ::12]).save(path)  # 43 pixels
    told = {n: make_chart(path, Settings(stitches=n)).report.remarks for n in (43, 44)}
    assert not any("pixels wide" in str(remark) for remark in told[43])
    assert any("only 43 pixels wide for 44 stitches" in str(remark) for remark in told[44])


def test_a_filler_lies_behind_the_subject_with_no_float_over_four():
    made = make_chart(SAMPLES / "tabby.png", Settings(yarn=OAT_INK, filler="cobbles"))
    chart = made.chart
    edge = chart.stitches[:, :3]
    assert {0, 1} == set(np.unique(edge).tolist())
    plain = measure.floats(chart.stitches[:4], True)
    assert plain.longest <= 4


def test_a_transparent_background_becomes_the_yarn_asked_for():
    made = make_chart(SAMPLES / "tabby.png", Settings(yarn=OAT_INK, background="ink"))
    assert (made.chart.stitches[[0, -1]] == 1).all()


def test_two_yarns_of_one_colour_are_a_finding():
    made = make_chart(
        SAMPLES / "boat.png", Settings(yarn=("one=#808080", "two=#808080"), stitches=30)
    )
    assert any(f.rule == "low-contrast" and f.level != "note" for f in made.findings)
    other = make_chart(
        SAMPLES / "boat.png", Settings(yarn=("one=#808080", "two=#858585"), stitches=30)
    )
    assert any(f.rule == "low-contrast" for f in other.findings)


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (Settings(yarn=("oat=#ece2d0",)), "at least two"),
        (Settings(yarn=("oat=#ece2d0", "oat=#26304c")), "given twice"),
        (Settings(yarn=OAT_INK, shelf="shelf.csv"), "both"),
        (Settings(yarn=OAT_INK, yarns=3), "leave yarns out"),
        (Settings(yarn=OAT_INK, filler="tartan"), "fillers are"),
        (Settings(yarn=OAT_INK, filler="sand"), "subject=x,y,width,height"),
        (Settings(gauge="28"), "28x31"),
        (Settings(gauge="0x30"), "between 3 and 120"),
    ],
)
def test_options_that_contradict_are_refused_in_one_sentence(asked, says):
    with pytest.raises(SettingError, match=says) as caught:
        make_chart(SAMPLES / "boat.png", asked)
    assert str(caught.value).endswith(".")
    assert "\n" not in str(caught.value)


def test_a_crop_outside_names_the_size_of_the_picture():
    with pytest.raises(InputError, match="900 pixels wide and 960 high"):
        make_chart(SAMPLES / "harbour-dog.png", Settings(crop="800,0,200,100", yarn=OAT_INK))


@pytest.mark.parametrize("how", ["catch", "break"])
@pytest.mark.parametrize("worked", ["round", "flat"])
def test_mending_noise_holds_the_rules_and_keeps_fixed_stitches(how, worked):
    rng = np.random.default_rng(7)
    stitches = (rng.random((24, 30)) < 0.25).astype(np.uint8) + (rng.random((24, 30)) < 0.04)
    fixed = rng.random(stitches.shape) < 0.01
    chart = Chart(stitches, YARNS, worked=worked, rules=Rules(2, 5, how), fixed=fixed)
    mended = mend(chart)
    assert [f for f in check(mended.chart) if f.level == "error"] == []
    assert np.array_equal(mended.chart.stitches[fixed], chart.stitches[fixed])
    assert len(mended.changes) == int((mended.chart.stitches != chart.stitches).sum())


def test_mending_a_good_chart_changes_nothing():
    chart = make_chart(SAMPLES / "word.png", Settings(yarn=OAT_INK, stitches=80)).chart
    assert mend(chart).changes == ()
    assert mend(chart).chart.catches == chart.catches


def test_mending_changes_as_few_stitches_as_brute_force():
    """One round of twelve stitches with a float too long, over every possible round."""
    rng = np.random.default_rng(3)
    for _ in range(12):
        row = (rng.random((1, 12)) < 0.2).astype(np.uint8)
        chart = Chart(row, YARNS[:2], rules=Rules(2, 3, "break", "keep"))
        every = (np.arange(1 << 12)[:, None] >> np.arange(12)) & 1
        changes = (every != row).sum(axis=1)
        least = min(
            int(count)
            for count, candidate in sorted(
                zip(changes, every, strict=True), key=lambda pair: pair[0]
            )[:600]
            if measure.floats(candidate[None].astype(np.uint8), True).longest <= 3
        )
        assert len(mend(chart).changes) == least


@pytest.mark.faulty_charts
def test_fixed_stitches_that_contradict_the_rules_are_named_and_kept():
    row = np.zeros((3, 12), np.uint8)
    row[1] = [0, 1, 2] * 4
    chart = Chart(row, YARNS, fixed=row == row, rules=Rules(2, 5))
    mended = mend(chart)
    assert mended.changes == ()
    assert any("Round 2 cannot hold the rules" in str(remark) for remark in mended.report.remarks)
    assert any(f.rule == "too-many-colours" and f.round == 2 for f in mended.findings)


def test_a_chart_survives_its_file_and_its_sheet():
    chart = make_chart(SAMPLES / "gull.png", Settings(yarns=3, per_round=3)).chart
    again = chart_from_text(chart_to_text(chart))
    assert np.array_equal(again.stitches, chart.stitches)
    assert again.catches == chart.catches
    assert chart_sheet(again) == chart_sheet(chart)


def test_rules_follow_the_length_limit_when_it_is_the_smaller():
    """Common practice: 2.5 cm is 5 stitches at 20 in 10 cm and 7 at 28."""
    asked = Settings(gauge="20x22", float_limit=7, float_cm=2.5)
    assert Rules.of(asked).float_limit == 5
    assert Rules.of(replace(asked, gauge="28x30")).float_limit == 7
