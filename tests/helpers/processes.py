"""Processes below a process, and what memory they take (Linux)."""

from __future__ import annotations

import re
from pathlib import Path


def children(process: int) -> list[int]:
    """Processes below a process, all the way down."""
    below: dict[int, list[int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdecimal():
            try:
                parent = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            except OSError:
                continue
            below.setdefault(parent, []).append(int(entry.name))
    found, left = [], [process]
    while left:
        left += below.get(left.pop(), [])
        found = [*found, *left] if left else found
    return sorted(set(found))


def alive(process: int) -> bool:
    try:
        return "Z" not in Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False


def memory_mb(process: int) -> int:
    """Memory of a process and all below it, MB; what they share is counted once (proc(5), Pss)."""
    shares = 0
    for one in (process, *children(process)):
        try:
            text = Path(f"/proc/{one}/smaps_rollup").read_text()
        except OSError:
            continue
        found = re.search(r"^Pss:\s+(\d+)", text, re.MULTILINE)
        shares += int(found[1]) if found else 0
    return shares // 1000
