"""The subject of the picture on the desk: tried without a chart, marked, undone, and what stays."""

from __future__ import annotations

import base64
import io
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from starlette.testclient import TestClient

from pic2chart.desk.trust import MOST_MARKS
from tests.helpers.desk_page import begin, client, photo

Post = dict[str, Any]
EAR = "70,20,24"
"""A spot on the cat, in the photo at 450 pixels across."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.fixture
def cat(desk: TestClient) -> Post:
    return begin(desk, content=photo())


def post(desk: TestClient, view: Post, action: str, **body: Any) -> Any:
    path = f"/api/projects/{view['id']}/{action}"
    return desk.post(path, json={"revision": view["revision"], **body})


def changed(desk: TestClient, view: Post, **settings: Any) -> Post:
    answer = post(desk, view, "settings", settings=settings)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def tried(desk: TestClient, view: Post, **marks: Any) -> Post:
    answer = post(desk, view, "subject", settings=marks)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def pixels(answer: Post) -> NDArray[np.uint8]:
    data = answer["picture"].removeprefix("data:image/jpeg;base64,")
    return np.asarray(Image.open(io.BytesIO(base64.b64decode(data))))


def test_marks_are_tried_without_making_a_chart(
    desk: TestClient, cat: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pic2chart.pipeline.make_chart", None)
    found = tried(desk, cat)
    without = tried(desk, cat, leave=[EAR])
    assert (found["how"], without["how"]) == ("found", "marked")
    before, after = pixels(found), pixels(without)
    assert before.shape == after.shape == (299, 450, 3)
    spot = np.s_[10:30, 60:80]
    assert after[spot].mean() > before[spot].mean() + 30  # paled, as what is left out
    assert tried(desk, cat, subject="none") == {"how": "none", "picture": None}
    assert desk.get(f"/api/projects/{cat['id']}").json() == cat


def test_a_stroke_is_looked_for_once_for_the_page_and_its_chart(
    desk: TestClient, cat: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried(desk, cat, leave=[EAR])
    monkeypatch.setattr("pic2chart.picture.source.find_subject", None)
    monkeypatch.setattr("pic2chart.picture.source.load_picture", None)
    assert changed(desk, cat, leave=[EAR])["settings"]["leave"] == [EAR]


def test_marks_change_the_chart_and_nothing_else(desk: TestClient, cat: Post) -> None:
    marked = changed(desk, cat, leave=[EAR])
    assert marked["undo"] == "Mark the subject"
    assert marked["chart"]["rows"] != cat["chart"]["rows"]
    assert marked["chart"]["yarns"] == cat["chart"]["yarns"]
    undone = post(desk, marked, "undo").json()
    assert (undone["chart"], undone["settings"]) == (cat["chart"], cat["settings"])
    again = post(desk, undone, "redo").json()
    assert (again["chart"], again["settings"]) == (marked["chart"], marked["settings"])
    everything = changed(desk, again, subject="none", keep=[], leave=[])
    assert everything["undo"] == "Keep everything"
    assert everything["chart"]["yarns"] == cat["chart"]["yarns"]
    found = changed(desk, everything, subject="auto", keep=[], leave=[])
    assert found["undo"] == "Find the subject"


def test_marks_go_into_the_chart_file_and_not_to_another_picture(
    desk: TestClient, cat: Post
) -> None:
    marked = changed(desk, cat, leave=[EAR])
    file = desk.get(f"/api/projects/{cat['id']}/file?ending=.chart.json").json()
    assert file["source"]["settings"]["leave"] == [EAR]
    path = f"/api/projects/{cat['id']}/picture?revision={marked['revision']}&title=other.jpg"
    other = desk.post(path, content=photo("coffee", 300)).json()
    assert other["settings"]["leave"] == []
    assert other["settings"]["yarn"] == marked["settings"]["yarn"]


def test_named_yarns_and_yarns_asked_for_are_taken(desk: TestClient, cat: Post) -> None:
    yarns = ["oat=#ece2d0", "ink=#26304c"]
    named = changed(desk, cat, yarn=yarns)
    assert changed(desk, named, leave=[EAR])["settings"]["yarn"] == yarns
    three = changed(desk, cat | {"revision": named["revision"] + 1}, yarn=[], yarns=3, leave=[])
    assert three["settings"]["yarn"] == []


def test_stitches_kept_by_hand_keep_their_frame(desk: TestClient, cat: Post) -> None:
    """Without a frame of one's own the chart would follow the marked subject, away from them."""
    spot = {"subject": "auto", "leave": ["330,150,60"]}
    key = "A" if cat["chart"]["rows"][20][30] == "B" else "B"
    paint = {"kind": "paint", "yarn": key, "stitches": [[21, 31]]}
    painted = post(desk, cat, "edit", edit=paint).json()
    marked = changed(desk, painted, **spot)
    assert marked["chart"]["fixed"][20][30] == "#"
    assert marked["chart"]["rows"][20][30] == key
    assert len(marked["chart"]["rows"]) == len(cat["chart"]["rows"])
    assert marked["settings"]["crop"] is not None


def test_what_is_no_mark_is_told_in_the_pages_words(desk: TestClient, cat: Post) -> None:
    for marks, words in (
        ({"keep": ["9999,1,5"]}, "'Painted in' mark 9999,1,5 lies outside the picture 'cat.jpg'"),
        ({"leave": ["here"]}, "'Painted out'"),
        ({"subject": "/etc/hosts"}, "takes no mask's file"),
        ({"keep": ["1,1,1"] * MOST_MARKS, "leave": ["1,1,1"]}, f"at most {MOST_MARKS} marks"),
        ({"subject": "none", "keep": ["1,1,1"]}, "'Subject' none"),
        ({"stitches": 40}, "The marks of a subject are"),
    ):
        refused = post(desk, cat, "subject", settings=marks)
        assert (refused.status_code, words in refused.json()["error"]) == (422, True), refused.text
        assert "--" not in refused.text
        if "stitches" not in marks:
            assert post(desk, cat, "settings", settings=marks).json() == refused.json()
    assert not [words for words in cat["report"]["remarks"] if "--" in words or ".jpg" in words]
    # How it was found stands beside the picture; there is no remark about it.
    assert not [words for words in cat["report"]["remarks"] if "ubject" in words]


def test_a_chart_without_a_picture_has_no_subject(desk: TestClient) -> None:
    blank = desk.post("/api/projects/blank", json={"stitches": 20, "rounds": 20}).json()
    assert post(desk, blank, "subject").status_code == 422
