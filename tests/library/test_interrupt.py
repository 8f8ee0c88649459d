"""A library that is cut short goes on where it stopped and comes to the same bytes."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
from contextlib import suppress
from pathlib import Path

import pytest

from pic2chart.core.errors import OutputError
from pic2chart.core.locks import held
from pic2chart.library.crew import _interrupts_wait
from pic2chart.library.publish import STAGING, sweep
from pic2chart.library.states import LOCK
from tests.helpers.interruptions import interrupt
from tests.helpers.library_runs import SMALL, contents, run, small_folder

pytestmark = pytest.mark.slow

COMMAND = [sys.executable, "-m", "pic2chart", "library"]
FLAGS = ["--stitches", "14", "--rounds", "12", "--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]


def test_killed_at_random_points_it_comes_to_the_same_bytes(tmp_path: Path) -> None:
    cut, compared = interrupt(tmp_path, kills=20, pictures=6, seed=8)
    assert cut == 20
    assert compared >= 5


HELD = """
import sys
from pic2chart.cli import main
from pic2chart.library import publish

flush = publish.Publisher.flush

def once(publisher):
    flush(publisher)
    publish.Publisher.flush = flush
    print("held", flush=True)
    sys.stdin.read(1)

publish.Publisher.flush = once
publish._MOST, publish._SECONDS = 5, 1e9
main()
"""
"""The command, held as soon as five motifs are in place while its workers go on: however slow or busy the
machine, it is then midway."""


@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGINT])
def test_the_command_killed_with_its_workers_comes_to_the_same_bytes(
    tmp_path: Path, sign: signal.Signals
) -> None:
    folder = small_folder(tmp_path / "pictures", 40)
    run(folder, tmp_path / "whole")
    out = tmp_path / "out"
    command = [sys.executable, "-c", HELD, "library", str(folder), "--out", str(out), *FLAGS]
    with subprocess.Popen(
        [*command, "--jobs", "2"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"held\n"
        os.kill(process.pid, sign) if sign == signal.SIGKILL else os.killpg(process.pid, sign)
        said = process.communicate()[1].decode()
    assert process.returncode == (-signal.SIGKILL if sign == signal.SIGKILL else 130)
    assert "Traceback" not in said
    if sign == signal.SIGINT:  # after SIGKILL Python's own tracker says what it cleared away
        assert "Warning" not in said
    summary = run(folder, out)
    assert (summary.unchanged >= 5, summary.motifs) == (True, 40)
    assert contents(out) == contents(tmp_path / "whole")


def test_workers_that_outlive_their_master_put_nothing_into_what_is_swept(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    run(folder, out)
    late = out / STAGING / "motif-late"
    late.mkdir(parents=True)
    done = threading.Event()

    def write() -> None:
        while not done.is_set():
            for name in ("one", "two", "three"):
                with suppress(OSError):
                    (late / name).write_text("late")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for _ in range(20):
            late.mkdir(parents=True, exist_ok=True)
            sweep(out)
            assert not late.exists()
    finally:
        done.set()
        writer.join()
    assert sorted(path.name for path in out.iterdir() if path.name[0] == ".") == [".lock"]


def test_ctrl_c_does_not_reach_a_worker_that_has_just_begun() -> None:
    from joblib import Parallel, delayed
    from joblib.externals.loky import get_reusable_executor

    get_reusable_executor().shutdown()
    with _interrupts_wait():
        held = Parallel(2)(delayed(signal.pthread_sigmask)(signal.SIG_BLOCK, []) for _ in range(4))
    assert all(signal.SIGINT in mask for mask in held)
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


def test_two_runs_at_once_the_second_refuses(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 3)
    run(folder, tmp_path / "out")
    before = contents(tmp_path / "out")
    with (
        held(tmp_path / "out" / LOCK, "taken"),
        pytest.raises(OutputError, match="Another run is at work"),
    ):
        run(folder, tmp_path / "out", {**SMALL, "float_limit": 4})
    assert contents(tmp_path / "out") == before


def test_two_commands_at_once_leave_one_whole_library(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 12)
    run(folder, tmp_path / "whole")
    command = [*COMMAND, str(folder), "--out", str(tmp_path / "out"), *FLAGS, "--jobs", "1"]
    both = [subprocess.Popen(command, stderr=subprocess.PIPE) for _ in range(2)]
    said = [process.communicate()[1].decode() for process in both]
    statuses = sorted(process.returncode for process in both)
    assert statuses in ([0, 0], [0, 2])
    assert all("Traceback" not in words for words in said)
    if statuses == [0, 2]:
        assert any("Another run is at work" in words for words in said)
    assert contents(tmp_path / "out") == contents(tmp_path / "whole")


def test_readers_see_a_whole_catalogue_while_a_run_writes(tmp_path: Path) -> None:
    from pic2chart.library.find import Question, find

    folder = small_folder(tmp_path / "pictures", 16)
    run(folder, tmp_path / "out")
    done = threading.Event()
    counts = []

    def read() -> None:
        while not (counts and done.is_set()):
            counts.append(len(find(tmp_path / "out", Question())))

    reader = threading.Thread(target=read)
    reader.start()
    run(folder, tmp_path / "out", {**SMALL, "float_limit": 4})
    done.set()
    reader.join()
    assert set(counts) == {16}


def _in_a_small_disk(
    folder: Path, megabytes: float, steps: list[str]
) -> subprocess.CompletedProcess[str]:
    script = "; ".join([f"mount -t tmpfs -o size={int(megabytes * 1024)}k tmpfs {folder}", *steps])
    return subprocess.run(
        ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script],
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_full_disk_stops_the_run_and_with_more_room_it_goes_on(tmp_path: Path) -> None:
    disk, pictures = tmp_path / "disk", small_folder(tmp_path / "pictures", 40)
    disk.mkdir()
    if not shutil.which("unshare") or _in_a_small_disk(disk, 1, ["true"]).returncode:
        pytest.skip("this system lets nobody mount a small disk")
    run(pictures, tmp_path / "whole")
    library = " ".join([*COMMAND, str(pictures), "--out", f"{disk}/out", *FLAGS, "--jobs", "1"])
    library = library.replace("#", r"\#")
    steps = [
        f"{library}; echo first=$?",
        f"ls -A {disk}/out/.work; mount -o remount,size=20M {disk}",
        f"{library} --json; echo second=$?",
        f"cp -r {disk}/out {tmp_path}/out",
    ]
    told = _in_a_small_disk(disk, 1.0, steps)
    assert "first=2" in told.stdout, told.stderr
    assert "second=0" in told.stdout
    assert "No space left on device".lower() in told.stderr.lower() or "full" in told.stderr
    assert contents(tmp_path / "out") == contents(tmp_path / "whole")


def test_a_staging_folder_of_a_dead_run_is_swept(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 2)
    run(folder, tmp_path / "out")
    stale = tmp_path / "out" / STAGING / "motif-old"
    stale.mkdir(parents=True)
    (stale / "half.svg").write_text("<svg")
    (tmp_path / "out" / ".writing-half0000").write_text("<html")
    run(folder, tmp_path / "out", {**SMALL, "float_limit": 4})
    assert not stale.exists()
    assert not (tmp_path / "out" / ".writing-half0000").exists()
