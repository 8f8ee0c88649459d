"""The contact sheet in a real browser, the booklet page by page, and the commands."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from pic2chart.cli import app as shell
from pic2chart.core.errors import SettingError
from pic2chart.library.booklet import booklet_pdf
from pic2chart.library.catalogue import reading
from pic2chart.library.indexing import card
from pic2chart.library.motif import MotifRecord
from pic2chart.library.pages import contact_html
from pic2chart.library.plates import LAYOUTS, plate
from pic2chart.sheets.marks.page import Lines
from tests.helpers.chromium import chromium, until
from tests.helpers.library_runs import contents, run, small_folder
from tests.helpers.mixed_folder import RECIPE, write_mixed

HOSTILE = "</script><img src=x onerror=alert(1)>'\"&"


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library of 24 mixed pictures."""
    place = tmp_path_factory.mktemp("mixed")
    write_mixed(place / "pictures", 24)
    (place / "recipe.toml").write_text(RECIPE)
    words = ["library", str(place / "pictures"), "--out", str(place / "out"), "--quiet"]
    assert shell.run([*words, "--recipe", str(place / "recipe.toml"), "--jobs", "1"]) in (0, 1)
    return place / "out"


@pytest.fixture(scope="module")
def motifs(library: Path) -> list[MotifRecord]:
    with reading(library) as catalogue:
        return list(catalogue.motifs())


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api")
    flags = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run"
    quiet = "--disable-background-networking --disable-component-update --disable-sync"
    with playwright.sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=chromium(), args=f"{flags} {quiet}".split())
        yield opened
        opened.close()


def _open(browser: Any, page: Path, size: tuple[int, int] = (1280, 900)) -> Any:
    opened = browser.new_page(viewport={"width": size[0], "height": size[1]})
    opened.said = []
    opened.on("console", lambda message: opened.said.append(message.text))
    opened.on("pageerror", lambda error: opened.said.append(str(error)))
    opened.on("dialog", lambda dialog: opened.said.append("dialog") or dialog.dismiss())
    opened.context.set_offline(True)
    opened.goto(page.as_uri())
    opened.wait_for_selector(".card")
    return opened


def plain_cards(motifs: list[MotifRecord], alike: list[Any] | None = None) -> list[str]:
    """The cards as the catalogue keeps them, the first like others."""
    return [
        json.dumps(
            {
                "n": m.number,
                "state": m.state,
                "why": m.why,
                "alike": (alike or []) if i == 0 else [],
            }
            | card([m])
        )
        for i, m in enumerate(motifs)
    ]


def _titles(page: Any) -> list[str]:
    """Titles of the cards in view, as a reader meets them."""
    return page.evaluate(
        "pool.filter((c) => !c.item.hidden).sort((a, b) => a.at - b.at).map((c) => c.motif.title)"
    )


def test_sorting_and_filters(browser: Any, library: Path, motifs: list[MotifRecord]) -> None:
    page = _open(browser, library / "contact-sheet.html", (1400, 2000))
    assert page.locator("#count").inner_text() == "24 motifs"
    assert _titles(page) == [motif.title for motif in motifs]
    page.select_option("[name=sort]", "difficulty")
    order = sorted(motifs, key=lambda m: (m.difficulty, m.number))
    assert _titles(page) == [motif.title for motif in order]
    page.select_option("[name=sort]", "-likeness")
    order = sorted(motifs, key=lambda m: (m.likeness is None, -(m.likeness or 0), m.number))
    assert _titles(page) == [motif.title for motif in order]
    page.fill("[name=words]", "sign SEA")
    signs = [m for m in motifs if "sign" in m.tags]
    assert page.locator("#count").inner_text() == f"{len(signs)} of 24 motifs"
    page.fill("[name=words]", "")
    page.fill("[name=round]", "48")
    fitting = [m for m in motifs if 48 % m.repeat_stitches == 0]
    assert len(_titles(page)) == len(fitting) > 0
    page.fill("[name=words]", "no such thing")
    assert page.locator("#empty").is_visible()
    page.click("[type=reset]")
    until(page, "view.length === 24")
    page.select_option("[name=yarn]", "slate")
    assert len(_titles(page)) == sum(
        "slate" in {y.name for y in m.yarns if y.stitches} for m in motifs
    )
    assert page.said == []


def test_the_detail_of_a_motif_and_its_files(browser: Any, library: Path) -> None:
    page = _open(browser, library / "contact-sheet.html")
    page.locator(".card").first.click()
    detail = page.locator("dialog")
    assert detail.is_visible()
    assert "of 10" in detail.locator("summary").inner_text()
    links = [link.get_attribute("href") for link in detail.locator("a").all()]
    assert len(links) == 3
    assert all((library / link.replace("%20", " ")).is_file() for link in links)
    page.keyboard.press("Escape")
    assert not detail.is_visible()
    page.locator(".card").first.focus()
    for key in ("ArrowRight", "ArrowDown", "End", "Home", "ArrowRight"):
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    assert detail.locator("h2").inner_text().startswith("2")
    assert page.said == []


def test_every_card_shows_its_own_chart(
    browser: Any, library: Path, motifs: list[MotifRecord]
) -> None:
    """The stitches the browser draws are those of the chart's own PNG, colour by colour."""
    page = _open(browser, library / "contact-sheet.html", (1400, 2000))
    drawn = page.evaluate(
        """async () => Promise.all(pool.filter((c) => !c.item.hidden).map(async (c) => {
        await c.image.decode();
        const { naturalWidth: width, naturalHeight: height } = c.image;
        const canvas = Object.assign(document.createElement("canvas"), { width, height });
        const context = canvas.getContext("2d");
        context.drawImage(c.image, 0, 0);
        return [c.motif.name, width, height, Array.from(context.getImageData(0, 0, width, height).data)];
    }))"""
    )
    known = {motif.name: motif for motif in motifs}
    assert len(drawn) == 24
    for name, width, height, data in drawn:
        with Image.open(io.BytesIO(known[name].pixels)) as picture:
            pixels = np.array(picture.convert("RGBA"))
        assert np.array_equal(np.array(data).reshape(height, width, 4), pixels)


def test_a_large_sheet_keeps_few_cards_and_hostile_names_stay_words(
    browser: Any, motifs: list[MotifRecord], tmp_path: Path
) -> None:
    many = [
        replace(
            motifs[i % 24], name=f"m{i}", number=i + 1, title=HOSTILE, path=HOSTILE, tags=(HOSTILE,)
        )
        for i in range(3000)
    ]
    sheet = tmp_path / "sheet.html"
    sheet.write_text(contact_html(plain_cards(many, [(2, HOSTILE, HOSTILE)]), HOSTILE))
    page = _open(browser, sheet)
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    until(page, "pool.some((c) => c.at === 2999)")
    assert page.locator("#grid li").count() < 80
    page.evaluate("scrollTo(0, 0)")
    until(page, "pool.some((c) => c.at === 0)")
    page.locator(".card").first.click()
    assert HOSTILE in page.locator("dialog h2").inner_text()
    assert page.locator("h1").inner_text() == HOSTILE
    assert page.said == []
    assert page.evaluate("document.images.length") < 90


def test_a_narrow_screen_holds_its_cards(browser: Any, library: Path) -> None:
    page = _open(browser, library / "contact-sheet.html", (390, 800))
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    boxes = [card.bounding_box() for card in page.locator(".card").all()[:4]]
    assert all(box["x"] >= 0 and box["x"] + box["width"] <= 390 for box in boxes)
    assert not page.locator("[name=round]").is_visible()
    page.click("#more")
    page.fill("[name=round]", "48")
    assert page.locator("#more").inner_text() == "Filters (1)"
    page.click("[type=reset]")
    until(page, "view.length === 24")
    page.locator(".card").first.click()
    assert page.evaluate("document.querySelector('dialog').scrollWidth") <= 390


def test_a_screen_of_360_pixels_holds_the_page(browser: Any, library: Path) -> None:
    page = _open(browser, library / "contact-sheet.html", (360, 740))
    page.click("#more")
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    spread = """[...document.querySelectorAll("body *")].filter((e) => e.getClientRects().length
        && e.getBoundingClientRect().right > 360).map((e) => e.outerHTML.slice(0, 80))"""
    assert page.evaluate(spread) == []
    page.locator(".card").first.click()
    assert page.evaluate("document.querySelector('dialog').scrollWidth") <= 360
    assert page.evaluate(spread) == []


def test_tab_goes_forwards_after_scrolling(
    browser: Any, motifs: list[MotifRecord], tmp_path: Path
) -> None:
    many = [replace(motifs[i % 24], name=f"m{i}", number=i + 1) for i in range(400)]
    sheet = tmp_path / "sheet.html"
    sheet.write_text(contact_html(plain_cards(many), "many"))
    page = _open(browser, sheet, (900, 700))
    for top in (3000, 9000, 1500, 6000):
        page.evaluate(f"scrollTo(0, {top})")
        until(page, f"scrollY === {top} && !waiting")
    order = (
        "[...grid.children].filter((e) => !e.hidden).map((e) => pool.find((c) => c.item === e).at)"
    )
    until(
        page, f"(() => {{ const at = {order}; return at.every((n, i) => !i || n > at[i - 1]); }})()"
    )
    first = page.evaluate("Math.min(...pool.filter((c) => c.at >= 0).map((c) => c.at)) + 8")
    page.evaluate(f"pool.find((c) => c.at === {first}).button.focus()")
    passed = []
    for _ in range(30):
        page.keyboard.press("Tab")
        page.evaluate(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
        )
        passed.append(page.evaluate("pool.find((c) => c.button === document.activeElement)?.at"))
    assert passed == list(range(first + 1, first + 31))


def test_words_are_found_whatever_the_accents(
    browser: Any, motifs: list[MotifRecord], tmp_path: Path
) -> None:
    titles = ("Möwe", "Straße", "smørrebrød", "Łódź")
    named = [
        replace(m, title=t, number=i + 1)
        for i, (m, t) in enumerate(zip(motifs, titles, strict=False))
    ]
    sheet = tmp_path / "sheet.html"
    sheet.write_text(contact_html(plain_cards(named), "letters"))
    page = _open(browser, sheet)
    for words, title in zip(("mowe", "STRASSE", "smorrebrod", "lodz"), titles, strict=True):
        page.fill("[name=words]", words)
        assert _titles(page) == [title]
        page.fill("[name=words]", title.upper())
        assert _titles(page) == [title]


def test_decisions_are_made_on_the_page_and_saved_for_the_command(
    browser: Any, library: Path, tmp_path: Path
) -> None:
    page = _open(browser, library / "contact-sheet.html")
    page.fill("[name=words]", "anchor")
    shown = page.evaluate("view.map((motif) => motif.n)")
    page.select_option("#decide", "approved")
    page.locator(".card").first.click()
    page.select_option("dialog select", "withdrawn")
    page.keyboard.press("Escape")
    page.select_option("[name=only]", "decided")
    assert page.evaluate("view.length") == len(shown)
    with page.expect_download() as download:
        page.click("#save")
    download.value.save_as(tmp_path / "decisions.csv")
    lines = (tmp_path / "decisions.csv").read_text().split()
    states = ["withdrawn", *["approved"] * (len(shown) - 1)]
    assert lines == [
        "number,state",
        *(f"{n},{s}" for n, s in zip(sorted(shown), states, strict=True)),
    ]
    assert page.said == []


def test_from_one_motif_to_the_next(browser: Any, library: Path) -> None:
    page = _open(browser, library / "contact-sheet.html")
    page.locator(".card").first.click()
    title = page.locator("dialog h2")
    assert page.locator(".previous").is_disabled()
    page.click(".next")
    assert title.inner_text().startswith("2")
    page.keyboard.press("ArrowRight")
    assert title.inner_text().startswith("3")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert title.inner_text().startswith("1")
    page.keyboard.press("ArrowRight")
    assert title.inner_text().startswith("2"), "the keys still reach the motif at large"
    assert page.said == []


def test_a_library_without_motifs_says_so(browser: Any, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.html"
    sheet.write_text(contact_html([], "empty"))
    page = browser.new_page()
    page.goto(sheet.as_uri())
    assert page.locator("#empty").inner_text().startswith("There are no motifs")
    assert page.locator("#count").inner_text() == "0 motifs"


@pytest.mark.parametrize("per_page", LAYOUTS)
def test_the_booklet_holds_every_motif_once_with_its_number(
    motifs: list[MotifRecord], per_page: int
) -> None:
    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(booklet_pdf(motifs, "Harbour", per_page))).pages
    plates = -(-len(motifs) // per_page)
    texts = [page.extract_text() for page in pages]
    assert len(pages) == 1 + plates + 1
    for motif in motifs:
        page = 1 + (motif.number - 1) // per_page
        assert motif.title[:8] in texts[page]
        assert str(motif.number) in texts[page].split()
    assert all(motif.title[:8] in texts[-1] for motif in motifs)
    assert "By name" in texts[-1]
    assert "By stitches" in texts[-1]


def test_titles_that_the_type_lacks_stand_as_numbers_and_squares_can_be_counted(
    motifs: list[MotifRecord],
) -> None:
    from pypdf import PdfReader

    named = replace(motifs[0], title="ロケット")
    pages = PdfReader(io.BytesIO(booklet_pdf([named, *motifs[1:]], "Harbour", 6))).pages
    texts = [page.extract_text() for page in pages]
    assert "One title is in letters that this type lacks" in texts[0]
    assert "motif 1" in texts[1]
    assert "motif 1" in texts[-1]
    assert not any("??" in text for text in texts)
    page = [mark for part in plate(motifs[:1], 1) for mark in part.marks]
    lines = {mark.name: mark.lines for mark in page if isinstance(mark, Lines)}
    stitches, rounds = motifs[0].stitches, motifs[0].rounds
    assert len(lines["grid"]) == stitches - 1 + rounds - 1
    assert len(lines["tens"]) == (stitches - 1) // 10 + (rounds - 1) // 10
    (frame,) = [mark.boxes[0] for mark in page if getattr(mark, "name", "") == "frame"]
    first = max(start[0] for start, end in lines["tens"] if start[0] == end[0])
    assert frame[0] + frame[2] - first == pytest.approx(10 * frame[2] / stitches)
    chips = [mark.style.fill for mark in page if getattr(mark, "name", "") == "yarn"]
    assert chips == [yarn.colour for yarn in motifs[0].yarns if yarn.stitches]
    small = [mark for part in plate(motifs[:1], 30) for mark in part.marks]
    assert {mark.name for mark in small if isinstance(mark, Lines)} == {"tens"}


def test_the_same_library_gives_the_same_booklet(motifs: list[MotifRecord]) -> None:
    assert booklet_pdf(motifs, "Harbour", 6) == booklet_pdf(motifs, "Harbour", 6)
    assert booklet_pdf([], "Empty", 6).startswith(b"%PDF")
    with pytest.raises(SettingError, match="choose one of"):
        booklet_pdf(motifs, "Harbour", 5)


# Commands


def test_flags_go_over_the_recipe(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = small_folder(tmp_path / "pictures", 2)
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(
        'stitches = 14\nrounds = 12\nfloat_limit = 3\nyarn = ["oat=#ece2d0", "ink=#26304c"]'
    )
    out = tmp_path / "out"
    words = ["library", str(folder), "--out", str(out), "--recipe", str(recipe), "--jobs", "1"]
    assert shell.run([*words, "--float-limit", "5", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["motifs"], told["made"], told["broken"]) == (2, 2, [])
    with reading(out) as catalogue:
        assert {m.float_limit for m in catalogue.motifs()} == {5}
        assert {m.stitches for m in catalogue.motifs()} == {14}
    assert shell.run([*words, "--sheet", "words", "--quiet"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    with reading(out) as catalogue:
        files = {file for motif in catalogue.motifs() for file in motif.files}
    assert {"sign-1.chart.json", "sign-1.png", "sign-1-words.txt"} <= files


def test_broken_pictures_are_named_and_the_status_is_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = small_folder(tmp_path / "pictures", 1)
    (folder / "torn.png").write_bytes(b"torn")
    words = ["library", str(folder), "--out", str(tmp_path / "out"), "--stitches", "14"]
    assert shell.run([*words, "--rounds", "12"]) == 1
    said = capsys.readouterr()
    assert "torn.png: The picture" in said.out
    assert "2 of 2 pictures done" in said.err


@pytest.mark.faulty_charts
def test_the_screen_names_motifs_with_an_error_and_those_nearly_the_same_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = small_folder(tmp_path / "pictures", 1)
    (folder / "copy.png").write_bytes((folder / "sign 1.png").read_bytes())
    rows = "\n".join(["A" * 14 + "B" * 10] * 4)
    (folder / "long.csv").write_text("\n".join(",".join(row) for row in rows.split()))
    out = tmp_path / "out"
    words = ["library", str(folder), "--out", str(out), "--stitches", "14", "--quiet", "--rounds"]
    assert shell.run([*words, "12"]) == 1
    assert "1 motif with an error:\n  long.csv: Round 1, stitch 1:" in capsys.readouterr().out
    assert shell.run(["library", "find", "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert told.count("agreement") == 1
    assert "1 copy and 3 sign 1: the same file, agreement 1.00" in told
    assert shell.run(["library", "fit", "48", "--out", str(out), "--limit", "1"]) == 0
    assert "3 motifs fit a round of 48 stitches; the first 1 are shown." in capsys.readouterr().out
    assert shell.run(["library", "find", "--out", str(out), "--limit", "2"]) == 0
    assert "2 motifs found, as many as were asked for." in capsys.readouterr().out


def test_ctrl_c_says_that_the_same_command_goes_on(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("pic2chart.library.batch._finish", interrupted)
    folder = small_folder(tmp_path / "pictures", 2)
    words = ["library", str(folder), "--out", str(tmp_path / "out"), "--stitches", "14"]
    assert shell.run(words) == 130
    said = "Stopped; 2 pictures done. The same command goes on from there."
    assert said in capsys.readouterr().err


def test_find_and_fit_answer(library: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert shell.run(["library", "find", "anchor", "--out", str(library)]) == 0
    assert "anchor" in capsys.readouterr().out
    flags = ["--stitches", "-40", "--difficulty", "1-10", "--sort", "difficulty", "--json"]
    assert shell.run(["library", "find", "--out", str(library), *flags]) == 0
    found = json.loads(capsys.readouterr().out)["motifs"]
    assert found
    assert all(motif["stitches"] <= 40 for motif in found)
    assert [m["difficulty"] for m in found] == sorted(m["difficulty"] for m in found)
    assert shell.run(["library", "fit", "96", "--out", str(library), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["fits"]
    assert shell.run(["library", "fit", "1", "--out", str(library)]) == 2
    assert shell.run(["library", "find", "--out", str(library), "--stitches", "x"]) == 2
    assert shell.run(["library", "find", "--out", str(library.parent)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 3
    assert all(line.startswith("pic2chart: ") for line in said)


@pytest.mark.parametrize("flags", [["--jobs", "0"], ["--per-page", "5"], ["--stitches", "1"], []])
def test_wrong_flags_write_nothing(
    tmp_path: Path, flags: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    folder = small_folder(tmp_path / "pictures", 1)
    out = tmp_path / "out"
    words = ["library", str(folder), *(["--out", str(out)] if flags else []), *flags]
    assert shell.run(words) == 2
    assert not out.exists()
    assert len(capsys.readouterr().err.splitlines()) == 1


@pytest.mark.slow
def test_a_folder_called_find_is_taken_by_its_path(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    small_folder(tmp_path / "find", 1)
    monkeypatch.chdir(tmp_path)
    words = ["library", "./find", "--out", "out", "--stitches", "14", "--rounds", "12", "--quiet"]
    assert shell.run(words) == 0
    before = contents(tmp_path / "out")
    options = {"stitches": 14, "rounds": 12}
    assert run(tmp_path / "find", tmp_path / "out", options).unchanged == 1
    assert contents(tmp_path / "out") == before
