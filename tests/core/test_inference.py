"""Networks run by onnxruntime: nothing of their use is reported, and it is loaded in one place."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

from tests.helpers.places import PACKAGE, ROOT

LOADED = """
from pathlib import Path
from pic2chart.core.inference import session_of
from pic2chart.picture.subject_network import MODEL
tasks = Path("/proc/self/task")
import numpy
before = len(list(tasks.iterdir())) if tasks.is_dir() else 0
session_of(MODEL.read_bytes(), keep_memory=True)
print((len(list(tasks.iterdir())) if tasks.is_dir() else 0) - before)
"""


def test_loading_a_network_reports_nothing(tmp_path: Path) -> None:
    """As onnxruntime's Privacy.md has it: what is to be sent is gathered in a file in the home folder,
    with a number for the machine, by a thread of its own."""
    homes = ("HOME", "USERPROFILE", "XDG_CACHE_HOME", "XDG_DATA_HOME", "LOCALAPPDATA", "TMPDIR")
    given = {k: v for k, v in os.environ.items() if k != "ORT_DISABLE_TELEMETRY"}
    given |= dict.fromkeys(homes, str(tmp_path)) | {"PYTHONPATH": str(ROOT)}
    said = subprocess.run(
        [sys.executable, "-c", LOADED], env=given, capture_output=True, text=True, check=True
    )
    assert said.stdout.split() == ["0"]
    assert list(tmp_path.rglob("*")) == []


def test_it_is_loaded_in_one_place() -> None:
    name = "onnxruntime"
    places = [
        path.relative_to(PACKAGE).as_posix()
        for path in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if (isinstance(node, ast.Import) and any(one.name.startswith(name) for one in node.names))
        or (isinstance(node, ast.ImportFrom) and (node.module or "").startswith(name))
    ]
    assert places == ["core/inference.py"]
