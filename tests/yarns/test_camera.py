"""A phone's curve, balance and saturation undone: exact where known patches say all, unsure where not."""

from __future__ import annotations

import numpy as np
import pytest

from pic2chart.core.colour import delta_e76, lab_to_linear, lightness_from_luminance, linear_to_lab
from pic2chart.yarns.camera import PHONES, Correction, Known, correction_of, winding_sd

GREYS = (0.85, 0.5, 0.25, 0.12, 0.05, 0.02)
COLOURS = ((45.0, 40.0, 25.0), (50.0, -30.0, 25.0), (40.0, 5.0, -40.0), (75.0, 5.0, 60.0))


def bent(linear: np.ndarray) -> np.ndarray:
    """A camera of curve x = v^0.95 · exp(0.03 ln² v) per channel, with a warm cast."""
    seen = np.asarray(linear) * [1.0, 0.85, 0.7]
    v = np.geomspace(1e-5, 2, 4000)
    x = v**0.95 * np.exp(0.03 * np.log(v) ** 2)
    start = int(np.argmin(np.diff(x) <= 0)) if (np.diff(x) <= 0).any() else 0
    turn = int(np.argmin(x))
    return np.interp(seen, x[max(start, turn) :], v[max(start, turn) :])


def lab_of(correction: Correction, linear: np.ndarray) -> np.ndarray:
    return linear_to_lab(correction.light(linear))


def grey(reflects: float, sd: float = 0.2) -> Known:
    L = float(lightness_from_luminance(np.array(reflects)))
    return Known(bent(np.full(3, reflects)), (L, 0.0, 0.0), sd, True)


def colour(lab: tuple[float, float, float], sd: float = 0.3) -> Known:
    return Known(bent(lab_to_linear(lab)), lab, sd, False)


def test_a_card_of_greys_straightens_the_curve() -> None:
    correction = correction_of([grey(r) for r in GREYS])
    for lab in COLOURS:
        found = lab_of(correction, bent(lab_to_linear(lab)))
        assert abs(found[0] - lab[0]) < 1.6
    alone = correction_of([grey(GREYS[0])])
    off = [abs(float(lab_of(alone, bent(lab_to_linear(lab)))[0]) - lab[0]) for lab in COLOURS]
    more = [abs(float(lab_of(correction, bent(lab_to_linear(lab)))[0]) - lab[0]) for lab in COLOURS]
    assert np.mean(more) < np.mean(off)


def test_known_yarns_alone_and_with_paper() -> None:
    knowns = [colour(lab) for lab in COLOURS]
    for given in (knowns, [grey(0.85), *knowns]):
        correction = correction_of(given)
        target = (55.0, 15.0, -15.0)
        assert float(delta_e76(lab_of(correction, bent(lab_to_linear(target))), target)) < 5
    assert not correction_of(knowns).by_neutral
    assert correction_of([grey(0.85), *knowns]).by_neutral


def test_more_known_patches_leave_less_uncertain() -> None:
    lab = (30.0, 10.0, 5.0)
    sizes = [
        correction_of(given).within(lab, 0.3)[1]
        for given in ([grey(0.85)], [grey(0.85), grey(0.18)], [grey(r) for r in GREYS])
    ]
    assert sizes == sorted(sizes, reverse=True)


def test_coloured_patches_say_how_far_the_phone_spreads_colours() -> None:
    knowns = [grey(0.85), *map(colour, COLOURS)]
    assert correction_of(knowns).saturation_sd < PHONES.saturation_sd
    assert correction_of([grey(0.85)]).saturation == pytest.approx(PHONES.saturation)


def test_what_is_known_of_the_paper_goes_on_to_the_yarn() -> None:
    sure, unsure = (correction_of([grey(0.85, sd)]) for sd in (0.2, 4.0))
    assert unsure.within((60, 0, 0), 0.3)[1] > sure.within((60, 0, 0), 0.3)[1] + 2
    assert 0.5 < winding_sd(20.0) < winding_sd(80.0) < 2


def test_black_and_burnt_light_come_out_as_numbers() -> None:
    correction = correction_of([grey(0.85)])
    found = lab_of(correction, np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 1.0], [1e-9, 0.5, 0.0]]))
    assert np.isfinite(found).all()
