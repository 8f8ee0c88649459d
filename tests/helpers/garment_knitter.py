"""A test knitter who works a whole pattern from its words alone, her stitches counted after every line.

She knows the trade, not the program: what cannot be read, or does not add up, raises AssertionError
with the line. Advice without a number she only nods at.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from tests.helpers.garment_reader import work

ABOUT = (
    "Size",
    "Gauge",
    "Materials",
    "Abbreviations",
    "Working the chart",
    "Take care",
    "Duplicate stitch",
    "Ladders",
)
"""Sections that tell of the piece and work nothing."""


@dataclass
class Knitter:
    """What is on her needles and holders, and how many rounds each part has."""

    sts: int = 0
    rounds: int = 0
    place: int = 0
    held: dict[str, int] = field(default_factory=dict)
    parts: dict[str, int] = field(default_factory=dict)
    counts: dict[str, list[int]] = field(default_factory=dict)

    def leaves(self, stated: str | int) -> None:
        assert self.sts == int(stated), f"{self.sts} on the needles, {stated} stated"

    def cast_on(self, count: str) -> None:
        self.sts, self.rounds = int(count), 0

    def even(self, rounds: str | int, stated: str, part: str) -> None:
        self.leaves(stated)
        self._worked(int(rounds), part)

    def _worked(self, rounds: int, part: str) -> None:
        self.rounds += rounds
        self.parts[part] = self.parts.get(part, 0) + rounds
        self.counts.setdefault(part, []).extend([self.sts] * rounds)

    def shaped(self, words: str, stated: str, part: str) -> None:
        used, made = work(words)
        assert used == self.sts, f"uses {used} of {self.sts}"
        self.sts = made
        self.even(1, stated, part)


Handler = Callable[[Knitter, re.Match[str], str], None]


def _opening(k: Knitter, m: re.Match[str], part: str) -> None:
    before, waste, again, after, stated = map(int, m.groups()[1:])
    assert waste == again
    assert before + waste + after == k.sts
    k.held["opening"] = waste
    k.even(1, str(stated), part)


def _set_aside(k: Knitter, m: re.Match[str], part: str) -> None:
    before, gusset, after, stated = map(int, m.groups()[1:])
    assert before + gusset + after == k.sts
    k.held["gusset"], k.sts = gusset, before + 1 + after
    k.even(1, str(stated), part)


def _slit_thumb(k: Knitter, m: re.Match[str], part: str) -> None:
    lower, one, upper, two, stated = map(int, m.groups())
    assert lower == upper == k.held["opening"]
    k.sts = lower + one + upper + two
    k.even(1, str(stated), part)


def _gusset_thumb(k: Knitter, m: re.Match[str], part: str) -> None:
    gusset, picked, stated = map(int, m.groups())
    assert gusset == k.held["gusset"]
    k.sts = gusset + picked
    k.even(1, str(stated), part)


def _graft(k: Knitter, m: re.Match[str], part: str) -> None:
    one, two, all_ = map(int, m.groups())
    assert one == two
    assert one + two == all_ == k.sts


def _graft_all(k: Knitter, m: re.Match[str], part: str) -> None:
    assert int(m[1]) == int(m[2])
    assert int(m[1]) + int(m[2]) == k.sts


def _body_parted(k: Knitter, m: re.Match[str], part: str) -> None:
    front, under, back, under_too = (int(m[i]) for i in (1, 2, 4, 5))
    assert {m[3], m[6]} == {"left", "right"}
    assert [int(n) for n in m.groups()[6:10]] == [front, under, back, under_too]
    assert front + under + back + under_too == int(m[11]) == k.sts
    assert under == under_too
    k.held |= {"front": front, "back": back, "underarm": under}
    k.sts = front + back
    k.leaves(m[12])


def _grown(k: Knitter, m: re.Match[str], part: str) -> None:
    steps = re.findall(r"every (\d+)(?:st|nd|rd|th) round (once|twice|(\d+) times)", m[1])
    for apart, words, count in steps:
        times = {"once": 1, "twice": 2}.get(words) or int(count)
        for _ in range(times):
            k._worked(int(apart) - 1, part)
            k.sts += 2
            k._worked(1, part)
    k.leaves(m[2])


def _sleeve_held(k: Knitter, m: re.Match[str], part: str) -> None:
    first, last, one, two, under, left = map(int, m.groups())
    assert (first, last) == (one, two)
    assert first + last == under == k.held["underarm"]
    k.sts -= under
    k.leaves(left)
    k.held["sleeve"] = left


def _joined(k: Knitter, m: re.Match[str], part: str) -> None:
    before, sleeve, front, sleeve_too, after, *again, total = map(int, m.groups())
    assert again == [before, sleeve, front, sleeve_too, after]
    assert before + after == k.held["back"]
    assert (sleeve, front, sleeve_too) == (k.held["sleeve"], k.held["front"], k.held["sleeve"])
    k.sts = sum(again)
    k.leaves(total)


def _grafted_underarms(k: Knitter, m: re.Match[str], part: str) -> None:
    assert int(m[1]) == int(m[2]) == k.held["underarm"]


def _even_above(k: Knitter, m: re.Match[str], part: str) -> None:
    k.even(m[1], m[3], part)
    assert k.parts[part] == int(m[2]) + k.parts[f"{part}: rib"]


def _rib(k: Knitter, m: re.Match[str], part: str) -> None:
    over = re.match(r"k(\d), p(\d)", m[1])
    assert over is not None
    unit = int(over[1]) + int(over[2])
    assert k.sts % unit == (1 if "ends with k1" in m[1] else 0), "the ribbing does not close"
    k.parts[f"{part}: rib"] = k.parts.get(f"{part}: rib", 0) + int(m[2])
    k.even(m[2], m[3], part)


def _turned(k: Knitter, m: re.Match[str], part: str) -> None:
    """A short row: knitted on from where she stands, or purled back; then she turns."""
    number, side, way, count = int(m[1]), m[2], m[3], int(m[4])
    assert (side, way) == (("right side", "k") if number % 2 == 0 else ("wrong side", "p"))
    k.place += count if way == "k" else -count
    assert 0 <= k.place <= k.sts, "the row runs off the needle"
    k.counts.setdefault(part, []).append(count)


def _round_ended(k: Knitter, m: re.Match[str], part: str) -> None:
    k.place += int(m[2])
    assert k.place == k.sts, f"{k.place} sts from the beginning, {k.sts} in the round"
    k.leaves(m[3])
    k.counts.setdefault(part, []).append(int(m[2]))
    k.place = 0


def _heel_begun(k: Knitter, m: re.Match[str], part: str) -> None:
    quarter, purled, heel = int(m[1]), int(m[2]), int(m[3])
    assert 2 * quarter == heel == purled + 1
    assert 2 * heel == k.sts
    k.counts.setdefault(part, []).extend([quarter, heel])
    k.held["instep"], k.held["waiting"], k.held["waiting too"] = k.sts - heel, 0, 0
    k.sts = k.place = heel


def _heel_turned(k: Knitter, m: re.Match[str], part: str) -> None:
    """Each row joins the stitches at its gap; `place` holds those between the gaps."""
    number, slipped, plain, after = int(m[1]), int(bool(m[3])), int(m[5]), int(m[7] or 0)
    right = number % 2 == 1
    assert (m[2], m[4], m[6]) == (
        ("right side", "k", "ssk") if right else ("wrong side", "p", "p2tog")
    )
    wait, made = ("waiting", "waiting too")[number % 2], slipped + plain + 1 + after
    if number <= 2:
        k.held[wait] = k.place - (slipped + plain + 2 + after)
        assert k.held[wait] >= 0
    else:
        assert k.place == slipped + plain + 1, "the decrease does not meet its gap"
        k.held[wait] -= 1 + after
    k.place, k.sts = made, k.sts - 1
    k.counts.setdefault(part, []).append(made)


def _heel_left(k: Knitter, m: re.Match[str], part: str) -> None:
    assert k.held["waiting"] == k.held["waiting too"] == 0, "stitches were forgotten"
    assert k.place == k.sts
    k.leaves(m[1])
    k.place = 0


def _gusset_begun(k: Knitter, m: re.Match[str], part: str) -> None:
    heel, one, instep, two, again, *sums, total = map(int, m.groups())
    assert (heel, instep) == (k.sts, k.held["instep"])
    assert again == heel // 2
    assert sums == [heel, one, instep, two]
    assert total == sum(sums)
    k.sts = total
    k._worked(1, part)
    k.counts[part].append(again)


def _narrowed(k: Knitter, m: re.Match[str], part: str) -> None:
    count = {"once": 1, "twice": 2}.get(m[2]) or int(m[3])
    for _ in range(count):
        k._worked(int(m[1]) - 1, part)
        k.sts -= 2
        k._worked(1, part)
    k.leaves(m[4])


def _side_of_foot(k: Knitter, m: re.Match[str], part: str) -> None:
    assert 4 * int(m[1]) == k.sts
    k.counts.setdefault(part, []).append(int(m[1]))


def _armholes(k: Knitter, m: re.Match[str], part: str) -> None:
    one, steek, other, steek_too, total = map(int, m.groups())
    assert one + other == k.sts
    assert steek == steek_too
    k.held["steek"] = steek
    k.sts += 2 * steek
    k.even(1, str(total), part)


def _steeks_bound_off(k: Knitter, m: re.Match[str], part: str) -> None:
    steek, all_, both, left = map(int, m.groups())
    assert (all_, both) == (k.sts, 2 * steek)
    assert steek == k.held["steek"]
    k.sts -= both
    k.even(1, str(left), part)


def _shoulders_held(k: Knitter, m: re.Match[str], part: str) -> None:
    shoulder, one, neck, other, half, left = map(int, m.groups())
    assert shoulder == one == other
    assert one + neck + other == half == k.sts // 2
    k.held["shoulder"], k.sts = shoulder, k.sts - 4 * shoulder
    k.leaves(left)


def _shoulders_joined(k: Knitter, m: re.Match[str], part: str) -> None:
    assert int(m[1]) == int(m[2]) == k.held["shoulder"]


def _lining_grafted(k: Knitter, m: re.Match[str], part: str) -> None:
    assert int(m[1]) == k.sts
    assert int(m[2]) == k.held["lining"]


STS = r"(\d+) sts?"
LINES: Sequence[tuple[str, Handler]] = (
    (rf".*cast on {STS}(?: loosely)?\. Purl 1 row.*\. {STS}\.", lambda k, m, p: k.cast_on(m[1])),
    (rf".*cast on {STS}: (\d+) for the (?:panel|steek) and (\d+) for the (?:panel|steek)\. Join.*",
     lambda k, m, p: (k.cast_on(m[1]), k.leaves(int(m[2]) + int(m[3])))[0]),
    (rf"With .*, cast on {STS} loosely\. Join .*", lambda k, m, p: k.cast_on(m[1])),
    (rf"Work as for the \w+ mitten: cast on {STS}, and (\d+) rounds of ribbing(?: after its lining)?\. {STS}\. .*",
     lambda k, m, p: (k.cast_on(m[1]), k.even(m[2], m[3], p))[0]),
    (rf"(?:With .* )?[Ww]ork (k\d, p\d rib.*?) for [\d.]+ cm \((\d+) rounds\)\. {STS}\.", _rib),
    (rf"Work (k\d, p\d rib) in both yarns, .*: for [\d.]+ cm \((\d+) rounds\)\. {STS}\.", _rib),
    (rf"(?:Round|Row)s? (\d+)–(\d+): work the chart\. {STS}\.",
     lambda k, m, p: k.even(int(m[2]) - int(m[1]) + 1, m[3], p)),
    (r"With .* alone, knit (\d+) sts on to the top of the \w+ shoulder; .*",
     lambda k, m, p: k.counts.setdefault("to the shoulder", []).append(int(m[1]))),
    (rf"With .*, cast on {STS} over a crochet chain .*\. Join .*",
     lambda k, m, p: (k.cast_on(m[1]), k.held.update(lining=int(m[1])))[0]),
    (rf"Knit (\d+) rounds \([\d.]+ cm\)\. {STS}\.", lambda k, m, p: k.even(m[1], m[2], p)),
    (rf"(?:With .*, p|P)url (1) round, [\w ]+\. {STS}\.", lambda k, m, p: k.even(m[1], m[2], p)),
    (rf"(?:With .*, k|K)nit (1) round\. {STS}\.", lambda k, m, p: k.even(m[1], m[2], p)),
    (rf"With .* alone, knit the first {STS}, turn; sl 1, purl {STS}, turn: the heel is worked back and forth "
     rf"on these {STS}, the others wait\.", _heel_begun),
    (rf"Work (\d+) rows: on the right side .* {STS}\.", lambda k, m, p: k.even(m[1], m[2], p)),
    (r"Row (\d+) \((right side|wrong side)\): (sl 1, )?([kp])(\d+), (ssk|p2tog)(?:, [kp](\d))?, turn\.",
     _heel_turned),
    (rf"{STS} are left for the heel\.", _heel_left),
    (rf"Gusset: with .* knit the (\d+) heel sts, pick up and knit {STS} along the flap, knit the (\d+) instep "
     rf"sts, pick up and knit {STS} along the other flap, and knit the first (\d+) heel sts again: "
     rf"(\d+) \+ (\d+) \+ (\d+) \+ (\d+) = {STS}\. .*", _gusset_begun),
    (r"Decrease round: knit to the last 3 sts before .* 2 sts decreased\.", lambda k, m, p: None),
    (rf"Work the decrease round in every (\d+)nd round (once|twice|(\d+) times); knit .*\. {STS}\.", _narrowed),
    (rf"Knit {STS} on to the side of the foot: .*", _side_of_foot),
    (rf"Cut the yarn\. Graft the {STS} of the instep to the {STS} of the sole\.", _graft_all),
    (r"Round \d+ \(armholes\): .*: (\d+) \+ (\d+) \+ (\d+) \+ (\d+) = (\d+) sts\. Mark .*", _armholes),
    (rf"With .*, knit 1 round and bind off the (\d+) sts of each steek on the way: (\d+) - (\d+) = {STS}\.",
     _steeks_bound_off),
    (rf"Of the front and of the back put (\d+) sts at each end .*: (\d+) \+ (\d+) \+ (\d+) = {STS}\. {STS} are "
     r"left for the neck\.", _shoulders_held),
    (r"Turn the work inside out\. Bind off the (\d+) shoulder sts of the front together with the (\d+) .*",
     _shoulders_joined),
    (rf"Graft the {STS} of the cowl to the {STS} of the lining\.", _lining_grafted),
    (rf"With .*, cast on {STS}\. Knit (\d+) rows, about [\d.]+ cm\. {STS}\.",
     lambda k, m, p: (k.cast_on(m[1]), k.even(m[2], m[3], p))[0]),
    (r"Row (\d+) \((right side|wrong side)\): ([kp])(\d+), turn\.", _turned),
    (rf"Row (\d+) \(right side\): k(\d+), to the end of the round\. {STS}\.", _round_ended),
    (rf"Round (\d+): work the chart\. {STS}\.", lambda k, m, p: k.even(1, m[2], p)),
    (rf"Round (\d+) \(thumb opening\): work {STS} of the chart; with waste yarn knit the next {STS}, "
     rf"slip these {STS} back .*; work the last {STS}\. {STS}\.", _opening),
    (rf"Round (\d+): work {STS}, put the (\d+) gusset sts on waste yarn, cast on 1 st .*, work the last "
     rf"{STS}\. {STS}\.", _set_aside),
    (rf"Round 1: join both yarns .*: knit the (\d+) lower sts, pick up and knit {STS} in the corner, knit "
     rf"the (\d+) upper sts, pick up and knit {STS} in the other corner\. {STS}\.", _slit_thumb),
    (rf"Round 1: join both yarns .*: knit the (\d+) gusset sts, pick up and knit {STS} over the gap\. {STS}\.",
     _gusset_thumb),
    (rf"Round \d+ \(decreases, .*\): (.*)\. \d+ sts decreased, {STS}\.",
     lambda k, m, p: k.shaped(m[1], m[2], p)),
    (rf"Round \d+: (\W*k.*|\W*ssk.*|\W*CDD.*)\. {STS}\.", lambda k, m, p: k.shaped(m[1], m[2], p)),
    (rf"Change to the larger needles and knit (\d+) rounds \([\d.]+ cm\)\. {STS}\.",
     lambda k, m, p: k.even(m[1], m[2], p)),
    (rf"With .* and the smaller needles, knit (1) round\. {STS}\.", lambda k, m, p: k.even(m[1], m[2], p)),
    (r"Next round: knit the (\d+) sts of the front, put the next (\d+) sts on waste yarn \((\w+) underarm\), "
     r"knit the (\d+) sts of the back, put the last (\d+) sts on waste yarn \((\w+) underarm\): "
     rf"(\d+) \+ (\d+) \+ (\d+) \+ (\d+) = {STS}\. {STS} left\. Cut the yarn\.", _body_parted),
    (r"Increase round: k1, M1L, knit to the last st, M1R, k1\. 2 sts increased\.", lambda k, m, p: None),
    (rf"Work the increase round in (every .*); knit the rounds between\. {STS}\.", _grown),
    (rf"Knit (\d+) rounds: (\d+) rounds above the ribbing \([\d.]+ cm\)\. {STS}\.", _even_above),
    (rf"Put the first (\d+) and the last {STS} of the round on waste yarn: (\d+) \+ (\d+) = {STS}\. "
     rf"{STS} left\. Cut the yarn\.", _sleeve_held),
    (r"Joining round, .*: knit the (\d+) sts of the back to the \w+, the (\d+) sts of the \w+ sleeve, the "
     r"(\d+) sts of the front, the (\d+) sts of the \w+ sleeve and the other (\d+) sts of the back: "
     rf"(\d+) \+ (\d+) \+ (\d+) \+ (\d+) \+ (\d+) = {STS}\.", _joined),
    (rf"Cut the yarns\. Graft the {STS} of the back to the {STS} of the palm, or draw the end twice "
     rf"through all {STS} .*", _graft),
    (rf"Cut the yarns, draw the end of .* through the remaining {STS}, .*",
     lambda k, m, p: k.leaves(m[1])),
    (rf"(?:With .*, b|B)ind off all {STS}.*\.", lambda k, m, p: k.leaves(m[1])),
    (r"Graft the (\d+) underarm sts of each sleeve to the (\d+) of the body.*", _grafted_underarms),
)  # fmt: skip
KNOWN = (
    r"Each steek has (\d+) sts, .* counted 1 to \1 here\. Work both alike\.",
    r"The first (\d+) sts of every round are the \w+, the other \1 the \w+: .*",
    r"Change to the larger needles\. The first (\d+) sts of every round are .*, the other \1 .*",
    r"Take out the waste yarn and put the (\d+) sts below the opening and the \1 above .*",
    r"Put the \d+ gusset sts on needles\.",
    r"The thumb gusset grows out of st \d+, .*",
    r"From round \d+ on the palm's sts stand side by side in the chart\.",
    r"Each decrease round takes 2 sts from the back and 2 from the palm, .*",
    r"Place a marker after every \d+ sts: \d+ wedges, .*",
    r"The (?:first|last) \d+ sts of every round are the steek, .* counted 1 to \d+ here\.",
    r"(?:Crochet a chain|Sew two lines|Cut (?:up|between)) .*",
)
"""Lines with numbers that work no stitch."""


def knit(sections: Sequence[tuple[str, Sequence[str]]]) -> Knitter:
    """Work all sections in order; the knitter at the end of it."""
    knitter = Knitter()
    for heading, lines in sections:
        if heading in ABOUT:
            continue
        for line in lines:
            try:
                _line(knitter, line, heading)
            except AssertionError as error:
                raise AssertionError(f"{heading}: {line}\n{error}") from error
    return knitter


def _line(knitter: Knitter, line: str, heading: str) -> None:
    for pattern, handler in LINES:
        match = re.fullmatch(pattern, line)
        if match:
            handler(knitter, match, heading)
            return
    known = any(re.fullmatch(pattern, line) for pattern in KNOWN)
    assert known or not re.search(r"\d", line), "she does not understand this line"
