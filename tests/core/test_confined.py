"""Work on strangers' bytes in a process apart: the same results, and an end to what goes wrong there."""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pic2chart.core import confined as rooms
from pic2chart.core.confined import Parts, confined, confining, start_ahead
from pic2chart.core.errors import InputError
from pic2chart.picture.decode import MAX_PIXELS, decoded_parts, load_picture
from tests.helpers.processes import alive, children

# What a decoder might do, done by functions of this module in the process apart.

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and limits of POSIX systems")


def whose(path: Path, data: bytes) -> Parts:
    return {"process": os.getpid(), "name": path.name, "data": data.decode()}, [
        b"ab",
        np.arange(3, dtype=np.uint16),
    ]


def crash(path: Path, data: bytes) -> Parts:
    os.kill(os.getpid(), signal.SIGSEGV)
    raise AssertionError


def crash_once(path: Path, data: bytes) -> Parts:
    if not path.exists():
        os.mkdir(path)  # a folder, since no file may be written
        os.kill(os.getpid(), signal.SIGKILL)
    return {}, ()


def go_on(path: Path, data: bytes) -> Parts:
    while True:
        pass


def sleep(path: Path, data: bytes) -> Parts:
    time.sleep(60)
    return {}, ()


def swell(path: Path, data: bytes) -> Parts:
    np.ones(rooms.MEMORY // 4, np.float64)
    return {}, ()


def write(path: Path, data: bytes) -> Parts:
    path.write_bytes(b"x")
    return {}, ()


def chatter(path: Path, data: bytes) -> Parts:
    os.write(1, b"\x00\x00\x00\x01{")
    return {}, ()


def lie(path: Path, data: bytes) -> Parts:
    return {"x": 1}, [b"abc"]


@pytest.fixture
def apart() -> Iterator[None]:
    with confining():
        yield
    for process in rooms._idle:
        process.end()
    rooms._idle.clear()


def test_only_inside_the_block_it_is_done_elsewhere(tmp_path: Path) -> None:
    here, buffers = confined(whose, tmp_path / "dög\udcff.png", b"picture")
    assert here["process"] == os.getpid()
    with confining():
        there, sent = confined(whose, tmp_path / "dög\udcff.png", b"picture")
        again, _ = confined(whose, tmp_path, b"picture")
    assert there["name"] == here["name"]
    assert there["data"] == here["data"] == "picture"
    assert there["process"] == again["process"] != os.getpid()
    assert [bytes(part) for part in sent] == [bytes(part) for part in buffers]
    for process in rooms._idle:
        process.end()
    rooms._idle.clear()


@pytest.mark.usefixtures("apart")
def test_a_picture_comes_out_the_same(tmp_path: Path) -> None:
    ramp = Image.linear_gradient("L").resize((90, 60))
    clear = Image.merge("RGBA", (ramp, ramp, ramp.rotate(90), ramp))
    clear.save(tmp_path / "clear.png")
    ramp.save(tmp_path / "ramp.jpg")
    for name in ("clear.png", "ramp.jpg"):
        path = tmp_path / name
        read = load_picture(path, cells=(10, None))
        facts, pixels = decoded_parts(path, path.read_bytes(), None, (10, None), None)
        assert read.rgb.tobytes() == bytes(pixels[0])
        assert (read.opacity is not None) == (len(pixels) == 2) == (name == "clear.png")
        assert read.size == facts["size"] == (90, 60)
        assert not read.rgb.flags.writeable


@pytest.mark.usefixtures("apart")
def test_a_refusal_comes_over_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "no.png").write_bytes(b"no picture")
    with pytest.raises(InputError) as there:
        load_picture(tmp_path / "no.png")
    with pytest.raises(InputError) as here:
        decoded_parts(tmp_path / "no.png", b"no picture", None, None, None)
    assert there.value.message == here.value.message


@pytest.mark.usefixtures("apart")
def test_a_crash_is_one_refused_picture(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="the process that decodes it ended"):
        confined(crash, tmp_path / "dog.jpg", b"picture")
    assert confined(whose, tmp_path, b"picture")[0]["process"]


@pytest.mark.usefixtures("apart")
def test_an_end_that_has_nothing_to_do_with_the_picture_is_not_blamed_on_it(tmp_path: Path) -> None:
    assert confined(crash_once, tmp_path / "seen", b"picture") == ({}, [])


@pytest.mark.usefixtures("apart")
def test_no_more_than_its_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rooms, "PATIENCE", 1.0)
    for work in (go_on, sleep):
        began = time.monotonic()
        with pytest.raises(InputError, match="takes more than 10 s"):
            confined(work, tmp_path / "slow.jpg", b"picture")
        assert time.monotonic() - began < 5


@pytest.mark.usefixtures("apart")
def test_its_processor_time_is_limited_by_the_system(tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    confined(whose, tmp_path, b"picture")
    soft, _ = resource.prlimit(rooms._idle[0]._process.pid, resource.RLIMIT_CPU)
    assert rooms.SECONDS < soft <= rooms.SECONDS + 3


@pytest.mark.usefixtures("apart")
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="RLIMIT_AS counts on Linux only")
def test_no_more_than_its_memory_and_no_files(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="MemoryError"):
        confined(swell, tmp_path / "large.jpg", b"picture")
    with pytest.raises(RuntimeError, match=r"OSError.*File too large"):
        confined(write, tmp_path / "written", b"picture")
    assert (tmp_path / "written").read_bytes() == b""
    assert confined(whose, tmp_path, b"picture")[0]["process"]


@pytest.mark.usefixtures("apart")
def test_what_a_decoder_prints_is_no_answer(tmp_path: Path) -> None:
    assert confined(chatter, tmp_path, b"picture") == ({}, [])
    assert confined(lie, tmp_path, b"picture") == ({"x": 1}, [b"abc"])


def framed(text: str) -> bytes:
    return struct.pack(">I", len(text)) + text.encode()


@pytest.mark.usefixtures("apart")
@pytest.mark.parametrize(
    "answer",
    [
        b"",
        b"\xff\xff\xff\xff",
        b"\x00\x00\x00\x02[]",
        b"\x00\x00\x00\x02{}",
        b'\x00\x00\x00\x1f{"plain": {}, "sizes": [1e300]}',
        b'\x00\x00\x00\x1e{"plain": {}, "sizes": [9999]}',
        b'\x00\x00\x00\x13{"refused": "exit"}',
        framed('{"plain": 5, "sizes": []}'),
        framed('{"plain": {}, "sizes": ["x"]}'),
        framed('{"plain": {}, "sizes": [900000000, 900000000]}'),
        framed(
            '{"refused": "InputError", "message": {"code": "none", "parameters": [], "options": []}}'
        ),
        framed('{"refused": "InputError", "message": [7]}'),
        framed("[" * 9999),
    ],
    ids=str,
)
def test_an_answer_that_is_none_is_a_refusal(
    tmp_path: Path, answer: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A decoder that was taken over can say what it likes."""
    say = f"import sys; sys.stdin.buffer.read(4); sys.stdout.buffer.write({answer!r})"
    start = subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda command, **how: start([command[0], "-c", say], **how)
    )
    with pytest.raises(InputError, match="cannot be read"):
        confined(whose, tmp_path, b"picture")


@pytest.mark.parametrize("facts", [{}, {"shape": [9, 9]}, {"shape": 5, "size": 3}], ids=str)
def test_pixels_that_do_not_fit_what_is_said_of_them_are_a_refusal(
    tmp_path: Path, facts: dict[str, object], monkeypatch: pytest.MonkeyPatch
) -> None:
    from pic2chart.model import any_file
    from pic2chart.picture import decode

    (tmp_path / "dog.png").write_bytes(b"picture")
    for room, read in ((decode, load_picture), (any_file, any_file.read_png)):
        monkeypatch.setattr(room, "confined", lambda *given, **more: (facts, [b"abc"]))
        with pytest.raises(InputError):
            read(tmp_path / "dog.png")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="looks into /proc")
def test_it_leaves_with_the_one_it_works_for(tmp_path: Path) -> None:
    code = (
        "import os, sys, time\n"
        "from pathlib import Path\n"
        "from pic2chart.core.confined import confining\n"
        "from pic2chart.picture.decode import load_picture\n"
        "with confining():\n"
        "    load_picture(Path(sys.argv[1]))\n"
        "    print('ready', flush=True)\n"
        "    time.sleep(60)\n"
    )
    Image.linear_gradient("L").save(tmp_path / "ramp.png")
    with subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path / "ramp.png")], stdout=subprocess.PIPE
    ) as master:
        assert master.stdout is not None
        assert master.stdout.readline() == b"ready\n"
        apart = children(master.pid)
        assert apart
        master.kill()
    end = time.monotonic() + 10
    while any(map(alive, apart)) and time.monotonic() < end:
        time.sleep(0.05)
    assert not any(map(alive, apart))


@pytest.mark.usefixtures("apart")
def test_one_that_ended_while_it_waited_is_replaced(tmp_path: Path) -> None:
    start_ahead(whose)
    first = rooms._idle[0]
    confined(whose, tmp_path, b"picture")
    os.kill(first._process.pid, signal.SIGKILL)
    first._process.wait()
    assert confined(whose, tmp_path, b"picture")[0]["process"] != first._process.pid


@pytest.mark.usefixtures("apart")
@pytest.mark.slow
def test_the_largest_picture_fits_its_memory(tmp_path: Path) -> None:
    side = int(MAX_PIXELS**0.5)
    Image.new("RGB", (side, side), (200, 10, 90)).save(tmp_path / "large.png", compress_level=1)
    assert load_picture(tmp_path / "large.png", across=720).rgb[0, 0].tolist() == [200, 10, 90]
