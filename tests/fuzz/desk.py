"""Try a desk with very many requests made by structure, for as long as one likes.

    python -m tests.fuzz.desk --inputs 5000 [--seed 1]

What is asked: the gauge of a photo, lists of yarns sent (CSV, xlsx, ods), yarns put, taken and put
back, and the file of them. Numbers that are none, marks of other scripts, paths, damaged photos and
lists. Every answer must be a known status, a refusal one sentence without control signs; the yarns
must be readable after each, nothing half read may stay, and no file may lie outside the desk's
folder. Prints how many were tried and taken; the status is 1 when anything was wrong.
"""

from __future__ import annotations

import argparse
import io
import json
import random
import sys
import tempfile
import time
import unicodedata
from collections import Counter
from pathlib import Path
from urllib.parse import urlencode

import httpx
import numpy as np
from PIL import Image
from starlette.testclient import TestClient

from tests.fuzz import structure
from tests.fuzz.readers import READERS, leave
from tests.helpers.desk_page import HEADER as KEY
from tests.helpers.desk_page import HOST, TOKEN, desk_app

STATUSES = {200, 400, 403, 404, 409, 413, 415, 422}
NUMBERS = (
    *("0", "-1", "1", "4", "10", "23.25", "60", "400", "1e308", "1e-308", "5e-324", "nan", "inf"),
    *("-inf", "9" * 400, "1,5", "٣", "", " ", "0x10", "true", "1e999", "None", "1\x00", "½"),
)
POINTS = (
    *("10,10,150,10", "0,0,160,0,160,120,0,120", "0,0,0,0", "10,10,10,10", "1,2,3", "nan,1,2,3"),
    *("1e308,1,-1e308,2", "-5,-5,900,900", "a,b,c,d", "1;2;3;4", ",,,", "1,2,3,4," * 40, "\u202e"),
    *("10,10,150,10,20", "10.5,10.5,150.25,10", "9" * 60 + ",1,2,3", "../../etc/passwd", "1,2,3,∞"),
)
NAMES = (
    *("oat", "ink", "OAT", "", " ", "../../up", "a" * 60, "a" * 61, "\x00", "\x1b[2J", "=1+1"),
    *("é", "e\u0301", "\u202e", "'", '"', ",", "\ud83e", "oat, lot 1", "<b>", "\n", "CON"),
)
COLOURS = ("#ece2d0", "#26304c", "navy", "#zzz", "", "#12345", "rgb(1)", "lab(50,0,0)", "#ECE2D0")
SMALL: dict[str, tuple[str, ...]] = {
    "card": POINTS,
    "between": POINTS,
    "cm": NUMBERS,
    "coin_mm": NUMBERS,
    "ruler": ("true", "false", "1", "maybe"),
    "stitches_along": POINTS,
    "stitches_counted": NUMBERS,
    "rounds_along": POINTS,
    "rounds_counted": NUMBERS,
}
GOOD = (
    {
        "between": "10,110,150,110",
        "cm": "10",
        "stitches_along": "10,10,90,10",
        "stitches_counted": "20",
        "rounds_along": "30,20,30,100",
        "rounds_counted": "30",
    },
    {"between": "10,110,150,110", "cm": "10"},
    {"coin_mm": "23.25"},
    {"ruler": "true"},
    {"card": "10,10,90,12,88,60,12,58"},
)


def photos() -> tuple[bytes, ...]:
    """Small photos: plain, and of noise."""
    rng, made = np.random.default_rng(1), []
    for pixels in (np.full((120, 160, 3), 150, np.uint8), rng.integers(0, 256, (120, 160, 3), "B")):
        for form in ("PNG", "JPEG"):
            out = io.BytesIO()
            Image.fromarray(pixels).save(out, form)
            made.append(out.getvalue())
    return tuple(made)


def gauge(dice: random.Random, at: TestClient, bodies: tuple[bytes, ...]) -> httpx.Response:
    """The gauge of a photo, with options of which one to three are others, more or fewer."""
    asked = dict(dice.choice(GOOD))
    for _ in range(dice.choice((0, 1, 1, 2, 3))):
        name = dice.choice((*asked, *SMALL)) if dice.random() < 0.9 else dice.choice(NAMES)
        if dice.random() < 0.15:
            asked.pop(name, None)
        else:
            asked[name] = dice.choice(SMALL.get(name, NAMES))
    body = dice.choice(bodies)
    if dice.random() < 0.2:
        body = structure.picture(dice, body)
    return at.post(f"/api/reading/gauge?{_query(asked)}", content=body)


def sent(
    dice: random.Random, at: TestClient, lists: tuple[tuple[str, bytes], ...]
) -> httpx.Response:
    """A list of yarns, sent as the desk's, or as a chart."""
    kind, body = dice.choice(lists)
    if dice.random() < 0.8:
        shape = READERS[kind].structured
        assert shape is not None
        body = shape(dice, body)
    name = dice.choice(("mine.xlsx", "mine.ods", "mine.csv", *NAMES))
    where = "/api/shelf" if dice.random() < 0.85 else "/api/projects"
    asked = {"name": name} | ({} if where == "/api/shelf" else {"kind": "chart"})
    return at.post(f"{where}?{_query(asked)}", content=body)


def yarns(dice: random.Random, at: TestClient) -> httpx.Response:
    """A yarn put, changed or taken away, the last change taken back, sets, or the file."""
    way = dice.randrange(6)
    if way == 0:
        return at.post("/api/yarns/back", content=dice.choice((b"", b"{}", b"[" * 9000, b"\xff")))
    if way == 1:
        return _json(at, "/api/yarns/remove", {"name": dice.choice((*NAMES, 1, None, ["oat"]))})
    if way == 2:
        asked = {"count": dice.choice(NUMBERS), "gap": dice.choice(NUMBERS)}
        return at.get(f"/api/yarns/sets?{_query(asked)}")
    if way == 3:
        return at.get("/api/yarns/file")
    yarn: dict[str, object] = {"name": dice.choice(NAMES), "colour": dice.choice(COLOURS)}
    for name in ("weight", "m_per_100g", "grams", "price", "lot", "note"):
        if dice.random() < 0.3:
            yarn[name] = dice.choice((*NAMES, 0, -1, 1e-308, 1e7, 50, 10**30, None, True, []))
    was = dice.choice((None, None, *NAMES))
    return _json(at, "/api/yarns", {"was": was, "yarn": yarn})


def _json(at: TestClient, path: str, plain: object) -> httpx.Response:
    return at.post(path, content=json.dumps(plain), headers={"content-type": "application/json"})


def _query(asked: dict[str, str]) -> str:
    return urlencode(asked, errors="surrogatepass")


def wrong(answer: httpx.Response) -> str | None:
    """What is wrong with an answer, None when nothing is."""
    if answer.status_code not in STATUSES:
        return f"{answer.status_code}: {answer.text[:300]}"
    if answer.status_code == 200:
        return None
    said = str(answer.json().get("error", ""))
    if not said.strip() or len(said) > 2000:
        return f"{answer.status_code} without a sentence: {answer.text[:300]}"
    signs = [sign for sign in said if unicodedata.category(sign) in ("Cc", "Cf", "Cs")]
    return f"control signs {signs} in {said[:300]!r}" if signs else None


def around(root: Path, outside: frozenset[str]) -> str | None:
    """What lies where it should not, None when nothing does."""
    now = frozenset(path.name for path in root.parent.iterdir())
    half = [p.name for p in root.iterdir() if p.name.startswith((".photo-", "shelf-waiting-", "."))]
    if now != outside or half:
        return f"files {sorted(now - outside)} outside, {half} left"
    return None


def main() -> int:
    """Try, and tell."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--inputs", type=int, default=5000)
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    bodies = photos()
    lists = tuple((kind, seed) for kind in ("shelf", "workbook") for seed in READERS[kind].seeds())
    counts, faults, began = Counter[str](), list[str](), time.process_time()
    with tempfile.TemporaryDirectory() as place:
        root = Path(place) / "desk"
        guarded = desk_app(root)
        outside = frozenset(path.name for path in root.parent.iterdir())
        at = TestClient(
            guarded,
            base_url=f"http://{HOST}",
            headers={KEY: TOKEN},
            raise_server_exceptions=False,
        )
        for number in range(options.inputs):
            dice = random.Random(f"{options.seed} {number}")
            kind = dice.choice(("gauge", "gauge", "a list", "yarns"))
            if kind == "gauge":
                answer = gauge(dice, at, bodies)
            elif kind == "a list":
                answer = sent(dice, at, lists)
            else:
                answer = yarns(dice, at)
            counts[f"{kind} {answer.status_code}"] += 1
            fault = wrong(answer) or around(root, outside)
            if fault is None and kind != "gauge":
                fault = wrong(after := at.get("/api/yarns"))
                if after.status_code != 200:
                    fault = f"the yarns cannot be read: {after.text[:300]}"
            if fault is not None and len(faults) < 20:
                faults.append(fault)
                print(f"input {number}, {kind}: {fault}", flush=True)
    leave()
    told = ", ".join(f"{what}: {count}" for what, count in sorted(counts.items()))
    print(
        f"{options.inputs} requests, {len(faults)} faults ({told}), {time.process_time() - began:.0f} s"
    )
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
