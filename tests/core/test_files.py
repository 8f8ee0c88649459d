"""Writing: all files or none, whatever the disk says, and nothing left behind."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from pic2chart.core.errors import OutputError
from pic2chart.core.files import folder_made, refuse_unwritable, write_all, write_folder
from tests.helpers.folders import tree
from tests.helpers.places import PACKAGE, SAMPLES

CHART = [sys.executable, "-m", "pic2chart", "chart", str(SAMPLES / "boat.png")]
YARNS = ["--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]


def small_disk(most: int) -> object:
    """What a child runs first so that no file of its grows past `most` bytes (setrlimit(2))."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))


@pytest.mark.parametrize("before", [None, b"the chart of last week"], ids=["new", "old"])
@pytest.mark.parametrize("most", [100, 20_000], ids=["no file", "some files"])
def test_a_full_disk_leaves_what_was_there(tmp_path: Path, before: bytes | None, most: int) -> None:
    out = tmp_path / "deep" / "boat"
    if before is not None:
        out.mkdir(parents=True)
        (out / "boat.svg").write_bytes(before)
    was = tree(tmp_path)
    words = [*CHART, *YARNS, "--out", str(out)]
    done = subprocess.run(words, capture_output=True, text=True, preexec_fn=small_disk(most))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines()[-1].startswith("pic2chart: ")
    assert "file too large" in done.stderr
    assert "should not" not in done.stderr
    assert tree(tmp_path) == was


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that takes no folder")
def test_a_folder_that_cannot_be_made(capsys: pytest.CaptureFixture[str]) -> None:
    """Not even root can make a folder in /proc."""
    from pic2chart.cli.app import run

    assert run([*CHART[3:], *YARNS, "--out", "/proc/nowhere/boat"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines()[-1].startswith("pic2chart: The folder '/proc/nowhere/boat' cannot be ")


def test_a_folder_in_the_place_of_a_file_is_found_before_any_file_is_replaced(
    tmp_path: Path,
) -> None:
    (tmp_path / "b").mkdir()
    (tmp_path / "a").write_text("old")
    was = tree(tmp_path)
    with pytest.raises(OutputError, match="is a folder"):
        write_all({tmp_path / "a": "new", tmp_path / "b": "new"})
    assert tree(tmp_path) == was


def test_new_folders_go_again_and_old_ones_stay(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    with pytest.raises(OutputError):
        write_folder({"n" * 300: "text"}, tmp_path / "here" / "new" / "newer")
    assert tree(tmp_path) == {"here": None}
    write_folder({"a": "text"}, tmp_path / "here" / "new")
    assert tree(tmp_path) == {"here": None, "here/new": None, "here/new/a": b"text"}


def test_a_folder_that_was_used_meanwhile_is_kept(tmp_path: Path) -> None:
    def interrupted() -> None:
        with folder_made(tmp_path / "a" / "b"):
            (tmp_path / "a" / "mine").write_text("mine")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert tree(tmp_path) == {"a": None, "a/mine": b"mine"}


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "a").touch()
    with pytest.raises(OutputError, match="is not a folder"):
        refuse_unwritable(tmp_path / "a" / "b")


def test_the_kernels_load_where_nothing_can_be_cached(tmp_path: Path) -> None:
    """As in a container with a read-only disk and no home."""
    copy = shutil.copytree(
        PACKAGE, tmp_path / "pic2chart", ignore=shutil.ignore_patterns("__pycache__", "static")
    )
    script = "from pic2chart.solve.code_cache import cache_folder; print(cache_folder())"
    words = [sys.executable, "-B", "-c", script]
    if os.geteuid() == 0:  # root may write everywhere but on a read-only mount
        mount = f"mount --bind {tmp_path} {tmp_path} && mount -o remount,ro,bind {tmp_path}"
        words = ["unshare", "-m", "sh", "-c", f'{mount} && exec "$@"', "sh", *words]
        if subprocess.run(["unshare", "-m", "sh", "-c", mount], capture_output=True).returncode:
            pytest.skip("root may not mount here")
    else:
        for folder in (copy, copy / "solve"):
            folder.chmod(0o555)
    places = {"HOME": "/proc/nowhere", "XDG_CACHE_HOME": "", "PYTHONPATH": str(tmp_path)}
    done = subprocess.run(
        words, env={**os.environ, **places}, cwd="/", capture_output=True, text=True
    )
    assert done.stderr == ""
    assert Path(done.stdout.strip()).parent == Path(tempfile.gettempdir())  # this user's own there
    assert str(tmp_path) not in done.stdout
