"""Whatever a request holds, the desk answers in a sentence of its own that prints."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.helpers.desk_page import begin, client, photo


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.mark.parametrize("body", [b"\xff\xfe", b"{", b"", b"[" * 5000, b'"\\ud800"'], ids=repr)
def test_a_body_that_cannot_be_parsed_is_told_in_our_words(desk: TestClient, body: bytes) -> None:
    answer = desk.post(
        "/api/projects/blank", content=body, headers={"content-type": "application/json"}
    )
    assert answer.status_code in (400, 422)
    assert answer.json()["error"].startswith("The request cannot be read: ")


def test_addresses_and_methods_that_are_not_there(desk: TestClient) -> None:
    for answer, status in ((desk.get("/api/nothing"), 404), (desk.put("/api/shelf"), 405)):
        assert answer.status_code == status
        assert "; open its page anew." in answer.json()["error"]


def test_no_control_character_comes_back(desk: TestClient) -> None:
    name = "a\x1b]0;b\x07\u202ec\u2028.png"
    answer = desk.post("/api/projects", params={"name": name}, content=b"no picture")
    assert answer.status_code == 422
    view = begin(desk, content=photo(width=80))
    edit = {"kind": "\x1b[2J\x9b", "stitches": []}
    sent = {"revision": view["revision"], "edit": edit}
    other = desk.post(f"/api/projects/{view['id']}/edit", json=sent)
    assert other.status_code == 422
    for told in (answer, other):
        assert told.json()["error"].isprintable()


@pytest.mark.parametrize("metres", [1e-308, 5e-324, 0.09])
def test_a_yarn_of_no_length_is_refused_and_the_amounts_go_on(
    desk: TestClient, metres: float
) -> None:
    yarn: dict[str, Any] = {"name": "rope", "colour": "#ece2d0", "m_per_100g": metres}
    answer = desk.post("/api/yarns", json={"yarn": yarn})
    assert answer.status_code == 422
    assert "no yarn has less than 0.1" in answer.json()["error"]
    shelf = f"name,colour,m_per_100g\nlight,#ece2d0,{metres}\ndark,#26304c,210\n"
    assert desk.post("/api/shelf", content=shelf.encode()).status_code == 200
    blank = desk.post("/api/projects/blank", json={"stitches": 12, "rounds": 8}).json()
    facts = desk.get(f"/api/projects/{blank['id']}/facts")
    assert facts.status_code == 200
    assert "inf" not in json.dumps(facts.json()).lower().replace("info", "")


def test_a_photo_that_ends_its_decoder_is_one_refused_picture(
    desk: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The rest of the desk goes on, and the picture's name is the page's."""
    from pic2chart.core import confined

    def ended(*asked: object) -> None:
        raise confined._EndedError(late=False)

    with monkeypatch.context() as broken, confined.confining():
        broken.setattr(confined, "_requested", ended)
        answer = desk.post("/api/projects", params={"name": "dog.jpg"}, content=photo(width=80))
    assert answer.status_code == 422
    said = answer.json()["error"]
    assert said.startswith("'dog.jpg' cannot be read: the process that decodes it ended")
    assert begin(desk, content=photo(width=80))["id"]
