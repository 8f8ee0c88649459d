"""A test knitter: works the words of a pattern and counts, knowing nothing of the program."""

from __future__ import annotations

import re

USED = {"k2tog": (2, 1), "ssk": (2, 1), "M1L": (0, 1), "M1R": (0, 1), "CDD": (3, 1)}
ROUND = re.compile(
    r"Rounds? (\d+)(?:–(\d+))?(?: \([^)]*\))?: (.*?)\. (?:\d+ sts decreased, )?(\d+) sts?\.$"
)


def work(words: str) -> tuple[int, int]:
    """(stitches used up, stitches made) by the words of one round."""
    repeat = re.fullmatch(r"\*(.*); repeat from \* (once|(\d+) times) more", words)
    if repeat:
        used, made = work(repeat[1])
        times = 1 + (1 if repeat[2] == "once" else int(repeat[3]))
        return used * times, made * times
    used = made = 0
    for part in _parts(words):
        times = re.fullmatch(r"(.+?) (\d+) times", part)
        inner, count = (times[1], int(times[2])) if times else (part, 1)
        if inner[0] in "[({":
            u, m = work(inner[1:-1])
        elif inner in USED:
            u, m = USED[inner]
        else:
            u = m = int(re.fullmatch(r"k(\d+)", inner)[1])
        used, made = used + u * count, made + m * count
    return used, made


def _parts(words: str) -> list[str]:
    """Split at the commas that stand in no bracket."""
    parts, depth = [""], 0
    for letter in words:
        depth += (letter in "[({") - (letter in "])}")
        if letter == "," and depth == 0:
            parts.append("")
        else:
            parts[-1] += letter
    return [part.strip() for part in parts]


def rounds_of(lines: list[str]) -> list[tuple[int, int, str, int]]:
    """(first round, last round, words, stitches stated) of every line that tells of rounds."""
    found = []
    for line in lines:
        match = ROUND.match(line)
        if match:
            first = int(match[1])
            found.append((first, int(match[2] or first), match[3], int(match[4])))
    return found
