"""Whether the kernels are compiled already, told before anyone waits for them."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.helpers.kernel_runs import results
from tests.helpers.places import ROOT

ASK = """
import sys
from pic2chart.solve import kernels_ready, native
print(kernels_ready(), kernels_ready("best_rounds"))
if len(sys.argv) > 1:
    found = native.source_of
    native.source_of = lambda module: found(module) + sys.argv[1]
    print(kernels_ready(), kernels_ready("best_rounds"))
"""
SAY = """
import sys
import numpy as np
from pic2chart.design.solution import solve_announced
from tests.helpers.problems import a_problem
def say(words, share):
    print(words, flush=True)
yarns = int(sys.argv[1])
solve_announced(a_problem(np.random.default_rng(0), 3, 6, yarns), say)
"""


def asked(script: str, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", script, *words],
        cwd=ROOT,
        env={**os.environ, **more},
        capture_output=True,
        text=True,
    )


def test_kernels_are_ready_once_compiled_and_not_when_their_source_is_another() -> None:
    from pic2chart.solve import kernels_ready

    results()  # compiles them where no cache has them
    assert kernels_ready()
    assert kernels_ready("best_rounds")
    done = asked(ASK, "\n")
    assert done.stdout.split() == ["True", "True", "False", "False"], done.stderr


def test_kernels_are_not_ready_while_the_cache_is_empty(tmp_path: Path) -> None:
    nowhere = str(tmp_path)
    assert asked(ASK, PIC2CHART_CODE_CACHE=nowhere).stdout.split() == ["False", "False"]


def test_what_is_compiled_is_announced_and_more_yarns_when_they_come(tmp_path: Path) -> None:
    def said(yarns: int) -> str:
        return asked(SAY, str(yarns), PIC2CHART_CODE_CACHE=str(tmp_path)).stdout

    assert said(2).startswith("Preparing the solver for this machine")
    assert said(2).startswith("Choosing stitches")
    assert said(3).startswith("Preparing the solver for more yarns")
    assert said(3).startswith("Choosing stitches")


def test_the_solver_loads_beside_what_comes_first_without_scipy() -> None:
    script = """
import sys
import tempfile
from pic2chart.solve import load_ahead
thread = load_ahead()
assert thread is load_ahead()
thread.join()
print("pic2chart.solve.solver" in sys.modules, "scipy.linalg" in sys.modules)
"""
    assert asked(script).stdout.split() == ["True", "False"]


def test_without_a_cache_the_solver_gets_one_folder_of_its_users_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from pic2chart.solve import code_cache as room

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    first = room._temporary_cache()
    assert room._temporary_cache() == first
    assert list(tmp_path.iterdir()) == [first]
    assert first.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("taken", ["open to all", "a link", "a file"])
def test_a_folder_that_others_may_write_to_is_no_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, taken: str
) -> None:
    from pic2chart.solve import code_cache as room

    name, elsewhere = tmp_path / f"pic2chart-{os.geteuid()}", tmp_path / "elsewhere"
    elsewhere.mkdir(0o700)
    if taken == "a file":
        name.touch()
    elif taken == "a link":
        name.symlink_to(elsewhere)
    else:
        name.mkdir()
        name.chmod(0o777)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    made = room._temporary_cache()
    assert made not in (name, elsewhere)
    assert room._is_own(made)
