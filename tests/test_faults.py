"""Faults of the machine: full disks, killed writers, lost type, odd clocks, two programs at once.

What is there stays there, what is new is whole, and the knitter is told in one line. `core/test_files.py`
has the chart command on a full disk, `library/test_interrupt.py` the library.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from pic2chart.cli.app import run
from pic2chart.core.errors import OutputError
from pic2chart.core.files import write_all, write_atomic
from pic2chart.core.locks import held
from pic2chart.desk.history import History
from pic2chart.desk.store import Store
from pic2chart.library import batch
from tests.fuzz.readers import charts
from tests.helpers import chromium, mixed_folder
from tests.helpers import library_runs as runs
from tests.helpers.folders import tree
from tests.helpers.places import PACKAGE, SAMPLES

YARNS = ["--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]
pytestmark = pytest.mark.faulty_charts  # the chart at hand is one of random stitches


def in_child(work: Callable[[], int], before: Callable[[], None] = lambda: None) -> tuple[int, str]:
    """Exit status and complaints of work done in a child process, as things are in this one."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        status = 99
        try:
            os.dup2(writing, 2)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            sys.stderr = os.fdopen(2, "w", closefd=False)
            sys.stdout = os.fdopen(1, "w", closefd=False)
            before()
            status = work()
            sys.stderr.flush()
        finally:
            os._exit(status)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8", errors="replace") as said:
        words = said.read()
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), words


def small_files_only(most: int = 600) -> None:
    """No file may grow past so many bytes, as on a disk that has just run full (setrlimit(2))."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)


def commands(chart: Path) -> dict[str, list[str]]:
    """Every command that writes what it made into a file or folder one names."""
    boat = str(SAMPLES / "boat.png")
    return {
        "chart": ["chart", boat, *YARNS, "--stitches", "24", "--out", "out"],
        "mend": ["mend", str(chart), "--out", "mended.chart.json"],
        "sheet": ["sheet", str(chart), "--only", "words", "--out", "out"],
        "contrast": ["contrast", *YARNS, "--out", "out"],
        "make band": ["make", "band", boat, *YARNS, "--girth", "40", "--out", "out"],
        "library": [
            "library",
            "pictures",
            "--jobs",
            "1",
            *YARNS,
            "--stitches",
            "20",
            "--out",
            "out",
        ],
    }


NAMES = tuple(commands(Path()))


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with a chart and a folder of pictures."""
    from pic2chart.model.chart_file import write_chart

    write_chart(charts()[1], tmp_path / "own.chart.json")
    runs.small_folder(tmp_path / "pictures", 2)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("name", NAMES)
def test_a_full_disk_is_told_and_leaves_nothing_new(place: Path, name: str) -> None:
    was = tree(place)
    words = commands(place / "own.chart.json")[name]
    status, said = in_child(lambda: run(words), small_files_only)
    assert status == 2, said
    last = said.splitlines()[-1]
    assert last.startswith("pic2chart: ")
    assert "file too large" in last or "disk" in last
    now = tree(place)
    if name == "library":  # what it began goes on in the next run
        now = {path: data for path, data in now.items() if path.partition("/")[0] != "out"}
    assert now == was


@pytest.mark.skipif(os.geteuid() != 0, reason="the small disk is mounted by root alone")
def test_a_disk_that_is_really_full(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    code = (
        "import sys; from pathlib import Path; from pic2chart.core.files import write_all\n"
        "from pic2chart.desk.history import History\n"
        "from pic2chart.core.errors import OutputError\n"
        "disk = Path(sys.argv[1]); write_all({disk / 'old': b'o' * 1000})\n"
        "history = History(disk / 'history.sqlite'); history.add('first', {'n': 1})\n"
        "try: write_all({disk / 'old': b'n' * 5000, disk / 'new': b'n' * 10**6}); print('written')\n"
        "except OutputError as error: print(error)\n"
        "try: history.add('second', {'n': 'x' * 10**6}); print('written')\n"
        "except OutputError as error: print(error)\n"
        "history.add('third', {'n': 3}); history.close(); print(History(disk / 'history.sqlite').shown()['n'])\n"
        "print(sorted(p.name for p in disk.iterdir()), (disk / 'old').read_bytes() == b'o' * 1000)\n"
    )
    mount = 'mount -t tmpfs -o size=256k tmpfs "$1" && exec "$2" -c "$3" "$1"'
    if subprocess.run(["unshare", "-m", "true"], capture_output=True).returncode:
        pytest.skip("root may not mount here")
    words = ["unshare", "-m", "sh", "-c", mount, "sh", str(disk), sys.executable, code]
    done = subprocess.run(words, capture_output=True, text=True)
    assert done.stderr == ""
    first, second, third, last = done.stdout.splitlines()
    assert "no space left on device" in first
    assert second == "The change could not be saved: no space left on device."
    assert third == "3"
    assert last == "['history.sqlite', 'old'] True"


@pytest.mark.parametrize("name", NAMES)
def test_a_folder_for_reading_alone_is_told(place: Path, name: str) -> None:
    """/proc/self takes no file, not even from root."""
    words = commands(place / "own.chart.json")[name]
    words[-1] = "/proc/self/fdinfo/out.chart.json" if name == "mend" else "/proc/self/fdinfo/out"
    began = tree(place)
    status, said = in_child(lambda: run(words))
    assert status == 2
    assert "/proc/self/fdinfo" in said.splitlines()[-1]
    assert "cannot be" in said or "does not allow writing" in said
    assert tree(place) == began


@pytest.mark.skipif(os.geteuid() != 0, reason="only root mounts a folder for reading alone")
def test_a_library_is_read_where_nothing_may_be_written(place: Path) -> None:
    runs.run(place / "pictures", place / "library")
    was = tree(place)
    mount = (
        'mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" && cd "$1" && exec "$2" -c "$3"'
    )
    code = (
        "from pic2chart.cli.app import run\n"
        "print(run(['library', 'find', '--out', 'library', '--json']))\n"
        f"print(run(['chart', {str(SAMPLES / 'boat.png')!r}, '--out', 'new/chart']))\n"
        "print(run(['library', 'pictures', '--out', 'library']))"
    )
    if subprocess.run(["unshare", "-m", "true"], capture_output=True).returncode:
        pytest.skip("root may not mount here")
    words = ["unshare", "-m", "sh", "-c", mount, "sh", str(place), sys.executable, code]
    done = subprocess.run(words, capture_output=True, text=True)
    said = done.stderr.splitlines()
    assert [line for line in done.stdout.splitlines() if line in ("0", "1", "2")] == ["0", "2", "2"]
    assert len(said) == 2
    assert all("does not allow writing" in line for line in said)
    assert tree(place) == was


WRITER = """
import sys
from pathlib import Path
from pic2chart.core.files import write_all
folder, number = Path(sys.argv[1]), 0
while True:
    number += 1
    write_all({folder / name: f"{name} {number:08d}\\n" * 3000 for name in "abc"})
    print(number, flush=True)
"""


def _version(path: Path) -> int:
    """The number all lines of a written file share."""
    lines = path.read_text().splitlines()
    assert len(lines) == 3000
    assert set(lines) == {lines[0]}
    assert lines[0].startswith(f"{path.name} ")
    return int(lines[0].split()[1])


def test_a_writer_killed_at_any_moment_leaves_whole_files(tmp_path: Path) -> None:
    dice, left = random.Random(3), 0
    for _ in range(12):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(dice.uniform(0, 0.03))
            writer.kill()
            told = [int(line) for line in writer.stdout.read().split()] or [1]
        versions = [_version(tmp_path / name) for name in "abc"]
        assert all(told[-1] <= version <= told[-1] + 1 for version in versions)
        left += len(list(tmp_path.glob(".writing-*")))
    assert left  # some were killed while they wrote
    write_atomic(tmp_path / "d", "last\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "b", "c", "d"]


def test_what_a_killed_writer_left_is_no_chart_and_no_picture(place: Path) -> None:
    shutil.copy(place / "own.chart.json", place / "pictures" / ".writing-1.chart.json")
    (place / "pictures" / ".writing-abc").write_bytes(b"half a chart")
    summary = runs.run(place / "pictures", place / "out")
    assert (summary.motifs, summary.broken) == (2, ())


def test_two_programs_write_into_one_folder(tmp_path: Path) -> None:
    """Neither sweeps away what the other is writing, and every file is one writer's, whole."""
    command = [sys.executable, "-c", WRITER, str(tmp_path)]
    writers = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)
    ]
    for writer in writers:
        assert writer.stdout is not None
        for _ in range(25):
            assert writer.stdout.readline(), writer.communicate()[1].decode()
    for writer in writers:
        assert writer.poll() is None
        writer.kill()
        assert writer.communicate()[1] == b""
    for name in "abc":
        assert _version(tmp_path / name) > 0


def test_two_desks_on_one_folder_the_second_is_refused(tmp_path: Path) -> None:
    from pic2chart.desk.serve import LOCK

    with held(tmp_path / LOCK, "taken"):
        status, said = in_child(lambda: run(["desk", str(tmp_path), "--no-browser"]))
        assert status == 2
        assert "already open" in said


def test_type_that_was_lost_is_told(tmp_path: Path) -> None:
    from pic2chart.sheets.marks import type_files

    copy = shutil.copytree(
        PACKAGE, tmp_path / "pic2chart", ignore=shutil.ignore_patterns("__pycache__", "*.ttf")
    )
    code = (
        "from pic2chart.sheets.marks.type_files import type_file; from pic2chart.core.errors import OutputError\n"
        "try: type_file('Roboto-Bold')\nexcept OutputError as error: print(error)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(copy.parent)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert done.stdout.startswith("The type file 'Roboto-Bold.ttf' is missing"), done.stderr
    assert "install pic2chart again" in done.stdout
    assert type_files.type_file("Roboto-Bold")[:4] == b"\x00\x01\x00\x00"  # TrueType, ISO 14496-22


def test_sheets_need_no_fonts_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same PDF and PNG where fontconfig and every home folder are empty."""
    code = (
        "import sys; from pathlib import Path; from pic2chart.sheets.document import sheet_files\n"
        "from pic2chart.sheets.sheet_settings import SheetSettings\n"
        "from tests.fuzz.readers import charts\n"
        "import hashlib; made = sheet_files(charts()[0], SheetSettings(), 'dog')\n"
        "print(hashlib.sha256(b''.join(d if isinstance(d, bytes) else d.encode() "
        "for _, d in sorted(made.items()))).hexdigest())"
    )
    nowhere = {"HOME": "/nowhere", "FONTCONFIG_FILE": "/nowhere", "XDG_DATA_DIRS": "/nowhere"}
    said = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONPATH": str(PACKAGE.parent), **more},
            capture_output=True,
            text=True,
        )
        for more in ({}, nowhere)
    ]
    assert said[0].stdout == said[1].stdout != "", said[1].stderr


def test_a_missing_browser_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    with pytest.raises(pytest.fail.Exception, match="apt-get install chromium"):
        chromium.chromium()


def test_a_clock_moved_back_hides_no_change_from_the_library(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = runs.small_folder(tmp_path / "pictures", 2)
    changing = folder / "sign.bmp"  # as many bytes whatever it shows
    Image.fromarray(mixed_folder.drawn(5, 48)).save(changing)
    facts = changing.stat()
    runs.run(folder, tmp_path / "out")
    monkeypatch.setattr(batch.time, "time_ns", lambda: 1)  # back in 1970
    assert runs.run(folder, tmp_path / "out").unchanged == 3
    Image.fromarray(mixed_folder.drawn(6, 48)).save(changing)
    os.utime(changing, ns=(facts.st_atime_ns, facts.st_mtime_ns))
    assert changing.stat().st_size == facts.st_size
    assert runs.run(folder, tmp_path / "out").made == 1
    monkeypatch.undo()
    for picture in folder.iterdir():
        os.utime(picture, (2e9, 2e9))  # written in 2033, as it seems
    assert runs.run(folder, tmp_path / "out").unchanged == 3
    assert runs.run(folder, tmp_path / "whole").motifs == 3
    assert runs.contents(tmp_path / "out") == runs.contents(tmp_path / "whole")


def test_a_clock_that_stands_or_goes_back_hides_no_change_from_the_desk(tmp_path: Path) -> None:
    store = Store(tmp_path)
    name, project = store.start(lambda fresh: fresh.start_from_chart(charts()[0]))
    files = list((tmp_path / name).glob("history.*"))
    then = files[0].stat().st_mtime_ns
    assert store.cards()[0]["title"] == "harbour dog"
    for clock in (then, then - 10**12):
        title = f"dog at {clock}"
        project.change({"title": title})
        for file in files:
            os.utime(file, ns=(clock, clock))
        assert store.cards()[0]["title"] == title
    project.go(-1)
    again = Store(tmp_path).get(name)
    assert again is not None
    assert again.now.state.chart.title == f"dog at {then}"
    assert again.history.redo is not None


def test_a_history_that_cannot_be_written_keeps_what_is_shown(tmp_path: Path) -> None:
    history = History(tmp_path / "history.sqlite")
    history.add("first", {"n": 1})
    history.close()

    def more() -> int:
        try:
            history.add("second", {"n": "x" * 100_000})
        except OutputError:
            return 7 if history.shown()["n"] == 1 else 8
        return 0

    assert in_child(more, lambda: small_files_only(40_000))[0] == 7
    again = History(tmp_path / "history.sqlite")
    assert (again.revision, again.shown()["n"]) == (1, 1)


def test_a_write_that_fails_midway_keeps_every_old_file(tmp_path: Path) -> None:
    write_all({tmp_path / name: "old" for name in "ab"})

    def more() -> int:
        try:
            write_all({tmp_path / "a": "new", tmp_path / "b": "n" * 1000, tmp_path / "c": "new"})
        except OutputError:
            return 7
        return 0

    assert in_child(more, small_files_only)[0] == 7
    assert tree(tmp_path) == {"a": b"old", "b": b"old"}
