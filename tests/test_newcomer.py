"""A newcomer's first hour: README.md and the rooms' pages followed from nothing, in a fresh folder.

Every command is given to the shell as it is printed. Only the package's own dependencies are there,
so that a command which needs one of the tests' would be found out.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.helpers.places import ROOT
from tests.helpers.readme import blocks, check_every_chart

pytestmark = pytest.mark.slow

LEFT_BEHIND = shutil.ignore_patterns(".*", "__pycache__", "build", "*.egg-info", "first-chart")
TESTS, DESK = "sh tests/run.sh", "pic2chart desk"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """The project's folder as a newcomer has it."""
    return Path(shutil.copytree(ROOT, tmp_path / "pic2chart", ignore=LEFT_BEHIND))


def environment(home: Path) -> dict[str, str]:
    """A shell's variables after the README's advice to activate .venv, and none of this run's."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL_ENV"))}
    path = f"{home / '.venv' / 'bin'}{os.pathsep}{kept['PATH']}"
    return kept | {"PATH": path, "HOME": str(home), "COLUMNS": "100"}


def in_shell(lines: str, home: Path) -> None:
    done = subprocess.run(
        ["sh", "-ec", lines], cwd=home, env=environment(home), capture_output=True, text=True
    )
    assert done.returncode == 0, f"{lines}\n{done.stdout[-800:]}\n{done.stderr[-800:]}"


@contextmanager
def open_desk(home: Path) -> Iterator[str]:
    """The desk's address, as the command prints it."""
    with subprocess.Popen(
        [*DESK.split(), "--no-browser"],
        cwd=home,
        env=environment(home),
        stdout=subprocess.PIPE,
        text=True,
    ) as desk:
        assert desk.stdout is not None
        address = re.search(r"http://\S+", desk.stdout.readline())
        assert address
        try:
            yield address[0]
        finally:
            desk.terminate()


def test_the_readme_can_be_followed_from_nothing(home: Path) -> None:
    first, mitten, *more = [block.strip() for block in blocks("sh")]
    assert TESTS in more
    install, opening = first.rsplit(" && ", 1)
    assert opening == f".venv/bin/{DESK}"
    in_shell(install, home)
    with open_desk(home) as address, urllib.request.urlopen(address, timeout=60) as answer:
        assert b"pic2chart" in answer.read()
    in_shell(mitten, home)
    assert check_every_chart(home / "tabby-mitten") == 4
    for block in more:
        if block != TESTS:
            in_shell(block, home)
    assert check_every_chart(home) > 15
