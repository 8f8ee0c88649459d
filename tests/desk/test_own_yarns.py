"""The yarns one has: added, changed, photographed and offered as sets, and still one's own CSV file."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from pic2chart.core.colour import delta_e76, srgb_to_lab
from pic2chart.yarns.shelf import read_shelf
from tests.helpers.desk_page import client

FILE = (
    b"Name;colour;box;grams\noat;#ece2d0;attic;100\nink;#26304c;attic;50\n"
    b"rust;#a8502f;;50\nsand;#e0d6c0;;50\nnight;#1c2030;;25\n"
)


def keep(desk: TestClient, was: str | None = None, **facts: Any) -> Any:
    return desk.post("/api/yarns", json={"was": was, "yarn": facts})


def shelf(desk: TestClient) -> dict[str, dict[str, Any]]:
    return {yarn["name"]: yarn for yarn in desk.get("/api/yarns").json()["yarns"]}


def test_yarns_are_added_changed_and_taken_away(tmp_path: Path) -> None:
    desk = client(tmp_path)
    assert shelf(desk) == {}
    facts = {"weight": "fine", "m_per_100g": 300, "grams": 75.5, "lot": "12"}
    added = keep(desk, name=" harbour  grey ", colour="#8090A0", **facts).json()
    assert [one["name"] for one in added["shelf"]] == ["harbour grey"]
    assert "fine" in added["weights"]
    changed = keep(desk, "Harbour Grey", name="slate", colour="#708090", grams=25).json()
    (yarn,) = changed["yarns"]
    assert (yarn["name"], yarn["grams"], yarn["m_per_100g"], yarn["lot"]) == (
        "slate",
        25,
        300,
        "12",
    )
    assert read_shelf(tmp_path / "shelf.csv")[0].colour == "#708090"
    assert desk.post("/api/yarns/remove", json={"name": "SLATE"}).json()["yarns"] == []


@pytest.mark.parametrize(
    ("was", "facts"),
    [
        (None, {"name": "oat", "colour": "#ffffff"}),
        (None, {"name": "", "colour": "#ffffff"}),
        (None, {"name": "new", "colour": "white"}),
        (None, {"name": "new", "colour": "#ffffff", "grams": -1}),
        (None, {"name": "x" * 100, "colour": "#ffffff"}),
        ("ink", {"name": "OAT", "colour": "#ffffff"}),
        ("no such", {"name": "new", "colour": "#ffffff"}),
    ],
)
def test_what_is_no_yarn_is_refused_and_changes_nothing(
    tmp_path: Path, was: str | None, facts: dict[str, Any]
) -> None:
    desk = client(tmp_path)
    desk.post("/api/shelf", content=FILE)
    answer = keep(desk, was, **facts)
    assert answer.status_code == 422
    assert answer.json()["error"].endswith(".")
    assert desk.get("/api/yarns/file").content == FILE


def test_a_file_stays_the_knitters_own(tmp_path: Path) -> None:
    """Columns of one's own, and how the file is written, also under a new name."""
    desk = client(tmp_path)
    desk.post("/api/shelf", content=FILE)
    keep(desk, "oat", name="porridge", colour="#ece2d0")
    assert desk.get("/api/yarns/file").content == FILE.replace(b"oat", b"porridge")
    keep(desk, None, name="moss", colour="#5d6b3a", lot="7")
    lines = desk.get("/api/yarns/file").text.splitlines()
    assert lines[0] == "Name;colour;box;grams;lot"
    assert lines[1] == "porridge;#ece2d0;attic;100;"
    assert lines[-1] == "moss;#5d6b3a;;;7"
    other = client(tmp_path / "other")
    assert other.post("/api/shelf", content=desk.get("/api/yarns/file").content).status_code == 200
    assert shelf(other) == shelf(desk)


def test_the_last_change_of_the_yarns_can_be_taken_back(tmp_path: Path) -> None:
    desk = client(tmp_path)
    assert desk.post("/api/yarns/back").status_code == 422
    keep(desk, name="moss", colour="#5d6b3a")
    desk.post("/api/shelf", content=FILE)
    assert [one["name"] for one in desk.post("/api/yarns/back").json()["shelf"]] == ["moss"]
    desk.post("/api/yarns/back")
    assert desk.get("/api/yarns/file").content == FILE
    desk.post("/api/yarns/remove", json={"name": "rust"})
    assert "rust" not in shelf(desk)
    desk.post("/api/yarns/back")
    assert desk.get("/api/yarns/file").content == FILE


def test_a_workbook_becomes_the_desks_list_and_can_be_changed(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    for row in (("Name", "Colour", "Grams"), ("oat", "#ece2d0", 50.5), ("ink", "navy", 100)):
        book.active.append(row)
    data = io.BytesIO()
    book.save(data)
    desk = client(tmp_path)
    told = desk.post("/api/shelf?name=mine.xlsx", content=data.getvalue()).json()
    assert ([one["name"] for one in told["shelf"]], told["remarks"]) == (["oat", "ink"], [])
    assert keep(desk, "ink", name="ink", colour="#26304c", grams=75).status_code == 200
    assert desk.get("/api/yarns/file").text.split() == [
        *("Name,Colour,Grams", "oat,#ece2d0,50.5", "ink,#26304c,75")
    ]


def test_a_list_of_yarns_in_place_of_a_chart_is_told_so(tmp_path: Path) -> None:
    answer = client(tmp_path).post("/api/projects?kind=chart&name=mine.csv", content=FILE)
    assert answer.status_code == 422
    assert answer.json()["error"].startswith("'mine.csv' is a list of yarns and no chart")


def test_sets_read_and_are_unlike_each_other(tmp_path: Path) -> None:
    desk = client(tmp_path)
    assert desk.get("/api/yarns/sets").status_code == 422
    desk.post("/api/shelf", content=FILE)
    known = shelf(desk)
    for count in (2, 3):
        found = desk.get("/api/yarns/sets", params={"count": count, "gap": 20}).json()["sets"]
        assert found
        for members in found:
            light = sorted(known[one["name"]]["L"] for one in members)
            assert min(np.diff(light)) >= 19.9
    pairs = desk.get("/api/yarns/sets", params={"count": 2, "gap": 20}).json()["sets"]
    assert not {one["name"] for one in pairs[0]} & {one["name"] for one in pairs[1]}
    assert desk.get("/api/yarns/sets", params={"count": 5, "gap": 60}).json() == {"sets": []}


COLOUR = (120, 60, 70)
WARM = np.array([1.0, 0.86, 0.66])


def photographed(paper: bool = True) -> bytes:
    """A ball of one colour beside white paper, in warm light, with the grain of a camera."""
    rng = np.random.default_rng(3)
    linear = np.full((300, 400, 3), 0.12 if paper else (0.02, 0.12, 0.5))
    linear[60:240, 40:200] = (np.array(COLOUR) / 255) ** 2.2
    if paper:
        linear[40:260, 240:380] = 0.876  # L* 95
    seen = np.clip(linear * WARM * 0.9, 0, 1) ** (1 / 2.2) * 255 + rng.normal(0, 1.5, linear.shape)
    out = io.BytesIO()
    Image.fromarray(np.clip(seen, 0, 255).astype(np.uint8)).save(out, "PNG")
    return out.getvalue()


def colour_off(answer: Any) -> float:
    rgb = bytes.fromhex(answer.json()["colour"].removeprefix("#"))
    labs = [srgb_to_lab(np.array([one], np.uint8)) for one in (tuple(rgb), COLOUR)]
    return float(delta_e76(*labs)[0])


def test_a_yarn_is_measured_by_the_white_paper_beside_it(tmp_path: Path) -> None:
    desk = client(tmp_path)
    marks = {"yarn": "80,100,60,60", "white": "280,80,60,60"}
    marked = desk.post("/api/yarns/photo", params=marks, content=photographed())
    assert marked.status_code == 200, marked.text
    assert colour_off(marked) < marked.json()["within"] < 15
    found = desk.post("/api/yarns/photo", params={"yarn": "80,100,60,60"}, content=photographed())
    assert colour_off(found) < 12
    lit = desk.post("/api/yarns/photo", params={**marks, "as_lit": True}, content=photographed())
    assert lit.json()["within"] is None
    assert colour_off(lit) > colour_off(marked)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("marks", "content"),
    [
        ({}, b""),
        ({}, b"no picture"),
        ({}, photographed(paper=False)),
        ({"yarn": "390,10,60,60"}, photographed()),
        ({"yarn": "all of it"}, photographed()),
        ({"white": "1,2,3"}, photographed()),
    ],
)
def test_a_photo_without_a_colour_is_told_and_leaves_nothing(
    tmp_path: Path, marks: dict[str, str], content: bytes
) -> None:
    answer = client(tmp_path).post("/api/yarns/photo", params=marks, content=content)
    assert answer.status_code == 422
    assert "the photo" in answer.json()["error"] or "box" in answer.json()["error"].lower()
    assert str(tmp_path) not in answer.text
    assert list(tmp_path.iterdir()) == []
