"""The house: which rooms there are, that data flows one way through them, and how large they may be."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from pic2chart.cli.app import COMMANDS
from tests.helpers.places import PACKAGE, ROOT

PAGE = ROOT / "DEVELOPERS.md"

ORDER = (
    ("core", "errors, messages, files and locks, colour, settings"),
    ("model", "chart, yarn, gauge, construction, their files and measures"),
    ("picture", "a picture file, its subject, its grid of stitches"),
    ("stranding", "which yarn runs over and which under, and how to hold them"),
    ("checks", "rules, likeness, the report"),
    ("yarns", "the shelf, contrast, shades, amounts"),
    ("solve", "energy, exact round steps, proof, catch plan"),
    ("design", "from a grid to what is to be solved, and its solution"),
    ("sheets", "everything that is drawn, printed and read at the needles"),
    ("pipeline mending compare", "the corridor"),
    ("garment reading", "further ways into it and out"),
    ("library desk cli", "the doors"),
)
"""Read along the lines: a room imports only rooms that stand before it."""
DOORS = {"library", "desk", "cli"}
COMPILING = {"solve/native.py", "solve/native_code.py"}
"""What knows how code is compiled."""
LONGEST = 500
LONG = {"solve/kernels.py": 850}
"""Kernels call each other only within one file, which is what their cached code is told by."""

DIALECT = {
    "doubt": "uncertainty",
    "doubts": "uncertainties",
    "doubtful": "uncertain",
    "chance": "standard error",
    "told": "what it is: message, note, result",
    "tell": "what it does: report, show, print",
    "asked": "options or request",
    "wish": "options or request",
    "law": "constraints",
    "bend": "warp, or curvature",
    "bent": "warped, or mapped",
}
"""Words of our own that the code once had, and what the field calls the thing."""
DIALECT_LEFT = {"garment", "model"}
"""Rooms where such words are still to be replaced."""

ARRAYS = {"Floats", "Ints", "Bools"}
"""Arrays of numbers, short for what each file needs."""

ROOMS = [room for line, _ in ORDER for room in line.split()]
FILES = sorted(PACKAGE.rglob("*.py"))


def room_of(file: Path) -> str:
    """The folder, or the module beside the folders, that a file of the package belongs to."""
    return file.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(file: Path) -> Iterator[str]:
    """Every module a file imports, wherever it does so, also for types alone."""
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}:{node.lineno} imports by a relative name"
            assert node.module is not None
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)


def rooms_used(file: Path) -> set[str]:
    """The rooms a file imports from, its own left out."""
    parts = [name.split(".") for name in imports(file)]
    used = {part[1] for part in parts if part[0] == "pic2chart" and len(part) > 1}
    return {room for room in used if room in ROOMS} - {room_of(file)}


def test_every_room_has_its_place() -> None:
    assert len(set(ROOMS)) == len(ROOMS)
    assert {room_of(file) for file in FILES} == {*ROOMS, "__init__", "__main__"}


@pytest.mark.parametrize("room", ROOMS)
def test_no_arrow_turns_back(room: str) -> None:
    before = set(ROOMS[: ROOMS.index(room)])
    back = {
        str(file.relative_to(PACKAGE)): late
        for file in FILES
        if room_of(file) == room and (late := rooms_used(file) - before)
    }
    assert not back


def test_nobody_leans_on_the_doors() -> None:
    leaning = {
        (room_of(file), door)
        for file in FILES
        for door in rooms_used(file) & DOORS
        if room_of(file) not in ("cli", "__main__")
    }
    assert not leaning


def test_the_page_shows_the_same_order() -> None:
    width = max(len(line.replace(" ", " · ")) for line, _ in ORDER)
    drawn = "\n".join(f"{line.replace(' ', ' · '):<{width}}   {what}" for line, what in ORDER)
    way = PAGE.read_text("utf-8").partition("\n## The data's way\n")[2].partition("\n## ")[0]
    assert f"```\n{drawn}\n```\n" in way, (
        f"DEVELOPERS.md should hold under 'The data's way':\n{drawn}"
    )


def test_unknown_names_of_a_file_are_the_models_own_matter() -> None:
    readers = {
        str(file.relative_to(PACKAGE))
        for file in FILES
        if room_of(file) != "model" and re.search(r"\bextra=|\.extra\b", file.read_text("utf-8"))
    }
    assert not readers


def test_one_place_knows_how_code_is_compiled() -> None:
    found = {
        str(file.relative_to(PACKAGE))
        for file in FILES
        if any(name.split(".")[0] in ("numba", "llvmlite") for name in imports(file))
    }
    assert found == COMPILING


def test_no_file_is_longer_than_can_be_read() -> None:
    lengths = {str(f.relative_to(PACKAGE)): len(f.read_text("utf-8").splitlines()) for f in FILES}
    assert not {name: n for name, n in lengths.items() if n > LONG.get(name, LONGEST)}


def test_this_test_sees_an_arrow_that_turns_back(tmp_path: Path) -> None:
    file = tmp_path / "late.py"
    file.write_text("def f():\n    from pic2chart import cli\n    import pic2chart.desk.web_app\n")
    assert {"pic2chart.cli", "pic2chart.desk.web_app"} <= set(imports(file))


def repeated(names: Iterator[tuple[str, Path]]) -> dict[str, list[str]]:
    """Names that stand in more than one file, and the files."""
    homes: dict[str, list[str]] = {}
    for name, file in names:
        homes.setdefault(name, []).append(str(file.relative_to(PACKAGE)))
    return {name: files for name, files in homes.items() if len(files) > 1}


def public_classes(file: Path) -> Iterator[str]:
    """Names of the public classes at the top of a file."""
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield node.name


def names_given(source: str) -> Iterator[str]:
    """Every name that code gives: to modules' members, arguments, variables and attributes."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            yield node.name
        elif isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
            yield node.attr
        elif isinstance(node, ast.alias) and node.asname:
            yield node.asname


def words_of(name: str) -> set[str]:
    """The words of an identifier: `LengthDoubt` and `_length_doubt` have the same two."""
    return set(re.sub(r"(?<=[a-z])(?=[A-Z])", "_", name).lower().split("_"))


def test_names_are_the_fields_terms() -> None:
    found = {
        f"{file.relative_to(PACKAGE)}: {name}": {word: DIALECT[word] for word in own}
        for file in FILES
        if room_of(file) not in DIALECT_LEFT
        for name in names_given(file.read_text("utf-8"))
        if (own := words_of(name) & DIALECT.keys())
    }
    assert not found


def test_this_test_sees_a_word_of_our_own() -> None:
    source = "class DoubtOf:\n    x: int\n    def f(self, asked_cm): self._told = law = asked_cm\n"
    words = set().union(*map(words_of, names_given(source)))
    assert words & DIALECT.keys() == {"doubt", "asked", "told", "law"}


def test_no_two_public_classes_share_a_name() -> None:
    assert not repeated((name, file) for file in FILES for name in public_classes(file))


def aliases(file: Path) -> Iterator[str]:
    """Names of the types at the top of a file that are short for another: `Rect = tuple[...]`."""
    for node in ast.parse(file.read_text("utf-8")).body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            name = node.targets[0].id
            if name[0].isupper() and not name.isupper() and name not in ARRAYS:
                yield name


def test_no_alias_has_the_name_of_a_class() -> None:
    classes = {name for file in FILES for name in public_classes(file)}
    same = {
        f"{file.relative_to(PACKAGE)}: {name}"
        for file in FILES
        if room_of(file) not in DIALECT_LEFT
        for name in aliases(file)
        if name in classes
    }
    assert not same


def test_no_two_modules_share_a_name() -> None:
    """Every kind of garment has the same modules, a command's file is named for the command, and a
    room's sentences for the room.
    """
    commands = {PACKAGE / "cli" / f"{command.name.split()[0]}.py" for command in COMMANDS}
    assert commands <= set(FILES)
    kinds, words = PACKAGE / "garment" / "kinds", PACKAGE / "core" / "english"
    assert {file.stem for file in words.glob("*.py")} <= {*ROOMS, "grammar", "__init__"}
    counted = [
        file
        for file in FILES
        if file.name != "__init__.py"
        and file not in commands
        and not {kinds, words} & set(file.parents)
    ]
    assert not repeated((file.stem, file) for file in counted)
