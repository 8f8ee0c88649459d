"""Both versions of the chart file, the schema of the second, and the page that describes them."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from typing import Any

import jsonschema
import pytest

from pic2chart.checks.rules import check
from pic2chart.core.errors import InputError
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import INSIDE, TOP, YARN, chart_from_text, chart_to_text
from pic2chart.model.construction import (
    KINDS,
    Construction,
    Opening,
    PlainPart,
    Shaping,
    StepSection,
)
from pic2chart.model.rows import NAMES as ROW
from pic2chart.model.rows import Row

MODEL = files("pic2chart.model")
SCHEMA = json.loads(MODEL.joinpath("chart.schema.json").read_text("utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
PAGE = MODEL.joinpath("FORMAT.md").read_text("utf-8")
SECOND, FIRST = (json.loads(part) for part in re.findall(r"```json\n(.*?)```", PAGE, re.DOTALL))

TOLD = Construction(
    shapings=(Shaping(1, 1, "ssk"), Shaping(1, 6, "k2tog")),
    openings=(Opening(1, 2, 2),),
    plain_parts=(PlainPart("brim", 0, 320, 8, 2),),
    steps=(StepSection("Brim", ("Cast on 8 st in oat.",)),),
    piece="hat",
    fit={"steek_stitches": 0},
    join=0,
    for_child=True,
)


def read(data: dict[str, Any]) -> Chart:
    return chart_from_text(json.dumps(data))


def written(chart: Chart) -> Any:
    return json.loads(chart_to_text(chart))


def test_a_file_of_version_1_opens_and_is_saved_as_version_2() -> None:
    chart = read(FIRST)
    assert chart.construction == TOLD
    assert chart.extra == {}
    saved = written(chart)
    assert saved["version"] == 2
    assert not set(saved) & set(TOLD_NAMES)
    assert set(saved["construction"]) == set(TOLD_NAMES)
    assert read(saved).construction == TOLD


TOLD_NAMES = {name: FIRST[name] for name in FIRST if name not in TOP}


def test_both_versions_tell_the_same() -> None:
    rest = {name: value for name, value in FIRST.items() if name in TOP}
    assert read(rest | {"version": 2, "construction": TOLD_NAMES}).construction == TOLD


def test_plain_parts_name_their_yarn_by_its_key_but_in_version_1_by_its_place() -> None:
    yarns = [yarn | {"key": key} for yarn, key in zip(FIRST["yarns"], "BA", strict=True)]
    first = FIRST | {"yarns": yarns}
    second = first | {"version": 2, "construction": TOLD_NAMES}
    for data, yarn in ((first, 0), (second, 1)):
        parts = read(data).construction.plain_parts
        assert parts is not None
        assert parts[0].yarn == yarn


ODD = [
    ("piece", 7),
    ("fit", "x"),
    ("for_child", "no"),
    ("openings", {}),
    ("plain_parts", "brim"),
    ("steps", 3),
]


@pytest.mark.parametrize(("name", "value"), ODD)
def test_a_value_of_the_wrong_kind_has_no_effect_in_version_1_and_stays_where_it_stood(
    name: str, value: object
) -> None:
    chart = read(FIRST | {name: value})
    assert getattr(chart.construction, name) == getattr(Construction(), name)
    saved = written(chart)
    assert saved[name] == value
    assert written(read(saved)) == saved


@pytest.mark.parametrize(("name", "value"), [*ODD, ("piece", None)])
def test_a_value_of_the_wrong_kind_is_refused_in_version_2(name: str, value: object) -> None:
    with pytest.raises(InputError, match=rf"construction {name} is .*; it must be (a|an|true) "):
        read(SECOND | {"construction": {name: value}})


def test_shaping_that_cannot_be_read_is_told_of_also_after_the_file_is_saved() -> None:
    data = FIRST | {"shaping": [*FIRST["shaping"], {"round": 2, "stitch": 0, "kind": "ssk"}, 7]}
    chart = read(data)
    assert chart.construction.unread == ({"round": 2, "stitch": 0, "kind": "ssk"}, 7)
    for again in (chart, read(written(chart))):
        (finding,) = [f for f in check(again) if f.rule == "shaping-misfit"]
        assert (finding.level, finding.message[:7]) == ("warning", "2 marks")
    assert read(written(chart)).construction == chart.construction
    assert read(FIRST | {"shaping": "k2tog"}).construction.unread == ("k2tog",)


def test_what_is_only_too_large_or_odd_is_left_out_of_the_lists() -> None:
    odd = {"part": "cuff", "yarn": "C"}, {"part": 1}, 7
    data = FIRST | {
        "plain_parts": [*FIRST["plain_parts"], *odd],
        "openings": [*FIRST["openings"], {"round": 2}, {"round": 10**6, "stitch": 1}],
        "steps": [*FIRST["steps"], {"heading": 3, "lines": []}, {"heading": "no lines"}, "x"],
        "join": "somewhere",
    }
    assert read(data).construction == TOLD


def test_the_example_of_the_page_is_as_it_says() -> None:
    chart = read(SECOND)
    assert chart.rows == (Row(2, 1, 6, backwards=True, wrong_side=True),)
    assert chart.source["window"] == [0, 0, 640, 480]
    assert not [f for f in check(chart) if f.rule == "shaping-misfit"]
    assert written(chart) == SECOND
    assert list(VALIDATOR.iter_errors(SECOND)) == []


def test_the_schema_knows_every_name_the_program_does() -> None:
    top, defs = SCHEMA["properties"], SCHEMA["$defs"]
    assert set(top) == set(TOP)
    assert set(defs["yarn"]["properties"]) == set(YARN)
    assert set(defs["row"]["properties"]) == set(ROW)
    assert set(defs["shaping"]["properties"]["kind"]["enum"]) == KINDS
    for name in ("gauge", "rules", "repeat"):
        assert set(top[name]["properties"]) == set(INSIDE[name])
    assert set(defs["construction"]["properties"]) == set(INSIDE["construction"])


def test_the_page_tells_of_every_name() -> None:
    for name in (*TOP, *YARN, *INSIDE["construction"], *ROW, *KINDS):
        assert f"`{name}`" in PAGE or f'"{name}"' in PAGE, name


@pytest.mark.parametrize(
    "part",
    [
        {"version": 1},
        {"rounds": []},
        {"yarns": [{"key": ".", "name": "oat", "colour": "#ece2d0"}]},
        {"rows": [{"round": 1, "direction": "up"}]},
        {"construction": {"shaping": [{"round": 1, "stitch": 1, "kind": "purl"}]}},
        {"construction": {"plain_parts": [{"part": "brim", "yarn": 0}]}},
        {"source": {"window": [0, 0, 640]}},
        {"source": {"subject": {"certainty": 2}}},
    ],
)
def test_the_schema_refuses_what_is_wrong(part: dict[str, Any]) -> None:
    assert list(VALIDATOR.iter_errors(SECOND | part))
