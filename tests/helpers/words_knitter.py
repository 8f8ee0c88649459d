"""A test knitter who works a chart's rounds from their words alone, stitch by stitch.

She knows the trade, not the program: what she cannot read, or what does not come out on her needle,
raises AssertionError with the line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from pic2chart.model.chart import Chart
from pic2chart.sheets.words.read import read_words
from pic2chart.sheets.words.write import words_text

TAKES = {"k2tog": 2, "ssk": 2, "CDD": 3, "p2tog": 2, "ssp": 2, "CDDp": 3}
MAKES = {"M1", "M1L", "M1R", "M1p", "M1Lp", "M1Rp"}
LINE = re.compile(
    r"(?:Rounds?|Row) (\d+)(?:–(\d+))?(?: \((knit|purl)(?:, (stitches \d+ to \d+))?\))?: (.*)\."
)
MOVES = re.compile(
    r"join [\w, ]+|cut [\w, ]+?(?:, which would lie at the wrong edge)?|carry [\w, ]+ up over \d+ rounds?"
)
ITEM = re.compile(r"(.+?)(?:, catching (.+))?")


@dataclass
class Round:
    """One round as she left it: the yarn of each stitch in working order, and what she caught where."""

    stitches: list[str] = field(default_factory=list)
    caught: set[tuple[int, str]] = field(default_factory=set)
    held: int = 0
    waste: int = 0


def items(words: str) -> list[str]:
    """What is worked, one after another, every bracket as often as it says; two deep at the most."""
    found: list[str] = []
    depth, at, piece = 0, 0, ""
    while at < len(words):
        letter = words[at]
        depth += (letter == "(") - (letter == ")")
        assert 0 <= depth <= 2, f"brackets too deep: {words}"
        if letter == ")" and depth == 0:
            times = re.match(r"\) × (\d+)", words[at:])
            assert times is not None, words[at:]
            found += items(piece[1:]) * int(times[1])
            piece, at = "", at + times.end()
        elif depth == 0 and words.startswith(", ", at):
            found += [piece] if piece else []
            piece, at = "", at + 2
        else:
            piece, at = piece + letter, at + 1
    assert depth == 0, words
    return [*found, piece] if piece else found


def gathered(parts: list[str]) -> list[str]:
    """Catches, and the numbers of several, go with the stitches before them."""
    found: list[str] = []
    for part in parts:
        if part.startswith("catching ") or re.match(r"\d+( and .*)?$", part):
            found[-1] += f", {part}"
        else:
            found.append(part)
    return found


def spots(words: str, count: int) -> set[tuple[int, str]]:
    """(stitch of the run from 0, yarn) of 'ink after 4 and 9 and moss at the first'."""
    found: set[tuple[int, str]] = set()
    yarn = ""
    after = False
    for word in re.split(r",? (?:and )?", words):
        if word == "after":
            after = True
        elif after and word.isdigit():
            assert int(word) < count, f"{words} in a run of {count}"
            found.add((int(word), yarn))
        elif word not in ("at", "the"):
            if word == "first":
                found.discard((-1, yarn))
                found.add((0, yarn))
            else:
                yarn, after = word, False
                found.add((-1, yarn))
    alone = {y for place, y in found if place == -1}
    told = {y for place, y in found if place >= 0}
    assert count == 1 or alone <= told, f"no place is named: {words}"
    return {(max(place, 0), y) for place, y in found if place >= 0 or y not in told}


def work(words: str, waiting: int | None) -> tuple[Round, int]:
    """The round that the words work, and the stitches they take up.

    `waiting`: stitches on the needle, None when nobody counted them.
    """
    round_, used = Round(), 0
    for item in gathered(items(words)):
        match = ITEM.fullmatch(item)
        assert match is not None, item
        what, caught = match[1], match[2]
        here = len(round_.stitches)
        if plain := re.fullmatch(r"(\d+) (\w+)", what):
            made, yarn, takes = int(plain[1]), plain[2], int(plain[1])
        elif cast := re.fullmatch(r"cast on (\d+) in (\w+)", what):
            made, yarn, takes = int(cast[1]), cast[2], 0
        elif held := re.fullmatch(r"put (\d+) on waste yarn", what):
            made, yarn, takes = 0, "", int(held[1])
            round_.held += takes
        elif waste := re.fullmatch(
            r"(?:knit|purl) the next (\d+) with waste yarn and slip them back", what
        ):
            made, yarn, takes = 0, "", 0
            round_.waste += int(waste[1])
            assert waiting is None or used + round_.waste <= waiting
        else:
            shaped = re.fullmatch(r"(\w+) in (\w+)", what)
            assert shaped is not None, f"she does not know '{what}'"
            assert shaped[1] in {*TAKES, *MAKES}, f"she does not know '{what}'"
            made, yarn, takes = 1, shaped[2], TAKES.get(shaped[1], 0)
        round_.stitches += [yarn] * made
        used += takes
        round_.caught |= {(here + i, y) for i, y in spots(caught, made)} if caught else set()
        assert waiting is None or used <= waiting, f"{item}: only {waiting} stitches are there"
    return round_, used


def knit_rounds(text: str) -> list[Round]:
    """All rounds of a chart's words; each takes up just the stitches the one before left."""
    rounds: list[Round] = []
    waiting: int | None = None
    for line in text.splitlines():
        match = LINE.fullmatch(line)
        if match is None:
            continue
        first, last = int(match[1]), int(match[2] or match[1])
        assert first == len(rounds) + 1, line
        doing, *said = (c for c in match[5].split("; ") if not MOVES.fullmatch(c))
        for _ in range(first, last + 1):
            done, used = work(doing, waiting)
            assert match[4] or waiting in (None, used), f"{line}\nuses {used} of {waiting}"
            if match[4]:  # she turns before the end: what she made and what still waits
                waiting = None if waiting is None else waiting - used + len(done.stitches)
            else:
                waiting = len(done.stitches)
            counted = [re.fullmatch(r"(\d+) sts?", clause) for clause in said]
            assert all(n is None or int(n[1]) == waiting for n in counted), f"{line}\n{waiting}"
            rounds.append(done)
    return rounds


def words_are_the_chart(chart: Chart) -> None:
    """What she knits from the words is the chart, round for round, and so is what our reader reads."""
    text = words_text(chart)
    assert "skip" not in text
    names = [yarn.name for yarn in chart.yarns]
    rounds = knit_rounds(text)
    assert len(rounds) == chart.round_count
    for r, done in enumerate(rounds):
        columns = np.flatnonzero(chart.live[r]).tolist()
        if chart.row(r).backwards:
            columns.reverse()
        assert done.stitches == [names[y] for y in chart.stitches[r, columns]], r + 1
        caught = {(c.stitch, names[c.yarn]) for c in chart.catches if c.round == r}
        assert {(columns[place], yarn) for place, yarn in done.caught} == caught, r + 1
        held = [s.count for s in chart.construction.set_aside if s.round == r]
        assert done.held == sum(held)
        assert done.waste == sum(o.count for o in chart.construction.openings if o.round == r)
    read = read_words(text)
    assert np.array_equal(read.stitches, chart.stitches)
    assert read.catches == chart.catches
    assert read.construction.marks == chart.construction.marks
    assert read.construction.openings == chart.construction.openings
    assert read.construction.ladders == chart.construction.ladders
