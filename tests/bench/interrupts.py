"""How soon each command ends after one interrupt, sent at a random moment of its work.

    python -m tests.bench.interrupts [--tries 20] [--seed 1] [NAME ...]

Each name below is run `tries` times; for every one a line tells how many ended by the interrupt, how
many were done before it, the longest wait, and which ended with anything but a status of their own, said
more than a sentence, or left a file that is not whole or temporary. What is called first begins with no
compiled code.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from PIL import Image

from tests.helpers.places import ROOT, SAMPLES

YARN = ("--yarn", "oat=#ece2d0", "--yarn", "ink=#26304c")
DOG = str(SAMPLES / "harbour-dog.png")
COMMANDS = {
    "first run": ("chart", DOG, *YARN, "--out", "new"),
    "chart": ("chart", DOG, *YARN, "--stitches", "120", "--out", "new"),
    "proof": ("chart", DOG, *YARN, "--prove", "30", "--out", "new"),
    "large proof": (
        *("chart", DOG, "--yarns", "6", "--per-round", "3", "--stitches", "200"),
        *("--prove", "30", "--out", "new"),
    ),
    "first proof": ("chart", DOG, *YARN, "--prove", "5", "--out", "new"),
    "mittens": ("make", "mitten", str(SAMPLES / "tabby.png"), *YARN, "--out", "new"),
    "sheet": ("sheet", "noise.png", "--out", "new"),
    "check": ("check", "noise.png"),
    "mend": ("mend", "noise.png", "--out", "new.chart.json"),
    "read": ("read", str(SAMPLES / "squared-paper.jpg"), "--out", "new"),
    "gauge": ("gauge", str(SAMPLES / "swatch.jpg"), "--out", "new.jpg"),
    "library": ("library", str(SAMPLES), *YARN, "--stitches", "40", "--out", "new"),
    "desk": ("desk", "new", "--no-browser"),
}
LONGEST = 60.0
"""Seconds within which the interrupt comes; at most the time that the command takes uninterrupted."""
OWN_STATUS = (0, 1, 130, -signal.SIGINT)
"""Python itself ends by the signal when it met it while it made a class of text, as dataclasses do."""


def main() -> None:
    """Run what is asked for and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--tries", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    # Begun in a shell's background this process ignores interrupts, and so would all that it begins.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    for name in asked.names or COMMANDS:
        with tempfile.TemporaryDirectory() as folder:
            print(tried(name, Path(folder), asked.tries, random.Random(asked.seed)), flush=True)


def tried(name: str, here: Path, tries: int, dice: random.Random) -> str:
    """The line of one command."""
    _noise().save(here / "noise.png")
    length = _run(name, here, LONGEST)[1]
    waits, done, faults = [], 0, []
    for _ in range(tries):
        after = dice.uniform(0.05, 0.95) * length
        status, _, wait = _run(name, here, after)
        if wait is None:
            done += 1
            continue
        waits.append(wait)
        said = (here / "said").read_text("utf-8", "replace")
        left = _left(here)
        if status not in OWN_STATUS or "Traceback" in said or left:
            faults.append(f"status {status} after {after:.1f} s, left {left}: {said[-600:]}")
    load = os.getloadavg()[0]
    longest = max(waits, default=0.0)
    late = sum(wait > 2 for wait in waits)
    return (
        f"{name}: {len(waits)} interrupted, {done} done before, longest wait {longest:.1f} s, {late} over "
        f"2 s, faults {faults}; uninterrupted {length:.1f} s, load {load:.0f}"
    )


def _left(here: Path) -> list[str]:
    """What an interrupted command left of temporary files, anywhere."""
    found = [*(here / "temporary").rglob("*"), *here.rglob(".writing-*")]
    return sorted({str(path.relative_to(here)) for path in found})


def _noise() -> Image.Image:
    """A chart of 200 × 200 whose every rule is broken somewhere."""
    dice = random.Random(7)
    pixels = (dice.choice((b"\xec\xe2\xd0", b"\x26\x30\x4c")) for _ in range(40_000))
    return Image.frombytes("RGB", (200, 200), b"".join(pixels))


def _run(name: str, here: Path, after: float) -> tuple[int, float, float | None]:
    """Status, seconds, and those from the interrupt to the end; None when it ended before."""
    for left in ("new", "code", "temporary"):
        shutil.rmtree(here / left, ignore_errors=True)
    (here / "temporary").mkdir()
    environment = {**os.environ, "TMPDIR": str(here / "temporary")}
    if name.startswith("first"):
        environment["PIC2CHART_CODE_CACHE"] = str(here / "code")
    began = time.monotonic()
    command = [sys.executable, "-m", "pic2chart", *COMMANDS[name]]
    environment["PYTHONPATH"] = str(ROOT)
    with (here / "said").open("wb") as said:
        process = subprocess.Popen(command, cwd=here, env=environment, stdout=said, stderr=said)
    try:
        process.wait(after)
        return process.returncode, time.monotonic() - began, None
    except subprocess.TimeoutExpired:
        sent = time.monotonic()
        process.send_signal(signal.SIGINT)
        process.wait()
    ended = time.monotonic()
    return process.returncode, ended - began, ended - sent


if __name__ == "__main__":
    main()
