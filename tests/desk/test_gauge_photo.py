"""The gauge counted on a photo of a swatch at the desk: by a coin, a ruler, a length and by hand."""

from __future__ import annotations

import io
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, expect

from pic2chart.desk.form import gauge_form
from pic2chart.desk.guard import MAX_REQUEST
from pic2chart.reading.reading_settings import GaugeSettings
from tests.bench.swatch_trial import LEVELS
from tests.helpers.coins import ONE_EURO_MM, coin_scene
from tests.helpers.desk_browser import COMPLAINTS, axe, opened, settled, started
from tests.helpers.desk_page import client
from tests.helpers.loops import Knit
from tests.helpers.photograph import photograph
from tests.helpers.places import SAMPLES
from tests.helpers.rulers import Ruler, ruler_scene

ASKED = "/api/reading/gauge"
KNIT = Knit("plain", (20.0, 26.0), size=(110.0, 100.0), seed=4)


def png(picture: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "PNG", compress_level=0)
    return out.getvalue()


def taken(page: np.ndarray) -> bytes:
    """A photo of it as a file, larger than what is no photo may be."""
    shot = replace(LEVELS["easy"], tilt=2.0, size=(1600, 1200), fill=0.95, seed=1, roll=9)
    data = png(photograph(page, shot)[0])
    assert len(data) > MAX_REQUEST
    return data


@pytest.fixture(scope="module")
def beside_a_coin() -> bytes:
    return taken(coin_scene(KNIT, ONE_EURO_MM, 1))


def two(gauge: str) -> list[float]:
    return [float(part) for part in gauge.split("x")]


@pytest.mark.slow
def test_a_coin_or_a_ruler_gives_the_scale(tmp_path: Path, beside_a_coin: bytes) -> None:
    ruler = taken(ruler_scene(KNIT, Ruler(length=180.0, width=22.0, seed=1), 4.0))
    with client(tmp_path) as at:
        answers = [
            at.post(f"{ASKED}?coin_mm={ONE_EURO_MM}", content=beside_a_coin).json(),
            at.post(f"{ASKED}?ruler=true", content=ruler).json(),
        ]
    for answer, on in zip(answers, ("the coin's edge", "ticks 4 cm apart"), strict=True):
        assert two(answer["gauge"]) == pytest.approx([20.0, 26.0], rel=0.02)
        assert "±" in answer["verdict"]
        assert answer["check"].startswith("Check that every line lies on")
        assert answer["check"].endswith(f"{on}.")
        assert answer["overlay"].startswith("data:image/jpeg;base64,/9j/")
    assert not list(tmp_path.glob(".photo-*"))


def test_counts_between_marks_on_a_length_give_the_gauge(tmp_path: Path) -> None:
    plain = png(np.full((900, 1200, 3), 150, np.uint8))
    asked = (
        f"{ASKED}?between=100,800,1100,800&cm=10&stitches_along=100,100,600,100&stitches_counted=20"
        "&rounds_along=300,200,300,700&rounds_counted=30"
    )
    with client(tmp_path) as at:
        answer = at.post(asked, content=plain).json()
    assert answer["gauge"] == "40.0x60.0"


def test_what_is_refused_is_said_in_the_words_of_the_page(tmp_path: Path) -> None:
    plain = png(np.full((600, 800, 3), 150, np.uint8))
    with client(tmp_path) as at:
        coin = at.post(f"{ASKED}?coin_mm=23.25", content=plain)
        card = at.post(ASKED, content=plain)
        large = at.post(f"{ASKED}?coin_mm=600", content=plain)
        both = at.post(f"{ASKED}?coin_mm=20&ruler=true", content=plain)
    assert {one.status_code for one in (coin, card, large, both)} == {422}
    assert "No coin is found in 'the photo'" in coin.json()["error"]
    assert "'A length you mark' and 'That length'" in coin.json()["error"]
    assert "say 'A ruler or tape measure'" in card.json()["error"]
    assert "'The coin's width'" in large.json()["error"]
    assert "are both given" in both.json()["error"]


def test_the_form_has_every_option_of_a_gauge() -> None:
    assert [field["name"] for field in gauge_form()] == [f.name for f in fields(GaugeSettings)]
    for field in gauge_form():
        assert "pixel" not in field["help"]
        assert "option" not in field["help"]
        assert "_" not in field["label"]


@pytest.mark.network
@pytest.mark.slow
def test_a_gauge_is_counted_and_taken_on_the_page(
    browser: Browser, address: str, beside_a_coin: bytes, tmp_path: Path
) -> None:
    photo = tmp_path / "swatch.png"
    photo.write_bytes(beside_a_coin)
    page = opened(browser, address)
    started(page, SAMPLES / "tabby.png")
    page.set_input_files("#gauge-photo", photo)
    dialog = page.locator("#ask")
    # Points are shown where they are wanted, and move by keys.
    dialog.get_by_label("Beside the swatch lies").select_option(label="A length you mark")
    dialog.get_by_label("I count stitches and rounds myself").check()
    expect(dialog.locator(".corner")).to_have_count(6)
    mark = dialog.get_by_role("button", name="A length you mark, first")
    before = mark.evaluate("node => node.style.left")
    mark.press("ArrowRight")
    assert mark.evaluate("node => node.style.left") != before
    assert axe(page, "marks on a swatch") == []
    # Nothing is asked while a number is missing.
    dialog.get_by_role("button", name="Count", exact=True).click()
    assert dialog.get_by_label("That length").evaluate("node => node === document.activeElement")
    dialog.get_by_label("I count stitches and rounds myself").uncheck()
    dialog.get_by_label("Beside the swatch lies").select_option(label="A coin")
    expect(dialog.locator(".corner")).to_have_count(0)
    dialog.get_by_label("The coin's width").fill(str(ONE_EURO_MM))
    dialog.get_by_role("button", name="Count", exact=True).click()
    expect(dialog).to_contain_text("rounds in 10 cm. Check that", timeout=90_000)
    expect(dialog.get_by_role("img", name="The swatch with what was counted")).to_be_visible()
    assert axe(page, "a gauge that was counted") == []
    dialog.get_by_role("button", name="Take this gauge").click()
    expect(page.locator("#gauge-stitches")).not_to_have_value("28", timeout=60_000)
    settled(page)
    found = [float(page.locator(f"#gauge-{word}").input_value()) for word in ("stitches", "rounds")]
    assert found == pytest.approx([20.0, 26.0], rel=0.02)
    assert not COMPLAINTS
    page.context.close()
