"""Try a reader with very many damaged files, for as long as one likes.

    python -m tests.fuzz.long READER --inputs 200000 [--seed 1]       files spoiled at random
    python -m tests.fuzz.long READER --inputs 200000 --structured     spoiled within their outer form
    python -m tests.fuzz.long READER --inputs 200000 --guided         led by what code they reach

READER is one of the names in readers.py, or `all`. Guided runs need atheris, which has wheels for
Linux on x86_64 alone: `pip install atheris`. A file that is not refused in one sentence, ends the
process, or takes longer than ten seconds or more than 4 GB, is kept in tests/fuzz/found/READER and is a test from then on.
"""

from __future__ import annotations

import argparse
import atexit
import hashlib
import os
import random
import resource
import signal
import sys
import time
import traceback
from multiprocessing.sharedctypes import RawValue
from pathlib import Path

HERE = Path(__file__).parent
SECONDS, MEMORY = 10, 4 << 30


def main() -> int:
    """Run as the command line asks; 1 when anything was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("reader")
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--structured", action="store_true")
    parser.add_argument("--guided", action="store_true")
    asked = parser.parse_args()
    if asked.guided:
        _guided(asked.reader, asked.inputs, asked.seed)
    from tests.fuzz.readers import READERS, leave

    names = list(READERS) if asked.reader == "all" else [asked.reader]
    if asked.structured:
        names = [name for name in names if READERS[name].structured is not None]
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    try:
        return int(sum(_tried(name, asked) for name in names) > 0)
    finally:
        leave()


class _Tally:
    """What the process that tries files has to say to the one that looks after it."""

    def __init__(self) -> None:
        self.tried, self.taken, self.faults = (RawValue("q", 0) for _ in range(3))


def _tried(name: str, asked: argparse.Namespace) -> int:
    """Faults found, each place once. Files are tried in a process apart, since some end it."""
    from tests.fuzz.readers import work_folder

    at_hand, tally = work_folder() / "at-hand", _Tally()
    began = time.monotonic()
    while tally.tried.value < asked.inputs:
        if (child := os.fork()) == 0:
            _try_on(name, asked, tally, at_hand)
            os._exit(0)
        _, status = os.waitpid(child, 0)
        if status == 0:
            continue
        data = at_hand.read_bytes()
        tally.tried.value += 1
        tally.faults.value += 1
        print(f"{name}: ended with {status}\n  kept as {_keep(name, data)}", flush=True)
    spent = time.monotonic() - began
    counts = f"{tally.tried.value} inputs, {tally.taken.value} read, {tally.faults.value} faults"
    print(f"{name}: {counts}, {spent:.0f} s", flush=True)
    return tally.faults.value


def _try_on(name: str, asked: argparse.Namespace, tally: _Tally, at_hand: Path) -> None:
    """Try one file after the other, from the first that was not tried yet."""
    from tests.fuzz.readers import READERS

    reader = READERS[name]
    seeds, places = reader.seeds(), set()
    signal.signal(signal.SIGPROF, _too_long)
    while tally.tried.value < asked.inputs:
        how = " structured" * asked.structured
        dice = random.Random(f"{name} {asked.seed}{how} {tally.tried.value}")
        data = reader.spoiled(dice, seeds, asked.structured)
        at_hand.write_bytes(data)
        fault = _fault(name, data)
        tally.tried.value += 1
        tally.taken.value += fault is None
        if fault and (place := fault.partition(": ")[0]) not in places:
            places.add(place)
            tally.faults.value += 1
            print(f"{name}: {fault}\n  kept as {_keep(name, data)}", flush=True)


def _fault(name: str, data: bytes) -> str | None:
    """None when the file was read, '' when it was refused, else where it went wrong."""
    from tests.fuzz.readers import try_one

    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        return None if try_one(name, data) else ""
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"{type(error).__name__} at {last.filename}:{last.lineno}: {error}"[:300]
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def _too_long(number: int, frame: object) -> None:
    raise TimeoutError(f"more than {SECONDS} s of work")


def _keep(name: str, data: bytes) -> Path:
    folder = HERE / "found" / name
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / hashlib.sha256(data).hexdigest()[:12]
    path.write_bytes(data)
    return path


def _guided(name: str, inputs: int, seed: int) -> None:
    """Hand over to atheris, which ends the process."""
    import atheris

    with atheris.instrument_imports(
        include=["pic2chart", "tomllib", "csv"], exclude=["pic2chart.solve"]
    ):
        from tests.fuzz.readers import READERS, leave, try_one, work_folder

    reader = READERS[name]
    corpus, found = work_folder() / "corpus", HERE / "found" / name
    for folder in (corpus, found):
        folder.mkdir(parents=True, exist_ok=True)
    for number, data in enumerate(reader.seeds()):
        (corpus / f"seed-{number}").write_bytes(data)
    tokens = "".join('"' + "".join(f"\\x{b:02x}" for b in w) + '"\n' for w in reader.words if w)
    (work_folder() / "words.dict").write_text(tokens)
    flags = [
        *(f"-runs={inputs}", f"-seed={seed}", f"-timeout={SECONDS}", "-rss_limit_mb=4096"),
        *(
            "-len_control=0",
            "-max_len=20000",
            f"-dict={work_folder() / 'words.dict'}",
            f"-artifact_prefix={found}/",
        ),
    ]

    def test_one(data: bytes) -> None:
        try_one(name, data)

    atexit.register(leave)
    atheris.Setup([sys.argv[0], *flags, str(corpus)], test_one)
    atheris.Fuzz()


if __name__ == "__main__":
    sys.exit(main())
