"""A project as one file: it opens on another desk with all it had, and a hostile one changes nothing."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from pic2chart.desk.project_file import ENDING
from tests.helpers.desk_page import begin, client, photo


def post(desk: TestClient, view: dict[str, Any], action: str, **body: Any) -> dict[str, Any]:
    answer = desk.post(
        f"/api/projects/{view['id']}/{action}", json={"revision": view["revision"], **body}
    )
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.fixture(scope="module")
def view(desk: TestClient) -> dict[str, Any]:
    """A project with marks, painted stitches, an undone step and two pictures."""
    view = begin(desk)
    view = post(desk, view, "edit", edit={"kind": "paint", "stitches": [[1, 1]], "yarn": "B"})
    view = post(desk, view, "settings", settings={"keep": ["60,60,30"], "stitches": 40})
    other = f"/api/projects/{view['id']}/picture?revision={view['revision']}&title=gull.jpg"
    assert desk.post(other, content=photo("astronaut", 150)).status_code == 200
    view = desk.get(f"/api/projects/{view['id']}").json()
    view = post(desk, view, "edit", edit={"kind": "paint", "stitches": [[2, 2]], "yarn": "A"})
    return post(desk, view, "undo")


@pytest.fixture(scope="module")
def sent(desk: TestClient, view: dict[str, Any]) -> bytes:
    answer = desk.get(f"/api/projects/{view['id']}/file", params={"ending": ENDING})
    assert answer.status_code == 200
    assert answer.headers["content-disposition"].endswith(f'{ENDING}"')
    return answer.content


def opened(desk: TestClient, data: bytes) -> Any:
    return desk.post("/api/projects?kind=project&name=from-afar.pic2chart", content=data)


def without_name(view: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in view.items() if key != "id"}


def test_it_opens_on_another_desk_with_every_step(
    desk: TestClient, view: dict[str, Any], sent: bytes, tmp_path: Path
) -> None:
    other = client(tmp_path)
    here, there = view, opened(other, sent).json()
    assert here["id"] != there["id"]
    assert without_name(here) == without_name(there)
    for path in ("picture", "see/small"):
        a, b = (
            at.get(f"/api/projects/{v['id']}/{path}") for at, v in ((desk, here), (other, there))
        )
        assert a.content == b.content
    there = post(other, there, "redo")
    while there["undo"]:
        there = post(other, there, "undo")
    assert there["picture_name"] == "cat.jpg"
    assert there["settings"]["keep"] == []
    remade = post(other, there, "settings", settings={"stitches": 30})
    assert len(remade["chart"]["rows"][0]) == 30


def test_the_same_project_gives_the_same_file(
    desk: TestClient, view: dict[str, Any], sent: bytes
) -> None:
    again = desk.get(f"/api/projects/{view['id']}/file", params={"ending": ENDING})
    assert again.content == sent


def changed(sent: bytes, change: Callable[[dict[str, bytes]], None]) -> bytes:
    """The file with its parts changed."""
    with zipfile.ZipFile(io.BytesIO(sent)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    change(parts)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return out.getvalue()


def about(**values: Any) -> Callable[[dict[str, bytes]], None]:
    def change(parts: dict[str, bytes]) -> None:
        parts["project.json"] = json.dumps(json.loads(parts["project.json"]) | values).encode()

    return change


def first_step(inside: str | None = None, **values: Any) -> Callable[[dict[str, bytes]], None]:
    """The first step with other values, or with others in its state or in that one's settings."""

    def change(parts: dict[str, bytes]) -> None:
        lines = parts["steps.jsonl"].splitlines()
        step = json.loads(lines[0])
        place = {None: step, "state": step["state"], "settings": step["state"]["settings"]}
        place[inside].update(values)
        parts["steps.jsonl"] = b"\n".join([json.dumps(step).encode(), *lines[1:]])

    return change


def other_pictures(parts: dict[str, bytes]) -> None:
    for name in list(parts):
        if name.startswith("picture-"):
            parts[name] = b"another"


def no_pictures(parts: dict[str, bytes]) -> None:
    for name in list(parts):
        if name.startswith("picture-"):
            del parts[name]


@pytest.mark.parametrize(
    "change",
    [
        about(format="else"),
        about(version=2),
        about(changes=[]),
        about(changes=[{"shown": 99, "mark": "", "at_ms": 0}]),
        about(changes=[{"shown": "0", "mark": "", "at_ms": 0}]),
        about(kept=[1]),
        first_step(place=-1),
        first_step(before=7),
        first_step(what=None),
        first_step("settings", shelf="/etc/passwd"),
        first_step("settings", subject="/etc/passwd"),
        first_step("settings", keep=["1,1,1"] * 100),
        first_step("state", picture="../../etc/passwd"),
        first_step("state", settings=5),
        lambda parts: parts.update({"../../escaped": b"x"}),
        lambda parts: parts.update({"picture-0123456789abcdef": b"x"}),
        lambda parts: parts.update({"steps.jsonl": b"{" * 100_000}),
        lambda parts: parts.update({"steps.jsonl": b"\xff\n"}),
        lambda parts: parts.update({"steps.jsonl": b""}),
        lambda parts: parts.pop("project.json"),
        lambda parts: parts.update({"steps.jsonl": bytes(500_000_000)}),
        other_pictures,
        no_pictures,
    ],
)
def test_a_hostile_one_is_refused_in_one_sentence_and_leaves_nothing(
    sent: bytes, tmp_path: Path, change: Callable[[dict[str, bytes]], None]
) -> None:
    desk = client(tmp_path)
    answer = opened(desk, changed(sent, change))
    assert answer.status_code == 422, answer.text
    words = answer.json()["error"]
    assert words.startswith("'from-afar.pic2chart' is no project that can be opened here: ")
    assert words.endswith(".")
    assert str(tmp_path) not in words
    assert list(tmp_path.iterdir()) == []


def test_facts_that_no_desk_made_are_dropped(sent: bytes, tmp_path: Path) -> None:
    desk = client(tmp_path)
    bad = {"likeness": {"ceiling": {"whole": "x"}}}
    view = opened(desk, changed(sent, first_step("state", facts=bad))).json()
    while view["undo"]:
        view = post(desk, view, "undo")
    assert view["made"] == {}
    assert desk.get(f"/api/projects/{view['id']}/facts").status_code == 200


@pytest.mark.parametrize("cut", [0, 10, 2000, -1])
def test_a_file_cut_short_is_refused(sent: bytes, tmp_path: Path, cut: int) -> None:
    assert opened(client(tmp_path), sent[:cut]).status_code == 422
    assert list(tmp_path.iterdir()) == []
