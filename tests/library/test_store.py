"""Pictures and library at an object store: a real S3 server on this machine, and a cluster beside it."""

from __future__ import annotations

import json
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from pic2chart.cli import app as shell
from pic2chart.core.errors import InputError, OutputError
from pic2chart.library import batch
from pic2chart.library import cluster as cluster_crew
from pic2chart.library.batch import RunOptions, Summary, make_library
from pic2chart.library.recipe import Recipe
from pic2chart.library.stored_library import StoredLibrary
from pic2chart.library.stores import address
from tests.helpers.clusters import running_cluster
from tests.helpers.library_runs import SMALL, contents, run, small_folder
from tests.helpers.object_store import environment, file_system, running_store, stored, upload

pytestmark = [pytest.mark.network, pytest.mark.slow]
FLAGS = ["--stitches", "14", "--rounds", "12", "--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c"]


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    with running_store() as address:
        yield address


@pytest.fixture
def bucket(server: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A bucket of its own; where its server is and who asks stand in the environment."""
    for name, value in environment(server, tmp_path / "cache").items():
        monkeypatch.setenv(name, value)
    name = f"b-{abs(hash(str(tmp_path))) % 10**10}"
    file_system().mkdir(name)
    return name


def _run(folder: Any, out: Any, options: Any = SMALL, **more: Any) -> Summary:
    return make_library(RunOptions(folder, out, Recipe().over(options), **{"jobs": 1, **more}))


def test_pictures_and_library_at_a_store_are_the_same_bytes_as_here(
    bucket: str, tmp_path: Path
) -> None:
    folder = small_folder(tmp_path / "pictures", 5)
    (folder / "sea").mkdir()
    (folder / "sign 1.png").rename(folder / "sea" / "sign 1.png")
    (folder / "sign 2.toml").write_text('tags = ["two"]\nauthor = "A. Gull"')
    run(folder, tmp_path / "whole")
    pictures, out = upload(folder, bucket), f"s3://{bucket}/library"
    assert _run(pictures, out).made == 5
    whole = contents(tmp_path / "whole")
    assert stored(out, tmp_path / "seen") == whole
    assert (_run(pictures, out).made, _run(pictures, out).unchanged) == (0, 5)
    file_system().rm(f"{bucket}/pictures/sign 3.png")
    (folder / "sign 3.png").unlink()
    assert _run(pictures, out).removed == 1
    run(folder, tmp_path / "whole")
    assert stored(out, tmp_path / "seen") == contents(tmp_path / "whole")
    mixed = f"s3://{bucket}/mixed"
    assert _run(folder, mixed).made == 4
    assert _run(pictures, tmp_path / "local", jobs=2).made == 4


def test_another_machine_goes_on_from_what_the_store_has(
    bucket: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 6), f"s3://{bucket}/library"
    _run(folder, out)
    finish = batch._finish
    monkeypatch.setattr("pic2chart.library.batch._finish", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        _run(folder, out, {**SMALL, "float_limit": 4})
    monkeypatch.setattr("pic2chart.library.batch._finish", finish)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "another machine"))
    assert _run(folder, out).made == 6, "the files there are those of the other recipe"
    run(folder, tmp_path / "whole")
    assert stored(out, tmp_path / "seen") == contents(tmp_path / "whole")


def test_two_machines_at_once_the_second_refuses(bucket: str, tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 1), f"s3://{bucket}/library"
    other = {"host": "press-room", "pid": 1, "time": time.time()}
    file_system().pipe_file(f"{bucket}/library/library.lock", json.dumps(other).encode())
    with pytest.raises(OutputError, match="Another run, on press-room, is at work"):
        _run(folder, out)
    stale = json.dumps({**other, "time": time.time() - 3600}).encode()
    file_system().pipe_file(f"{bucket}/library/library.lock", stale)
    assert _run(folder, out).made == 1
    assert not file_system().exists(f"{bucket}/library/library.lock")


def test_what_is_no_store_is_refused_in_one_sentence(bucket: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not a folder of pictures"):
        _run(f"s3://{bucket}/nowhere", tmp_path / "out")
    with pytest.raises(InputError, match="cannot be opened"):
        _run("nonsense://x", tmp_path / "out")
    assert address("s3://b/c/") == "s3://b/c"
    assert address("a/b") == Path("a/b")
    with pytest.raises(InputError, match="not a library"):
        StoredLibrary(f"s3://{bucket}/nowhere").reading()


def test_a_cluster_with_a_store_and_two_kills_and_a_new_scheduler_comes_to_the_same_bytes(
    bucket: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = small_folder(tmp_path / "pictures", 40)
    run(folder, tmp_path / "whole")
    pictures, out = upload(folder, bucket), f"s3://{bucket}/library"
    words = ["library", pictures, "--out", out, *FLAGS, "--quiet", "--cluster"]
    given, killed = cluster_crew._Work._give, []
    with running_cluster(tmp_path / "dask", workers=4) as (place, processes):

        def killing(self: Any, tasks: Any, waiting: Any) -> Any:
            yield from given(self, tasks, waiting)
            done = len(file_system().find(f"{bucket}/library/motifs")) // 3
            for count, victim in ((4, 2), (8, 3), (16, 0)):
                if done >= count and victim not in killed:
                    killed.append(victim)
                    processes[victim].send_signal(signal.SIGKILL)

        monkeypatch.setattr(cluster_crew._Work, "_give", killing)
        monkeypatch.setattr("pic2chart.library.publish._MOST", 2)
        assert shell.run([*words, place]) == 1
    assert killed == [2, 3, 0]
    monkeypatch.setattr(cluster_crew._Work, "_give", given)
    with running_cluster(tmp_path / "again") as (place, _):
        assert shell.run([*words, place]) == 0
    assert stored(out, tmp_path / "seen") == contents(tmp_path / "whole")
