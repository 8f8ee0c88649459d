"""The rules of systems that are not at hand, faked: Windows' names, paths and processes, macOS' disks.

`pic2chart/core/README.md` says what of this was ever run on such a system.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

import pytest

from pic2chart.core import files, processes
from pic2chart.core.errors import OutputError
from pic2chart.core.files import (
    file_stem,
    is_device,
    make_folder,
    read_bytes,
    sync,
    write_all,
    write_atomic,
)
from pic2chart.desk import workers
from pic2chart.desk.store import Store
from pic2chart.library import catalogue
from pic2chart.library.scan import scan
from pic2chart.solve import code_cache
from tests.fuzz.readers import charts
from tests.helpers.folders import tree
from tests.helpers.places import PACKAGE, SAMPLES

# Names. Windows: learn.microsoft.com, "Naming Files, Paths, and Namespaces".

FORBIDDEN = '<>:"/\\|?*'
DEVICES = [
    *("CON", "PRN", "AUX", "NUL", "COM1", "COM9", "LPT1", "LPT9", "COM¹", "LPT³"),
    *("con", "nul.txt", "Nul.tar.gz", "aux .chart"),
]


def good_on_windows(name: str) -> bool:
    """Whether Windows takes it as a name, by the published rules."""
    first = name.split(".")[0].strip().upper().translate(str.maketrans("¹²³", "123"))
    devices = {
        "CON",
        "PRN",
        "AUX",
        "NUL",
        *(f"{p}{n}" for p in ("COM", "LPT") for n in range(1, 10)),
    }
    return (
        not any(sign in name or ord(letter) < 32 for sign in FORBIDDEN for letter in name)
        and not name.endswith((".", " "))
        and first not in devices
    )


@pytest.mark.parametrize(
    "name",
    [
        *DEVICES,
        *(f"dog{sign}cat" for sign in FORBIDDEN),
        *(
            "what?",
            "dog.",
            "dog ",
            "dog. . .",
            "...",
            " ",
            "\x07bell",
            "a" * 400,
            "ж" * 400,
            "🐈" * 200,
        ),
    ],
)
def test_a_name_for_files_is_good_everywhere(name: str) -> None:
    stem = file_stem(name)
    for made in (stem, f"{stem}.chart.json", f"{stem}-front.png", f"{stem}-chart"):
        assert good_on_windows(made)
        assert len(made.encode()) <= 255
        assert PureWindowsPath(made).name == PurePosixPath(made).name == made
    assert len(stem) <= 100
    assert stem == file_stem(name)
    assert stem != file_stem(name + "!")


@pytest.mark.parametrize("name", ["dog", "console", "com10", "nulls", "Größe 3", "dog.v2", "日本"])
def test_a_good_name_stays(name: str) -> None:
    assert file_stem(name) == name
    assert not is_device(name)


def test_in_two_folders_and_a_file_a_name_stays_below_260_signs() -> None:
    stem = file_stem("x" * 500)
    home = "C:\\Users\\somebody with a name\\Pictures"
    assert len(f"{home}\\{stem}-chart\\{stem}-front.png") < 260


def test_motifs_have_names_that_windows_takes_and_that_differ_by_more_than_case(
    tmp_path: Path,
) -> None:
    for name in ("con.png", "NUL.png", "Dog.png", "dog.png", "a:b?.png", "end..png"):
        (tmp_path / name).write_bytes(b"")
    names = [found.name for found in scan(tmp_path, frozenset()).found]
    assert len({name.casefold() for name in names}) == len(names) == 6
    assert all(good_on_windows(name) for name in names)


def test_files_of_one_folder_never_differ_by_case_only(tmp_path: Path) -> None:
    """On Windows and macOS they would be one file."""
    from pic2chart.core.settings import Settings
    from pic2chart.garment.kinds import kind_named
    from pic2chart.garment.making import garment_files, make_garment

    picture, options = SAMPLES / "boat.png", kind_named("mitten").options()
    made = garment_files(make_garment("mitten", picture, Settings(), options))
    assert len({name.casefold() for name in made}) == len(made) > 4


# Paths of more than 260 signs.

LONG = "\\".join(["folder of thirty signs or so..."] * 9)


@pytest.mark.parametrize(
    ("path", "given"),
    [
        ("C:\\dog.png", "C:\\dog.png"),
        (f"C:\\{LONG}", f"\\\\?\\C:\\{LONG}"),
        (f"\\\\nas\\share\\{LONG}", f"\\\\?\\UNC\\nas\\share\\{LONG}"),
        (f"\\\\?\\C:\\{LONG}", f"\\\\?\\C:\\{LONG}"),
    ],
)
def test_long_paths_are_given_to_windows_in_their_long_form(path: str, given: str) -> None:
    assert files._extended(path) == given


def test_reading_and_writing_go_by_the_long_form(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder `plain` stands for a path that is too long, `marked` for its long form."""
    monkeypatch.setattr(files, "_OPEN_STAYS", True)
    monkeypatch.setattr(files, "_extended", lambda whole: whole.replace("/plain", "/marked"))
    (tmp_path / "marked").mkdir()
    write_all({tmp_path / "plain" / "a": b"1", tmp_path / "plain" / "b": b"2"})
    assert read_bytes(tmp_path / "plain" / "a", 10, "file") == b"1"
    make_folder(tmp_path / "plain" / "c")
    assert sorted(path.name for path in (tmp_path / "marked").iterdir()) == ["a", "b", "c"]
    assert not (tmp_path / "plain").exists()


# Files that are open can be neither renamed nor removed on Windows.


class Windows:
    """Its rule for open files, held by the calls that would break it."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.open: list[Any] = []
        monkeypatch.setattr(files, "_OPEN_STAYS", True)
        for name in ("unlink", "replace"):
            real = getattr(os, name)
            monkeypatch.setattr(files.os, name, lambda *paths, real=real: self.move(real, *paths))
        opened = os.fdopen

        def fdopen(*arguments: Any, **more: Any) -> Any:
            self.open.append(opened(*arguments, **more))
            return self.open[-1]

        monkeypatch.setattr(files.os, "fdopen", fdopen)

    def move(self, real: Any, *paths: Any) -> None:
        held = [os.fstat(file.fileno()) for file in self.open if not file.closed]
        facts = os.stat(paths[0])
        if any(os.path.samestat(facts, one) for one in held):
            raise PermissionError(errno.EACCES, "the file is used by another process")
        real(*paths)


def test_files_are_written_where_open_ones_cannot_be_renamed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Windows(monkeypatch)
    write_all({tmp_path / "a": b"1", tmp_path / "b": b"2"})
    write_atomic(tmp_path / "a", b"3")
    assert tree(tmp_path) == {"a": b"3", "b": b"2"}


def test_leftovers_are_swept_where_locks_cannot_say_whose_they_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    windows = Windows(monkeypatch)
    names = {part: tmp_path / f".writing-{part * 8}" for part in "abc"}
    for path in names.values():
        path.write_bytes(b"half")
    long_ago = time.time() - 2 * files._SWEPT_AFTER
    for part in "ab":
        os.utime(names[part], (long_ago, long_ago))
    with names["b"].open("rb") as held:
        windows.open.append(held)
        write_atomic(tmp_path / "new", b"whole")
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        *(names[part].name for part in "bc"),
        "new",
    ]


def keep_folders_of_open_files(monkeypatch: pytest.MonkeyPatch) -> None:
    """Windows' other rule: a folder cannot be renamed while a file in it is open."""
    real = os.rename

    def rename(folder: Path, to: Path) -> None:
        held = []
        for number in os.listdir("/proc/self/fd"):
            with contextlib.suppress(OSError):
                held.append(os.readlink(f"/proc/self/fd/{number}"))
        if any(path.startswith(f"{folder}/") for path in held):
            raise PermissionError(errno.EACCES, "Access is denied")
        real(folder, to)

    monkeypatch.setattr(files, "_OPEN_STAYS", True)
    monkeypatch.setattr(files.os, "rename", rename)


def test_a_project_is_put_aside_once_nobody_has_its_files_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep_folders_of_open_files(monkeypatch)
    here, elsewhere = Store(tmp_path), Store(tmp_path)
    name, _ = here.start(lambda fresh: fresh.start_from_chart(charts()[0]))
    before = elsewhere.get(name)  # as in the process where it was at home before
    assert before is not None
    assert before.history.revision
    with pytest.raises(OutputError, match=r"cannot be moved: .*; close what has a file of it open"):
        here.remove(name)
    assert here.get(name) is not None
    timer = threading.Timer(0.2, elsewhere.let_go, [name])
    timer.start()
    here.remove(name)
    timer.join()
    assert [path.name for path in (tmp_path / "removed").iterdir()] == [name]


def test_on_macos_no_process_is_forked_off_one_that_has_loaded_its_libraries(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Python's own rule since 3.8 (docs.python.org, multiprocessing, "Contexts and start methods")."""
    assert workers._context_of_more().get_start_method() == "forkserver"
    monkeypatch.setattr(sys, "platform", "darwin")
    assert workers._context_of_more().get_start_method() == "spawn"


def test_code_is_kept_for_the_user_where_only_writing_tells_that_it_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On Windows `os.access` says yes of every folder (its only mark is "read only"), Program Files too."""
    real = tempfile.TemporaryFile

    def temporary(dir: Path) -> Any:
        if PACKAGE in Path(dir).parents:
            raise PermissionError(errno.EACCES, "Access is denied")
        return real(dir=dir)

    monkeypatch.setattr(code_cache, "_ACCESS_SAYS_LITTLE", True)
    monkeypatch.setattr(code_cache.os, "access", lambda folder, mode: True)
    monkeypatch.setattr(tempfile, "TemporaryFile", temporary)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert code_cache._usual_folder.__wrapped__() == tmp_path / "pic2chart" / "code"


# Processes.


class Kernel32:
    """What the calls of that name do with a process that is there, gone, or somebody else's."""

    def __init__(self, there: set[int], others: set[int]) -> None:
        self.there, self.others, self.closed = there, others, 0

    def OpenProcess(self, rights: int, inherit: bool, pid: int) -> int:  # noqa: N802
        assert (rights, inherit) == (0x00100000, False)
        return pid if pid in self.there else 0

    def WaitForSingleObject(self, handle: int, milliseconds: int) -> int:  # noqa: N802
        if milliseconds == 0:
            return 0x102 if handle in self.there else 0
        self.there.discard(handle)
        return 0

    def CloseHandle(self, handle: int) -> None:  # noqa: N802
        self.closed += 1


@pytest.fixture
def kernel32(monkeypatch: pytest.MonkeyPatch) -> Kernel32:
    kernel = Kernel32({7}, {4})
    monkeypatch.setattr(processes, "WINDOWS", True)
    monkeypatch.setattr(processes, "_kernel32", lambda: kernel)
    monkeypatch.setattr(processes, "_last_error", lambda: 5)

    def kill(pid: int, sign: int) -> None:
        raise AssertionError("on Windows this ends the process")

    monkeypatch.setattr(processes.os, "kill", kill)
    return kernel


def test_a_process_is_looked_for_without_ending_it(
    kernel32: Kernel32, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert processes.alive(7)
    assert processes.alive(4)  # it may not be opened, so it is there
    monkeypatch.setattr(processes, "_last_error", lambda: 87)
    assert not processes.alive(9)
    assert kernel32.closed == 1


def test_a_parents_death_is_seen_though_its_number_stays(kernel32: Kernel32) -> None:
    processes.wait_for_parent(7)
    assert 7 not in kernel32.there
    assert kernel32.closed == 1


def test_here_processes_are_seen_too() -> None:
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as child:
        assert processes.alive(child.pid)
        child.communicate(b"\n")
    assert not processes.alive(child.pid)
    assert processes.alive(os.getpid())
    assert processes.alive(1)


OPEN_FILES = """
import resource, sys
from pathlib import Path
from pic2chart.core.files import write_all
from pic2chart.core.processes import allow_open_files
resource.setrlimit(resource.RLIMIT_NOFILE, (256, int(sys.argv[2])))
allow_open_files()
files = {Path(sys.argv[1]) / str(number): b"x" for number in range(400)}
try:
    write_all(files)
except Exception as error:
    print(error)
print(resource.getrlimit(resource.RLIMIT_NOFILE)[0], len(list(Path(sys.argv[1]).iterdir())))
"""


@pytest.mark.parametrize(("most", "last"), [(8000, "4096 400"), (1000, "1000 400"), (256, "256 0")])
def test_a_process_that_begins_with_256_files_may_open_more(
    tmp_path: Path, most: int, last: str
) -> None:
    words = [sys.executable, "-c", OPEN_FILES, str(tmp_path), str(most)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    *said, end = done.stdout.splitlines()
    assert end == last
    assert (said == []) == (last != "256 0")
    assert all("too many open files" in line for line in said)


# Disks.


def test_macos_is_asked_to_empty_the_drives_own_memory(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[int] = []
    monkeypatch.setattr(files.fcntl, "F_FULLFSYNC", 51, raising=False)
    monkeypatch.setattr(files.fcntl, "fcntl", lambda handle, what: done.append(what))
    monkeypatch.setattr(files.os, "fsync", lambda handle: done.append(-1))
    write_atomic(tmp_path / "a", b"1")
    assert done == [51]


def test_a_share_that_does_not_know_that_is_synced_as_usual(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[int] = []

    def unknown(handle: int, what: int) -> None:
        raise OSError(errno.ENOTSUP, "not supported")

    monkeypatch.setattr(files.fcntl, "F_FULLFSYNC", 51, raising=False)
    monkeypatch.setattr(files.fcntl, "fcntl", unknown)
    monkeypatch.setattr(files.os, "fsync", done.append)
    sync(3)
    assert done == [3]


def test_a_folder_of_ones_own_is_made_so_where_there_is_no_umask(tmp_path: Path) -> None:
    before = os.umask(0)  # as on Windows, where it means nothing
    try:
        make_folder(tmp_path / "desk", own=True)
    finally:
        os.umask(before)
    assert (tmp_path / "desk").stat().st_mode & 0o777 == 0o700


# A library on a share of the network.


@pytest.mark.parametrize(
    ("path", "address"),
    [
        (
            PureWindowsPath("//nas/pictures/a b/catalogue.sqlite"),
            "file:////nas/pictures/a%20b/catalogue.sqlite",
        ),
        (PureWindowsPath("C:/a?b/catalogue.sqlite"), "file:///C:/a%3Fb/catalogue.sqlite"),
        (PurePosixPath("/srv/é#/catalogue.sqlite"), "file:///srv/%C3%A9%23/catalogue.sqlite"),
    ],
)
def test_sqlite_is_given_an_address_without_a_machine(path: Any, address: str) -> None:
    assert catalogue._without_machine(path.as_uri()) == address
    with contextlib.closing(sqlite3.connect("file:////nas?mode=memory", uri=True)):
        pass
    with pytest.raises(sqlite3.OperationalError, match="authority"):
        sqlite3.connect("file://nas/pictures", uri=True)


class Share(sqlite3.Connection):
    """A file of a share: memory cannot be shared, so no log can be kept."""

    def execute(self, sql: str, *values: Any) -> sqlite3.Cursor:
        if "WAL" in sql:
            super().execute(sql, *values)
            raise sqlite3.OperationalError("locking protocol")
        return super().execute(sql, *values)


def test_a_share_without_shared_memory_takes_a_journal(tmp_path: Path) -> None:
    path = tmp_path / "catalogue.sqlite"
    with contextlib.closing(sqlite3.connect(path, factory=Share)) as connection:
        catalogue.keep_log(connection)
        mode = sqlite3.Connection.execute(connection, "PRAGMA journal_mode").fetchone()[0]
    assert mode == "delete"
    with contextlib.closing(sqlite3.connect(path)) as connection:
        catalogue.keep_log(connection)
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_a_link_that_leads_round_in_a_circle_stops_no_library(tmp_path: Path) -> None:
    (tmp_path / "dog.png").write_bytes(b"")
    (tmp_path / "cat.png").symlink_to("cat.png")
    (tmp_path / "up").symlink_to("..")
    (tmp_path / "gone.png").symlink_to("nowhere.png")
    assert [found.path for found in scan(tmp_path, frozenset()).found] == ["dog.png"]


# Two pictures whose charts have the same files.


def test_a_chart_of_another_picture_is_not_replaced(tmp_path: Path) -> None:
    from pic2chart.model.chart_file import refuse_over_another

    made = tmp_path / "pic[1].chart.json"
    made.write_text(json.dumps({"source": {"picture": "pic[1].png"}}))
    refuse_over_another(tmp_path, Path("elsewhere/pic[1].png"))
    refuse_over_another(tmp_path, Path("pic.jpg"))
    with pytest.raises(OutputError, match=r"a chart of 'pic\[1\].png'.*one of 'pic\[1\].jpg'"):
        refuse_over_another(tmp_path, Path("pic[1].jpg"))
    made.write_text(json.dumps({"source": {"picture": "PIC[1].png"}}))
    refuse_over_another(tmp_path, Path("pic[1].jpg"))  # another name, where capitals count
    for other in ("{}", "[", '{"source": 3}', '{"source": {"picture": 5}}'):
        made.write_text(other)
        refuse_over_another(tmp_path, Path("pic[1].jpg"))


def test_the_commands_refuse_it_before_they_begin(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from pic2chart.cli.app import run

    monkeypatch.chdir(tmp_path)
    for place, name in (("pic-chart", "pic"), ("pic-mitten", "pic-right")):
        (tmp_path / place).mkdir()
        (tmp_path / place / f"{name}.chart.json").write_text('{"source": {"picture": "pic.png"}}')
    was = tree(tmp_path)
    for words in (["chart"], ["read"], ["make", "mitten"]):
        assert run([*words, "pic.jpg"]) == 2  # which is not even there
        assert "a chart of 'pic.png'" in capsys.readouterr().err
    assert tree(tmp_path) == was
