"""The library on a real dask.distributed cluster of two worker processes, one killed midway."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pic2chart.core.errors import InputError
from pic2chart.library.batch import RunOptions, make_library
from pic2chart.library.recipe import Recipe
from tests.helpers.library_runs import SMALL, contents, run, small_folder

pytestmark = pytest.mark.network


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


def test_a_worker_that_does_not_see_the_library_is_refused(cluster: Any, tmp_path: Path) -> None:
    from distributed import Client

    from pic2chart.library.cluster import _check

    with Client(cluster.scheduler_address) as client:
        with pytest.raises(InputError, match="does not see"):
            _check(client, tmp_path / "elsewhere")
        _check(client, tmp_path)
