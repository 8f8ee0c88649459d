"""The kernels: compiled, they come to the same bits as the same lines run by Python itself."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np

from tests.helpers import kernel_runs
from tests.helpers.places import ROOT


def test_compiled_and_interpreted_kernels_come_to_the_same_bits(tmp_path: Path) -> None:
    place = tmp_path / "interpreted.npz"
    words = [sys.executable, "-m", "tests.helpers.kernel_runs", str(place)]
    surroundings = {**os.environ, "PIC2CHART_INTERPRETED": "1"}
    done = subprocess.run(words, cwd=ROOT, env=surroundings, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert not kernel_runs.interpreted()
    compiled = kernel_runs.results()
    with np.load(place) as interpreted:
        assert set(interpreted) == set(compiled)
        for name, ours in compiled.items():
            theirs = interpreted[name]
            assert (theirs.dtype, theirs.shape) == (ours.dtype, ours.shape), name
            assert theirs.tobytes() == ours.tobytes(), name
