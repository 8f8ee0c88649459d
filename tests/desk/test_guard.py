"""The desk's door: who may speak, how much is taken, how it opens, who may read what it writes."""

from __future__ import annotations

import os
import socket
import stat
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from pic2chart.core.errors import OutputError, SettingError
from pic2chart.core.locks import held
from pic2chart.desk import guard, serve
from pic2chart.desk.serve import LOCK, OPENER, _browse, _listening
from pic2chart.desk.store import Store
from tests.helpers.desk_page import (
    HOST,
    TOKEN,
    begin,
    client,
    desk_app,
    photo,
    running_desk,
    spoken_to,
)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    return client(tmp_path_factory.mktemp("desk"))


@pytest.fixture
def cat(desk: TestClient) -> dict[str, Any]:
    return begin(desk)


# Who may speak


def test_without_the_token_nothing_is_told(desk: TestClient, cat: dict[str, Any]) -> None:
    """The bare page is the program's own files; whatever is somebody's needs the token."""
    stranger = TestClient(desk.app, base_url=f"http://{HOST}")
    paths = ("/api/desk", "/api/alive", "/openapi.json", f"/api/projects/{cat['id']}/picture")
    for path in paths:
        for told in ({}, {guard.TOKEN: TOKEN + "x"}, {"cookie": f"{guard.TOKEN}={TOKEN}"}):
            assert stranger.get(path, headers=told).status_code == 401
    assert stranger.post("/", content=b"x").status_code == 401
    for path in ("/", "/static/main.js"):
        assert stranger.get(path).status_code == 200
        assert TOKEN not in stranger.get(path).text


def test_no_cookie_goes_to_every_port_of_this_machine(desk: TestClient) -> None:
    for path in ("/", f"/?key={TOKEN}", "/api/desk"):
        assert "set-cookie" not in desk.get(path).headers


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"host": "127.0.0.1:9999"},
        {"host": "127.0.0.1"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": f"https://{HOST}"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_foreign_host_or_origin_is_refused(desk: TestClient, headers: dict[str, str]) -> None:
    for method in ("GET", "POST"):
        answer = desk.request(method, "/api/desk", headers=headers)
        assert answer.status_code == 403
        assert answer.json()["error"].endswith(".")


def test_its_own_page_is_heard(desk: TestClient) -> None:
    own = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin"}
    assert desk.get("/api/desk", headers=own).status_code == 200


def test_browsers_are_told_to_run_and_load_nothing_foreign(desk: TestClient) -> None:
    page = desk.get("/")
    policy = page.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert page.headers["x-content-type-options"] == "nosniff"
    assert " style=" not in page.text
    assert " onclick=" not in page.text
    assert "<script>" not in page.text
    for name in desk.app._app.state.parts:  # type: ignore[attr-defined]
        text = desk.get(f"/static/{name}").text
        assert not [word for word in ("https://", "innerHTML", "eval(") if word in text], name


@pytest.mark.parametrize(
    "path",
    ["/static/../app.py", "/static/%2e%2e%2fapp.py", "/static/app.py", "/static//etc/passwd"],
)
def test_no_path_reaches_the_file_system(desk: TestClient, path: str) -> None:
    assert desk.get(path).status_code == 404


@pytest.mark.parametrize(
    "name", ["..", "%2e%2e", "removed", ".desk", "a" * 12, "A" * 12, "shelf.csv"]
)
def test_a_project_is_found_by_its_number_only(desk: TestClient, name: str) -> None:
    for path in (f"/api/projects/{name}", f"/api/projects/{name}/picture"):
        assert desk.get(path).status_code in (404, 405)


# How much is taken


def test_an_oversize_upload_is_refused_before_it_is_read(
    desk: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "MAX_UPLOAD", 5000)
    before = desk.get("/api/desk").json()["projects"]
    told = desk.post("/api/projects", content=b"x" * 6000)
    assert (told.status_code, told.json()) == (413, {"error": "That is larger than 0 MB."})
    untold = desk.post("/api/projects", content=(b"x" * 1000 for _ in range(6)))
    assert untold.status_code == 413
    lied = desk.post("/api/projects", content=b"x", headers={"content-length": "minus"})
    assert lied.status_code == 413
    assert desk.get("/api/desk").json()["projects"] == before


def test_requests_that_are_no_uploads_stay_small(desk: TestClient, cat: dict[str, Any]) -> None:
    big = {"revision": 1, "edit": {"kind": "paint", "ballast": "x" * (guard.MAX_REQUEST + 1)}}
    assert desk.post(f"/api/projects/{cat['id']}/edit", json=big).status_code == 413


BOMB = (
    b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\xff\xff\x00\x00\xff\xff\x08\x02\x00\x00\x00"
    b"\x00\x00\x00\x00"
)
"""A PNG header that promises 65535 × 65535 pixels (ISO/IEC 15948)."""


@pytest.mark.parametrize("kind", ["picture", "chart"])
@pytest.mark.parametrize(
    "content",
    [b"", b"not a picture", BOMB, photo(width=200)[:1500], b"<svg onload='x'/>", b"{" * 3000],
    ids=["empty", "text", "bomb", "cut short", "svg", "nested"],
)
def test_hostile_uploads_get_one_sentence_and_leave_nothing(
    tmp_path: Path, kind: str, content: bytes
) -> None:
    desk = client(tmp_path)
    answer = desk.post(f"/api/projects?kind={kind}&name=../../harbour.png", content=content)
    assert answer.status_code == 422
    words = answer.json()["error"]
    assert words.endswith(".")
    assert str(tmp_path) not in words
    assert "picture-" not in words
    assert [entry.name for entry in tmp_path.iterdir()] == []


# Opening


def test_one_desk_a_folder(tmp_path: Path) -> None:
    mask = os.umask(0o077)  # which opening a desk sets
    try:
        with held(tmp_path / LOCK, "taken"), pytest.raises(OutputError, match="already open"):
            serve.serve(tmp_path, None, False, lambda address: pytest.fail("it opened"))
    finally:
        os.umask(mask)


def test_a_taken_port_is_named_and_a_free_one_found() -> None:
    """The port is taken, and answers, as soon as it is chosen: a page may be asked for at once."""
    with _listening(None) as first, _listening(None) as second:
        address, port = first.getsockname()
        assert address == "127.0.0.1"
        assert second.getsockname()[1] != port
        socket.create_connection((address, port), timeout=5).close()
        with pytest.raises(SettingError, match=str(port)):
            _listening(port)


def test_the_browser_is_not_told_the_token_where_every_user_can_read_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []
    monkeypatch.setattr("webbrowser.open", told.append)
    before = os.umask(0o077)  # as `serve` sets it
    try:
        _browse(tmp_path / OPENER, f"http://{HOST}/?key={TOKEN}")
    finally:
        os.umask(before)
    assert told == [(tmp_path / OPENER).as_uri()]
    assert TOKEN in (tmp_path / OPENER).read_text()
    assert stat.S_IMODE((tmp_path / OPENER).stat().st_mode) == 0o600


@pytest.mark.network
@pytest.mark.skipif(os.name != "posix", reason="other systems have other rights")
def test_what_the_desk_writes_is_for_its_owner_only(tmp_path: Path) -> None:
    with running_desk(tmp_path / "desk") as (_, where), spoken_to(where) as page:
        assert page.post("/api/projects?name=cat.jpg", content=photo(width=60)).status_code == 200
    for entry in (tmp_path / "desk", *(tmp_path / "desk").rglob("*")):
        assert stat.S_IMODE(entry.stat().st_mode) & 0o077 == 0, entry


def test_the_desk_listens_to_no_other_scope(tmp_path: Path) -> None:
    app = desk_app(tmp_path)
    outer = TestClient(app, base_url=f"http://{HOST}")
    with pytest.raises(WebSocketDisconnect), outer.websocket_connect("/ws"):
        pass


def test_few_projects_stay_in_memory(tmp_path: Path) -> None:
    store = Store(tmp_path)
    desk = client(tmp_path)
    numbers = [begin(desk)["id"] for _ in range(9)]
    for number in numbers:
        assert store.get(number) is not None
    assert len(store._recent) < len(numbers)
    held = store.get(numbers[0])
    assert store.get(numbers[0]) is held
    assert isinstance(np.asarray(held.now.state.chart.stitches), np.ndarray)  # type: ignore[union-attr]
