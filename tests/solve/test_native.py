"""Compiled functions do what the same lines do in Python; their code is kept, and remade when it is spoilt."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pic2chart.solve import native
from pic2chart.solve.native import Kernel
from tests.helpers import plain_kernels as plain
from tests.helpers.plain_kernels import Inner, Outer

WHOLE = st.integers(-(2**30), 2**30)
EXACT = st.floats(allow_nan=False, allow_infinity=False, width=32)


def alike(kernel, *values):
    """Run both ways on copies: the same result, and the same arrays afterwards to the bit."""
    compiled, written = copied(values), copied(values)
    ours = kernel(*compiled)
    theirs = kernel.py_func(*written)
    assert ours == theirs
    assert bits(compiled) == bits(written)


def copied(value):
    if isinstance(value, np.ndarray):
        return value.copy()
    if isinstance(value, tuple):
        parts = [copied(part) for part in value]
        return type(value)(*parts) if hasattr(value, "_fields") else tuple(parts)
    return value


def bits(value):
    if isinstance(value, np.ndarray):
        return value.tobytes()
    return [bits(part) for part in value] if isinstance(value, tuple) else value


@given(WHOLE, WHOLE.filter(bool))
def test_whole_numbers(a: int, b: int) -> None:
    alike(plain.whole_numbers, a, b, np.zeros(13, np.int64))


@given(EXACT, EXACT.filter(bool), st.integers(-100, 100))
def test_floating_point_numbers(x: float, y: float, n: int) -> None:
    alike(plain.numbers, x, y, n, np.zeros(11))


@given(st.integers(-2, 12), st.lists(st.integers(-2, 12), min_size=1, max_size=9))
def test_loops_and_branches(limit: int, values: list[int]) -> None:
    alike(plain.ways, limit, np.array(values, np.int64), np.zeros(len(values), np.int64))


@pytest.mark.parametrize("turn", [False, True])
@pytest.mark.parametrize("on", [False, True])
def test_arrays_and_records(turn: bool, on: bool) -> None:
    rng = np.random.default_rng(0)
    inner = [Inner(rng.integers(0, 9, size), factor) for size, factor in ((3, 0.5), (5, 2.0))]
    outer = Outer(inner[0], inner[1], np.zeros(4, bool), on)
    grid, table = rng.random((4, 3, 2)), rng.random((4, 2))
    small, steps = np.zeros((4, 2), np.uint8), np.zeros((4, 2), np.int32)
    alike(plain.arrays, grid, table, small, steps, outer, turn)


@pytest.mark.parametrize(
    "spoilt",
    [
        np.zeros(13, np.int32),
        np.zeros((13, 1), np.int64),
        np.zeros(26, np.int64)[::2],
        [0] * 13,
    ],
)
def test_only_arrays_of_the_type_that_is_told_are_taken(spoilt) -> None:
    with pytest.raises(TypeError, match="an array of int64 in 1 dimensions is wanted"):
        plain.whole_numbers(1, 2, spoilt)


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PIC2CHART_CODE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache"


def fresh() -> Kernel:
    return Kernel(plain.whole_numbers.py_func)


def works(kernel: Kernel) -> bool:
    return kernel(20, 3, np.zeros(13, np.int64)) == 23


def test_code_is_kept_and_taken_from_there(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kernel = fresh()
    assert not kernel.ready
    assert works(kernel)
    assert kernel.ready
    assert fresh().ready
    (kept,) = cache.iterdir()
    assert kept.name.startswith("plain_kernels.whole_numbers-")
    monkeypatch.setattr(native, "_compiled", None)
    assert works(fresh())


@pytest.mark.parametrize(
    "spoil", [lambda code: code[:-1], lambda code: b"", lambda code: code[::-1]]
)
def test_spoilt_code_is_made_anew(cache: Path, spoil) -> None:
    assert works(fresh())
    (kept,) = cache.iterdir()
    good = kept.read_bytes()
    kept.write_bytes(spoil(good))
    assert works(fresh())
    assert kept.read_bytes() == good


def test_where_nothing_can_be_kept_it_works_all_the_same(cache: Path) -> None:
    cache.write_text("no folder")
    assert works(fresh())
    assert cache.read_text() == "no folder"


def test_other_sources_and_machines_have_other_code(monkeypatch: pytest.MonkeyPatch) -> None:
    place = fresh()._place()
    assert place == fresh()._place()
    other = (*native.machine()[:-1], "")
    monkeypatch.setattr(native, "machine", lambda: other)
    assert place != fresh()._place()
    assert Kernel(plain.numbers.py_func)._place().name.split("-")[0] == "plain_kernels.numbers"


def test_it_is_compiled_once_however_many_ask(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kernel, made, compiled = fresh(), [], native._compiled
    monkeypatch.setattr(native, "_compiled", lambda of: made.append(of) or compiled(of))
    threads = [threading.Thread(target=works, args=[kernel]) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert made == [kernel]
