"""The documents speak of what is there: every file, function and script that they name exists."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import pic2chart
from tests.test_house import PACKAGE, PAGE, ROOMS

ROOT = PACKAGE.parent
RESULTS = ROOT / "tests" / "bench" / "RESULTS.md"
MOST_BYTES = 15_360
FOLDERS = [room for room in ROOMS if (PACKAGE / room).is_dir()]
ROOM_PAGES = [PACKAGE / room / "README.md" for room in FOLDERS]
PAGES = [PAGE, ROOT / "tests" / "README.md", *(page for page in ROOM_PAGES if page.exists())]

PATH = re.compile(r"[\w.-]*(/[\w.-]+)*(/|\.(py|md|sh|toml|js|css|html|j2|csv|json|ttf|svg))")
DOTTED = re.compile(r"[A-Za-z_]\w*(\.[A-Za-z_]\w*)+")
OTHERS = {"chart.fixed", "chart.yarns"}
"""Attributes of a value, written as code has them; no modules."""
A_TIME = re.compile(r"\d\s?(ms|s|seconds?|minutes?) ?(?![\w-])")
A_MODULE = re.compile(r"-m (tests\.[\w.]+)")
A_SCRIPT = re.compile(r"[\w/]+\.(?:py|sh)\b")


def named(page: Path) -> list[str]:
    """What stands between backticks within a line, code blocks left out."""
    text = re.sub(r"^```.*?^```", "", page.read_text("utf-8"), flags=re.DOTALL | re.MULTILINE)
    return re.findall(r"`([^`\n]+)`", text)


def paths(page: Path) -> Iterator[str]:
    for name in named(page):
        yield from (word for word in name.split() if PATH.fullmatch(word))


def lies_somewhere(path: str, page: Path) -> bool:
    """Beside the page, in the package, in the tests or at the top; a bare name of a test anywhere there."""
    if any((place / path).exists() for place in (page.parent, PACKAGE, ROOT / "tests", ROOT)):
        return True
    return "/" not in path and any((ROOT / "tests").rglob(path))


@cache
def names_in(file: Path) -> dict[str, frozenset[str]]:
    """The names at the top of a module, and those inside each of its classes."""
    found: dict[str, frozenset[str]] = {}
    for node in ast.parse(file.read_text("utf-8")).body:
        inside = node.body if isinstance(node, ast.ClassDef) else []
        members = frozenset(name for part in inside for name in bound_by(part))
        found |= dict.fromkeys(bound_by(node), members)
    return found


def bound_by(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    inner = [t.elts if isinstance(t, ast.Tuple) else [t] for t in targets]
    return [name.id for part in inner for name in part if isinstance(name, ast.Name)]


def is_there(dotted: str) -> bool:
    """Whether `room.module.name` is a module of the package, or a name at its top or in its class."""
    place, parts = PACKAGE, dotted.split(".")
    while parts and (place / parts[0]).is_dir():
        place /= parts.pop(0)
    file = place / "__init__.py"
    if parts and (place / f"{parts[0]}.py").is_file():
        file = place / f"{parts.pop(0)}.py"
    if not parts:
        return file.is_file()
    names = names_in(file)
    return parts[0] in names and (len(parts) == 1 or parts[1] in names[parts[0]])


def test_the_map_can_be_read_in_one_sitting() -> None:
    assert len(PAGE.read_bytes()) <= MOST_BYTES


@pytest.mark.parametrize("room", FOLDERS)
def test_every_room_has_a_page(room: str) -> None:
    assert (PACKAGE / room / "README.md").is_file()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_file_named_is_there(page: Path) -> None:
    assert not [path for path in paths(page) if not lies_somewhere(path, page)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_name_with_a_module_is_there(page: Path) -> None:
    dotted = [n for n in named(page) if DOTTED.fullmatch(n) and not PATH.fullmatch(n)]
    assert not [name for name in dotted if name not in OTHERS and not is_there(name)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_measured_times_stand_with_the_results_alone(page: Path) -> None:
    assert not [line for line in page.read_text("utf-8").splitlines() if A_TIME.search(line)]


def test_every_result_has_a_command_that_is_there() -> None:
    text = RESULTS.read_text("utf-8")
    commands = re.findall(r"^    (\S.*)$", text, flags=re.MULTILINE)
    scripts = [script for command in commands for script in A_SCRIPT.findall(command)]
    modules = [name for command in commands for name in A_MODULE.findall(command)]
    scripts += [f"{name.replace('.', '/')}.py" for name in modules]
    assert len(scripts) == len(commands) > 0
    assert not [script for script in scripts if not (ROOT / script).is_file()]
    benches = {str(file.relative_to(ROOT)) for file in (ROOT / "tests" / "bench").glob("*.py")}
    assert not benches - set(scripts), "measured by a script whose results stand nowhere"


def test_every_section_of_the_results_names_a_command_and_a_day() -> None:
    sections = RESULTS.read_text("utf-8").split("\n## ")[1:]
    lacking = [s.splitlines()[0] for s in sections if not re.search(r"^    \S", s, re.MULTILINE)]
    undated = [s.splitlines()[0] for s in sections if not re.search(r"\b20\d\d-\d\d-\d\d\b", s)]
    assert not lacking
    assert not undated


def test_the_licence_is_the_one_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    first = (ROOT / "LICENSE").read_text("utf-8").splitlines()[0]
    assert first == f"{project['license']['text']} License"


def test_the_changelog_knows_this_version() -> None:
    headings = re.findall(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert headings[:2] == ["Unreleased", pic2chart.__version__]


@pytest.mark.parametrize("dotted", ["pipeline.make_nothing", "sheets.chart.nowhere.chart_sheet"])
def test_a_name_that_is_not_there_is_seen(dotted: str) -> None:
    assert not is_there(dotted)
    assert is_there("pipeline.make_chart")
    assert is_there("model.measure.Measures.of")


def test_a_file_that_is_not_there_is_seen(tmp_path: Path) -> None:
    page = tmp_path / "README.md"
    page.write_text("It stands in `solve/nowhere.py` and `core/files.py`; NAME is `made up`.\n")
    assert [path for path in paths(page) if not lies_somewhere(path, page)] == ["solve/nowhere.py"]
