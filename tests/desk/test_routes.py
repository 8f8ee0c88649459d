"""The desk's routes: what is done, shown and taken."""

from __future__ import annotations

import io
import json
import re
import zipfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from pic2chart.checks.rules import check
from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message
from pic2chart.core.settings import Settings
from pic2chart.design.looks import LOOKS
from pic2chart.desk.form import form, worded
from pic2chart.model.chart_file import chart_from_text, read_chart
from pic2chart.pipeline import make_chart
from tests.helpers.desk_page import (
    begin,
    client,
    photo,
)

Post = dict[str, Any]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.fixture
def cat(desk: TestClient) -> dict[str, Any]:
    return begin(desk)


def post(desk: TestClient, view: Post, action: str, **body: Any) -> Any:
    path = f"/api/projects/{view['id']}/{action}"
    return desk.post(path, json={"revision": view["revision"], **body})


# What is done


def test_a_photo_alone_gives_a_chart_that_can_be_knitted(desk: TestClient, cat: Post) -> None:
    assert (cat["counts"]["error"], cat["follows"], cat["chart"]["title"]) == (0, True, "cat")
    assert len(cat["chart"]["rows"][0]) == 60
    assert 0 < cat["made"]["likeness"]["chart"]["whole"]["ssim"] <= 1
    assert desk.get(f"/api/projects/{cat['id']}").json() == cat


def test_settings_change_the_chart_and_a_draft_is_not_kept(desk: TestClient, cat: Post) -> None:
    draft = post(desk, cat, "settings", settings={"stitches": 40}, draft=True).json()
    assert (len(draft["chart"]["rows"][0]), draft["revision"]) == (40, cat["revision"])
    assert desk.get(f"/api/projects/{cat['id']}").json() == cat
    kept = post(desk, cat, "settings", settings={"stitches": 40}).json()
    assert (kept["chart"], kept["undo"]) == (draft["chart"], "Change stitches across")


def test_kept_stitches_stay_through_mending_and_making_again(desk: TestClient, cat: Post) -> None:
    rows = cat["chart"]["rows"]
    key = "A" if rows[20][30] == "B" else "B"
    painted = post(desk, cat, "edit", edit={"kind": "paint", "yarn": key, "stitches": [[21, 31]]})
    view = painted.json()
    for action, body in (("mend", {}), ("settings", {"settings": {"float_limit": 4}})):
        view = post(desk, view, action, **body).json()
        assert view["chart"]["rows"][20][30] == key
        assert view["chart"]["fixed"][20][30] == "#"
    smaller = post(desk, view, "settings", settings={"stitches": 50}).json()
    assert any("had to be let go" in words for words in smaller["report"]["remarks"])


def test_an_isolated_stitch_is_found_and_mended_round_the_kept_one(
    desk: TestClient, cat: Post
) -> None:
    bare = post(desk, cat, "edit", edit={"kind": "paint", "yarn": "A", "box": [[5, 5], [15, 20]]})
    asked = {"kind": "paint", "yarn": "B", "stitches": [[10, 12]]}
    looked = post(desk, bare.json(), "edit", edit=asked, draft=True).json()
    lone = [
        f
        for f in looked["findings"]
        if (f["rule"], f["round"], f["stitch"]) == ("isolated-stitch", 10, 12)
    ]
    assert lone
    painted = post(desk, bare.json(), "edit", edit=asked).json()
    loose = {"kind": "fix", "box": [[5, 5], [15, 20]], "on": False}
    painted = post(desk, painted, "edit", edit=loose).json()
    painted = post(desk, painted, "edit", edit={"kind": "fix", "stitches": [[10, 12]]}).json()
    assert painted["mendable"]
    mended = post(desk, painted, "mend").json()
    assert not [f for f in mended["findings"] if f["rule"] == "isolated-stitch"]
    assert mended["chart"]["rows"][9][11] == "B"


def test_a_reshaped_chart_keeps_its_stitches_when_rules_change(desk: TestClient, cat: Post) -> None:
    taller = post(desk, cat, "edit", edit={"kind": "insert", "what": "round", "at": 1}).json()
    assert not taller["follows"]
    ruled = post(desk, taller, "settings", settings={"float_limit": 3, "gauge": "30x34"}).json()
    assert ruled["chart"]["rows"] == taller["chart"]["rows"]
    assert ruled["report"]["float_limit"] == 3
    refused = post(desk, ruled, "settings", settings={"stitches": 30})
    assert (refused.status_code, "reshaped by hand" in refused.text) == (422, True)
    anew = post(desk, ruled, "settings", settings={"stitches": 30}, anew=True).json()
    assert (anew["follows"], len(anew["chart"]["rows"][0])) == (True, 30)


def test_two_windows_never_overwrite_each_other(desk: TestClient, cat: Post) -> None:
    first = post(desk, cat, "edit", edit={"kind": "paint", "yarn": "A", "stitches": [[1, 1]]})
    assert first.status_code == 200
    for action, body in (
        ("edit", {"edit": {"kind": "paint", "yarn": "B", "stitches": [[2, 2]]}}),
        ("settings", {"settings": {"stitches": 30}}),
        *((word, {}) for word in ("mend", "undo", "redo", "remove")),
    ):
        assert post(desk, cat, action, **body).status_code == 409
    assert desk.get(f"/api/projects/{cat['id']}").json() == first.json()


def test_a_change_sent_again_with_its_mark_is_done_once(desk: TestClient, cat: Post) -> None:
    """As a page does whose answer was lost on the way."""
    insert = {"kind": "insert", "what": "round", "at": 1}
    for action, body in (("edit", {"edit": insert}), ("undo", {}), ("redo", {})):
        before = desk.get(f"/api/projects/{cat['id']}").json()
        first = post(desk, before, action, mark=f"{action}-1", **body)
        again = post(desk, before, action, mark=f"{action}-1", **body)
        assert (first.status_code, again.status_code) == (200, 200)
        assert again.json() == first.json()
        assert first.json()["revision"] == before["revision"] + 1
        assert post(desk, before, action, mark=f"{action}-2", **body).status_code == 409


def test_a_slider_let_go_is_not_solved_a_second_time(
    desk: TestClient, cat: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    draft = post(desk, cat, "settings", settings={"stitches": 44}, draft=True).json()
    monkeypatch.setattr("pic2chart.pipeline.make_chart", None)
    kept = post(desk, cat, "settings", settings={"stitches": 44}).json()
    assert (kept["chart"], kept["report"]) == (draft["chart"], draft["report"])


def test_a_chart_that_takes_long_can_be_stopped(
    desk: TestClient, cat: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*args: Any, **how: Any) -> Any:
        with ThreadPoolExecutor(1) as window:  # as the page does, while the lock is held
            stopped = window.submit(desk.post, f"/api/projects/{cat['id']}/stop")
            assert stopped.result(timeout=30).status_code == 200
        return make_chart(*args, **how)

    monkeypatch.setattr("pic2chart.pipeline.make_chart", interrupted)
    answer = post(desk, cat, "settings", settings={"stitches": 44})
    assert (answer.status_code, answer.json()["error"][:8]) == (422, "Stopped;")
    monkeypatch.undo()
    assert desk.get(f"/api/projects/{cat['id']}").json() == cat
    assert post(desk, cat, "settings", settings={"stitches": 44}).status_code == 200


def test_likeness_is_measured_again_after_changes_by_hand(desk: TestClient, cat: Post) -> None:
    path = f"/api/projects/{cat['id']}/facts"
    assert desk.get(path).json()["likeness"] == cat["made"]["likeness"]
    here = {"kind": "paint", "yarn": cat["chart"]["rows"][9][9], "stitches": [[10, 10]]}
    same = post(desk, cat, "edit", edit=here).json()
    assert desk.get(path).json()["likeness"] == cat["made"]["likeness"]
    spoilt = post(
        desk, same, "edit", edit={"kind": "paint", "yarn": "A", "box": [[1, 1], [40, 60]]}
    )
    after = desk.get(path).json()["likeness"]
    assert after["chart"]["whole"]["ssim"] < cat["made"]["likeness"]["chart"]["whole"]["ssim"] - 0.1
    assert after["ceiling"] == cat["made"]["likeness"]["ceiling"]
    taller = {"kind": "insert", "what": "round", "at": 1}
    post(desk, spoilt.json(), "edit", edit=taller)
    assert desk.get(path).json()["likeness"] is None


def test_what_a_slider_remembers_changes_no_chart(desk: TestClient) -> None:
    """Charts of many sizes from one picture, one after another and each on a desk of its own."""
    content = photo(width=450, kind="PNG")
    view = begin(desk, content=content)
    for stitches in (30, 31, 44, 31, 60):
        asked = {"stitches": stitches, "yarn": ["oat=#ece2d0", "ink=#26304c"]}
        one = post(desk, view, "settings", settings=asked, draft=True).json()
        fresh = begin(desk, content=content)
        assert post(desk, fresh, "settings", settings=asked).json()["chart"] == one["chart"]


def test_undo_goes_back_to_the_start_and_redo_to_the_end(desk: TestClient, cat: Post) -> None:
    view = cat
    for number in range(1, 6):
        view = post(
            desk,
            view,
            "edit",
            edit={"kind": "paint", "yarn": "A", "box": [[number, 1], [number, 9]]},
        ).json()
    last = view
    while view["undo"]:
        view = post(desk, view, "undo").json()
    assert view["chart"] == cat["chart"]
    while view["redo"]:
        view = post(desk, view, "redo").json()
    assert view["chart"] == last["chart"]


def test_an_empty_chart_is_drawn_on(desk: TestClient) -> None:
    view = desk.post("/api/projects/blank", json={"stitches": 200, "rounds": 180}).json()
    assert view["chart"]["rows"] == ["A" * 200] * 180
    assert view["counts"]["error"] == 0
    drawn = post(desk, view, "edit", edit={"kind": "paint", "yarn": "B", "box": [[9, 9], [12, 14]]})
    assert drawn.json()["chart"]["rows"][8][8:14] == "BBBBBB"
    for wrong in ({"stitches": 1, "rounds": 9}, {"stitches": 9}, {"stitches": 9, "rounds": 10**6}):
        assert desk.post("/api/projects/blank", json=wrong).status_code == 422


def test_charts_come_in_and_go_out(desk: TestClient, cat: Post, tmp_path: Path) -> None:
    base = f"/api/projects/{cat['id']}/file?ending="
    for ending, name in ((".chart.json", "a.chart.json"), (".png", "a.png"), (".csv", "a.csv")):
        taken = desk.get(base + ending)
        assert taken.headers["content-disposition"] == f'attachment; filename="cat{ending}"'
        opened = desk.post(f"/api/projects?kind=chart&name={name}", content=taken.content).json()
        assert opened["chart"]["rows"] == cat["chart"]["rows"]
        assert (opened["picture"], opened["follows"], opened["chart"]["title"] in ("a", "cat")) == (
            None,
            False,
            True,
        )
    text = desk.get(base + ".chart.json").text
    (tmp_path / "c.chart.json").write_text(text, encoding="utf-8")
    assert not [f for f in check(read_chart(tmp_path / "c.chart.json")) if f.level == "error"]


@pytest.mark.slow
def test_all_sheets_come_in_one_archive_with_the_same_bytes(desk: TestClient, cat: Post) -> None:
    path = f"/api/projects/{cat['id']}/file?ending=.zip&paper=letter&large_print=true"
    taken = desk.get(path)
    with zipfile.ZipFile(io.BytesIO(taken.content)) as bundle:
        names = bundle.namelist()
        chart = chart_from_text(bundle.read("cat.chart.json").decode())
    wanted = {
        ".chart.json",
        ".png",
        ".csv",
        ".pdf",
        "-words.txt",
        "-knit-along.html",
    }
    parts = {".svg", "-front.png", "-back.png", "-strands-1.svg"}
    assert {f"cat{ending}" for ending in wanted} <= set(names)
    assert {f"parts/cat{ending}" for ending in parts} <= set(names)
    assert chart.strands
    assert desk.get(path).content == taken.content
    assert desk.get(path.replace("letter", "a99")).status_code == 422


def test_a_chart_is_told_in_the_words_of_its_file(desk: TestClient, cat: Post) -> None:
    path = f"/api/projects/{cat['id']}"
    told = desk.get(f"{path}/words").json()
    assert [section["heading"] for section in told] == ["Yarns", "How to read", "Rounds"]
    file = desk.get(f"{path}/file?ending=-words.txt").text.splitlines()
    lines = [line for section in told for line in section["lines"]]
    assert set(lines) <= {line.removeprefix("* ") for line in file}
    assert len(lines) > len(told[2]["lines"]) > 1


@pytest.mark.parametrize("what", ["front", "back", "strands", "small"])
def test_everything_there_is_to_see_is_a_picture(desk: TestClient, cat: Post, what: str) -> None:
    seen = desk.get(f"/api/projects/{cat['id']}/see/{what}")
    assert seen.status_code == 200
    assert seen.headers["content-type"].startswith("image/")


def test_the_strands_of_any_round_are_shown(desk: TestClient, cat: Post) -> None:
    seen = f"/api/projects/{cat['id']}/see/strands?round="
    assert b"Round 7" in desk.get(seen + "7").content
    assert b"Round 8" in desk.get(seen + "8").content
    beyond = desk.get(seen + "900")
    assert (beyond.status_code, beyond.json()["error"][-1]) == (422, ".")


def test_every_look_is_shown_with_what_to_weigh_it_by(desk: TestClient, cat: Post) -> None:
    looks = desk.get(f"/api/projects/{cat['id']}/looks").json()
    assert [look["name"] for look in looks] == list(LOOKS)
    for look in looks:
        assert look["front"].startswith("data:image/png;base64,iVBOR")
        assert "Likeness" in look["words"][0]
        assert "--" not in json.dumps(look["words"])


def test_every_frame_is_shown_and_takes_the_place_of_a_drawn_one(
    desk: TestClient, cat: Post
) -> None:
    frames = desk.get(f"/api/projects/{cat['id']}/frames").json()
    assert [frame["name"] for frame in frames] == ["whole", "close"]
    for frame in frames:
        assert frame["front"].startswith("data:image/png;base64,iVBOR")
        assert "at this size" in frame["words"][1]
    drawn = post(desk, cat, "settings", settings={"crop": "10,10,150,120"}).json()
    assert drawn["settings"]["crop"]
    chosen = post(desk, drawn, "settings", settings={"frame": "whole"}).json()
    assert (chosen["settings"]["crop"], chosen["settings"]["frame"]) == (None, "whole")


def test_contrast_and_amounts_are_told(desk: TestClient, cat: Post) -> None:
    facts = desk.get(f"/api/projects/{cat['id']}/facts?times=2").json()
    once = desk.get(f"/api/projects/{cat['id']}/facts").json()
    (pair,) = facts["pairs"]
    assert pair["verdict"]
    assert "of 100 apart in lightness" in pair["reason"]
    assert not re.search(r"L\*|ΔE|: 1", pair["reason"])
    for two, one in zip(facts["amounts"]["yarns"], once["amounts"]["yarns"], strict=True):
        assert two["metres"] == pytest.approx(2 * one["metres"], rel=0.02)


def test_a_shelf_is_put_on_the_desk_and_chosen_from(tmp_path: Path) -> None:
    desk = client(tmp_path)
    shelf = b"name,colour,grams\noat,#ece2d0,100\nink,#26304c,50\nrust,#a8502f,50\n"
    assert [y["name"] for y in desk.post("/api/shelf", content=shelf).json()["shelf"]] == [
        "oat",
        "ink",
        "rust",
    ]
    view = begin(desk)
    chosen = post(desk, view, "settings", settings={"shelf": "the shelf", "yarns": 2}).json()
    assert {y["name"] for y in chosen["chart"]["yarns"]} <= {"oat", "ink", "rust"}
    assert str(tmp_path) not in json.dumps(chosen)
    outside = post(desk, chosen, "settings", settings={"shelf": "/etc/passwd"})
    assert (outside.status_code, "passwd" in outside.text) == (422, False)
    spoilt = desk.post("/api/shelf", content=b"name,colour\noat,blue-ish\n")
    assert spoilt.status_code == 422
    assert len(desk.get("/api/desk").json()["shelf"]) == 3


def test_what_of_a_list_of_yarns_is_left_aside_is_told(tmp_path: Path) -> None:
    mixed = b"name,colour\noat,#ece2d0\nink,blue-ish\n"
    put = client(tmp_path).post("/api/shelf", content=mixed).json()
    assert [yarn["name"] for yarn in put["shelf"]] == ["oat"]
    (remark,) = put["remarks"]
    assert remark.startswith("Line 3 of 'the list of yarns' was left aside: 'blue-ish' is not")


def test_a_project_put_aside_can_be_found_again(tmp_path: Path) -> None:
    desk = client(tmp_path)
    view = begin(desk)
    assert post(desk, view, "remove").json() == {"projects": []}
    assert desk.get(f"/api/projects/{view['id']}").status_code == 404
    assert (tmp_path / "removed" / view["id"] / "history.sqlite").is_file()


def test_a_new_desk_shows_the_projects_of_the_last(tmp_path: Path) -> None:
    view = begin(client(tmp_path), "gull.jpg")
    again = client(tmp_path)
    (card,) = again.get("/api/desk").json()["projects"]
    assert (card["id"], card["title"], card["stitches"]) == (view["id"], "gull", 60)
    assert again.get(f"/api/projects/{view['id']}").json() == view


def test_a_spoilt_project_says_so_and_spoils_no_other(tmp_path: Path) -> None:
    desk = client(tmp_path)
    good, bad = begin(desk), begin(desk)
    for file in (tmp_path / bad["id"]).glob("history.*"):
        file.write_bytes(b"\x01" * 500)
    fresh = client(tmp_path)
    cards = {card["id"]: card for card in fresh.get("/api/desk").json()["projects"]}
    assert "trouble" in cards[bad["id"]]
    assert "trouble" not in cards[good["id"]]
    assert fresh.get(f"/api/projects/{bad['id']}").status_code == 422


# The form


def test_every_setting_has_its_place_on_the_page() -> None:
    shown = [field["name"] for group in form() for field in group["fields"]]
    elsewhere = {"crop", "turn", "subject", "keep", "leave", "focus", "title", "seed"}
    assert sorted(shown) == sorted({f.name for f in fields(Settings)} - elsewhere)
    for group in form():
        for field in group["fields"]:
            assert "--" not in field["help"] + field["label"]


def test_messages_name_fields_as_the_page_does() -> None:
    words = worded(message("no-background", options=("subject",)))
    assert "mark the subject with 'Subject' on the picture, or" in words
    with pytest.raises(SettingError) as caught:
        Settings(min_delta_L=900.0)
    assert worded(caught.value.message).startswith("'Light and dark apart by' is 900.0; it must")
    words = worded(message("floats-broken-by-ticks", options=("long_floats",)))
    assert words.endswith("clearer with 'Longer floats' catch them at the back.")


def test_a_setting_out_of_range_is_explained(desk: TestClient, cat: Post) -> None:
    for wrong in (
        {"stitches": 2},
        {"nonsense": 1},
        {"title": "\ud800"},
        {"stitches": "many"},
        {"crop": "0,0,9999,9"},
    ):
        body = json.dumps({"revision": cat["revision"], "settings": wrong})
        answer = desk.post(
            f"/api/projects/{cat['id']}/settings",
            content=body,
            headers={"content-type": "application/json"},
        )
        assert answer.status_code == 422
        assert answer.json()["error"].endswith(".")
    assert desk.get(f"/api/projects/{cat['id']}").json() == cat


# Garments
