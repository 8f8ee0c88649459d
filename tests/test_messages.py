"""Messages are data: every code has its English, and every door its own way to name an option."""

from __future__ import annotations

import ast
import pickle
import re
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from string import Formatter
from typing import Any

import pytest

import pic2chart
from pic2chart.cli.words import SHELL, flag
from pic2chart.cli.words import worded as in_the_shell
from pic2chart.core.english import ROOMS, TEMPLATES
from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.messages import PYTHON, Message, fill, message, render, said
from pic2chart.core.settings import Settings
from pic2chart.desk.form import PAGE, form, sheet_form
from pic2chart.desk.form import worded as on_the_page
from pic2chart.garment.kinds import GARMENTS
from pic2chart.pipeline import check_settings
from pic2chart.reading.reading_settings import GaugeSettings, ReadSettings
from pic2chart.sheets.sheet_settings import SheetSettings

PACKAGE = Path(pic2chart.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))
CALLS = [
    (file.relative_to(PACKAGE), node)
    for file in FILES
    for node in ast.walk(ast.parse(file.read_text("utf-8")))
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "message"
]
"""Every place where a message is made."""
FLAG = re.compile(r"""["'`\s(]--[a-z]""")


def code_of(call: ast.Call) -> str:
    """The code, which is always written out so that it can be found."""
    (code,) = call.args
    assert isinstance(code, ast.Constant), ast.unparse(call)
    assert isinstance(code.value, str), ast.unparse(call)
    return code.value


def template_fields(template: str) -> Iterator[str]:
    """Every field of a template, also those within the formats of others."""
    for _, name, spec, conversion in Formatter().parse(template):
        assert conversion is None
        if name is not None:
            yield name
            yield from template_fields(spec or "")


def needed(code: str) -> tuple[set[str], set[str], int]:
    """Parameters, options by name, and how many options by place, that a template names."""
    names = set(template_fields(TEMPLATES[code]))
    options = {name[7:-1] for name in names if name.startswith("option[")}
    by_place = {option for option in options if option.isdecimal()}
    plain = {name for name in names if not name.startswith(("option[", "command["))}
    return plain, options - by_place, len(by_place)


def test_every_code_has_words_and_all_words_are_used() -> None:
    assert {code_of(call) for _, call in CALLS} == set(TEMPLATES)


def test_no_code_has_two_templates() -> None:
    assert sum(map(len, ROOMS)) == len(TEMPLATES)


@pytest.mark.parametrize(
    ("file", "call"), CALLS, ids=[f"{file}:{call.lineno}" for file, call in CALLS]
)
def test_template_and_message_have_the_same_parameters(file: Path, call: ast.Call) -> None:
    given = {keyword.arg: keyword.value for keyword in call.keywords}
    options = given.pop("options", ast.Tuple([]))
    plain, named, by_place = needed(code_of(call))
    assert set(given) == plain
    if isinstance(options, ast.Tuple):
        told = [part.value for part in options.elts if isinstance(part, ast.Constant)]
        assert named <= set(told)
        assert by_place <= len(options.elts)


def test_templates_are_sentences_without_a_flag() -> None:
    for code, template in TEMPLATES.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
        assert template.strip() == template != ""
        assert "--" not in template


def test_only_the_command_line_knows_flags() -> None:
    knowing = {
        f"{file.relative_to(PACKAGE)}:{number}"
        for file in FILES
        if file.relative_to(PACKAGE).parts[0] != "cli"
        for number, line in enumerate(file.read_text("utf-8").splitlines(), 1)
        if FLAG.search(line)
    }
    assert not knowing
    for told in ('"--yarn"', "see --yarn", "`--yarn`"):
        assert FLAG.search(told)


# Words

TYPED = re.compile(r"shading-|kit-|nothing-to-undo")
"""Codes that only commands say, which the page does not have."""


def test_the_page_has_no_word_of_those_who_program() -> None:
    heard = {code: fill_nothing(t) for code, t in TEMPLATES.items() if not TYPED.match(code)}
    for code, words in heard.items():
        assert not re.search(r"\b(shelf|shelves|seed|telling|CSV of keys)\b", words), code
    fields_shown = [field for group in form() for field in group["fields"]] + sheet_form()
    for field in fields_shown:
        assert not re.search(r"\b(shelf|seed|telling|CSV)\b", f"{field['label']} {field['help']}")


def fill_nothing(template: str) -> str:
    """A template's own words."""
    return "".join(words for words, *_ in Formatter().parse(template))


VERB_OF_A_NUMBER = re.compile(r"\{(\w+)(?::[a-z,]+)?\}(?: [a-z]+){0,3} (?:are|were|have|lie)\b")
NO_COUNTS = {"name", "second", "last", "words", "unsure", "most", "up"}
"""Names, places and bounds, after which a plural stands whatever they are."""
NEVER_ONE = {
    *("some-are-over", "too-many-patches", "too-many-yarns-given", "too-many-bands"),
    *("catches-beside", "many-yarns-read"),
}
"""What is only said of two or more."""


def test_no_verb_waits_for_a_number_that_may_be_one() -> None:
    waiting = {
        code
        for code, template in TEMPLATES.items()
        if set(VERB_OF_A_NUMBER.findall(template)) - NO_COUNTS
    }
    assert waiting == NEVER_ONE


def test_a_share_is_written_in_one_way() -> None:
    """'10%', never '10 %' beside it; what is only explained in the code may be."""
    apart = re.compile(r"[\d}] %(?![a-z(])")
    for file in FILES:
        tree = ast.parse(file.read_text("utf-8"))
        told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr) or (
                isinstance(node, ast.Constant) and isinstance(node.value, str)
            ):
                assert id(node) in told or not apart.search(ast.unparse(node)), (file, node.lineno)
    for page in PACKAGE.rglob("*.js"):
        assert not re.search(r"[\d}] %[^\s\d]", page.read_text("utf-8")), page
    for page in (*PACKAGE.rglob("*.md"), PACKAGE.parent / "CHANGELOG.md"):
        assert not re.search(r"\d %", page.read_text("utf-8")), page


@pytest.mark.parametrize(
    ("count", "words"),
    [(0, "0 stitches"), (1, "1 stitch"), (2, "2 stitches"), (1920, "1,920 stitches")],
)
def test_one_thing_is_one_and_none_or_more_are_many(count: int, words: str) -> None:
    assert str(message("painted-stitches-stay", count=count)).endswith(f"({words}) stays.")


# Doors


BOTH = message("yarn-and-shelf-given", options=("yarn", "shelf"))


def test_each_door_names_an_option_in_its_own_way() -> None:
    with pytest.raises(SettingError) as caught:
        check_settings(Settings(yarn=("oat=#ece2d0", "ink=#26304c"), shelf="shelf.csv"))
    assert caught.value.message == BOTH
    rest = "are both given; name yarns or choose from those you have."
    assert in_the_shell(BOTH) == f"--yarn and --shelf {rest}"
    assert on_the_page(BOTH) == f"'Yarns' and 'Yarns you have' {rest}"
    assert str(caught.value) == str(BOTH) == f"yarn and shelf {rest}"


def test_a_garments_own_form_names_its_fields() -> None:
    head = message("make-it", value=56.0, options=("head",))
    assert in_the_shell(head) == "--head 56"
    assert on_the_page(head, GARMENTS["yoke"].label) == "'Round the head' 56"
    shared = message("picture-small-in-frame", wide=9, enough=20, options=("crop", "frame"))
    said_here = on_the_page(shared, GARMENTS["yoke"].label)
    assert "with 'How close' the subject, close and without 'Frame'; a" in said_here


def test_each_door_gives_an_option_a_value_in_its_own_way() -> None:
    sizes = {"wide": 12, "least": 20, "stitches": 80, "well": 30, "closer": 25}
    small = message("subject-small-far", **sizes, options=("crop", "frame", "stitches"))
    assert "Use --frame close without --crop to make it 25 wide" in in_the_shell(small)
    assert "or --stitches 80 to make it 30 wide" in in_the_shell(small)
    assert "Use 'How close' the subject, close without 'Frame' to make" in on_the_page(small)
    assert "or 'Stitches across' 80 to make" in on_the_page(small)
    assert "Use frame=close without crop to make it 25 wide, or stitches=80 to" in str(small)
    marked = message("no-background", options=("subject",))
    assert "with --subject x,y,width,height, or" in in_the_shell(marked)
    assert "with 'Subject' on the picture, or" in on_the_page(marked)


def test_what_is_no_flag_by_its_own_name_has_one() -> None:
    swatch = message("area-out-of-range", value=1, low=20, high=100, options=("swatch_cm2",))
    assert in_the_shell(swatch).startswith("--swatch-size is 1 square cm")
    assert on_the_page(swatch).startswith("'Swatch area' is 1 square cm")
    guessed = message("metres-guessed", yarns=("oat", "ink"), options=("m_per_100g",))
    assert "label of oat and ink;" in in_the_shell(guessed)
    assert "Put m_per_100g into the list of your yarns" in in_the_shell(guessed)


@pytest.mark.parametrize(
    "kind",
    [
        *(Settings, SheetSettings, ReadSettings, GaugeSettings),
        *(kind.options for kind in GARMENTS.values()),
    ],
)
def test_help_names_options_as_its_door_does(kind: type[Any]) -> None:
    for field in fields(kind):
        for door in (SHELL, PAGE):
            words = fill(field.metadata["help"], door)
            assert "{" not in words
            assert (door is SHELL) or "--" not in words
    assert flag("min_delta_L") == "--min-delta-l"


def test_each_door_has_its_own_way_to_make_a_chart_of_a_picture() -> None:
    photo = message("not-a-chart", file="dog.jpg")
    assert in_the_shell(photo).endswith("To turn a picture into a chart, use the command chart.")
    assert on_the_page(photo).endswith("into a chart, use 'Choose a picture'.")
    assert str(photo).endswith("into a chart, use make_chart.")


def test_the_page_offers_what_the_commands_do() -> None:
    used = {
        name[8:-1]
        for template in TEMPLATES.values()
        for name in template_fields(template)
        if name.startswith("command[")
    }
    for door in (SHELL, PAGE, PYTHON):
        assert all(door.command(name) for name in used)


# The grammar


@pytest.mark.parametrize(
    ("template", "given", "words"),
    [
        ("{n:stitch}, {m:round}", {"n": 1, "m": 2}, "1 stitch, 2 rounds"),
        ("{n:stitch}", {"n": 12}, "12 stitches"),
        ("{names}", {"names": ("oat",)}, "oat"),
        ("{names}", {"names": ("oat", "ink", "rust")}, "oat, ink and rust"),
        ("{names:or}", {"names": ("oat", "ink")}, "oat or ink"),
        ("{names:,}|{names: }|{names:;}", {"names": ("a", 2)}, "a, 2|a 2|a; 2"),
        ("Line 3: {why:clause}.", {"why": "it is empty."}, "Line 3: it is empty."),
        ("{word:capital} {n:,}, {x:.1f}", {"word": "row", "n": 1200, "x": 2.25}, "Row 1,200, 2.2"),
    ],
)
def test_numbers_lists_and_beginnings(template: str, given: dict[str, Any], words: str) -> None:
    assert fill(template, SHELL, **given) == words


def test_what_a_parameter_holds_is_never_taken_for_a_template() -> None:
    hostile = "{option[yarn]} {words} {0} %s --yarn"
    assert in_the_shell(said(hostile)) == hostile
    nested = message("catch-missing-mend", yarn=hostile, where=said("{yarn}"))
    assert str(nested) == f"Catch {hostile} {{yarn}}."


def test_a_message_that_lacks_something_is_a_fault() -> None:
    with pytest.raises(KeyError):
        render(message("unused-yarn"))
    with pytest.raises(KeyError):
        render(message("no-background"))
    with pytest.raises(KeyError):
        render(Message("no such code"))


# Errors


def test_an_error_carries_its_message_across_processes() -> None:
    error = pickle.loads(pickle.dumps(SettingError(BOTH)))
    assert isinstance(error, Pic2ChartError)
    assert (error.message, str(error)) == (BOTH, str(BOTH))


def test_a_file_can_be_told_by_another_name() -> None:
    error = InputError(message("would-replace-source", path="/tmp/x/opened.csv", options=("out",)))
    told = error.message.with_values({"/tmp/x/opened.csv": "my chart.csv"})
    assert str(told).startswith("'my chart.csv' is the file that was read")
    within = message("round-blocked", where=said("x"), why=told)
    assert within.with_values({"x": "y"}).parameters[0] == ("where", said("y"))
