"""What was painted by hand on a chart stays on every garment made of its picture."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart import pipeline
from pic2chart.cli.app import run
from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.settings import Settings
from pic2chart.design.canvas import FREE
from pic2chart.design.checked import with_catches
from pic2chart.desk.garments import paint, thing_of
from pic2chart.desk.in_hand import InHand
from pic2chart.desk.project import Project
from pic2chart.desk.project_file import project_bytes
from pic2chart.desk.project_garment import garment_of_project
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import make_garment, painted_charts
from pic2chart.garment.painted import Painted, painted_of
from pic2chart.garment.piece import Garment
from pic2chart.model.chart import Chart, for_hand
from pic2chart.model.chart_file import read_chart, write_chart
from pic2chart.model.yarn import Yarn
from pic2chart.picture.decode import Box
from tests.helpers.places import SAMPLES

CHOSEN = Settings(yarn=("oat=#ece2d0", "ink=#26304c"), stitches=48)
WHOLE = (0.0, 0.0, 1.0, 1.0)


@pytest.fixture(scope="module")
def painted() -> Chart:
    """The cat with a checked square on its nose."""
    chart = pipeline.make_chart(SAMPLES / "tabby.png", CHOSEN).chart
    fixed, stitches = np.zeros(chart.stitches.shape, bool), chart.stitches.copy()
    fixed[20:28, 20:28] = True
    stitches[20:28, 20:28] = np.indices((8, 8)).sum(0) // 2 % 2
    return chart.with_(stitches=stitches, fixed=fixed, catches=())


def test_the_same_size_keeps_the_very_stitches(painted: Chart) -> None:
    kept = painted_of(painted, painted.yarns)
    assert kept is not None
    assert kept.count == 64
    window = Box(*painted.source["window"])
    same = kept.at(window, WHOLE, painted.stitches.shape)
    assert painted.fixed is not None
    assert (same == np.where(painted.fixed, painted.stitches, FREE)).all()
    assert (painted_of(for_hand(painted, "left"), painted.yarns).at(  # type: ignore[union-attr]
        window, WHOLE, painted.stitches.shape) == same).all()  # fmt: skip


@given(
    st.integers(2, 40),
    st.integers(2, 40),
    st.integers(2, 60),
    st.integers(2, 60),
    st.integers(0, 99),
)
def test_nothing_painted_is_lost_at_any_size(
    rows: int, columns: int, high: int, wide: int, seed: int
) -> None:
    """One painted stitch leaves at least one, about as large a part of the picture as it was."""
    chance = np.random.default_rng(seed)
    stitches = np.full((rows, columns), FREE, np.uint8)
    stitches[chance.integers(rows), chance.integers(columns)] = 1
    kept = Painted(stitches, 0.0, 0.0, 600.0, 400.0)
    found = kept.at(Box(0, 0, 600, 400), WHOLE, (high, wide))
    assert (found == 1).any()
    up, across = np.nonzero(found == 1)
    r, s = (int(n[0]) for n in np.nonzero(stitches == 1))
    middle = ((up.mean() + 0.5) / high, (across.mean() + 0.5) / wide)
    assert abs(middle[0] - (r + 0.5) / rows) <= 1 / min(rows, high)
    assert abs(middle[1] - (s + 0.5) / columns) <= 1 / min(columns, wide)


def test_what_lies_outside_the_window_is_left_out() -> None:
    stitches = np.full((4, 4), FREE, np.uint8)
    stitches[0, 0] = 1  # the lower right corner
    kept = Painted(stitches, 0.0, 0.0, 400.0, 400.0)
    assert kept.box() == (300.0, 300.0, 400.0, 400.0)
    assert (kept.at(Box(0, 0, 200, 200), WHOLE, (4, 4)) == FREE).all()
    assert (kept.at(Box(300, 300, 100, 100), WHOLE, (3, 5)) == 1).all()


@pytest.mark.parametrize("kind", ["mitten", "hat", "panel", "band", "cushion", "sock", "jumper"])
def test_garments_hold_it_and_say_so(painted: Chart, kind: str) -> None:
    options = GARMENTS[kind].options(for_child=True)
    plain, kept = (
        make_garment(kind, SAMPLES / "tabby.png", CHOSEN, options, keep=keep)
        for keep in (None, painted)
    )
    assert (
        sum("kept by hand on the chart (64 stitches)" in str(remark) for remark in kept.told) == 1
    )
    assert not any("kept by hand" in str(remark) for remark in plain.told)
    assert any(
        (a.chart.stitches != b.chart.stitches).any()
        for a, b in zip(plain.pieces, kept.pieces, strict=True)
    )
    assert not [f for f in kept.findings if f.level == "error"]


@pytest.mark.parametrize(
    "window", [None, "0,0,9,9", [0, 0, 9], [0, 0, 0, 9], [0, -1, 9, 9], [0, 0, True, 9]]
)
def test_a_chart_that_does_not_say_where_it_lies_carries_nothing(
    painted: Chart, window: object
) -> None:
    assert painted_of(painted.with_(source={"window": window}), painted.yarns) is None
    assert painted_of(painted.with_(fixed=None), painted.yarns) is None


def test_yarns_are_found_by_name_and_else_by_colour(painted: Chart) -> None:
    other = (Yarn("night", "#20283f"), Yarn("OAT", "#888888"))
    kept = painted_of(painted, other)
    assert kept is not None
    oat = next(i for i, yarn in enumerate(painted.yarns) if yarn.name == "oat")
    was_oat = painted.stitches[20:28, 20:28] == oat
    assert ((kept.stitches[20:28, 20:28] == 1) == was_oat).all()


# What was painted on pieces of a garment, and a garment made from the command line.


def painted_piece(chart: Chart) -> Chart:
    """The chart with a block painted near its join."""
    fixed, stitches = np.zeros(chart.stitches.shape, bool), chart.stitches.copy()
    fixed[2:5, 1:4] = True
    stitches[2:5, 1:4] = 1 - stitches[2:5, 1:4]
    return chart.with_(stitches=stitches, fixed=fixed)


@pytest.mark.parametrize("left_handed", [False, True])
def test_stitches_painted_on_a_piece_stay_while_it_keeps_its_size(left_handed: bool) -> None:
    settings = Settings(yarn=CHOSEN.yarn, left_handed=left_handed)

    def band(girth: float, painted: Sequence[Chart] = ()) -> Garment:
        options = GARMENTS["band"].options(repeat=True, girth=girth, height=5.0)
        motif = SAMPLES / "wave-repeat.png"
        return make_garment("band", motif, settings, options, painted=painted)

    chart = painted_piece(band(30.0).pieces[0].chart)
    for before in (chart, for_hand(chart, "right"), for_hand(chart, "left")):
        kept = band(30.0, [before])
        assert (kept.pieces[0].chart.stitches == chart.stitches).all()
        assert not [f for f in kept.findings if f.level == "error"]
        assert (
            sum("painted by hand on the pieces (9 stitches) stays" in str(r) for r in kept.told)
            == 1
        )
    other = band(40.0, [chart])
    assert (other.pieces[0].chart.stitches == band(40.0).pieces[0].chart.stitches).all()
    assert sum("painted by hand (9 stitches) rests" in str(r) for r in other.told) == 1


def test_a_painted_chart_is_named_on_the_command_line(
    painted: Chart, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, stray = tmp_path / "cat.chart.json", tmp_path / "stray.chart.json"
    write_chart(with_catches(painted), file)
    write_chart(with_catches(painted.with_(source={})), stray)
    yarns = [word for yarn in CHOSEN.yarn for word in ("--yarn", yarn)]
    asked = ["make", "panel", str(SAMPLES / "tabby.png"), "--width", "12", *yarns, "--json"]
    assert run([*asked, "--painted", str(file), "--out", str(tmp_path / "panel")]) == 0
    remarks = json.loads(capsys.readouterr().out)["remarks"]
    assert any("kept by hand on the chart (64 stitches)" in remark for remark in remarks)
    with pytest.raises(InputError, match=r"'cat.chart.json' and 'stray.chart.json'"):
        painted_charts([file, stray])
    keep, pieces = painted_charts([stray])
    assert (pieces, keep is None) == ((), False)
    options = GARMENTS["panel"].options(width=12.0)
    lost = make_garment("panel", SAMPLES / "tabby.png", CHOSEN, options, keep=keep)
    assert sum("left out" in str(remark) for remark in lost.told) == 1


def test_a_project_is_made_with_all_that_was_painted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    project = Project(tmp_path, tmp_path / "shelf.csv")
    with project.lock:
        picture = (SAMPLES / "tabby.png").read_bytes()
        project.start_from_picture(
            picture, "tabby.png", {"yarn": list(CHOSEN.yarn), "stitches": 30}
        )
        project.make_thing("Panel", InHand("panel", {"width": 12.0}))
        piece = thing_of(project).pieces[0]
        box = {"kind": "paint", "yarn": "A", "box": [[5, 5], [8, 9]]}
        paint(project, piece.name, box, both=False)
        wanted = thing_of(project).pieces[0].chart
        file = tmp_path / "cat.pic2chart"
        file.write_bytes(project_bytes(project))
    project.history.close()
    out = tmp_path / "panel"
    assert run(["make", "panel", str(file), "--json", "--out", str(out)]) == 0
    remarks = json.loads(capsys.readouterr().out)["remarks"]
    (made,) = out.glob("*.chart.json")
    assert (read_chart(made).stitches == wanted.stitches).all()
    assert any("painted by hand on the pieces" in remark for remark in remarks)
    wide = garment_of_project("panel", file, Settings(), GARMENTS["panel"].options(width=14.0))
    assert any(") rests, because its piece" in str(remark) for remark in wide.told)
    bands = GARMENTS["cowl"].options(bands=("waves.chart.json",))
    with pytest.raises(SettingError, match="takes no bands"):
        garment_of_project("cowl", file, Settings(), bands)


def test_what_is_no_project_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "bad.pic2chart"
    file.write_bytes(b"PK no zip")
    words = ["make", "panel", str(file), "--out", str(tmp_path / "no")]
    assert run(words) == 2
    assert "bad.pic2chart" in capsys.readouterr().err
    assert run([*words, "--sizes", "7,8"]) == 2
    assert "--sizes" in capsys.readouterr().err
    assert not (tmp_path / "no").exists()
