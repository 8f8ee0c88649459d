"""What was painted by hand on a chart stays on every garment made of its picture."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart import pipeline
from pic2chart.core.settings import Settings
from pic2chart.design.canvas import FREE
from pic2chart.garment.kinds import GARMENTS
from pic2chart.garment.making import make_garment
from pic2chart.garment.painted import Painted, painted_of
from pic2chart.model.chart import Chart, for_hand
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
    assert sum("64 stitches kept by hand" in str(remark) for remark in kept.told) == 1
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
