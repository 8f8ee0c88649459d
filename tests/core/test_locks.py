"""Locks: one holder a file, none left by a killed process, and a clear sentence when it cannot be."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from pic2chart.core import locks
from pic2chart.core.errors import OutputError
from pic2chart.core.locks import held, hold
from pic2chart.core.messages import said

HOLDER = """
import sys, time
from pathlib import Path
from pic2chart.core.locks import held
from pic2chart.core.messages import said
with held(Path(sys.argv[1]), said("taken")):
    print("held", flush=True)
    time.sleep(600)
"""
FORKING = """
import os, sys, time
from pathlib import Path
from pic2chart.core.locks import held
from pic2chart.core.messages import said
with held(Path(sys.argv[1]), said("taken")):
    if not os.fork():
        print(os.getpid(), flush=True)
    time.sleep(600)
"""


def holder(path: Path, code: str = HOLDER) -> tuple[subprocess.Popen[str], str]:
    """Another process that holds the lock, and the first line it said."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    return process, process.stdout.readline().strip()


TAKEN = "Somebody is at it; wait."


def free(path: Path) -> bool:
    try:
        with held(path, said(TAKEN)):
            return True
    except OutputError as error:
        if str(error) == TAKEN:
            return False
        raise


def test_one_holder_at_a_time_here_and_elsewhere(tmp_path: Path) -> None:
    path = tmp_path / ".lock"
    with held(path, said("taken")):
        assert not free(path)
        assert free(tmp_path / "another")
    assert free(path)
    process, line = holder(path)
    try:
        assert line == "held"
        assert not free(path)
    finally:
        process.kill()
        process.communicate()


def test_a_lock_ends_with_the_block_whatever_ends_it(tmp_path: Path) -> None:
    path = tmp_path / ".lock"
    with pytest.raises(KeyboardInterrupt), held(path, said("taken")):
        raise KeyboardInterrupt
    assert free(path)


@pytest.mark.parametrize("code", [HOLDER, FORKING], ids=["alone", "with a child that lives on"])
def test_a_killed_process_leaves_no_lock(tmp_path: Path, code: str) -> None:
    path = tmp_path / ".lock"
    process, said = holder(path, code)
    try:
        assert not free(path)
        process.kill()
        process.wait()
        if code == FORKING:
            os.kill(int(said), 0)  # it is there still
        assert path.exists()
        assert free(path)
    finally:
        process.kill()
        if code == FORKING:
            os.kill(int(said), signal.SIGKILL)
        process.communicate()


def test_a_forked_child_spoils_no_file_of_its_parent(tmp_path: Path) -> None:
    """What the parent has still to write is written once, by the parent."""
    code = (
        "import os, sys\nfrom pic2chart.core.locks import hold\n"
        "file = open(sys.argv[1], 'wb')\nhold(file)\nfile.write(b'mine')\n"
        "if not os.fork():\n    other = open(sys.argv[2], 'wb')\n    other.write(b'child')\n"
        "    file.close(); other.close(); os._exit(0)\n"
        "os.wait()\nfile.close()"
    )
    words = [sys.executable, "-c", code, str(tmp_path / "a"), str(tmp_path / "b")]
    subprocess.run(words, check=True)
    assert (tmp_path / "a").read_bytes() == b"mine"
    assert (tmp_path / "b").read_bytes() == b"child"


def test_what_stands_in_the_file_stays(tmp_path: Path) -> None:
    path = tmp_path / ".lock"
    path.write_bytes(b"of an older day")
    assert free(path)
    assert path.read_bytes() == b"of an older day"


@pytest.mark.parametrize("name", ["folder", "missing/.lock", "nul\0"])
def test_a_place_that_takes_no_file_is_told(tmp_path: Path, name: str) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(OutputError) as told, held(tmp_path / name, said("taken")):
        pass
    assert str(told.value).startswith(f"The lock file '{tmp_path / name}' cannot be written: ")
    assert str(told.value).endswith("; choose a folder that allows writing.")


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="needs a folder that takes no file")
def test_a_folder_for_reading_alone_is_told() -> None:
    """Not even root can make a file in /proc."""
    with pytest.raises(OutputError, match="choose a folder that allows writing"):
        held(Path("/proc/self/fdinfo/.lock"), said("taken")).__enter__()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_file_of_somebody_else_is_told(tmp_path: Path) -> None:
    (tmp_path / ".lock").touch(mode=0o400)
    with pytest.raises(OutputError, match="cannot be written: permission denied"):
        held(tmp_path / ".lock", said("taken")).__enter__()


@pytest.mark.parametrize("number", [errno.ENOLCK, errno.EOPNOTSUPP, errno.EIO])
def test_a_network_folder_without_locks_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """What such a mount answers (flock(2), NFS without its lock service) is not 'taken'."""

    def refuse(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(locks.fcntl, "flock", refuse)
    with pytest.raises(OutputError) as told, held(tmp_path / ".lock", said("taken")):
        pass
    assert f"cannot be locked: {os.strerror(number).lower()}; choose" in str(told.value)


def test_a_file_that_is_written_is_held_until_it_is_closed(tmp_path: Path) -> None:
    path = tmp_path / "file"
    with path.open("wb") as file:
        hold(file)
        with path.open("rb") as other, pytest.raises(BlockingIOError):
            hold(other)
    with path.open("rb") as other:
        hold(other)
