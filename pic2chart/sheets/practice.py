"""A swatch to learn on: a small tube with floats of 1, 3, 5 and 9, and a catch of each yarn.

It is knitted twice over, the second time with over and under changed about, so that the knitter sees
what each does to the front. What is to be seen is common practice.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.model.chart import Chart, Rules, for_hand
from pic2chart.model.construction import Construction, PlainPart, StepSection
from pic2chart.model.gauge import Gauge
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.sheets.document import sheet_files
from pic2chart.sheets.sheet_settings import SheetSettings
from pic2chart.stranding.strands import plan_strands, with_strands

STITCHES, LIMIT, RIB = 24, 5, 4
"""Stitches round; the longest float left free; rounds of ribbing at each end."""
STEM = "practice-swatch"
_YARNS = (Yarn("light", "#ece2d0"), Yarn("dark", "#26304c"))
_PLAIN = "A" * STITCHES
_LONG = "A" * 9 + "B" + "AAAB" * 3 + "AB"
_HALF = (
    *(_PLAIN, "AB" * 12, "AB" * 12),
    *(_PLAIN, "AAAB" * 6, "AAAB" * 6),
    *(_PLAIN, "AAAAAB" * 4, "AAAAAB" * 4),
    *(_PLAIN, _LONG, _PLAIN, _LONG.translate(str.maketrans("AB", "BA"))),
)
"""Half the swatch from its first round on: A the ground, B the figure."""


def practice_chart(settings: Settings) -> Chart:
    """The swatch in the two yarns of the settings, the first its ground; in a light and a dark one when
    none is named. Raises SettingError unless there are two or none.
    """
    from pic2chart.design.checked import caught

    yarns = tuple(Yarn.parse(text) for text in settings.yarn) or _YARNS
    if len(yarns) != 2:
        raise SettingError(message("practice-wants-two", yarns=len(yarns), options=("yarn",)))
    stitches = np.array([["AB".index(key) for key in row] for row in _HALF * 2], np.uint8)
    chart = Chart(
        stitches,
        yarns,
        Gauge.parse(settings.gauge),
        settings.title or "practice swatch",
        rules=Rules(float_limit=LIMIT, isolated="keep"),
        construction=Construction(plain_parts=(_ribbing(),), piece="practice swatch", join=0),
    )
    chart = caught(for_hand(chart, "left") if settings.left_handed else chart)[0]
    return with_strands(chart.with_(construction=_worked(chart)))


def practice_files(settings: Settings, sheets: SheetSettings) -> dict[str, bytes | str]:
    """The chart's file and all its sheets, by name."""
    from pic2chart.model.chart_file import chart_to_text

    chart = practice_chart(settings)
    return {f"{STEM}.chart.json": chart_to_text(chart), **sheet_files(chart, sheets, STEM)}


def write_practice(settings: Settings, sheets: SheetSettings, out: Path) -> list[Path]:
    """Write all files of the swatch, or none; return their paths. Raises SettingError, OutputError."""
    from pic2chart.core.files import write_folder

    return write_folder(practice_files(settings, sheets), out)


def _ribbing() -> PlainPart:
    return PlainPart("ribbing", 0, 2 * RIB * STITCHES, edge=2 * STITCHES)


def _worked(chart: Chart) -> Construction:
    """The swatch's construction with its written pattern."""
    ground, figure = (yarn.name for yarn in chart.yarns)
    plan = plan_strands(chart)
    under, over = (chart.yarns[part[0]].name for part in (plan.under, plan.over))
    half, end = len(_HALF), chart.round_count
    light = yarn_lab(chart.yarns)[:, 0]
    dark, pale = (ground, figure) if light[0] < light[1] else (figure, ground)
    steps = (
        StepSection(
            "Begin",
            (
                f"With {ground}, cast on {STITCHES} sts, on double-pointed needles or with a loop of a "
                "long circular one. Join to work in the round without twisting.",
                f"Work k1, p1 rib for {RIB} rounds. {STITCHES} sts.",
            ),
        ),
        StepSection(
            "First half",
            (
                f"Rounds 1–{half}: work the chart, {under} under and {over} over in every round. "
                f"{STITCHES} sts.",
                _floats(half, figure, ground),
            ),
        ),
        StepSection(
            "Second half, over and under changed about",
            (
                f"Rounds {half + 1}–{end}: the same again, now {over} under and {under} over. {STITCHES} sts.",
                "The strand sheet shows the first half; here the two yarns change hands.",
            ),
        ),
        StepSection(
            "End",
            (
                f"With {ground}, work k1, p1 rib for {RIB} rounds. {STITCHES} sts.",
                f"Bind off all {STITCHES} sts in rib. Wash, dry flat, and look again.",
            ),
        ),
        StepSection("What to look for", _looks(half, under, over, dark, pale)),
    )
    return replace(chart.construction, steps=steps)


def _floats(half: int, figure: str, ground: str) -> str:
    return (
        "Rounds 2–3 have floats of 1, rounds 5–6 of 3, rounds 8–9 of 5: catch none of them. "
        f"Rounds {half - 2} and {half} have one of 9, which is caught once: {figure} in round {half - 2}, "
        f"{ground} in round {half}."
    )


def _looks(half: int, under: str, over: str, dark: str, pale: str) -> tuple[str, ...]:
    """What the swatch shows, front and inside."""
    return (
        f"Front, rounds 2–9 beside rounds {half + 2}–{half + 9}: the yarn that runs under has the larger "
        f"stitches. In the first half it is {under}, in the second {over}.",
        "Front: does it lie flat? Where it puckers, spread the stitches on the needle before you change "
        "yarns.",
        f"Front, rounds {half - 2} and {half}: does the caught yarn peep through? {dark} behind {pale} "
        "shows most, and most where the strand was pulled tight.",
        "Inside, floats of 1 to 5: each lies along the fabric without a loop; stretch the tube, and none "
        "holds it back.",
        "Inside, floats of 9: put a finger behind one. Caught once it does not snag; think of it "
        "uncaught in a mitten.",
        "Both yarns still hang untwisted: each catch was brought back to where its yarn runs.",
    )
