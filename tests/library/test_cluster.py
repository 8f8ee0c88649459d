"""The library on a real dask.distributed cluster of two worker processes, one killed midway."""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pic2chart.cli import app as shell
from pic2chart.core.errors import InputError
from pic2chart.library import cluster as cluster_crew
from pic2chart.library.batch import RunOptions, make_library
from pic2chart.library.recipe import Recipe
from tests.helpers.clusters import running_cluster
from tests.helpers.library_runs import SMALL, contents, run, small_folder

pytestmark = pytest.mark.network
FLAGS = ["--stitches", "14", "--rounds", "12", "--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]


@pytest.fixture(scope="module")
def cluster(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    import dask
    from distributed import LocalCluster

    dask.config.set({"temporary-directory": str(tmp_path_factory.mktemp("dask"))})
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster


def test_a_worker_killed_midway_loses_no_picture_and_doubles_none(
    cluster: Any, tmp_path: Path
) -> None:
    folder = small_folder(tmp_path / "pictures", 40)
    run(folder, tmp_path / "whole")
    done: list[str] = []

    def tell(count: int, total: int, result: Any) -> None:
        done.append(result.path)
        if count == 8:
            pid = next(iter(cluster.workers.values())).pid
            os.kill(pid, signal.SIGKILL)

    wish = RunOptions(
        folder, tmp_path / "out", Recipe().over(SMALL), cluster=cluster.scheduler_address
    )
    summary = make_library(wish, lambda words, share: None, tell)
    assert sorted(done) == sorted(f"sign {n}.png" for n in range(1, 41))
    assert (summary.made, summary.broken) == (40, ())
    assert contents(tmp_path / "out") == contents(tmp_path / "whole")


def test_a_broken_picture_is_reported_and_the_rest_is_done(cluster: Any, tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 4)
    (folder / "torn.jpg").write_bytes(b"\xff\xd8\xff\xe0 torn")
    summary = run(folder, tmp_path / "out", cluster=cluster.scheduler_address)
    assert summary.made == 4
    assert [path for path, _ in summary.broken] == ["torn.jpg"]


def test_without_a_scheduler_it_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pic2chart.library.cluster._PATIENCE", "1s")
    folder = small_folder(tmp_path / "pictures", 1)
    with pytest.raises(InputError, match="There is no cluster at"):
        run(folder, tmp_path / "out", cluster="tcp://127.0.0.1:9")
    with pytest.raises(InputError, match="There is no cluster at"):
        run(folder, tmp_path / "out", cluster="nonsense://x")


def test_workers_need_no_folder_of_the_one_who_gives_the_work(tmp_path: Path) -> None:
    """Both workers see another machine's disk: an empty one in the place of ours."""
    if not shutil.which("unshare"):
        pytest.skip("this system lets nobody hide a folder")
    folder, shelf = small_folder(tmp_path / "here" / "pictures", 6), tmp_path / "here" / "s.csv"
    shelf.write_text("name,colour\noat,#ece2d0\nink,#26304c\n")
    options = {"stitches": 14, "rounds": 12, "shelf": str(shelf)}
    run(folder, tmp_path / "whole", options)
    with running_cluster(tmp_path / "dask", hidden=tmp_path / "here") as (address, _):
        summary = run(folder, tmp_path / "here" / "out", options, cluster=address)
    assert (summary.made, summary.missed, summary.broken) == (6, (), ())
    assert contents(tmp_path / "here" / "out") == contents(tmp_path / "whole")


def test_a_killed_scheduler_is_one_sentence_and_the_same_command_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 40), tmp_path / "out"
    run(folder, tmp_path / "whole")
    words = ["library", str(folder), "--out", str(out), *FLAGS, "--quiet"]
    with running_cluster(tmp_path / "dask") as (address, processes):
        given = cluster_crew._Work._give

        def killing(self: Any, tasks: Any, waiting: Any) -> Any:
            yield from given(self, tasks, waiting)
            if sum(1 for _ in out.rglob("*.svg")) >= 8:
                processes[0].kill()

        monkeypatch.setattr(cluster_crew._Work, "_give", killing)
        assert shell.run([*words, "--cluster", address]) == 1
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert said.startswith("pic2chart: The cluster left in the middle of the work")
    monkeypatch.undo()
    with running_cluster(tmp_path / "again") as (address, _):
        assert shell.run([*words, "--cluster", address]) == 0
    assert contents(out) == contents(tmp_path / "whole")
