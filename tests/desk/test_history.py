"""Nothing that was saved is lost: torn lines, killed writers, undo and redo over a restart."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from pic2chart.core.errors import InputError, OutputError
from pic2chart.desk.history import History, State
from pic2chart.desk.project import Project
from tests.helpers.desk_page import photo


def names(history: History) -> tuple[str | None, str | None]:
    return history.undo, history.redo


def test_steps_are_undone_and_done_again_over_a_restart(tmp_path: Path) -> None:
    path = tmp_path / "h.log"
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


def test_a_line_torn_anywhere_costs_that_line_only(tmp_path: Path) -> None:
    path = tmp_path / "h.log"
    History(path).add("first", {"n": 1})
    whole = path.read_bytes()
    History(path).add("second", {"n": 2})
    both = path.read_bytes()
    for cut in range(len(whole), len(both)):
        path.write_bytes(both[:cut])
        history = History(path)
        assert (history.shown()["n"], path.read_bytes()) == (1, whole)
        history.add("after", {"n": 3})
        assert History(path).shown()["n"] == 3


def test_a_spoilt_line_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "h.log"
    for number in range(2):
        History(path).add("step", {"n": number})
    spoilt = bytearray(path.read_bytes())
    spoilt[-4] ^= 1
    path.write_bytes(spoilt)
    assert History(path).shown()["n"] == 0


def test_what_follows_a_spoilt_line_is_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "history.log"
    for number in range(4):
        History(path).add("step", {"n": number})
    lines = path.read_bytes().splitlines(keepends=True)
    spoilt = lines[1].replace(b"step", b"stop")
    path.write_bytes(lines[0] + spoilt + b"".join(lines[2:]))
    assert History(path).shown()["n"] == 0
    assert path.read_bytes() == lines[0]
    (rest,) = tmp_path.glob("history-rest-*.log")
    assert rest.read_bytes() == spoilt + b"".join(lines[2:])


def test_two_programs_on_one_history_spoil_nothing(tmp_path: Path) -> None:
    path = tmp_path / "history.log"
    History(path).add("first", {"n": 1})
    one, other = History(path), History(path)
    one.add("second", {"n": 2})
    before = path.read_bytes()
    with pytest.raises(OutputError, match="changed by another program"):
        other.add("third", {"n": 3})
    assert path.read_bytes() == before
    assert History(path).shown()["n"] == 2


def test_an_empty_history_says_so(tmp_path: Path) -> None:
    (tmp_path / "h.log").write_bytes(b"nonsense\n")
    with pytest.raises(InputError, match="nothing yet"):
        History(tmp_path / "h.log").shown()


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
        path = tmp_path / f"{round_}.log"
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


def test_stitches_alone_make_a_short_line(folder: Path) -> None:
    project = Project(folder, folder / "no-shelf.csv")
    before = project.history.path.stat().st_size
    project.edit({"kind": "paint", "yarn": "A", "stitches": [[4, 4]]})
    assert project.history.path.stat().st_size - before < 3000
