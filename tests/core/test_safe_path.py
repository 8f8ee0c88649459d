"""Files beside the pictures are never taken for Python's own modules, at any door."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from pic2chart.core.safe_path import children_import_from_safe_places
from tests.helpers.desk_page import photo, running_desk, spoken_to
from tests.helpers.library_runs import small_folder
from tests.helpers.places import ROOT

TRAP = "import os\nos.write(2, b'TRAP ' + __name__.encode() + b'\\n')\nos._exit(9)\n"
NAMES = ("numbers", "queue", "selectors", "statistics", "secrets", "csv", "tomllib", "cv2", "jinja2",
         "concurrent", "multiprocessing", "sqlite3", "uuid", "logging", "socket")  # fmt: skip
FLAGS = ["--stitches", "14", "--rounds", "12", "--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]


def trapped(folder: Path) -> Path:
    """A folder of modules that end whoever imports them."""
    folder.mkdir(exist_ok=True)
    for name in NAMES:
        (folder / f"{name}.py").write_text(TRAP)
    return folder


@pytest.mark.slow
@pytest.mark.parametrize(
    "start", [["-m", "pic2chart"], ["-c", "import pic2chart.cli as c; c.main()"]]
)
def test_a_library_s_workers_import_nothing_from_the_folder(
    tmp_path: Path, start: list[str]
) -> None:
    folder = small_folder(trapped(tmp_path / "pictures"), 8)
    words = ["library", ".", "--out", str(tmp_path / "out"), *FLAGS, "--jobs", "2", "--quiet"]
    done = subprocess.run(
        [sys.executable, *start, *words], cwd=folder, capture_output=True, text=True, check=False
    )
    assert "TRAP" not in done.stderr
    assert done.returncode == 0, done.stderr
    assert "8 motifs made" in done.stdout


@pytest.mark.slow
def test_nor_do_those_of_a_script_that_lies_there(tmp_path: Path) -> None:
    """The script itself, whose folder it is, has imported what it needs before."""
    folder = small_folder(trapped(tmp_path / "pictures"), 8)
    (folder / "mine.py").write_text(
        "import sys\nfrom pathlib import Path\nhere = sys.path.pop(0)\n"
        f"for name in {NAMES!r}:\n    __import__(name)\n"
        "from tests.helpers.library_runs import run\n"
        f"run(Path('.'), Path({str(tmp_path / 'first')!r}))\n"
        "sys.path.insert(0, here)\n"
        f"print(run(Path('.'), Path({str(tmp_path / 'out')!r}), jobs=2).made)\n"
        "assert sys.path[0] == here\n"
    )
    done = subprocess.run(
        [sys.executable, "mine.py"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "TRAP" not in done.stderr
    assert done.stdout == "8\n", done.stderr


@pytest.mark.slow
@pytest.mark.network
def test_nor_does_the_desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(trapped(tmp_path / "pictures"))
    with running_desk(tmp_path / "desk") as (process, address), spoken_to(address) as client:
        assert (
            client.post("/api/projects?name=cat.jpg", content=photo(width=120)).status_code == 200
        )
        assert process.poll() is None


def test_the_package_s_own_home_stays_a_place(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(sys, "path", ["", str(tmp_path), "/elsewhere"])
    monkeypatch.setenv("PYTHONSAFEPATH", "")
    monkeypatch.chdir(ROOT)
    with children_import_from_safe_places():
        assert sys.path == [str(ROOT), str(tmp_path), "/elsewhere"]
    monkeypatch.chdir(tmp_path)
    with children_import_from_safe_places():
        assert sys.path == ["/elsewhere"]
        assert os.environ["PYTHONSAFEPATH"] == "1"
    assert sys.path == ["", str(tmp_path), "/elsewhere"]
