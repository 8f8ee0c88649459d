"""Options as data: how several values are given, and what is said when they are not."""

from __future__ import annotations

import pytest

from pic2chart.core.errors import SettingError
from pic2chart.core.settings import Settings
from pic2chart.sheets.sheet_settings import SheetSettings

YARNS = ("oat=#ece2d0", "ink=#26304c")


def test_several_words_may_come_in_any_sequence_and_are_kept_as_a_tuple() -> None:
    given = Settings(yarn=list(YARNS), focus=["10,10,5"])  # type: ignore[arg-type]
    assert given == Settings(yarn=YARNS, focus=("10,10,5",))
    assert given.yarn == YARNS
    assert hash(given) == hash(Settings(yarn=YARNS, focus=("10,10,5",)))
    assert SheetSettings(only=["words"]).only == ("words",)  # type: ignore[arg-type]


def test_a_list_in_plain_data_is_kept_as_a_tuple() -> None:
    assert Settings.from_mapping({"yarn": list(YARNS)}).yarn == YARNS


def test_a_change_to_the_list_given_changes_no_settings() -> None:
    words = list(YARNS)
    settings = Settings(yarn=words)  # type: ignore[arg-type]
    words.clear()
    assert settings.yarn == YARNS


def test_a_single_word_is_no_list_of_its_letters() -> None:
    with pytest.raises(SettingError) as refused:
        Settings(yarn=YARNS[0])  # type: ignore[arg-type]
    assert str(refused.value) == (
        "--yarn is the single word 'oat=#ece2d0'; it must be a list of words, like ['oat=#ece2d0']."
    )


@pytest.mark.parametrize("value", [7, None, b"oat", {"oat": "#ece2d0"}, {"oat"}])
def test_what_has_no_order_or_no_words_is_no_list_of_words(value: object) -> None:
    with pytest.raises(SettingError, match=r"--yarn is .*; it must be a list of words"):
        Settings(yarn=value)  # type: ignore[arg-type]


def test_each_word_of_a_list_is_checked() -> None:
    with pytest.raises(SettingError, match="--yarn is 7; it must be a word"):
        Settings(yarn=["oat=#ece2d0", 7])  # type: ignore[arg-type,list-item]
    with pytest.raises(SettingError, match="--only is 'side'; choose chart or words"):
        SheetSettings(only=["side"])  # type: ignore[arg-type]


@pytest.mark.parametrize("value", [[20, 30], (20, 30)])
def test_one_number_is_not_given_as_a_list(value: object) -> None:
    with pytest.raises(SettingError, match="it must be one whole number"):
        Settings(stitches=value)  # type: ignore[arg-type]
