"""The desk in a real Chromium: from a photo to sheets, by mouse, by keys and by touch."""

from __future__ import annotations

import io
import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.helpers.desk_browser import (
    COMPLAINTS,
    at_the_photo,
    axe,
    on_photo,
    opened,
    settled,
    started,
    view,
)
from tests.helpers.desk_page import photo, running_desk
from tests.helpers.places import SAMPLES

pytestmark = pytest.mark.network

DOG = SAMPLES / "harbour-dog.png"


@pytest.fixture(autouse=True)
def no_complaints() -> Iterator[None]:
    COMPLAINTS.clear()
    yield
    assert COMPLAINTS == []


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    page = opened(browser, address)
    yield page
    page.context.close()


@pytest.fixture
def dog(page: Page) -> Page:
    started(page, DOG)
    return page


def tool(page: Page, name: str) -> None:
    page.locator(f"#stage [data-name={name}]").click()


def at(page: Page, round_: int, stitch: int) -> tuple[float, float]:
    """Where a stitch is in the window while the whole chart is shown (right-handed)."""
    chart = view(page)["chart"]
    rounds, stitches = len(chart["rows"]), len(chart["rows"][0])
    box = page.locator("#cloth").bounding_box()
    assert box
    ruler, spare = 26, 12
    wide, high = box["width"] - ruler, box["height"] - ruler
    scale = min((wide - spare) / stitches, (high - spare) / (rounds * chart["aspect"]))
    left, top = (wide - stitches * scale) / 2, (high - rounds * scale * chart["aspect"]) / 2
    x = box["x"] + left + (stitches - stitch + 0.5) * scale
    y = box["y"] + top + (rounds - round_ + 0.5) * scale * chart["aspect"]
    return x, y


def drag(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(*end, steps=6)
    page.mouse.up()
    settled(page)


def test_a_photo_becomes_a_chart_and_survives_a_reload(dog: Page) -> None:
    expect(dog.locator(".good")).to_contain_text("It can be knitted")
    expect(dog.locator("#title")).to_have_value("harbour-dog")
    before = view(dog)
    dog.reload()
    expect(dog.locator("#work")).to_be_visible()
    assert view(dog) == before
    assert "key=" not in dog.url


def test_a_painted_stitch_is_found_mended_and_kept(dog: Page) -> None:
    tool(dog, "box")
    dog.keyboard.press("1")
    drag(dog, at(dog, 3, 5), at(dog, 14, 16))
    tool(dog, "paint")
    dog.locator(".palette button").nth(1).click()
    dog.mouse.click(*at(dog, 8, 10))
    lone = dog.locator("[data-rule=isolated-stitch]", has_text="Round 8, stitch 10")
    expect(lone).to_be_visible()
    settled(dog)
    tool(dog, "select")
    drag(dog, at(dog, 3, 5), at(dog, 14, 16))
    dog.get_by_role("button", name="Let go").click()
    settled(dog)
    tool(dog, "keep")
    dog.mouse.click(*at(dog, 8, 10))
    settled(dog)
    assert view(dog)["chart"]["fixed"][7][9] == "#"
    dog.locator("#mend").click()
    expect(lone).to_have_count(0)
    settled(dog)
    assert view(dog)["chart"]["rows"][7][9] == "B"


@pytest.mark.parametrize("width", [360, 800, 1440])
def test_the_chart_never_moves_under_the_hand(browser: Browser, address: str, width: int) -> None:
    page = opened(browser, address, viewport={"width": width, "height": 800})
    started(page, DOG)
    for name in ("paint", "keep", "box"):
        tool(page, name)
        before = page.locator("#cloth").bounding_box()
        for round_ in (30, 33):
            drag(page, at(page, round_, 10), at(page, round_, 14))
            assert page.locator("#cloth").bounding_box() == before
    page.context.close()


def test_undo_to_the_start_and_redo_to_the_end(dog: Page) -> None:
    first = view(dog)["chart"]
    tool(dog, "line")
    for number in range(3):
        drag(dog, at(dog, 5 + 9 * number, 5), at(dog, 12 + 9 * number, 50))
    last = view(dog)["chart"]
    assert last != first
    for _ in range(3):
        dog.locator("#undo").click()
        settled(dog)
    expect(dog.locator("#undo")).to_be_disabled()
    assert view(dog)["chart"] == first
    dog.locator("#cloth").focus()
    for _ in range(3):
        dog.keyboard.press("Control+y")
        settled(dog)
    assert view(dog)["chart"] == last


def test_everything_by_keys_alone(dog: Page) -> None:
    before = view(dog)["chart"]["rows"]
    dog.locator("#cloth").focus()
    dog.keyboard.press("ArrowUp")
    where = dog.locator("#where").text_content() or ""
    round_, stitch = (int(word.strip(",:")) for word in where.split()[1:4:2])
    other = "AB".replace(before[round_ - 1][stitch - 1], "")
    dog.keyboard.press("12"["AB".index(other)])
    dog.keyboard.press(" ")
    settled(dog)
    assert view(dog)["chart"]["rows"][round_ - 1][stitch - 1] == other
    expect(dog.locator("#live")).to_contain_text("Paint 1 stitch")
    dog.keyboard.press("ArrowRight")
    expect(dog.locator("#where")).to_contain_text(f"stitch {stitch - 1}:")
    dog.keyboard.press("Shift+ArrowUp")
    expect(dog.locator(".selected")).to_be_visible()
    dog.keyboard.press("Delete")
    dog.keyboard.press("Enter")  # the first answer: rounds
    expect(dog.locator("#undo")).to_have_attribute("title", re.compile("Delete 2 rounds"))
    assert len(view(dog)["chart"]["rows"]) == len(before) - 2
    dog.keyboard.press("Control+z")
    settled(dog)
    assert len(view(dog)["chart"]["rows"]) == len(before)
    expect(dog.locator("#live")).to_contain_text("Undone")
    dog.keyboard.press("n")
    expect(dog.locator("#live")).to_contain_text("Round")


def test_a_selection_is_copied_by_keys_and_shown_before_it_is_put_down(dog: Page) -> None:
    rows = view(dog)["chart"]["rows"]
    tool(dog, "select")
    drag(dog, at(dog, 40, 20), at(dog, 44, 24))
    dog.keyboard.press("Control+c")
    dog.mouse.move(*at(dog, 3, 30))
    expect(dog.locator("#where")).to_contain_text("lower right corner")
    dog.keyboard.press("Control+v")
    settled(dog)
    now = view(dog)["chart"]["rows"]
    assert [row[29:34] for row in now[2:7]] == [row[19:24] for row in rows[39:44]]
    assert [row[:29] for row in now[2:7]] == [row[:29] for row in rows[2:7]]
    dog.keyboard.press("Escape")
    expect(dog.locator("#stage [data-name=look]")).to_have_attribute("aria-pressed", "true")


def test_the_frame_is_moved_by_keys_and_the_subject_by_drag(dog: Page) -> None:
    frame = dog.locator(".box.crop")
    frame.focus()
    for key in ("Shift+ArrowLeft", "Shift+ArrowUp", "ArrowRight"):
        dog.keyboard.press(key)
    expect(dog.locator("#undo")).to_have_attribute("title", re.compile("frame"))
    settled(dog)
    assert view(dog)["settings"]["crop"] is not None
    at_the_photo(dog)
    dog.get_by_role("button", name="Subject", exact=True).click()
    dog.locator("[data-brush=box]").click()
    box = dog.locator(".photo").bounding_box()
    assert box
    drag(
        dog,
        (box["x"] + box["width"] * 0.15, box["y"] + box["height"] * 0.15),
        (box["x"] + box["width"] * 0.9, box["y"] + box["height"] * 0.9),
    )
    expect(dog.locator("#undo")).to_have_attribute("title", re.compile("subject"))
    assert re.fullmatch(r"\d+,\d+,\d+,\d+", view(dog)["settings"]["subject"])


@pytest.fixture
def cat(page: Page, tmp_path: Path) -> Page:
    """A photograph, whose subject is found by itself."""
    (tmp_path / "cat.jpg").write_bytes(photo(width=600))
    started(page, tmp_path / "cat.jpg")
    expect(page.locator(".tint")).to_be_visible()
    at_the_photo(page)
    return page


def seen(page: Page) -> str | None:
    """The picture with its subject, as it is shown now."""
    return page.locator(".tint").get_attribute("src")


def test_a_stroke_on_the_photo_changes_subject_and_chart_and_is_undone(cat: Page) -> None:
    expect(cat.locator(".found")).to_contain_text("found by itself")
    assert (cat.locator(".photo").bounding_box() or {})["width"] >= 2 * 288
    before, shown = view(cat), seen(cat)
    cat.locator("[data-brush=leave]").click()
    cat.mouse.move(*on_photo(cat, 0.2, 0.15))
    cat.mouse.down()
    cat.mouse.move(*on_photo(cat, 0.25, 0.45), steps=6)
    expect(cat.locator(".tint")).not_to_have_attribute("src", shown or "")
    assert view(cat) == before  # the stroke goes on: it is seen, and nothing is changed
    cat.mouse.up()
    expect(cat.locator("#undo")).to_have_attribute("title", "Undo: Mark the subject")
    settled(cat)
    now = view(cat)
    assert 1 < len(now["settings"]["leave"]) <= 14
    assert now["chart"]["rows"] != before["chart"]["rows"]
    assert now["chart"]["yarns"] == before["chart"]["yarns"]
    cat.locator("#undo").click()
    expect(cat.locator(".tint")).to_have_attribute("src", shown or "")
    expect(cat.locator(".dabs i")).to_have_count(0)
    settled(cat)
    assert view(cat)["chart"] == before["chart"]


def test_marks_are_painted_and_taken_away_by_keys(cat: Page) -> None:
    ring = cat.locator(".ring")
    ring.focus()
    for key in ("+", "ArrowLeft", "Shift+ArrowUp", " "):
        cat.keyboard.press(key)
    expect(cat.locator(".dabs .keep i")).to_have_count(1)
    settled(cat)
    (mark,) = view(cat)["settings"]["keep"]
    assert mark == "288,198,30"
    cat.keyboard.press("Delete")
    expect(cat.locator(".dabs i")).to_have_count(0)
    settled(cat)
    assert view(cat)["settings"]["keep"] == []
    cat.get_by_role("button", name="Keep everything").click()
    expect(cat.locator(".tint")).to_be_hidden()
    expect(cat.locator(".found")).to_contain_text("Everything in the picture is kept")
    settled(cat)
    cat.get_by_role("button", name="Find it again").click()
    expect(cat.locator(".found")).to_contain_text("found by itself")
    settled(cat)


def test_the_whole_picture_can_be_taken_and_the_subject_followed_again(cat: Page) -> None:
    rows = view(cat)["chart"]["rows"]
    cat.get_by_role("button", name="Frame", exact=True).click()
    cat.get_by_role("button", name="Whole picture").click()
    expect(cat.locator("#undo")).to_have_attribute("title", "Undo: Change frame")
    settled(cat)
    now = view(cat)
    assert now["settings"]["crop"] == "0,0,600,399"
    assert now["chart"]["rows"] != rows
    cat.get_by_role("button", name="Follow the subject").click()
    settled(cat)
    assert view(cat)["settings"]["crop"] is None


def test_strokes_become_few_marks_and_the_last_one_counts(page: Page) -> None:
    given = page.evaluate(
        """async () => {
            const { along, asSettings, erased, fewer, MOST, painted } =
                await import('/static/strokes.js');
            const line = [[0, 0], [30, 40], [300, 40]];
            const kept = painted([], line, 20, 'keep');
            const over = painted(kept, [[150, 40]], 60, 'leave');
            const many = Array.from({ length: 200 }, (_, i) => [i * 7 % 400, i, 5, 'keep']);
            return {
                along: along(line, 20), far: along([[0, 0], [9000, 0]], 5).length, kept,
                again: painted(kept, line, 20, 'keep'), over,
                gone: erased(kept, [[300, 40]], 10).length, fewer: fewer(many).length, MOST,
                text: asSettings([[-5, 900, 0.2, 'leave']], [400, 300]),
            };
        }"""
    )
    assert given["along"][0] == [0, 0]
    assert given["along"][-1] == pytest.approx([300, 40])
    assert len(given["along"]) == given["far"] == 14
    assert given["again"] == given["kept"]
    assert given["gone"] == len(given["kept"]) - 1
    assert given["fewer"] == given["MOST"]
    assert given["text"] == {"keep": [], "leave": ["0,299,1"]}
    *left, last = given["over"]
    assert last == [150, 40, 60, "leave"]
    assert 0 < len(left) < len(given["kept"])
    for x, y, radius, side in left:
        assert side == "keep"
        assert ((x - 150) ** 2 + (y - 40) ** 2) ** 0.5 >= radius + 60 - 1e-9


def test_a_slider_shows_the_chart_while_it_moves_and_is_one_step(dog: Page) -> None:
    slider = dog.locator("#set-stitches")
    slider.focus()
    for _ in range(5):
        dog.keyboard.press("ArrowRight")
    settled(dog)
    expect(dog.locator("#set-stitches + input")).to_have_value("65")
    settled(dog)
    assert len(view(dog)["chart"]["rows"][0]) == 65


def test_two_windows_never_overwrite_silently(browser: Browser, address: str, dog: Page) -> None:
    second = dog.context.new_page()
    second.goto(dog.url)
    expect(second.locator("#work")).to_be_visible()
    tool(second, "box")
    drag(second, at(second, 2, 2), at(second, 4, 4))
    theirs = view(second)["chart"]["rows"]
    dog.evaluate("""() => {
        const canvas = document.getElementById('set-flat');
        canvas.checked = true;
        canvas.dispatchEvent(new Event('change'));
    }""")
    expect(dog.locator("#ask")).to_contain_text("Changed in another window")
    dog.get_by_role("button", name="Leave my change").click()
    settled(dog)
    assert view(dog)["chart"]["rows"] == theirs
    expect(dog.locator("#set-flat")).not_to_be_checked()


def test_a_killed_desk_loses_nothing_that_was_saved(browser: Browser, tmp_path: Path) -> None:
    with running_desk(tmp_path) as (process, where):
        page = opened(browser, where)
        started(page, DOG)
        tool(page, "line")
        drag(page, at(page, 5, 5), at(page, 30, 50))
        saved = view(page)
        page.mouse.move(*at(page, 10, 10))
        page.mouse.down()
        page.mouse.move(*at(page, 40, 40))
        page.evaluate("document.getElementById('undo').click()")
        process.kill()
        process.wait()
        page.mouse.up()
        expect(page.locator("#notice")).to_contain_text("does not answer")
        page.context.close()
    with running_desk(tmp_path) as (_, where):
        page = opened(browser, where)
        page.locator(".card").click()
        expect(page.locator("#work")).to_be_visible()
        now = view(page)
        assert now["revision"] - saved["revision"] in (0, 1)
        rows = now["chart"]["rows"] if now["revision"] == saved["revision"] else None
        assert rows in (None, saved["chart"]["rows"])
        page.context.close()


def test_strokes_painted_while_the_desk_is_away_wait_for_it(
    browser: Browser, tmp_path: Path
) -> None:
    with running_desk(tmp_path) as (process, where):
        page = opened(browser, where)
        started(page, DOG)
        tool(page, "paint")
        before = view(page)["chart"]["rows"]
        page.keyboard.press(str(2 - "AB".index(before[19][19])))
        places = [at(page, 20, 20), at(page, 22, 20)]
        process.kill()
        process.wait()
        for place in places:
            page.mouse.click(*place)
        expect(page.locator("#notice")).to_contain_text("does not answer")
        expect(page.locator("#saved")).to_have_text("Waits to be saved")
    port = int(re.search(r":(\d+)/", where)[1])  # type: ignore[index]
    with running_desk(tmp_path, port) as (_, where):
        expect(page.locator("#notice")).to_contain_text("Open the address")
        opened_again = page.context.new_page()
        opened_again.goto(where)  # brings the new key, as the window the desk opens does
        expect(page.locator("#saved")).to_have_text("Saved")
        expect(page.locator("#notice")).to_be_hidden()
        now = view(page)
        assert (now["revision"], now["undo"][:13]) == (3, "Paint 1 stitc")
        other = "AB".replace(before[19][19], "")
        assert (now["chart"]["rows"][19][19], now["chart"]["fixed"][21][19]) == (other, "#")
        page.context.close()


@pytest.mark.parametrize("name", ["not-a-picture.jpg", "empty.png"])
def test_a_file_that_is_no_picture_is_explained(page: Page, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(b"" if name.startswith("empty") else b"plain words")
    page.set_input_files("#choose-picture", tmp_path / name)
    expect(page.locator("#notice")).to_contain_text(name)
    expect(page.locator("#drop")).to_be_visible()


def test_a_dropped_photo_and_a_chart_file_open(page: Page, tmp_path: Path) -> None:
    page.evaluate(
        """async (bytes) => {
            const data = new DataTransfer();
            data.items.add(new File([new Uint8Array(bytes)], 'cat.jpg', {type: 'image/jpeg'}));
            document.getElementById('drop').dispatchEvent(
                new DragEvent('drop', {dataTransfer: data, bubbles: true, cancelable: true}));
        }""",
        list(photo(width=240)),
    )
    expect(page.locator("#work")).to_be_visible()
    settled(page)
    page.locator("#take > summary").click()
    with page.expect_download() as taken:
        page.get_by_role("button", name="The chart's file").click()
    taken.value.save_as(tmp_path / "cat.chart.json")
    rows = view(page)["chart"]["rows"]
    page.locator("#home").click()
    page.set_input_files("#choose-chart", tmp_path / "cat.chart.json")
    expect(page.locator("#work")).to_be_visible()
    settled(page)
    assert view(page)["chart"]["rows"] == rows
    expect(page.locator("#photo")).to_be_hidden()


def test_an_empty_chart_is_drawn_on_by_hand(page: Page) -> None:
    page.get_by_text("Other ways to begin").click()
    page.get_by_role("button", name="Start empty").click()
    page.locator("#blank-stitches").fill("40")
    page.locator("#blank-rounds").fill("30")
    page.get_by_role("button", name="Start", exact=True).click()
    expect(page.locator("#work")).to_be_visible()
    settled(page)
    expect(page.locator(".yarns li")).to_have_count(2)
    expect(page.locator("#set-stitches")).to_be_hidden()
    tool(page, "line")
    page.keyboard.press("2")
    drag(page, at(page, 5, 5), at(page, 5, 9))
    assert view(page)["chart"]["rows"][4][3:10] == "ABBBBBA"
    assert axe(page, "empty") == []


@pytest.mark.parametrize("kind", ["drop", "paste"])
def test_a_tiny_png_is_asked_after_and_a_pasted_picture_is_taken(page: Page, kind: str) -> None:
    page.evaluate(
        """async ([kind, bytes]) => {
            const data = new DataTransfer();
            data.items.add(new File([new Uint8Array(bytes)], 'kelp.png', {type: 'image/png'}));
            const how = {bubbles: true, cancelable: true};
            document.getElementById('drop').dispatchEvent(kind === 'drop'
                ? new DragEvent('drop', {...how, dataTransfer: data})
                : new ClipboardEvent('paste', {...how, clipboardData: data}));
        }""",
        [kind, list(two_colours())],
    )
    page.get_by_role("button", name="A chart, one pixel a stitch").click()
    expect(page.locator("#work")).to_be_visible()
    settled(page)
    assert len(view(page)["chart"]["rows"]) == 8
    expect(page.locator("#photo")).to_be_hidden()


def two_colours() -> bytes:
    """A chart of 12 stitches and 8 rounds, one pixel a stitch."""
    picture = Image.new("RGB", (12, 8), "#ece2d0")
    picture.paste("#26304c", (3, 2, 8, 6))
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def test_a_finding_leads_to_its_place_and_the_fabric_is_shown(dog: Page) -> None:
    dog.locator(".kind-of > summary, .finding").first.click()
    dog.locator(".finding").first.click()
    expect(dog.locator("#where")).to_contain_text("Round")
    assert dog.evaluate("document.activeElement.id") == "cloth"
    for name in ("front", "back", "strands"):
        tool(dog, name)
        shown = dog.locator(".fabric")
        expect(shown).to_be_visible(timeout=20_000)
        words = "yarns run" if name == "strands" else name
        expect(shown).to_have_attribute("alt", re.compile(words))
        settled(dog)
        assert (
            shown.evaluate("(picture) => picture.decode().then(() => picture.naturalWidth)") > 200
        )
    tool(dog, "pattern")
    expect(dog.locator(".pattern")).to_contain_text("How to read", timeout=20_000)
    expect(shown).to_be_hidden()


def touching(browser: Browser, address: str) -> BrowserContext:
    return opened(
        browser, address, viewport={"width": 360, "height": 780}, has_touch=True, is_mobile=True
    ).context


def test_a_finger_paints_on_a_phone_and_nothing_is_cut_off(browser: Browser, address: str) -> None:
    context = touching(browser, address)
    page = context.pages[0]
    started(page, DOG)
    expect(page.locator("#cloth")).to_be_in_viewport(ratio=1)
    for part in ("picture", "says", "chart"):
        page.locator(f"#jump [data-part={part}]").click()
        expect(page.locator(f"#{part}")).to_be_in_viewport()
        assert page.evaluate("document.documentElement.scrollWidth") == 360
    tool(page, "paint")
    before = view(page)["revision"]
    page.touchscreen.tap(*at(page, 20, 20))
    settled(page)
    assert view(page)["revision"] == before + 1
    context.close()


@pytest.mark.parametrize(
    ("width", "scheme"),
    [(360, "light"), (360, "dark"), (900, "dark"), (1440, "light"), (1440, "dark")],
)
def test_nothing_serious_bars_anyone(
    browser: Browser, address: str, width: int, scheme: str
) -> None:
    page = opened(browser, address, color_scheme=scheme, viewport={"width": width, "height": 860})
    barred = axe(page, "start")
    started(page, DOG)
    page.evaluate(
        "document.querySelectorAll('details.group').forEach((part) => { part.open = true; })"
    )
    settled(page)
    time.sleep(0.5)
    barred += axe(page, "work")
    for part in ("picture", "says", "chart"):
        button = page.locator(f"#jump [data-part={part}]")
        if button.is_visible():
            button.click()
            barred += axe(page, part)
    tool(page, "select")
    drag(page, at(page, 10, 10), at(page, 20, 20))
    barred += axe(page, "selection")
    tool(page, "paint")
    barred += axe(page, "paint")
    page.locator("#take > summary").click()
    page.evaluate("document.querySelector('#take details').open = true")
    barred += axe(page, "take")
    page.locator("#keys").click()
    barred += axe(page, "keys")
    page.context.close()
    assert not barred


# From start to finish, for those whom the program is for


def taken(page: Page, name: str) -> bytes:
    page.locator("#take > summary").click()
    with page.expect_download(timeout=60_000) as download:
        page.get_by_role("button", name=name).click()
    page.keyboard.press("Escape")
    return Path(download.value.path()).read_bytes()


def test_a_hobbyist_with_a_pet_and_two_balls_prints_a_chart(dog: Page) -> None:
    at_the_photo(dog)
    dog.get_by_role("button", name="Subject", exact=True).click()
    dog.locator("[data-brush=box]").click()
    box = dog.locator(".photo").bounding_box()
    assert box
    corners = ((0.08, 0.12), (0.94, 0.97))
    drag(dog, *((box["x"] + box["width"] * x, box["y"] + box["height"] * y) for x, y in corners))
    dog.get_by_role("button", name="Done with the photo").click()
    for number, (name, colour) in enumerate((("ink", "#26304c"), ("oat", "#ece2d0"))):
        row = dog.locator(".yarns li").nth(number)
        row.locator("input[type=color]").fill(colour)
        settled(dog)
        row.locator("input[type=text]").fill(name)
        row.locator("input[type=text]").press("Tab")
        settled(dog)
    assert [y["name"] for y in view(dog)["chart"]["yarns"]] == ["ink", "oat"]
    expect(dog.locator(".good")).to_be_visible()
    assert taken(dog, "The chart, with its words").startswith(b"%PDF")


def test_a_yarn_changed_while_another_is_being_changed_keeps_both(dog: Page) -> None:
    for number, colour in enumerate(("#26304c", "#ece2d0")):
        dog.locator(".yarns li").nth(number).locator("input[type=color]").fill(colour)
    settled(dog)
    assert [y["colour"] for y in view(dog)["chart"]["yarns"]] == ["#26304c", "#ece2d0"]


def test_a_designer_chooses_from_the_shelf_and_compares_looks(dog: Page, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.csv"
    shelf.write_text("name,colour\noat,#ece2d0\nink,#26304c\nrust,#a8502f\nfog,#aeb6bd\n")
    dog.set_input_files("#shelf-file", shelf)
    dog.locator("#from-shelf").select_option("2")
    settled(dog)
    expect(dog.locator("#undo")).to_have_attribute("title", re.compile("yarns you have"))
    names = [yarn["name"] for yarn in view(dog)["chart"]["yarns"]]
    assert len(names) == 2
    other = next(n for n, name in enumerate(("oat", "ink", "rust", "fog")) if name not in names)
    dog.locator("#one-of-shelf").select_option(str(other))
    expect(dog.locator(".yarns li")).to_have_count(3)
    settled(dog)
    expect(dog.locator(".pairs li")).to_have_count(3)
    dog.locator("summary", has_text="Look and background").click()
    dog.get_by_role("button", name="See all looks").click()
    expect(dog.locator(".look img")).to_have_count(4)
    dog.get_by_role("button", name="inked").click()
    expect(dog.locator("#undo")).to_have_attribute("title", re.compile("drawn", re.IGNORECASE))
    settled(dog)
    assert view(dog)["settings"]["look"] == "inked"


def test_a_teacher_shows_how_the_yarns_run(dog: Page) -> None:
    tool(dog, "strands")
    expect(dog.locator(".fabric")).to_be_visible()
    first = dog.locator(".fabric").get_attribute("src")
    dog.locator("#taught").fill("12")
    dog.locator("#taught").press("Enter")
    expect(dog.locator(".fabric")).not_to_have_attribute("src", first or "")
    assert axe(dog, "strands") == []
    assert taken(dog, "How the yarns run").startswith(b"%PDF")
    assert b"<!doctype html" in taken(dog, "Knit along")[:200].lower()


def test_a_chart_reshaped_by_hand_goes_its_own_way_until_it_is_made_again(dog: Page) -> None:
    tool(dog, "select")
    drag(dog, at(dog, 10, 10), at(dog, 12, 14))
    dog.get_by_role("group", name="Rounds").get_by_role("button", name="insert").click()
    settled(dog)
    expect(dog.locator("#set-stitches")).to_be_disabled()
    expect(dog.locator("#gauge-stitches")).to_be_enabled()
    assert axe(dog, "reshaped") == []
    dog.get_by_role("button", name="Mirror").click()
    settled(dog)
    dog.get_by_role("button", name="Make it from the picture again").click()
    expect(dog.locator("#set-stitches")).to_be_enabled()
    settled(dog)
    assert view(dog)["follows"]
