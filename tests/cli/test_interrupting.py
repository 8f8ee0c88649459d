"""An interrupt ends a command that does not heed it, and leaves alone one that does."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

import pytest

from pic2chart.cli import main
from pic2chart.cli.interrupting import GRACE, INTERRUPTED

DEAF = """
import time
from pic2chart.cli.interrupting import interruptible
with interruptible():
    while True:
        try:
            print("ready", flush=True)  # inside: the interrupt may come before the next line
            time.sleep(60)
        except KeyboardInterrupt:
            pass
"""
LOSING = """
import ctypes, sys, time
from pic2chart.cli.interrupting import interruptible
sys.stderr = sys.stdout

def wait():
    print("ready", flush=True)  # inside: the interrupt may come before the next line
    time.sleep(60)

called_back = ctypes.CFUNCTYPE(None)(wait)
with interruptible():
    while True:
        called_back()
"""
HEEDING = """
import time
from pic2chart.cli.interrupting import GRACE, interruptible
try:
    with interruptible():
        print("ready", flush=True)
        time.sleep(60)
except KeyboardInterrupt:
    time.sleep(GRACE + 0.5)
print("ended by itself")
"""


def interrupted(code: str) -> tuple[int, str, float]:
    """Status, what was printed after the interrupt, and the seconds from it to the end."""
    process = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    began = time.monotonic()
    process.send_signal(signal.SIGINT)
    printed, _ = process.communicate(timeout=60)
    return process.returncode, printed, time.monotonic() - began


@pytest.mark.skipif(sys.platform == "win32", reason="no interrupt can be sent to one process there")
def test_an_interrupt_that_is_swallowed_ends_the_process():
    status, _, seconds = interrupted(DEAF)
    assert status == INTERRUPTED
    assert seconds >= GRACE


@pytest.mark.skipif(sys.platform == "win32", reason="no interrupt can be sent to one process there")
def test_an_interrupt_that_is_lost_in_a_call_back_ends_the_process_without_a_word():
    status, printed, _ = interrupted(LOSING)
    assert (status, printed) == (INTERRUPTED, "")


@pytest.mark.skipif(sys.platform == "win32", reason="no interrupt can be sent to one process there")
def test_what_heeds_an_interrupt_has_all_the_time_it_wants_afterwards():
    status, printed, _ = interrupted(HEEDING)
    assert (status, printed) == (0, "ended by itself\n")


class Interrupted:
    def __set_name__(self, owner: type, name: str) -> None:
        raise KeyboardInterrupt


@pytest.mark.parametrize("where", ["between two steps", "while a class names its fields"])
def test_an_interrupt_while_the_command_line_loads_is_quiet(
    where: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupt() -> None:
        if where == "between two steps":
            raise KeyboardInterrupt
        type("Settings", (), {"stitches": Interrupted()})

    monkeypatch.setattr("pic2chart.core.processes.allow_open_files", interrupt)
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == INTERRUPTED
    assert capsys.readouterr() == ("", "")
