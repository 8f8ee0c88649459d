"""The devices of the home network that may use the desk, and how a new one is let in.

A device shows a code that stands on the desk's own screen; it is good for one device and a few
minutes, and a few wrong tries end it. The device gets a key of its own, of which the desk keeps the
hash only, and which can be withdrawn.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from pic2chart.core.errors import InputError, SettingError
from pic2chart.core.files import read_text, write_atomic
from pic2chart.core.messages import message
from pic2chart.model import plain_json

CODE_SECONDS = 300
MOST_TRIES = 5
MOST_DEVICES = 20
_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Letters of a code: none that is taken for another, I, O, 0 and 1 left out."""
_CODE_LENGTH = 8
_SEEN_SECONDS = 60
"""How often it is written down that a device was seen."""


@dataclass(frozen=True, slots=True)
class Device:
    """A device that was let in; times in milliseconds since 1970."""

    id: str
    name: str
    key_hash: str
    since_ms: int
    seen_ms: int

    def to_dict(self) -> dict[str, Any]:
        """What the desk's page shows; never its key."""
        return {name: value for name, value in asdict(self).items() if name != "key_hash"}


@dataclass(slots=True)
class _Code:
    letters: str
    until: float
    tries: int = 0


class Devices:
    """Devices by their keys, in a file. Safe to be used by several threads. `clock` gives seconds.

    Raises InputError when the file cannot be read.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.time) -> None:
        self._path, self._clock = path, clock
        self._lock = threading.Lock()
        self._code: _Code | None = None
        self._devices = {one.key_hash: one for one in _read(path)} if path.exists() else {}

    def new_code(self) -> str:
        """A code for one device, in place of any given before."""
        letters = "".join(secrets.choice(_LETTERS) for _ in range(_CODE_LENGTH))
        with self._lock:
            self._code = _Code(letters, self._clock() + CODE_SECONDS)
        return f"{letters[:4]}-{letters[4:]}"

    def let_in(self, code: str, name: str) -> str:
        """The key for a device that shows the code. Raises SettingError when it is not the one."""
        letters = "".join(letter for letter in code.upper() if letter.isalnum())
        with self._lock:
            known, now = self._code, self._clock()
            if known is None or now >= known.until:
                self._code = None
                raise SettingError(message("no-code-now"))
            known.tries += 1
            right = secrets.compare_digest(letters.encode(), known.letters.encode())
            if right or known.tries >= MOST_TRIES:
                self._code = None
            if not right:
                raise SettingError(message("code-is-wrong"))
            if len(self._devices) >= MOST_DEVICES:
                raise SettingError(message("too-many-devices", most=MOST_DEVICES))
            key = secrets.token_urlsafe(32)
            at = int(now * 1000)
            device = Device(secrets.token_hex(6), name or "a device", _hash(key), at, at)
            self._save({**self._devices, device.key_hash: device})
            return key

    def knows(self, key: str) -> bool:
        """Whether that is the key of a device that was let in and not withdrawn."""
        with self._lock:
            device = self._devices.get(_hash(key))  # of a hash, the time to find it tells nothing
            if device is None:
                return False
            now = int(self._clock() * 1000)
            if now - device.seen_ms > 1000 * _SEEN_SECONDS:
                seen = replace(device, seen_ms=now)
                self._save({**self._devices, seen.key_hash: seen})
            return True

    def withdraw(self, id: str) -> None:
        """Take a device's key back; from now on it is not heard."""
        with self._lock:
            self._save({k: one for k, one in self._devices.items() if one.id != id})

    def shown(self) -> list[dict[str, Any]]:
        """The devices, the one let in last first."""
        with self._lock:
            devices = sorted(self._devices.values(), key=lambda one: -one.since_ms)
        return [one.to_dict() for one in devices]

    def _save(self, devices: dict[str, Device]) -> None:
        write_atomic(self._path, json.dumps([asdict(one) for one in devices.values()], indent=1))
        self._devices = devices


def _hash(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def _read(path: Path) -> list[Device]:
    what = "list of devices"
    rows = plain_json.parse(read_text(path, 1_000_000, what), what)
    try:
        return [Device(**row) for row in plain_json.sequence(rows, what, 0, 1000)]
    except TypeError as error:
        raise InputError(message("devices-unreadable", path=str(path))) from error
