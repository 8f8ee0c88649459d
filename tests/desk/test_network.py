"""The desk on the home network: who is let in, how it is known, and what a stranger gets."""

from __future__ import annotations

import datetime
import os
import socket
import ssl
import stat
import threading
import time
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import cv2
import httpx
import numpy as np
import pytest
import segno
from cryptography import x509
from starlette.testclient import TestClient

from pic2chart.core.errors import InputError, SettingError
from pic2chart.desk import certificate, connections, devices, network
from pic2chart.desk.certificate import certificate_for
from pic2chart.desk.devices import CODE_SECONDS, MOST_TRIES, Devices
from pic2chart.desk.guard import TOKEN as HEADER
from pic2chart.desk.guard import Guard
from pic2chart.desk.network import Network, Rates, open_network
from pic2chart.desk.network_routes import square
from pic2chart.desk.store import Store
from pic2chart.desk.web_app import make_app
from tests.helpers.desk_page import TOKEN, client, photo, running_desk, spoken_to


class Clock:
    """A clock that goes on when it is told to."""

    now = 1_000_000.0

    def __call__(self) -> float:
        return self.now


# The certificate


def test_a_certificate_is_made_once_and_only_its_owner_reads_its_key(tmp_path: Path) -> None:
    mask = os.umask(0o077)  # as opening a desk sets it
    try:
        first = certificate_for(tmp_path, "192.168.7.7")
    finally:
        os.umask(mask)
    assert certificate_for(tmp_path, "192.168.7.7") == first
    assert stat.S_IMODE(first.key.stat().st_mode) & 0o077 == 0
    der = ssl.PEM_cert_to_DER_cert(first.certificate.read_text())
    known = x509.load_der_x509_certificate(der)
    names = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert [str(one) for one in names.get_values_for_type(x509.IPAddress)] == ["192.168.7.7"]
    assert known.not_valid_after_utc - known.not_valid_before_utc <= datetime.timedelta(days=398)
    assert len(first.fingerprint) == 32 * 3 - 1


def test_a_certificate_for_another_address_or_a_spoilt_one_is_made_anew(tmp_path: Path) -> None:
    first = certificate_for(tmp_path, "192.168.7.7")
    moved = certificate_for(tmp_path, "10.0.0.4")
    assert moved.fingerprint != first.fingerprint
    for file in (moved.key, moved.certificate):
        file.write_text("spoilt")
        moved = certificate_for(tmp_path, "10.0.0.4")
        assert "BEGIN" in file.read_text()


def test_a_certificate_that_is_nearly_over_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(certificate, "_DAYS", 1)
    first = certificate_for(tmp_path, "192.168.7.7")
    monkeypatch.undo()
    assert certificate_for(tmp_path, "192.168.7.7").fingerprint != first.fingerprint


# Codes and keys


def test_a_code_lets_one_device_in_and_its_key_can_be_withdrawn(tmp_path: Path) -> None:
    known = Devices(tmp_path / "devices.json")
    key = known.let_in(known.new_code().lower(), "phone")
    assert known.knows(key)
    assert not known.knows(key + "x")
    assert key not in (tmp_path / "devices.json").read_text()
    again = Devices(tmp_path / "devices.json")
    assert again.knows(key)
    (one,) = again.shown()
    assert one["name"] == "phone"
    assert "key_hash" not in one
    again.withdraw(one["id"])
    assert not again.knows(key)
    assert not Devices(tmp_path / "devices.json").knows(key)


def test_a_code_is_good_once_for_a_while_and_for_a_few_tries(tmp_path: Path) -> None:
    clock = Clock()
    known = Devices(tmp_path / "devices.json", clock)
    with pytest.raises(SettingError, match="No code is waiting"):
        known.let_in("ABCD-EFGH", "")
    code = known.new_code()
    known.let_in(code, "one")
    with pytest.raises(SettingError, match="No code is waiting"):
        known.let_in(code, "two")
    code = known.new_code()
    clock.now += CODE_SECONDS
    with pytest.raises(SettingError, match="No code is waiting"):
        known.let_in(code, "late")
    code = known.new_code()
    for _ in range(MOST_TRIES):
        with pytest.raises(SettingError, match="not the code"):
            known.let_in("WRONG-ONE", "guess")
    with pytest.raises(SettingError, match="No code is waiting"):
        known.let_in(code, "after too many")


def test_there_is_an_end_to_devices(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(devices, "MOST_DEVICES", 2)
    known = Devices(tmp_path / "devices.json")
    for name in "ab":
        known.let_in(known.new_code(), name)
    with pytest.raises(SettingError, match="2 devices are let in already"):
        known.let_in(known.new_code(), "c")


@pytest.mark.parametrize("text", ["", "{", "[1]", '[{"id": 1}]', "[[]]", "\x00"])
def test_a_spoilt_list_of_devices_is_told(tmp_path: Path, text: str) -> None:
    (tmp_path / "devices.json").write_text(text)
    with pytest.raises(InputError):
        Devices(tmp_path / "devices.json")


def test_rates_refill(tmp_path: Path) -> None:
    clock = Clock()
    rates = Rates(each_second=1, burst=3, clock=clock)
    assert [rates.take("a") for _ in range(4)] == [True, True, True, False]
    assert rates.take("b")
    clock.now += 2
    assert [rates.take("a") for _ in range(3)] == [True, True, False]


# A desk on the network, over TLS


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[tuple[Network, Any]]:
    app = make_app(Store(tmp_path))
    with open_network(app, tmp_path / ".network", "127.0.0.1") as there:
        app.state.network = there
        yield there, app


def stranger(there: Network) -> httpx.Client:
    """A client that trusts this very certificate, and has no key."""
    trust = ssl.create_default_context(cafile=str(there.certificate.certificate))
    return httpx.Client(base_url=there.address, verify=trust, timeout=20)


@pytest.mark.network
def test_a_device_is_let_in_by_a_code_and_out_again(opened: tuple[Network, Any]) -> None:
    there, _ = opened
    with stranger(there) as phone:
        assert phone.get("/").status_code == 200
        assert phone.get("/api/desk").status_code == 401
        wrong = phone.post("/api/pair", json={"code": "ABCD-EFGH", "name": "phone"})
        assert (wrong.status_code, wrong.json()["error"][:7]) == (422, "No code")
        key = phone.post(
            "/api/pair", json={"code": there.devices.new_code(), "name": "phone"}
        ).json()["key"]
        phone.headers[HEADER] = key
        assert phone.get("/api/desk").status_code == 200
        made = phone.post("/api/projects?name=cat.jpg", content=photo(width=120))
        assert made.status_code == 200
        for path in ("/api/network", "/api/network/code", "/api/network/withdraw"):
            assert phone.get(path).status_code == phone.post(path, json={}).status_code == 403
        there.devices.withdraw(there.devices.shown()[0]["id"])
        assert phone.get("/api/desk").status_code == 401


@pytest.mark.network
def test_the_fingerprint_is_the_one_a_device_sees(opened: tuple[Network, Any]) -> None:
    there, _ = opened
    host, port = there.address.removeprefix("https://").rstrip("/").split(":")
    seen = ssl.PEM_cert_to_DER_cert(ssl.get_server_certificate((host, int(port))))
    assert sha256(seen).hexdigest() == there.certificate.fingerprint.replace(":", "").lower()
    with socket.create_connection((host, int(port)), timeout=5) as plain:
        plain.sendall(b"GET / HTTP/1.1\r\nhost: x\r\n\r\n")
        assert not plain.recv(100).startswith(b"HTTP/1.1 200")


@pytest.mark.network
@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"origin": "https://evil.example"},
        {"sec-fetch-site": "cross-site"},
    ],
)
def test_a_foreign_page_is_refused_on_the_network_too(
    opened: tuple[Network, Any], headers: dict[str, str]
) -> None:
    there, _ = opened
    with stranger(there) as phone:
        assert phone.get("/api/desk", headers=headers).status_code == 403


@pytest.mark.network
def test_whoever_tries_too_often_waits(opened: tuple[Network, Any]) -> None:
    there, _ = opened
    with stranger(there) as phone:
        phone.headers[HEADER] = "guessed"
        answers = [phone.get("/api/desk").status_code for _ in range(30)]
    assert answers[0] == 401
    assert answers[-1] == 429


@pytest.mark.network
def test_the_loopback_desk_hears_no_device_and_tells_no_network(
    opened: tuple[Network, Any],
) -> None:
    there, app = opened
    host = "127.0.0.1:8470"
    here = TestClient(Guard(app, TOKEN, [host]), base_url=f"http://{host}")
    key = there.devices.let_in(there.devices.new_code(), "phone")
    assert here.get("/api/network", headers={HEADER: key}).status_code == 401
    shown = here.get("/api/network", headers={HEADER: TOKEN}).json()
    assert shown["address"] == there.address
    made = here.post("/api/network/code", headers={HEADER: TOKEN}, json={}).json()
    assert made["code"][4] == "-"
    assert made["square"].startswith("<svg")


def test_a_desk_that_was_not_opened_to_it_has_no_network(tmp_path: Path) -> None:
    desk = client(tmp_path)
    assert desk.get("/api/network").json() == {"on": False}
    assert desk.post("/api/network/code", json={}).status_code == 404
    assert desk.post("/api/pair", json={"code": "ABCD-EFGH"}).status_code == 404


def test_an_address_of_all_the_world_is_not_listened_at(monkeypatch: pytest.MonkeyPatch) -> None:
    class Probe:
        """A socket whose own address is a public one (RFC 5737 would not do: that is private)."""

        def __init__(self, *kind: object) -> None: ...
        def connect(self, to: object) -> None: ...
        def close(self) -> None: ...
        def getsockname(self) -> tuple[str, int]:
            return "8.8.8.8", 1

    monkeypatch.setattr(network.socket, "socket", Probe)
    with pytest.raises(SettingError, match="none of a home network"):
        network.home_address()


def test_the_square_holds_the_address() -> None:
    """Read back by a decoder that knows nothing of how it was drawn."""
    text = "https://192.168.7.7:8490/#pair=ABCD-EFGH"
    assert square(text).startswith("<svg")
    dots = np.array([list(row) for row in segno.make(text, error="m", micro=False).matrix])
    picture = (
        np.kron(np.pad(1 - dots, 4, constant_values=1), np.ones((6, 6))).astype(np.uint8) * 255
    )
    assert cv2.QRCodeDetector().detectAndDecode(picture)[0] == text


# Connections


@pytest.mark.network
@pytest.mark.slow
def test_a_flood_of_silent_connections_keeps_nobody_out(tmp_path: Path) -> None:
    """Many more than are held, none of which says a word; the page answers all the while."""
    said = tmp_path / "said.txt"
    with (
        said.open("w") as errors,
        running_desk(tmp_path / "desk", errors=errors) as (process, address),
        spoken_to(address) as page,
    ):
        page.get("/api/alive").raise_for_status()
        host, port = page.base_url.host, page.base_url.port
        silent = []
        for number in range(3 * connections.MOST_SOCKETS):
            silent.append(socket.create_connection((host, port), timeout=5))
            if number % 100 == 0:
                began = time.monotonic()
                with spoken_to(address) as other:
                    assert other.get("/api/alive").status_code == 200
                assert time.monotonic() - began < 5
        handles = len(list(Path(f"/proc/{process.pid}/fd").iterdir()))
        assert handles < connections.MOST_SOCKETS + 100
        for one in silent:
            one.close()
        assert said.read_text().count("\n") <= 1  # that it is to be left running


@pytest.mark.network
def test_an_upload_that_is_broken_off_prints_nothing(tmp_path: Path) -> None:
    said = tmp_path / "said.txt"
    with said.open("w") as errors, running_desk(tmp_path / "desk", errors=errors) as (_, address):
        key = address.partition("key=")[2]
        where = address.split("/")[2]
        head = f"POST /api/projects?name=cat.jpg HTTP/1.1\r\nhost: {where}\r\n{HEADER}: {key}\r\n"
        for _ in range(5):
            with socket.create_connection(tuple(where.split(":")), timeout=5) as cut:
                cut.sendall(f"{head}content-length: 90000\r\n\r\n".encode() + b"x" * 5000)
        with spoken_to(address) as page:
            assert page.get("/api/desk").json()["projects"] == []
        time.sleep(0.3)
    assert said.read_text().count("\n") <= 1


@pytest.mark.network
@pytest.mark.slow
def test_a_head_that_never_ends_is_not_waited_for(tmp_path: Path) -> None:
    with running_desk(tmp_path) as (_, address):
        port = int(address.split(":")[2].split("/")[0])
        with socket.create_connection(("127.0.0.1", port), timeout=30) as slow:
            began = time.monotonic()
            slow.sendall(b"GET / HTTP/1.1\r\nhost: 127.0.0.1\r\nx-slow: ")
            stop = threading.Event()

            def drip() -> None:
                while not stop.wait(1):
                    try:
                        slow.sendall(b"x")
                    except OSError:
                        return

            threading.Thread(target=drip, daemon=True).start()
            try:
                while slow.recv(1000):
                    pass
            except OSError:
                pass
            stop.set()
        assert time.monotonic() - began < connections.HEAD_SECONDS + 8
