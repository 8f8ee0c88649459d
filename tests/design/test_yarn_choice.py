"""Which yarns a chart gets: the subject has the say, the background a little."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.core.settings import Settings
from pic2chart.design.looks import LOOKS
from pic2chart.design.yarn_choice import in_use, judge_of, yarns_for
from pic2chart.model.chart import Rules
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.picture.grid import Grid

GREYS = tuple(
    Yarn(f"grey {level}", f"#{level:02x}{level:02x}{level:02x}")
    for level in (0x1B, 0x5E, 0x91, 0xF1)
)
"""About L* 10, 40, 60 and 95."""


def a_grid(subject: tuple[float, float], background: tuple[float, float]) -> Grid:
    """A subject on a tenth of the chart between two halves of a background, each of two tones."""
    tones = np.zeros((20, 40))
    tones[:, :20], tones[:, 20:] = background
    inside = np.zeros((20, 40))
    inside[6:14, 15:25] = 1
    tones[6:14, 15:20], tones[6:14, 20:25] = subject
    target = np.zeros((20, 40, 3), np.float32)
    target[..., 0] = tones
    return Grid(target, inside.astype(np.float32), (0, 0, 1, 1))


def tones_of(yarns: tuple[Yarn, ...]) -> list[float]:
    return sorted(yarn_lab(yarns)[:, 0].tolist())


def test_free_yarns_are_the_subjects_and_not_those_of_a_large_background() -> None:
    yarns, _ = yarns_for(a_grid((40, 60), (10, 95)), Settings(yarns=2))
    assert tones_of(yarns) == pytest.approx([40, 60], abs=8)


def test_the_background_is_not_forgotten() -> None:
    """A subject of one tone gets its second yarn from the background."""
    yarns, _ = yarns_for(a_grid((30, 30), (80, 80)), Settings(yarns=2))
    assert tones_of(yarns) == pytest.approx([30, 80], abs=2)


@pytest.mark.parametrize(("subject", "background"), [((0, 1), (2, 3)), ((2, 3), (0, 1))])
def test_a_set_for_the_subject_is_judged_better_than_one_for_the_background(
    subject: tuple[int, int], background: tuple[int, int]
) -> None:
    light = yarn_lab(GREYS)[:, 0].tolist()
    first, second = ((light[a], light[b]) for a, b in (subject, background))
    grid = a_grid(first, second)
    judge = judge_of(grid, GREYS, yarn_lab(GREYS), Rules(), LOOKS["clear"], 1.0)
    assert judge(subject) < judge(background)


def test_a_yarn_nobody_named_and_nobody_needs_is_left_out_with_a_remark() -> None:
    stitches = np.array([[0, 2, 0, 2]], np.uint8)
    fewer, yarns, (remark,) = in_use(stitches, GREYS[:3], Settings(yarns=3))
    assert fewer.tolist() == [[0, 1, 0, 1]]
    assert yarns == (GREYS[0], GREYS[2])
    assert str(remark).startswith("Of the 3 yarns asked for 2 will do")
    named = Settings(yarn=tuple(f"{y.name}={y.colour}" for y in GREYS[:3]))
    assert in_use(stitches, GREYS[:3], named) == (stitches, GREYS[:3], ())
