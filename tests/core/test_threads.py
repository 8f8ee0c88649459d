"""Numeric libraries are kept to one thread where charts are made."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
from threadpoolctl import threadpool_info, threadpool_limits

from pic2chart.core.threads import on_one_thread
from tests.helpers.places import ROOT


def most_threads() -> int:
    return max(pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas")


def test_the_libraries_have_one_thread_inside_and_their_own_number_after() -> None:
    np.eye(2) @ np.eye(2)
    with threadpool_limits(2):
        before = most_threads()
        assert on_one_thread(most_threads)() == 1
        assert most_threads() == before


def test_a_fault_inside_leaves_the_number_as_it_was() -> None:
    def fails() -> None:
        raise ValueError

    before = most_threads()
    try:
        on_one_thread(fails)()
    except ValueError:
        assert most_threads() == before


def test_the_command_starts_no_threads_for_products() -> None:
    script = (
        "from pic2chart.cli import main\n"
        "try: main(['--version'])\n"
        "except SystemExit: pass\n"
        "import numpy; from threadpoolctl import threadpool_info\n"
        "print(*{pool['num_threads'] for pool in threadpool_info()})"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True)
    assert done.stdout.split()[-1] == "1"
