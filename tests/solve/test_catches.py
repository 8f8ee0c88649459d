"""The catch plan against an exact oracle (OR-Tools CP-SAT), brute force, and the rules' measures."""

from __future__ import annotations

import itertools
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pic2chart.checks.float_rules import catch_beside_change, catch_missing, catch_stacked
from pic2chart.core.errors import InputError, SettingError
from pic2chart.model.chart import Chart, Rules
from pic2chart.model.measure import Measures, catch_holds, floats, stretches
from pic2chart.model.yarn import Yarn
from pic2chart.solve import catch_proof
from pic2chart.solve.catch_proof import Effort, Groups, fewest_catches
from pic2chart.solve.catches import (
    CatchPlan,
    WorkingPlan,
    catch_problem,
    long_floats,
    plan_catches,
)
from tests.helpers.problems import random_chart

SHOW = np.array([[0.0, 50.0, 30.0], [50.0, 0.0, 20.0], [30.0, 20.0, 0.0]])
YARNS = (Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f"))


def plan(stitches, circular=True, limit=5, stacked=False, show=SHOW) -> CatchPlan:
    asked = {"circular": circular, "limit": limit, "stacked": stacked}
    return plan_catches(catch_problem(stitches, **asked, show=show))


def chart_of(text: str) -> np.ndarray:
    """A chart from its rounds in knitting order, `.` = no stitch."""
    return np.array(
        [[255 if c == "." else ord(c) - 65 for c in line] for line in text.split()], np.uint8
    )


def oracle(stitches, circular: bool, limit: int, stacked: bool) -> tuple[int, int]:
    """Fewest stacked columns, then fewest catches, by CP-SAT over the whole chart."""
    from ortools.sat.python import cp_model

    model, here = cp_model.CpModel(), {}
    for r, start, place, length, _ in floats(stitches, circular).rows():
        columns = np.flatnonzero(stitches[r] != 255)
        along = [int(columns[(place + i) % len(columns)]) for i in range(length)]
        assert along[0] == start
        marks = [model.new_bool_var("") for _ in along]
        for column, mark in zip(along, marks, strict=True):
            here.setdefault((r, column), []).append(mark)
        for i in range(length - limit):
            model.add_bool_or(marks[i : i + limit + 1])
    rounds, both = len(stitches), []
    for (r, column), marks in here.items():
        above = (r + 1) % rounds if stacked and rounds > 1 else r + 1
        if (above, column) in here:
            both.append(model.new_bool_var(""))
            for a, b in itertools.product(marks, here[above, column]):
                model.add_bool_or([both[-1], ~a, ~b])
    every = [mark for marks in here.values() for mark in marks]
    least = _minimum(model, sum(both))
    model.add(sum(both) <= least)
    return least, _minimum(model, sum(every))


def _minimum(model, goal) -> int:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    model.minimize(goal)
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def stacked_columns(plan_: CatchPlan, rounds: int, stacked: bool) -> int:
    held = {(c.round, c.stitch) for c in plan_.catches}
    last = rounds if stacked else rounds - 1
    return sum(((r + 1) % rounds, c) in held for r, c in held if r < last)


def longest_uncaught(stitches, circular: bool, plan_: CatchPlan) -> int:
    return stretches(stitches, circular, plan_.catches).longest


@pytest.mark.parametrize("seed", range(240))
def test_as_few_as_the_oracle(seed):
    rng = np.random.default_rng(seed)
    stitches = random_chart(rng, yarns=2 + seed % 2, ragged=seed % 5 == 0)
    circular, stacked = bool(rng.integers(2)), bool(rng.integers(2))
    limit = int(rng.integers(1, 8)) if seed % 4 else int(rng.integers(1, 4))
    found = plan(stitches, circular, limit, stacked)
    least_stacked, fewest = oracle(stitches, circular, limit, stacked)
    assert longest_uncaught(stitches, circular, found) <= limit
    assert (found.stacked_left if len(stitches) > 1 else 0, len(found.catches)) == (
        least_stacked,
        fewest,
    )
    assert found.proven
    assert found.lower_bound == fewest
    assert found.stacked_left == stacked_columns(found, len(stitches), stacked)


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_as_few_as_the_oracle_on_any_chart(data):
    rounds, width = data.draw(st.integers(1, 4)), data.draw(st.integers(2, 12))
    values = st.sampled_from([0, 0, 0, 0, 1, 2, 255])
    rows = st.lists(
        st.lists(values, min_size=width, max_size=width), min_size=rounds, max_size=rounds
    )
    stitches = np.array(data.draw(rows), np.uint8)
    if (stitches == 255).all():
        stitches[0, 0] = 0
    circular, stacked = data.draw(st.booleans()), data.draw(st.booleans())
    limit = data.draw(st.integers(1, 4))
    found = plan(stitches, circular, limit, stacked)
    least_stacked, fewest = oracle(stitches, circular, limit, stacked)
    assert longest_uncaught(stitches, circular, found) <= limit
    assert len(found.catches) == fewest
    assert found.proven
    if rounds > 1:
        assert found.stacked_left == least_stacked


@pytest.mark.parametrize("seed", range(60))
def test_the_kernel_finds_the_floats_the_rules_measure(seed):
    rng = np.random.default_rng(1000 + seed)
    stitches = random_chart(rng, yarns=3, ragged=seed % 2 == 0)
    for circular in (True, False):
        found, columns, _ = long_floats(stitches, np.full(len(stitches), circular), 0)
        rows = [(int(r), int(columns[r, at]), int(at), int(n), int(y)) for r, y, at, n, _ in found]
        assert sorted(rows) == sorted(floats(stitches, circular).rows())


@pytest.mark.parametrize("limit", range(1, 8))
@pytest.mark.parametrize("circular", [True, False])
def test_a_float_alone_is_caught_at_the_best_places(limit, circular):
    """Brute force over all places of the fewest catches: beside a change, then the spread."""
    for n in range(limit + 1, 19):
        stitches = chart_of("B" + "A" * n + "B")
        caught = [c.stitch for c in plan(stitches, circular, limit).catches if c.yarn == 1]

        def worth(places, n=n):
            gaps = np.diff([0, *places, n + 1]) - 1
            if gaps.max() > limit:
                return (99, 0)
            return (sum(p in (1, n) for p in places), int((gaps**2).sum()))

        needed = n // (limit + 1)
        best = min(worth(p) for p in itertools.combinations(range(1, n + 1), needed))
        assert len(caught) == needed
        assert worth(caught) == best


def test_the_edge_of_flat_work_is_no_colour_change():
    """Limit 1, three stitches from the edge: only the middle; two: the edge stitch will do."""
    assert [c.stitch for c in plan(chart_of("AAB"), False, 1).catches] == [0]
    assert [c.stitch for c in plan(chart_of("BAA"), False, 1).catches] == [2]


@pytest.mark.parametrize("seed", range(40))
def test_a_catch_sits_behind_the_stitch_where_it_shows_least(seed):
    """One float of B behind a mix of A and C whose own floats are short: brute force."""
    rng = np.random.default_rng(seed)
    limit, n = 5, int(rng.integers(6, 16))
    front = np.array([0, 2, 0, 2] * 4, np.uint8)[:n]
    swap = rng.random(n) < 0.3
    front[swap] = 2 - front[swap]
    stitches = np.concatenate([[1], front]).astype(np.uint8)[None]
    lengths = [row[3] for row in floats(stitches, True).rows() if row[4] != 1]
    if max(lengths) > limit:
        pytest.skip("another float is long too")
    caught = [c.stitch for c in plan(stitches, True, limit).catches]

    def worth(places):
        gaps = np.diff([0, *places, n + 1]) - 1
        if gaps.max() > limit:
            return (99, 0.0, 0)
        shown = float(sum(SHOW[front[p - 1], 1] for p in places))
        return (sum(p in (1, n) for p in places), shown, int((gaps**2).sum()))

    needed = n // (limit + 1)
    assert worth(caught) == min(worth(p) for p in itertools.combinations(range(1, n + 1), needed))


@pytest.mark.parametrize("length", [11, 17, 23])
def test_floats_without_slack_take_turns(length):
    """n = (c+1)·5 + c leaves one way with c catches, so of two such rounds one takes c+1 (a path
    of 60 rounds needs 30 of them; a closed ring of 61 needs 31)."""
    wide = 64 - length
    assert wide % 6 == 5
    own = length // 6 + wide // 6
    ground = np.zeros((61, 64), np.uint8)
    ground[:, :wide] = 1
    for rounds, stacked, extra in (
        (60, False, 30),
        (61, False, 30),
        (60, True, 30),
        (61, True, 31),
    ):
        found = plan(ground[:rounds], stacked=stacked)
        assert len(found.catches) == rounds * own + 2 * extra
        assert found.proven
        assert found.stacked_left == 0


def test_a_plain_ground_has_no_catch_beside_another():
    ground = np.zeros((60, 64), np.uint8)
    ground[:, :20] = 1
    found = plan(ground)
    held = {(c.round, c.stitch) for c in found.catches}
    beside = sum((r + 1, (c + step) % 64) in held for r, c in held for step in (-1, 1))
    assert found.proven
    assert beside == 0


def test_stacking_that_cannot_be_helped_is_least_and_told():
    """Limit 1 on three like rounds that repeat: an odd ring cannot take turns on two columns."""
    stitches = chart_of("BAAAAB " * 3)
    found = plan(stitches, True, 1, stacked=True)
    assert (found.stacked_left, len(found.catches)) == oracle(stitches, True, 1, True)
    assert found.stacked_left > 0
    assert found.proven
    alone = plan(stitches[:1], True, 1, stacked=True)
    assert alone.stacked_left == len(alone.catches) == 3


def photograph(name: str, rounds: int, width: int, yarns: int) -> np.ndarray:
    """An open test picture in grey, cut into equal shares of light and dark."""
    import skimage.data
    from skimage.color import rgb2gray
    from skimage.transform import resize

    picture = getattr(skimage.data, name)()
    grey = rgb2gray(picture[..., :3]) if picture.ndim == 3 else picture / 255
    grey = resize(grey, (rounds, width), anti_aliasing=True)
    cuts = np.quantile(grey, np.linspace(0, 1, yarns + 1)[1:-1])
    return np.ascontiguousarray(np.digitize(grey, cuts)[::-1, ::-1].astype(np.uint8))


@pytest.mark.parametrize("name", ["chelsea", "astronaut", "coffee", "rocket"])
@pytest.mark.parametrize(("yarns", "limit"), [(2, 3), (2, 5), (2, 7), (3, 5)])
def test_pictures_are_settled_and_pass_the_checks(name, yarns, limit):
    stitches = photograph(name, 60, 64, yarns)
    found = plan(stitches, True, limit, stacked=True)
    assert found.proven
    assert found.lower_bound == len(found.catches)
    assert found.stacked_left == 0
    chart = Chart(
        stitches,
        YARNS[:yarns],
        rules=Rules(float_limit=limit, colours_per_round=yarns),
        catches=found.catches,
        repeat=(64, 60),
    )
    measures = Measures.of(chart)
    assert measures.holds.all()
    assert measures.stretches.longest <= limit
    for check in (catch_missing, catch_stacked, catch_beside_change):
        assert check(chart, measures) == []


@pytest.mark.parametrize("name", ["chelsea", "rocket"])
def test_prices_and_the_integer_program_agree(name):
    """Every group of floats settled by the lower bound has as many catches as HiGHS finds."""
    asked = {"circular": True, "limit": 5, "stacked": False}
    task = catch_problem(photograph(name, 60, 64, 2), **asked, show=SHOW)
    found = plan(task.stitches)
    draft = WorkingPlan(task)
    groups = Groups(draft)
    total = 0
    for first in np.unique(groups.group):
        answer = fewest_catches(task, groups.pairs, groups.group == first)
        assert answer is not None
        assert answer.proven
        total += answer.bound
    assert found.proven
    assert len(found.catches) == total


def test_a_plan_left_unproven_is_good_and_says_so(monkeypatch):
    """With no attempts and no integer program the plan still keeps the limit, and its bound."""
    stitches = photograph("rocket", 60, 64, 3)
    best = plan(stitches)
    monkeypatch.setattr(catch_proof, "ATTEMPTS", 0)
    monkeypatch.setattr(catch_proof, "Effort", lambda: Effort(relaxed=0, whole=0))
    rough = plan(stitches)
    assert not rough.proven
    assert not best.remarks
    assert tuple(map(str, rough.remarks)) == (
        f"Of {len(rough.catches):,} catches planned at least {rough.lower_bound} must be; "
        f"whether fewer than {len(rough.catches)} would do was not settled.",
    )
    assert rough.lower_bound <= len(best.catches) < len(rough.catches)
    assert longest_uncaught(stitches, True, rough) <= 5


def test_same_input_same_plan_and_input_untouched():
    stitches = photograph("coffee", 60, 64, 2)
    stitches.setflags(write=False)
    before = stitches.copy()
    assert plan(stitches) == plan(stitches)
    assert (stitches == before).all()


def test_one_colour_and_short_floats_need_no_catch():
    for text in ("AAAAAAAAAAAA", "AAABBBAAABBB", "AB.AB"):
        assert plan(chart_of(text), True, 3) == CatchPlan((), True, 0, 0)


def test_every_catch_holds_its_yarn_on_ragged_rounds():
    stitches = chart_of("A.AAA..AAAAAB B...AAAAAA.AA")
    found = plan(stitches, True, 3)
    rows = np.array([(c.round, c.stitch, c.yarn) for c in found.catches])
    assert catch_holds(stitches, rows).all()
    assert longest_uncaught(stitches, True, found) <= 3


def test_a_bad_limit_or_yarn_is_refused():
    with pytest.raises(SettingError, match="float limit of 0"):
        plan(chart_of("AAB"), limit=0)
    with pytest.raises(InputError, match="yarn 4"):
        plan(chart_of("AAD"))


def test_the_plain_path_does_without_scipy():
    code = (
        "import sys, numpy as np\n"
        "from pic2chart.solve.catches import catch_problem, plan_catches\n"
        "ground = np.zeros((60, 64), np.uint8); ground[:, :41] = 1\n"
        "asked = dict(circular=True, limit=5, stacked=False, show=np.eye(2))\n"
        "p = plan_catches(catch_problem(ground, **asked))\n"
        "assert p.proven and len(p.catches) == 600\n"
        "assert not {'scipy.optimize', 'scipy.sparse'} & set(sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
