"""One round's words back to what it works: stitches, shaping, catches, counted on the needle.

Words of earlier versions, which passed over squares ('skip 3'), are read too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from pic2chart.core.errors import InputError
from pic2chart.core.messages import message
from pic2chart.model.chart import NO_STITCH
from pic2chart.model.construction import CAST_ON, HOLD
from pic2chart.model.plain_json import shown
from pic2chart.sheets.words.needle import KNIT, WASTE, Act
from pic2chart.sheets.words.spoken import SAID

SKIP = "skip"
"""Squares without a stitch, as earlier versions told of them."""
NO_STITCHES = "no stitch"
_DEPTH = 2
"""Brackets within brackets, at the most."""
_COUNT = r"[1-9][0-9]{0,3}"
_KINDS = {said: kind for kind, both in SAID.items() for said in both}
_CLOSE = re.compile(r"\) × ([0-9]{1,4})")
_WASTE = re.compile(
    rf"(?:knit|purl) the next ({_COUNT}) with waste yarn and slip them back(?=, |$|\))"
)
_HELD = re.compile(rf"put ({_COUNT}) on waste yarn(?=, |$|\))")
_SKIPPED = re.compile(rf"skip ({_COUNT})(?=, |$|\))")


@dataclass(frozen=True, slots=True)
class RoundReader:
    """Reads the stitches of one round. `names`: what the yarns are called, by their index.

    `across`: squares of the chart; a round of more stitches is refused while it is read.
    """

    names: Sequence[str]
    across: int
    round: int

    def acts(self, words: str) -> list[Act]:
        """What the words work, brackets taken as often as they say. Raises InputError."""
        if words == NO_STITCHES:
            return []
        if words.count("(") != words.count(")"):
            raise self._unread(words)
        acts, at = self._list(words, 0, _DEPTH)
        if at != len(words):
            raise self._unread(words[at:])
        return acts

    def _list(self, words: str, at: int, depth: int) -> tuple[list[Act], int]:
        """The acts from `at` on, up to the bracket that closes them, and where that is."""
        acts: list[Act] = []
        while True:
            if depth and words.startswith("(", at):
                inner, at = self._list(words, at + 1, depth - 1)
                close = _CLOSE.match(words, at)
                if close is None:
                    raise self._unread(words[at:])
                at, times = close.end(), int(close[1])
                if not times:
                    raise InputError(
                        message("words-run-of-none", round=self.round, words=shown(close[0][2:]))
                    )
                self._room(times * max(_made(inner), len(inner) // 2) + _made(acts))
                acts += inner * times
            else:
                act, at = self._one(words, at)
                acts.append(act)
            self._room(_made(acts))
            if not words.startswith(", ", at):
                return acts, at
            at += 2

    def _room(self, stitches: int) -> None:
        if stitches > self.across:
            raise InputError(message("words-more-squares", round=self.round, across=self.across))

    def _one(self, words: str, at: int) -> tuple[Act, int]:
        for pattern, kind in ((_WASTE, WASTE), (_HELD, HOLD), (_SKIPPED, SKIP)):
            match = pattern.match(words, at)
            if match is not None:
                return Act(kind, int(match[1])), match.end()
        match = _patterns(tuple(self.names))[0].match(words, at)
        if match is None:
            raise self._bad_run(words[at:])
        act = self._worked(match)
        return self._caught(act, words, match.end())

    def _worked(self, match: re.Match[str]) -> Act:
        if match["shaped"]:
            return Act(_KINDS[match["shaped"]], 1, self._yarn(match["in"]))
        kind = CAST_ON if match["cast"] else KNIT
        return Act(kind, int(match["count"]), self._yarn(match["yarn"]))

    def _caught(self, act: Act, words: str, at: int) -> tuple[Act, int]:
        """The act with its catches, and where they end."""
        lead = ", catching "
        if not words.startswith(lead, at):
            return act, at
        at += len(lead)
        catches: list[tuple[int, int]] = []
        while True:
            match = _patterns(tuple(self.names))[1].match(words, at)
            if match is None or (match["spots"] is None) != (act.count == 1):
                raise self._bad_catch(words[at:])
            spots = match["spots"] or " at the first"
            places = [int(n) for n in re.findall(r"\d+", spots)]
            places += [0] if spots.startswith(" at the first") else []
            if max(places) >= act.count:
                raise InputError(
                    message(
                        "words-no-such-place",
                        round=self.round,
                        stitch=max(places),
                        count=act.count,
                    )
                )
            catches += [(place, self._yarn(match["yarn"])) for place in places]
            at = match.end()
            if not words.startswith(" and ", at):
                return replace(act, catches=tuple(sorted(catches))), at
            at += len(" and ")

    def _yarn(self, name: str) -> int:
        return list(self.names).index(name)

    def _unread(self, words: str) -> InputError:
        return InputError(message("words-not-understood", round=self.round, words=shown(words)))

    def _bad_run(self, words: str) -> InputError:
        run = re.split(r", |\)", words)[0]
        if "(" in run or not run:
            return self._unread(words)
        return InputError(
            message("words-bad-run", round=self.round, words=shown(run), yarn=self.names[0])
        )

    def _bad_catch(self, words: str) -> InputError:
        return InputError(
            message("words-bad-catching", round=self.round, words=shown(words), yarn=self.names[0])
        )


@lru_cache(maxsize=8)
def _patterns(names: tuple[str, ...]) -> tuple[re.Pattern[str], re.Pattern[str]]:
    """What matches stitches of these yarns, and the catches behind them."""
    yarn, kinds = _one_of(names), _one_of(_KINDS)
    numbers = r"\d{1,4}(?:, \d{1,4})*(?: and \d{1,4})?"
    return (
        re.compile(
            rf"(?:(?P<cast>cast on )?(?P<count>{_COUNT}) (?(cast)in )(?P<yarn>{yarn})"
            rf"|(?P<shaped>{kinds}) in (?P<in>{yarn}))(?=, |$|\))"
        ),
        re.compile(
            rf"(?P<yarn>{yarn})(?P<spots> at the first(?: and after {numbers})?| after {numbers})?"
            rf"(?=, | and |$|\))"
        ),
    )


def _one_of(words: Iterable[str]) -> str:
    """Any of the words, the longest first, so that none is taken for the beginning of another."""
    return "|".join(map(re.escape, sorted(words, key=lambda word: (-len(word), word))))


def _made(acts: Sequence[Act]) -> int:
    """Stitches and squares told so far."""
    return sum(act.count for act in acts if act.kind not in (HOLD, WASTE))


def skipped(acts: Sequence[Act]) -> Iterator[int]:
    """The squares (from 0, in working order) of the stitches of words that pass over others."""
    square = 0
    for act in acts:
        if act.kind == SKIP or act.yarn != NO_STITCH:
            if act.kind != SKIP:
                yield from range(square, square + act.count)
            square += act.count
