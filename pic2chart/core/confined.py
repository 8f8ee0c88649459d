"""Strangers' bytes are decoded in a process apart, with limits on its processor time and memory.

Decoders are native code: on hostile bytes they may hang, swell or crash. What reads pictures hands its
work to `confined`; inside a block of `confining`, as on the desk and in a library, that work is done by
a small process which does nothing else, and whatever happens to it is one refused picture. It is kept
for the next picture, so a picture costs no start. Between the two go plain data and pixels, never
objects. Elsewhere the same work is done at once, in this process.

The process lets go of itself when the one it works for is gone, however that ended.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from importlib import import_module
from pathlib import Path
from typing import IO, Any, TypeAlias

from pic2chart.core.errors import InputError, OutputError, Pic2ChartError, SettingError
from pic2chart.core.messages import Message, Value, message
from pic2chart.core.safe_path import safe_environment

try:
    import resource
except ImportError:  # Windows: there only the clock is watched
    resource = None  # type: ignore[assignment]

SECONDS = 10
"""Of the processor, for one file."""
MEMORY = 1 << 30
"""Bytes that the process may take beside what it has when nothing is decoded."""
PATIENCE = 60.0
"""Seconds by the clock after which the process is ended, where its time is not limited or not given."""
KEPT = 2
"""Processes that wait for the next file."""
_MOST_BYTES = 1 << 30
_CREATE_NEW_PROCESS_GROUP = 0x200
"""As Windows calls it (subprocess knows the name there alone)."""
_PIPE_BYTES = 1 << 20
"""Where the system allows it: a photo then goes over in a few turns of the two processes."""
_ERRORS = {kind.__name__: kind for kind in (InputError, SettingError, OutputError)}

Parts: TypeAlias = tuple[dict[str, Any], Sequence[Any]]
"""What can go from one process to the other: plain data, and buffers of bytes."""
Work: TypeAlias = Callable[..., Parts]
"""A function of a module: takes a file's path, for what is said of it, its contents, and plain data."""

_NONSENSE = (
    *(EOFError, OSError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError),
    *(RecursionError, struct.error),
)
"""What reading an answer may raise that no process of ours gave."""

_idle: list[_Confined] = []
_lock = threading.Lock()
_depth = 0


def confined(work: Work, path: Path, data: bytes, **given: Any) -> Parts:
    """`work(path, data, **given)` on the contents of a file, in a process apart inside a block of `confining`, else here.

    Raises what `work` raises, and InputError when the process ended over it or went over a limit.
    """
    if not _depth:
        return work(path, data, **given)
    try:
        return _requested(work, path, data, given)
    except _EndedError as first:
        if first.late:
            raise InputError(message("decoder-too-long", path=str(path), seconds=SECONDS)) from None
    try:  # once more: what ended it may have had nothing to do with the file
        return _requested(work, path, data, given)
    except _EndedError:
        raise InputError(message("decoder-ended", path=str(path))) from None


def _requested(work: Work, path: Path, data: bytes, given: dict[str, Any]) -> Parts:
    """Have it done by a process that is free, or new. Raises _EndedError when the process ended."""
    process = _taken(work)
    try:
        parts = process.ask(work, path, data, given)
    except Pic2ChartError:
        _let_go(process)
        raise
    except BaseException:  # interrupted: its answer would be taken for the next one's
        process.end()
        raise
    _let_go(process)
    return parts


@contextlib.contextmanager
def confining() -> Iterator[None]:
    """Inside the block whatever goes through `confined` is done apart, in all threads."""
    global _depth
    with _lock:
        _depth += 1
    try:
        yield
    finally:
        with _lock:
            _depth -= 1


def start_ahead(work: Work) -> None:
    """Have a process ready for this work before the first file comes; this returns at once."""
    with _lock:
        if not _idle:
            _idle.append(_Confined(work.__module__))


class _EndedError(Exception):
    """The process ended instead of answering. `late`: since it took too long."""

    def __init__(self, late: bool) -> None:
        self.late = late


def _taken(work: Work) -> _Confined:
    with _lock:
        while _idle:
            process = _idle.pop()
            if process.alive():
                return process
            process.end()
    return _Confined(work.__module__)


def _let_go(process: _Confined) -> None:
    with _lock:
        if len(_idle) < KEPT:
            _idle.append(process)
            return
    process.end()


def _forget_all() -> None:
    """In a process that was forked off: those processes answer its parent alone."""
    global _lock
    _lock = threading.Lock()
    _idle.clear()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget_all)


class _Confined:
    """The process, seen from the one it works for. `module`: to be loaded before its memory is counted."""

    def __init__(self, module: str) -> None:
        apart: dict[str, Any] = (
            {"process_group": 0}
            if os.name == "posix"
            else {"creationflags": _CREATE_NEW_PROCESS_GROUP}
        )
        self._process = subprocess.Popen(  # in a group of its own: Ctrl-C is not for it
            [sys.executable, "-m", __name__, module],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            pipesize=_PIPE_BYTES,
            env=safe_environment() | {"OPENBLAS_NUM_THREADS": "1"},
            **apart,
        )
        self._late = False

    def alive(self) -> bool:
        return self._process.poll() is None

    def end(self) -> None:
        """End it, and whatever it does."""
        self._process.kill()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):  # what it never took
                    pipe.close()
        self._process.wait()

    def ask(self, work: Work, path: Path, data: bytes, given: dict[str, Any]) -> Parts:
        """Have the work done. Raises _EndedError when the process ended over it."""
        watch = threading.Timer(PATIENCE, self._end_late)
        watch.daemon = True
        watch.start()
        try:
            into, out = self._process.stdin, self._process.stdout
            assert into is not None
            assert out is not None
            name = f"{work.__module__}:{work.__qualname__}"
            _put(into, {"work": name, "path": str(path), "given": given}, [data])
            head = _got(out)
            if "refused" in head:
                raise _refusal(head)
            if "fault" in head:
                raise RuntimeError(head["fault"])
            return dict(head["plain"]), _buffers(out, head)
        except _NONSENSE:
            self.end()
            raise _EndedError(self._was_late()) from None
        finally:
            watch.cancel()

    def _end_late(self) -> None:
        self._late = True
        self._process.kill()

    def _was_late(self) -> bool:
        out_of_time = hasattr(signal, "SIGXCPU") and self._process.returncode == -signal.SIGXCPU
        return self._late or out_of_time


def _put(pipe: IO[bytes], plain: dict[str, Any], buffers: Sequence[Any] = ()) -> None:
    sizes = [memoryview(one).nbytes for one in buffers]
    data = json.dumps({**plain, "sizes": sizes}).encode()
    pipe.write(struct.pack(">I", len(data)) + data)
    for buffer in buffers:
        pipe.write(memoryview(buffer).cast("B"))
    pipe.flush()


def _got(pipe: IO[bytes]) -> dict[str, Any]:
    (length,) = struct.unpack(">I", _exactly(pipe, 4))
    plain = json.loads(_exactly(pipe, length))
    if not isinstance(plain, dict):
        raise ValueError("no answer")
    return plain


def _buffers(pipe: IO[bytes], head: dict[str, Any]) -> list[bytearray]:
    if sum(head["sizes"]) > _MOST_BYTES:
        raise ValueError("too many bytes")
    return [_exactly(pipe, size) for size in head["sizes"]]


def _exactly(pipe: IO[bytes], count: int) -> bytearray:
    """So many bytes. Raises EOFError when there are fewer, ValueError for more than anyone has."""
    if not 0 <= count <= _MOST_BYTES:
        raise ValueError("too many bytes")
    data = bytearray(count)
    view, at = memoryview(data), 0
    while at < count:
        read = pipe.readinto(view[at:])  # type: ignore[attr-defined]
        if not read:
            raise EOFError
        at += read
    return data


def _plain_of(what: Value) -> Any:
    """A message, or a value in one, as JSON can hold it."""
    if isinstance(what, Message):
        pairs = [[name, _plain_of(value)] for name, value in what.parameters]
        return {"code": what.code, "parameters": pairs, "options": what.options}
    return [_plain_of(part) for part in what] if isinstance(what, tuple) else what


def _value_of(plain: Any) -> Value:
    if isinstance(plain, dict):
        return _message_of(plain)
    return tuple(map(_value_of, plain)) if isinstance(plain, list) else plain


def _message_of(plain: dict[str, Any]) -> Message:
    pairs = tuple((str(name), _value_of(value)) for name, value in plain["parameters"])
    return Message(plain["code"], pairs, tuple(plain["options"]))


def _refusal(head: dict[str, Any]) -> Pic2ChartError:
    """The error that the work raised there. Raises one of _NONSENSE when there is no such message."""
    what = _message_of(head["message"])
    str(what)  # its template is there, and has all it names
    return _ERRORS[head["refused"]](what)


# In the process itself.


def _serve() -> None:
    """Do what is asked, one thing after the other, until nobody can ask any more."""
    into = os.fdopen(os.dup(0), "rb")
    out = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_RDWR)
    for number in (0, 1):  # whatever a decoder prints is no answer
        os.dup2(nothing, number)
    import_module(sys.argv[1])
    _limit_memory()
    with contextlib.suppress(EOFError, OSError):
        while True:
            request = _got(into)
            _limit_time()
            plain, buffers = _done(request, *_buffers(into, request))
            _put(out, plain, buffers)


def _done(request: dict[str, Any], data: bytearray) -> tuple[dict[str, Any], Sequence[Any]]:
    module, _, name = request["work"].partition(":")
    try:
        work = getattr(import_module(module), name)
        plain, buffers = work(Path(request["path"]), bytes(data), **request["given"])
    except Pic2ChartError as error:
        return {"refused": type(error).__name__, "message": _plain_of(error.message)}, ()
    except Exception as error:  # a fault of the program, told where it was asked for
        return {"fault": f"{type(error).__name__}: {error}"}, ()
    return {"plain": plain}, buffers


def _limit_memory() -> None:
    """No more than MEMORY beside what is there; no file longer than nothing, and no remains of a crash."""
    if resource is None:
        return
    try:
        pages = int(Path("/proc/self/statm").read_text("ascii").split()[0])
        most = pages * resource.getpagesize() + MEMORY
    except OSError:  # no Linux
        most = 2 * MEMORY
    for limit, value in (
        (resource.RLIMIT_AS, most),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, 0),
    ):
        with contextlib.suppress(OSError, ValueError):  # a system that does not know it
            resource.setrlimit(limit, (value, value))


def _limit_time() -> None:
    """SECONDS of the processor from now on."""
    if resource is not None:
        soft = int(time.process_time()) + 1 + SECONDS
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(
                resource.RLIMIT_CPU, (soft, resource.getrlimit(resource.RLIMIT_CPU)[1])
            )


if __name__ == "__main__":
    _serve()
