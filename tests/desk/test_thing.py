"""The thing in hand: chosen, seen, painted on, kept, and taken away; the picture under its stitches."""

from __future__ import annotations

import io
import zipfile
from html import escape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from pic2chart.checks.rules import RULES
from pic2chart.core.settings import Settings
from pic2chart.desk.findings import KINDS
from pic2chart.desk.first_yarns import APART, drawn_apart
from pic2chart.desk.in_hand import InHand, PaintedPiece
from pic2chart.desk.store import Store
from pic2chart.desk.turning import WAYS, turned_settings
from pic2chart.garment.kinds import GARMENTS
from pic2chart.model.yarn import Yarn, yarn_lab
from tests.helpers.desk_page import begin, client, photo

Post = dict[str, Any]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.fixture
def cat(desk: TestClient) -> Post:
    return begin(desk)


def post(desk: TestClient, view: Post, action: str, **body: Any) -> Any:
    path = f"/api/projects/{view['id']}/{action}"
    return desk.post(path, json={"revision": view["revision"], **body})


def made(desk: TestClient, view: Post, kind: str = "mitten", **options: Any) -> Post:
    answer = post(desk, view, "thing", kind=kind, options=options)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def seen(desk: TestClient, view: Post, **body: Any) -> Post:
    return dict(post(desk, view, "thing/see", **body).json())


def piece(shown: Post, name: str) -> Post:
    return next(one for one in shown["pieces"] if one["name"] == name)


@pytest.mark.parametrize("kind", GARMENTS)
def test_every_thing_is_shown_stitch_by_stitch_taken_and_opened(
    desk: TestClient, cat: Post, kind: str
) -> None:
    view = made(desk, cat, kind)
    shown = seen(desk, view)
    assert shown["pattern"]
    colours = [
        {yarn["key"]: yarn["colour"] for yarn in one["chart"]["yarns"]}[key] if key != "." else None
        for one in shown["pieces"]
        for row in one["chart"]["rows"]
        for key in row
    ]
    for side in shown["views"]:
        for layer in side["layers"]:
            assert len(layer["cells"]) == 8 * len(layer["stitches"])
            assert all(colours[number] for number in layer["stitches"])
    path = f"/api/projects/{view['id']}/thing"
    archive = desk.get(f"{path}/file?ending=.zip")
    with zipfile.ZipFile(io.BytesIO(archive.content)) as bundle:
        names = bundle.namelist()
        document = bundle.read(f"cat-{kind}.pdf")
        page = bundle.read(f"cat-{kind}-knit-along.html").decode()
    assert f"cat-{kind}.garment.json" in names
    assert document == desk.get(f"{path}/file?ending=.pdf").content
    assert page == desk.get(f"{path}/file?ending=-knit-along.html").content.decode()
    for one in shown["pieces"]:
        assert f"cat-{one['name']}.chart.json" in names
        assert len(shown["pieces"]) == 1 or escape(one["chart"]["title"]) in page
    name = shown["pieces"][0]["name"]
    opened = desk.post(f"{path}/open", json={"piece": name}).json()
    assert opened["chart"]["rows"] == piece(shown, name)["chart"]["rows"]
    assert opened["thing"] is None


def test_each_cell_shows_the_stitch_it_names(tmp_path: Path) -> None:
    """The colours of the views the garment draws itself are those of the stitches that are named."""
    from pic2chart.desk.garments import thing_of
    from pic2chart.desk.thing_page import places_in

    desk = client(tmp_path)
    view = made(desk, begin(desk))
    project = Store(tmp_path).get(view["id"])
    assert project is not None
    worked = thing_of(project)
    yarns = np.concatenate([one.chart.stitches.ravel() for one in worked.pieces])
    charts = {one.name: one.chart for one in worked.pieces}
    cells = 0
    for side, places in zip(worked.draft.views(charts), places_in(worked), strict=True):
        for layer, numbers in zip(side.layers, places, strict=True):
            told = [worked.pieces[0].chart.yarns[yarns[n]].colour for n in numbers]
            assert told == [cell.colour for cell in layer.cells]
            cells += len(numbers)
    assert cells > 4000


def test_painting_is_kept_mirrored_undone_and_in_the_pdf(desk: TestClient, cat: Post) -> None:
    view = made(desk, cat)
    before = seen(desk, view)
    right, left = (piece(before, f"{side}-hand")["chart"] for side in ("right", "left"))
    yarn = "AB".replace(right["rows"][19][9], "")
    edit = {"kind": "paint", "yarn": yarn, "stitches": [[20, 10], [21, 10], [22, 10]]}
    draft = post(desk, view, "thing/edit", piece="right-hand", edit=edit, draft=True).json()
    assert set(draft) == {"findings", "counts", "mendable"}
    view = post(desk, view, "thing/edit", piece="right-hand", edit=edit, both=True).json()
    assert (
        view["undo"]
        == f"Paint 3 stitches in {right['yarns']['AB'.index(yarn)]['name']}, right hand"
    )
    across = len(left["rows"][0])
    now = {one["name"]: one["chart"] for one in view["pieces"]}
    for r in (19, 20, 21):
        assert now["right-hand"]["rows"][r][9] == yarn
        assert now["left-hand"]["rows"][r][across - 10] == yarn
        assert now["left-hand"]["fixed"][r][across - 10] == "#"
    held = seen(desk, view)
    assert piece(held, "right-hand")["chart"] == now["right-hand"]
    path = f"/api/projects/{view['id']}/thing/file?ending=.pdf"
    painted = desk.get(path).content
    assert painted.startswith(b"%PDF")
    view = post(desk, view, "undo").json()
    assert desk.get(path).content != painted
    assert seen(desk, view)["pieces"] == before["pieces"]


def test_painting_survives_other_settings_and_rests_in_another_size(
    desk: TestClient, cat: Post
) -> None:
    view = made(desk, cat)
    edit = {"kind": "paint", "yarn": "A", "box": [[10, 5], [12, 9]]}
    view = post(desk, view, "thing/edit", piece="right-hand", edit=edit).json()
    assert view["thing"]["painted"] == 15
    view = post(desk, view, "settings", settings={"look": "inked"}).json()
    rows = piece(seen(desk, view), "right-hand")["chart"]["rows"]
    assert {row[4:9] for row in rows[9:12]} == {"AAAAA"}
    view = made(desk, view, size="9")
    shown = seen(desk, view)
    assert any("rest" in words for words in shown["remarks"])
    view = made(desk, view)
    rows = piece(seen(desk, view), "right-hand")["chart"]["rows"]
    assert {row[4:9] for row in rows[9:12]} == {"AAAAA"}
    fix = {"kind": "fix", "box": [[10, 5], [12, 9]], "on": False}
    view = post(desk, view, "thing/edit", piece="right-hand", edit=fix).json()
    assert view["thing"]["painted"] == 0


def test_a_piece_keeps_its_shape(desk: TestClient, cat: Post) -> None:
    view = made(desk, cat)
    before = piece(seen(desk, view), "right-hand")["chart"]["rows"]
    for edit in (
        {"kind": "insert", "what": "round", "at": 1},
        {"kind": "delete", "what": "stitch"},
    ):
        answer = post(desk, view, "thing/edit", piece="right-hand", edit=edit)
        assert answer.status_code == 422
        assert "change the size" in answer.json()["error"]
    whole = {"kind": "paint", "yarn": "A", "box": [[1, 1], [len(before), len(before[0])]]}
    now = post(desk, view, "thing/edit", piece="right-hand", edit=whole).json()
    for old, new in zip(before, piece(now, "right-hand")["chart"]["rows"], strict=True):
        assert [key == "." for key in old] == [key == "." for key in new]


def test_other_settings_are_tried_without_being_kept(desk: TestClient, cat: Post) -> None:
    view = made(desk, cat)
    tried = seen(desk, view, settings={"yarn": ["ink=#26304c", "oat=#ece2d0"]})
    assert [y["name"] for y in tried["pieces"][0]["chart"]["yarns"]] == ["ink", "oat"]
    assert "nonsense" in seen(desk, view, settings={"nonsense": 1})["refused"]
    assert seen(desk, view)["pieces"][0]["chart"]["yarns"] != tried["pieces"][0]["chart"]["yarns"]


def test_a_thing_that_cannot_be_is_explained_and_nothing_changes(
    desk: TestClient, cat: Post
) -> None:
    for wrong in (
        {"kind": "spaceship"},
        {"kind": "hat", "options": {"girth": 9000}},
        {"kind": "hat", "options": {"sleeves": 3}},
        {"kind": "hat", "options": {"girth": "wide"}},
    ):
        answer = post(desk, cat, "thing", **wrong)
        assert answer.status_code == 422
        assert answer.json()["error"].endswith(".")
        assert "--" not in answer.json()["error"]
    said = post(desk, cat, "thing", kind="yoke", options={"head": 9000}).json()["error"]
    assert said.startswith("'Round the head' is 9000")  # in the words of that kind's own form
    assert desk.get(f"/api/projects/{cat['id']}").json()["revision"] == cat["revision"]
    assert post(desk, cat, "thing/see").status_code == 422


def test_what_was_painted_on_the_chart_goes_into_the_thing(desk: TestClient, cat: Post) -> None:
    plain = seen(desk, made(desk, cat, "panel"))
    assert not any("kept by hand" in remark for remark in plain["remarks"])
    view = desk.get(f"/api/projects/{cat['id']}").json()
    edit = {"kind": "paint", "yarn": cat["chart"]["rows"][9][9], "box": [[20, 20], [30, 30]]}
    shown = seen(desk, post(desk, view, "edit", edit=edit).json())
    assert sum("kept by hand" in remark for remark in shown["remarks"]) == 1
    assert shown["pieces"][0]["chart"]["rows"] != plain["pieces"][0]["chart"]["rows"]


def test_a_thing_and_its_painting_are_read_back() -> None:
    painted = PaintedPiece((4, 3), ("ink=#26304c", "oat=#ece2d0"), {(0, 2): 1, (3, 0): 0})
    thing = InHand("mitten", {"size": "8"}, {"right-hand": painted})
    assert InHand.from_plain(thing.to_plain()) == thing
    assert InHand.from_plain({}) is None
    spoilt = thing.to_plain()
    spoilt["painted"]["right-hand"]["stitches"] = [[4, 0, 0]]
    with pytest.raises(ValueError, match="outside"):
        InHand.from_plain(spoilt)


def test_first_yarns_read_and_those_that_read_stay() -> None:
    strong = (Yarn("ink", "#26304c"), Yarn("oat", "#ece2d0"))
    assert drawn_apart(strong) == strong
    pair = drawn_apart((Yarn("dark brown", "#6d4528"), Yarn("brown", "#a67f63")))
    light = yarn_lab(pair)[:, 0]
    assert light[1] - light[0] >= APART
    assert len({yarn.name for yarn in pair}) == 2


def test_a_dropped_photo_has_two_yarns_that_read(cat: Post) -> None:
    light = sorted(yarn["L"] for yarn in cat["chart"]["yarns"])
    assert len(light) == 2
    assert light[1] - light[0] >= APART - 1
    assert [f"{y['name']}={y['colour']}" for y in cat["chart"]["yarns"]] == cat["settings"]["yarn"]


def test_only_a_mirrored_picture_is_tilted_the_other_way() -> None:
    tilted = {way: turned_settings(Settings(turn=7.5), way, (200, 100)).turn for way in WAYS}
    assert tilted == {"left": 7.5, "right": 7.5, "mirror": -7.5}


def test_a_tilt_is_seen_before_it_is_kept_and_goes_with_its_picture(desk: TestClient) -> None:
    view = begin(desk)
    seen = post(desk, view, "settings", settings={"turn": 15.0}, draft=True).json()
    assert seen["chart"]["rows"] != view["chart"]["rows"]
    kept = post(desk, view, "settings", settings={"turn": 15.0}).json()
    assert kept["chart"]["rows"] == seen["chart"]["rows"]
    assert kept["undo"] == "Turn the picture"
    assert post(desk, kept, "settings", settings={"turn": 60.0}).status_code == 422


@pytest.mark.parametrize("way", WAYS)
def test_a_turn_moves_what_lies_on_the_picture(way: str) -> None:
    settings = Settings(crop="10,20,30,40", subject="1,2,3,4", keep=("5,6,7",), focus=("8,9,3",))
    turned = turned_settings(settings, way, (200, 100))
    picture = np.zeros((100, 200), np.uint8)
    picture[20:60, 10:40] = 1
    now = {"left": np.rot90(picture), "right": np.rot90(picture, -1), "mirror": picture[:, ::-1]}
    rows, columns = np.nonzero(now[way])
    x, y = columns.min(), rows.min()
    assert turned.crop == f"{x},{y},{np.ptp(columns) + 1},{np.ptp(rows) + 1}"
    there = {"left": "right", "right": "left", "mirror": "mirror"}[way]
    size = (200, 100) if way == "mirror" else (100, 200)
    assert turned_settings(turned, there, size) == settings


def test_a_picture_is_turned_and_undone(desk: TestClient) -> None:
    view = begin(desk, content=photo(width=200))
    turned = post(desk, view, "turn", way="mirror").json()
    assert turned["undo"] == "Mirror the picture"
    assert turned["picture"] != view["picture"]
    picture = desk.get(f"/api/projects/{view['id']}/picture").content
    original = Image.open(io.BytesIO(photo(width=200))).convert("L")
    shown = np.asarray(Image.open(io.BytesIO(picture)).convert("L"), float)
    assert abs(shown - np.asarray(original, float)[:, ::-1]).mean() < 4
    assert post(desk, turned, "undo").json()["picture"] == view["picture"]
    assert post(desk, turned, "turn", way="inside-out").status_code in (409, 422)


def test_every_offered_frame_can_be_taken(desk: TestClient, cat: Post) -> None:
    for offer in desk.get(f"/api/projects/{cat['id']}/frames").json():
        chosen = {"frame": offer["name"]}
        assert post(desk, cat, "settings", settings=chosen, draft=True).status_code == 200


def test_only_a_colour_word_is_offered_anew(desk: TestClient, cat: Post) -> None:
    yarns = ["ink=#26304c", "dark brown=#f0e0c0"]
    view = post(desk, cat, "settings", settings={"yarn": yarns}).json()
    assert [yarn["word"] for yarn in view["chart"]["yarns"]] == ["ink", "cream"]


def test_every_rule_has_a_sentence_for_all_its_findings() -> None:
    assert set(RULES) <= set(KINDS)


def test_the_sizes_of_every_kind_are_in_words(desk: TestClient) -> None:
    kinds = desk.get("/api/desk").json()["garments"]
    listed = [kind for kind in kinds if kind["sizes"]]
    assert {"mitten", "hat"} <= {kind["name"] for kind in listed}
    for kind in listed:
        labels = [size["label"] for size in kind["sizes"]]
        assert len(set(labels)) == len(labels)
        assert all("cm round" in size["measures"] for size in kind["sizes"])
        numbers = [size["value"].isdecimal() for size in kind["sizes"]]
        assert numbers == sorted(numbers)  # those in words come first


def test_the_list_of_projects_tells_what_each_is(desk: TestClient, cat: Post) -> None:
    def kind() -> str | None:
        (card,) = [c for c in desk.get("/api/desk").json()["projects"] if c["id"] == cat["id"]]
        return card["kind"]

    assert kind() is None
    made(desk, cat)
    assert kind() == "mitten"


def test_a_piece_is_mended_and_drawn(desk: TestClient, cat: Post, tmp_path: Path) -> None:
    view = made(desk, cat)
    view = post(desk, view, "thing/mend", piece="right-hand").json()
    assert view["undo"] == "Mend the right hand"
    for what in ("front", "back", "strands"):
        path = f"/api/projects/{view['id']}/thing/picture/{what}?piece=right-hand"
        assert desk.get(path).status_code == 200
    facts = desk.get(f"/api/projects/{view['id']}/thing/facts").json()
    one = desk.get(f"/api/projects/{view['id']}/facts").json()
    assert facts["amounts"]["yarns"][0]["metres"] != one["amounts"]["yarns"][0]["metres"]
    assert (
        desk.get(f"/api/projects/{view['id']}/thing/file?ending=.pdf&piece=nose").status_code == 422
    )


def test_each_piece_has_its_knit_along_page_and_keeps_its_own_place(
    desk: TestClient, cat: Post
) -> None:
    view = made(desk, cat)
    path = f"/api/projects/{view['id']}"
    page = desk.get(f"{path}/knit?piece=left-hand").text
    assert "left mitten" in page
    assert "left mitten" not in desk.get(f"{path}/knit").text
    assert (
        desk.post(f"{path}/place?piece=left-hand", json={"round": 7, "done": 2}).status_code == 200
    )
    assert desk.get(f"{path}/place?piece=left-hand").json()["round"] == 7
    assert desk.get(f"{path}/place?piece=right-hand").json()["round"] == 0
    assert desk.get(f"{path}/place").json()["round"] == 0
    assert desk.get(f"{path}/knit?piece=nose").status_code == 422
