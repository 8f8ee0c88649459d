"""Nothing that was saved is lost: torn files, killed writers, undo and redo over a restart."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
import zlib
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pic2chart.core.errors import InputError, OutputError
from pic2chart.desk.history import NAME, History, has_steps
from pic2chart.desk.in_hand import InHand, PaintedPiece
from pic2chart.desk.project import Project
from pic2chart.desk.state import State
from pic2chart.desk.store import Store, read_shelf_upload
from tests.fuzz.readers import charts
from tests.helpers.desk_page import photo


def names(history: History) -> tuple[str | None, str | None]:
    return history.undo, history.redo


def test_steps_are_undone_and_done_again_over_a_restart(tmp_path: Path) -> None:
    path = tmp_path / NAME
    history = History(path)
    for number in range(4):
        history.add(f"step {number}", {"n": number})
    assert [history.go(-1)["n"] for _ in range(4)] == [2, 1, 0, 0]
    again = History(path)
    assert (again.revision, again.shown()["n"], names(again)) == (7, 0, (None, "step 1"))
    assert again.go(+1)["n"] == 1
    again.add("another way", {"n": 9})
    assert names(History(path)) == ("another way", None)
    assert History(path).go(-1)["n"] == 1


def test_a_write_ahead_log_torn_anywhere_costs_the_last_step_only(tmp_path: Path) -> None:
    """The files as a machine that dies leaves them: the log of SQLite cut at any of its bytes."""
    first, both = tmp_path / "first", tmp_path / "both"
    history = History(tmp_path / NAME)
    history.add("first", {"n": 1})
    copied(tmp_path, first)
    history.add("second", {"n": 2})
    copied(tmp_path, both)
    whole, log = ((folder / f"{NAME}-wal").read_bytes() for folder in (first, both))
    assert log.startswith(whole)
    for number, cut in enumerate(range(len(whole), len(log), 97)):
        torn = tmp_path / str(number)
        copied(both, torn)
        (torn / f"{NAME}-wal").write_bytes(log[:cut])
        again = History(torn / NAME)
        assert again.shown()["n"] == 1
        again.add("after", {"n": 3})
        assert History(torn / NAME).shown()["n"] == 3


def copied(folder: Path, to: Path) -> None:
    """The history's files as they lie there, the index that SQLite makes anew left out."""
    to.mkdir()
    for name in (NAME, f"{NAME}-wal"):
        (to / name).write_bytes((folder / name).read_bytes())


def test_a_spoilt_file_is_told_and_stays(tmp_path: Path) -> None:
    with closing(History(tmp_path / NAME)) as history:
        for number in range(40):
            history.add("step", {"n": number, "ballast": "x" * 3000})
    whole = (tmp_path / NAME).read_bytes()
    told = 0
    for at in range(0, len(whole), 4096):
        spoilt = whole[:at] + bytes(2000) + whole[at + 2000 :]
        (tmp_path / NAME).write_bytes(spoilt)
        try:
            with closing(History(tmp_path / NAME)) as history:
                while history.undo:
                    history.go(-1)
        except (InputError, OutputError) as error:
            told += "history" in str(error) or "saved" in str(error)
            assert has_steps(tmp_path)
    assert told


def test_what_is_kept_beside_stays_when_steps_are_undone(tmp_path: Path) -> None:
    history = History(tmp_path / NAME)
    assert history.kept("round") is None
    for number in range(2):
        history.add("step", {"n": number})
        history.keep("round", {"at": number})
    history.go(-1)
    assert (history.revision, history.kept("round")) == (3, {"at": 1})
    assert History(tmp_path / NAME).kept("round") == {"at": 1}


# Folders of earlier versions


def logged(folder: Path, *lines: tuple[bytes, bytes], tail: bytes = b"") -> bytes:
    """A log as earlier versions wrote it (kind, body), each line with its checksum."""
    data = b"".join(b"%s %08x %s\n" % (kind, zlib.crc32(body), body) for kind, body in lines) + tail
    (folder / "history.log").write_bytes(data)
    return data


def step(n: int, **more: object) -> tuple[bytes, bytes]:
    return b"S", json.dumps(
        {"what": f"step {n}", "mark": f"m{n}", "state": {"n": n} | more}
    ).encode()


def test_an_old_log_is_taken_over_once_and_kept(tmp_path: Path) -> None:
    lines = [step(0), step(1, whole=0), (b"G", b"0 back"), step(2), step(3), (b"G", b"1")]
    data = logged(tmp_path, *lines, tail=b"S 00000000 torn")
    history = History(tmp_path / NAME)
    assert (history.revision, history.shown()["n"], names(history)) == (6, 2, ("step 2", "step 3"))
    assert [change.mark for change in history.every_change()] == [
        "m0",
        "m1",
        "back",
        "m2",
        "m3",
        "",
    ]
    assert [one.before for one in history.every_step()] == [None, 0, 0, 2]
    assert history.at(1)["whole"] == 0
    assert history.go(+1)["n"] == 3
    history.add("new", {"n": 4})
    again = History(tmp_path / NAME)
    assert (again.shown()["n"], (tmp_path / "history.log").read_bytes()) == (4, data)


def test_a_take_over_that_is_killed_is_begun_again(tmp_path: Path) -> None:
    """What lies there then: an empty file, or one with nothing but its header."""
    logged(tmp_path, step(0), step(1))
    (tmp_path / NAME).write_bytes(b"")
    assert History(tmp_path / NAME).shown()["n"] == 1


def test_two_programs_on_one_history_spoil_nothing(tmp_path: Path) -> None:
    path = tmp_path / NAME
    History(path).add("first", {"n": 1})
    one, other = History(path), History(path)
    one.add("second", {"n": 2})
    with pytest.raises(OutputError, match="changed by another program"):
        other.add("third", {"n": 3})
    assert [step.state["n"] for step in History(path).every_step()] == [1, 2]
    assert History(path).shown()["n"] == 2


def test_an_empty_history_says_so(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="nothing yet"):
        History(tmp_path / NAME).shown()
    assert list(tmp_path.iterdir()) == []
    logged(tmp_path, tail=b"nonsense\n")
    with pytest.raises(InputError, match="nothing yet"):
        History(tmp_path / NAME).shown()
    (tmp_path / NAME).write_bytes(b"nonsense\n" * 100)
    with pytest.raises(InputError, match="cannot be read"):
        History(tmp_path / NAME)


WRITER = """
import sys
from pathlib import Path
from pic2chart.desk.history import History
history = History(Path(sys.argv[1]))
number = 0
while True:
    number += 1
    history.add("step", {"n": number, "ballast": "x" * 20000})
    print(number, flush=True)
"""


def test_a_writer_killed_at_any_moment_loses_at_most_the_step_in_hand(tmp_path: Path) -> None:
    for round_ in range(4):
        path = tmp_path / f"{round_}.sqlite"
        command = [sys.executable, "-c", WRITER, str(path)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
            assert writer.stdout is not None
            for _ in range(5 + 3 * round_):
                writer.stdout.readline()
            time.sleep(0.003 * round_)
            writer.kill()
            told = [int(line) for line in writer.stdout.read().split()] or [5 + 3 * round_]
        assert History(path).shown()["n"] in (told[-1], told[-1] + 1)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("project")
    project = Project(folder, folder / "no-shelf.csv")
    project.start_from_picture(photo(width=200), "cat.jpg", {"stitches": 24})
    return folder


def same(a: State, b: State) -> bool:
    def fixed(state: State) -> list[object]:
        held = state.chart.fixed
        return [] if held is None or not held.any() else held.tolist()

    return (
        np.array_equal(a.chart.stitches, b.chart.stitches)
        and fixed(a) == fixed(b)
        and (a.chart.catches, a.chart.yarns, a.chart.title)
        == (b.chart.catches, b.chart.yarns, b.chart.title)
        and (a.settings, a.follows, a.remarks) == (b.settings, b.follows, b.remarks)
    )


def test_every_state_is_read_back_as_it_was(folder: Path) -> None:
    project = Project(folder, folder / "no-shelf.csv")
    project.edit({"kind": "paint", "yarn": "A", "stitches": [[1, 1], [2, 2]]})
    project.change({"float_limit": 4})
    project.edit({"kind": "insert", "what": "round", "at": 3})
    yarns = [
        {"was": "A", "name": "kelp", "colour": "#2f4a3a"},
        {"was": "B", "name": "oat", "colour": "#ece2d0"},
    ]
    project.edit({"kind": "yarns", "yarns": yarns})
    project.edit({"kind": "paint", "yarn": "B", "stitches": [[1, 1]]})
    states = [project.now.state]
    while project.history.undo:
        states.append(project.go(-1).state)
    again = Project(folder, folder / "no-shelf.csv")
    seen = [again.now.state]
    while again.history.redo:
        seen.append(again.go(+1).state)
    assert len(states) == len(seen) == 6
    assert all(same(a, b) for a, b in zip(states, reversed(seen), strict=True))
    assert again.now.state.settings.yarn == ("kelp=#2f4a3a", "oat=#ece2d0")
    assert not again.now.state.follows


def test_what_is_made_of_a_chart_goes_along_and_is_undone_with_it(folder: Path) -> None:
    """The place for it in a state: kept by changes by hand, by settings, and over a restart."""
    project = Project(folder, folder / "no-shelf.csv")
    painted = PaintedPiece((4, 6), ("A=#ece2d0", "B=#26304c"), {(1, 2): 1})
    thing = InHand("mitten", {}, {"palm": painted})
    project.history.add("choose", replace(project.now.state, thing=thing).to_plain())
    again = Project(folder, folder / "no-shelf.csv")
    assert again.now.state.thing == thing
    again.edit({"kind": "paint", "yarn": "A", "stitches": [[3, 3]]})
    again.change({"float_limit": 3})
    assert Project(folder, folder / "no-shelf.csv").now.state.thing == thing
    for _ in range(3):
        again.go(-1)
    assert again.now.state.thing is None


def test_stitches_alone_make_a_short_step(folder: Path) -> None:
    project = Project(folder, folder / "no-shelf.csv")
    project.edit({"kind": "paint", "yarn": "A", "stitches": [[4, 4]]})
    assert len(json.dumps(project.history.shown())) < 3000


def test_a_log_that_names_steps_by_their_lines_still_finds_them(folder: Path) -> None:
    """A whole project of an earlier version, its short lines leaning on the place of a long one."""
    project = Project(folder, folder / "no-shelf.csv")
    project.edit({"kind": "paint", "yarn": "B", "stitches": [[2, 1]]})
    old, begins, end = folder / "old", {}, 0
    old.mkdir()
    lines: list[tuple[bytes, bytes]] = []
    for one in project.history.every_step():
        state = one.state | ({"whole": begins[one.state["whole"]]} if "whole" in one.state else {})
        body = json.dumps({"what": one.what, "mark": "", "state": state}).encode()
        begins[one.place] = end
        lines.append((b"S", body))
        end += len(body) + 12
    logged(old, *lines)
    for picture in folder.glob("picture-*"):
        (old / picture.name).write_bytes(picture.read_bytes())
    again = Project(old, folder / "no-shelf.csv")
    assert "whole" in again.history.shown()
    assert same(again.now.state, project.now.state)


# What a desk that was killed left half made


def test_a_picture_whose_project_was_never_made_is_swept_away(tmp_path: Path) -> None:
    store = Store(tmp_path)
    whole, _ = store.start(lambda fresh: fresh.start_from_chart(charts()[0]))
    killed = [tmp_path / (digit * 12) for digit in "abcd"]
    for folder in killed:
        folder.mkdir()
        (folder / "picture-0123456789abcdef").write_bytes(b"private")
    (killed[1] / NAME).write_bytes(b"")
    (killed[2] / "notes of my own.txt").write_text("not the desk's")
    (killed[3] / NAME).write_bytes(b"spoilt" * 100)
    (tmp_path / "shelf-waiting-0123.csv").write_text("name,colour\n")
    Store(tmp_path).sweep()
    assert {entry.name for entry in tmp_path.iterdir()} == {whole, killed[2].name, killed[3].name}


def test_shelves_sent_at_once_never_take_each_others_place(tmp_path: Path) -> None:
    """A refused one between a good one's reading and writing: each waits in a file of its own."""
    shelf, fault = tmp_path / "shelf.csv", b"name,colour\noat,blue-ish\n"
    good = [f"name,colour\nyarn {n},#10203{n}\n".encode() for n in range(4)]

    def send(data: bytes) -> None:
        for _ in range(25):
            with suppress(InputError):
                read_shelf_upload(data, shelf)

    threads = [threading.Thread(target=send, args=(data,)) for data in (*good, fault, fault)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert shelf.read_bytes() in good
    before = tmp_path / "shelf-before.csv"
    assert before.read_bytes() in good
    assert {*tmp_path.iterdir()} == {shelf, before}


def test_the_list_waits_for_no_project(tmp_path: Path) -> None:
    store = Store(tmp_path)
    name, project = store.start(lambda fresh: fresh.start_from_chart(charts()[0]))
    working, done = threading.Event(), threading.Event()

    def work() -> None:
        with project.lock:
            working.set()
            done.wait(20)

    thread = threading.Thread(target=work)
    thread.start()
    assert working.wait(20)
    assert store.cards()[0]["title"] == "harbour dog"
    assert project.without_waiting(lambda shown: shown.state.chart.title) == "harbour dog"
    assert [card["id"] for card in Store(tmp_path).cards()] == [name]
    done.set()
    thread.join()
