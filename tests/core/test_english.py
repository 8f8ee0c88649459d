"""British and American English: terms and spelling, and names that stay as they were given."""

from __future__ import annotations

import pytest

from pic2chart.core.variety import VARIETIES, in_english, own_terms

SAID = [
    ("Cast off all 40 sts loosely in rib.", "Bind off all 40 sts loosely in rib."),
    ("The tension: two colours in grey.", "The gauge: two colors in gray."),
    ("COLOUR and Colourwork, centred; 3 metres", "COLOR and Colorwork, centered; 3 meters"),
    ("a jumper in stocking stitch", "a sweater in stockinette stitch"),
]


@pytest.mark.parametrize(("uk", "us"), SAID)
def test_each_becomes_the_other_and_stays_itself(uk: str, us: str) -> None:
    assert in_english(uk, "us") == in_english(us, "us") == us
    assert in_english(us, "uk") == in_english(uk, "uk") == uk


def test_what_is_bound_off_is_cast_off() -> None:
    assert in_english("the edge bound off last", "uk") == "the edge cast off last"


@pytest.mark.parametrize("variety", VARIETIES)
def test_parts_of_words_and_numbers_are_left_alone(variety: str) -> None:
    for text in ("discoloured greyhound 7", "parametre gaugeless", "#26304c", ""):
        assert in_english(text, variety) == text


def test_a_name_is_never_respelled() -> None:
    own = own_terms(["Grey goose", "my Color"])
    assert own == {"grey", "color"}
    text = "3 Grey goose in my Color; the colour tension of grey"
    assert in_english(text, "us", own) == "3 Grey goose in my Color; the color gauge of grey"
    assert in_english(text, "uk", own) == text
