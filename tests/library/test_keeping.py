"""Nothing empties a library: not files that cannot be read, not dead processes, not a missing disk; and
nothing that is not its own is removed."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from pic2chart.core.errors import OutputError
from pic2chart.library import motif_making
from pic2chart.library.catalogue import reading
from pic2chart.library.find import Question, find
from pic2chart.library.motif import Task, place_of
from tests.helpers.library_runs import SMALL, contents, numbers, run, small_folder


def _names(out: Path) -> list[str]:
    return [answer.motif.name for answer in find(out, Question())]


# What cannot be read, or ends its process, changes nothing


def test_a_picture_that_cannot_be_read_now_keeps_its_motif_and_is_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 4), tmp_path / "out"
    run(folder, out)
    before = {name: data for name, data in contents(out).items() if name.startswith("motifs")}
    opened = Path.open

    def away(path: Path, *arguments: object, **more: object) -> object:
        if path.name in ("sign 2.png", "sign 3.png"):
            raise OSError(116, "Stale file handle", str(path))
        return opened(path, *arguments, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "open", away)
    summary = run(folder, out, {**SMALL, "float_limit": 4})
    assert [path for path, _ in summary.missed] == ["sign 2.png", "sign 3.png"]
    assert summary.missed[0][1].startswith("It cannot be read now (stale file handle)")
    assert (summary.made, summary.broken, summary.good) == (2, (), False)
    assert len(_names(out)) == 4
    for name in ("sign-2", "sign-3"):
        for ending in (".chart.json", ".png", ".svg"):
            path = f"{place_of(name)}/{name}{ending}"
            assert (out / path).read_bytes() == before[path]
    monkeypatch.undo()
    assert run(folder, out, {**SMALL, "float_limit": 4}).made == 2
    run(folder, tmp_path / "whole", {**SMALL, "float_limit": 4})
    assert contents(out) == contents(tmp_path / "whole")


def test_a_picture_that_vanishes_between_listing_and_reading_keeps_its_motif(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    chart = motif_making._chart

    def first_away(task: Task) -> object:
        (folder / "sign 2.png").unlink(missing_ok=True)
        return chart(task)

    monkeypatch.setattr(motif_making, "_chart", first_away)
    summary = run(folder, out, again=True)
    assert [path for path, _ in summary.missed] == ["sign 2.png"]
    assert len(_names(out)) == 3
    monkeypatch.undo()
    assert run(folder, out).removed == 1, "now it is gone from a folder that was read whole"


def test_a_spoilt_picture_is_told_and_the_motif_it_had_stays(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    (folder / "sign 2.png").write_bytes(b"half saved")
    summary = run(folder, out)
    assert [path for path, _ in summary.broken] == ["sign 2.png"]
    assert len(_names(out)) == 3
    assert run(folder, out).broken == summary.broken
    small_folder(folder, 3)
    assert run(folder, out).broken == ()
    run(folder, tmp_path / "whole")
    assert contents(out) == contents(tmp_path / "whole")


def test_a_fault_of_the_program_keeps_the_motif(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    run(folder, out)
    monkeypatch.setattr(motif_making, "_chart", lambda task: 1 / 0)
    summary = run(folder, out, again=True)
    assert "ZeroDivisionError" in summary.missed[0][1]
    assert len(_names(out)) == 2


@pytest.mark.slow
def test_a_picture_whose_process_ended_is_tried_again_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 6), tmp_path / "out"
    run(folder, out)
    trap = tmp_path / "trap"
    trap.write_text("")
    monkeypatch.setattr("pic2chart.library.crew.make_motif", _deadly)
    summary = run(folder, out, again=True, jobs=2)
    assert [path for path, _ in summary.missed] == ["sign 3.png"]
    assert (summary.made, summary.broken) == (5, ())
    assert len(_names(out)) == 6
    trap.unlink()
    with reading(out) as catalogue:
        assert catalogue.broken() == {}
    summary = run(folder, out, {**SMALL, "float_limit": 4}, jobs=2)
    assert (summary.made, summary.missed) == (6, ())


def _deadly(task: Task) -> object:
    """In a worker: end it for one picture as long as the trap lies there."""
    if task.path == "sign 3.png" and (task.file.parent.parent / "trap").exists():
        os._exit(9)
    return motif_making.make_motif(task)


def test_many_pictures_gone_at_once_take_nothing_with_them(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures" / "disk", 14), tmp_path / "out"
    small_folder(folder.parent, 2)
    run(folder.parent, out)
    shutil.rmtree(folder)
    folder.mkdir()
    summary = run(folder.parent, out)
    assert (summary.motifs, summary.removed) == (16, 0)
    assert str(summary.remarks[0]).startswith(
        "Gone at once: 14 pictures. What was made of them stays"
    )
    summary = run(folder.parent, out, prune=True)
    assert (summary.motifs, summary.removed) == (2, 14)


def test_pictures_put_in_order_in_folders_keep_their_numbers(tmp_path: Path) -> None:
    """All of them moved at once are no missing disk and no other folder, and nothing stands twice."""
    folder, out = small_folder(tmp_path / "pictures", 14), tmp_path / "out"
    run(folder, out)
    before = _by_path(out)
    (folder / "signs").mkdir()
    for picture in folder.glob("*.png"):
        picture.rename(folder / "signs" / picture.name)
    (folder / "signs" / "sign 14.png").unlink()
    summary = run(folder, out)
    assert (summary.motifs, summary.moved, summary.removed, summary.made) == (13, 13, 1, 13)
    assert _by_path(out) == {f"signs/{path}": n for path, n in before.items() if "14" not in path}
    assert (run(folder, out).moved, run(folder, out).unchanged) == (0, 13)


def _by_path(out: Path) -> dict[str, int]:
    with reading(out) as catalogue:
        return {motif.path: motif.number for motif in catalogue.motifs()}


def test_a_file_left_out_is_no_unchanged_motif(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    (folder / "sign 3.png").write_bytes(b"no picture")
    for made in (2, 0):
        summary = run(folder, out)
        assert (summary.made, summary.unchanged, summary.motifs) == (made, 2 - made, 2)
        assert [path for path, _ in summary.broken] == ["sign 3.png"]


# Only what the library made is removed


def test_notes_of_one_s_own_among_the_motifs_stay(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    (out / "motifs" / "my notes").mkdir()
    own = [out / "motifs" / "my notes" / "a.txt", out / place_of("sign-2") / "b.txt",
           out / place_of("sign-1") / "c.txt"]  # fmt: skip
    for file in own:
        file.write_text("mine")
    (folder / "sign 2.png").unlink()
    summary = run(folder, out, {**SMALL, "float_limit": 4})
    assert all(file.read_text() == "mine" for file in own)
    assert os.listdir(out / place_of("sign-2")) == ["b.txt"]
    assert f"Left in '{place_of('sign-2')}', as not the library's: b.txt" in str(
        summary.remarks[-1]
    )
    run(folder, tmp_path / "whole", {**SMALL, "float_limit": 4})
    whole, kept = contents(tmp_path / "whole"), contents(out)
    assert {name for name in kept if not name.endswith(".txt")} == set(whole)
    again = run(folder, out, again=True)
    assert again.made == 2
    assert all(file.read_text() == "mine" for file in own)


def test_a_file_of_one_s_own_under_a_motif_s_name_is_not_replaced(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 2), tmp_path / "out"
    taken = out / place_of("sign-2") / "sign-2.svg"
    run(small_folder(tmp_path / "one", 1), out)
    taken.parent.mkdir(parents=True)
    taken.write_text("mine")
    summary = run(folder, out)
    assert taken.read_text() == "mine"
    assert any("holds what is not the library's" in str(remark) for remark in summary.remarks)
    assert _names(out) == ["sign-1"]
    taken.unlink()
    assert run(folder, out).motifs == 2


@pytest.mark.parametrize("which", ["motifs", "part", "motif"])
def test_links_are_never_followed(tmp_path: Path, which: str) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    place = out / place_of("sign-2")
    linked = {"motifs": out / "motifs", "part": place.parent, "motif": place}[which]
    elsewhere = tmp_path / "elsewhere"
    linked.rename(elsewhere)
    linked.symlink_to(elsewhere)
    (elsewhere / "theirs").mkdir()
    (elsewhere / "theirs" / "diary.txt").write_text("theirs")
    before = {path: path.read_bytes() for path in elsewhere.rglob("*") if path.is_file()}
    (folder / "sign 2.png").unlink()
    summary = run(folder, out)
    assert any("is a link or no folder" in str(remark) for remark in summary.remarks)
    if which == "motifs":
        with pytest.raises(OutputError, match="is a link or no folder"):
            run(folder, out, {**SMALL, "float_limit": 4})
    elif which == "part":
        small_folder(folder, 3)
        assert any("is a link or no folder" in str(remark) for remark in run(folder, out).remarks)
    assert {path: path.read_bytes() for path in elsewhere.rglob("*") if path.is_file()} == before


def test_what_only_looks_like_work_left_over_stays(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 1), tmp_path / "out"
    run(folder, out)
    for name in (".swept-notes", ".swept-0123456789abcdef", ".work"):
        (out / name).mkdir()
        (out / name / "diary.txt").write_text("mine")
    (out / ".writing-notes.md").write_text("mine")
    (out / ".work" / "motif-abcd").mkdir()
    run(folder, out, again=True)
    assert sum(path.read_text() == "mine" for path in out.rglob("diary.txt")) == 3
    assert (out / ".writing-notes.md").read_text() == "mine"
    assert not list(out.rglob("motif-abcd"))


# Numbers


def test_a_number_is_for_good_and_goes_with_a_picture_that_moves(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    (folder / "sign 1.png").rename(folder / "zebra.png")
    (folder / "sign 2.png").unlink()
    small_folder(tmp_path / "more", 5)
    (tmp_path / "more" / "sign 5.png").rename(folder / "anchor.png")
    run(folder, out)
    assert [row[:2] for row in numbers(out)] == [
        (1, "zebra.png"),
        (2, "sign 2.png"),
        (3, "sign 3.png"),
        (4, "anchor.png"),
    ]
    assert [m.motif.number for m in find(out, Question())] == [1, 3, 4]
