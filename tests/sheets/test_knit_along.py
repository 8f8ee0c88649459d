"""The knit-along page in a real browser: keys, touch, reload, phone and tablet, screen readers."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect, sync_playwright

from pic2chart.model.chart import NO_STITCH, Catch, Chart
from pic2chart.model.yarn import Yarn
from pic2chart.sheets.knit_along.knit_along import _json, knit_along, knit_along_all
from pic2chart.sheets.sheet_settings import SheetLook
from pic2chart.sheets.words.spoken import called, catch_words, run_words, speak
from pic2chart.stranding.strands import plan_strands
from tests.helpers.chromium import chromium, until
from tests.helpers.constructed import constructed

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")
PHONE, TABLET = {"width": 320, "height": 568}, {"width": 1024, "height": 768}
ARGUMENTS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]


def make_chart(**parts: object) -> Chart:
    cells = np.zeros((12, 24), np.uint8)
    cells[1, ::3] = 1
    cells[2, 3:9] = 1
    cells[5:9, 4:20] = 1
    parts.setdefault("title", "harbour dog")
    parts.setdefault("yarns", (OAT, INK))
    parts.setdefault("catches", (Catch(2, 5, 0), Catch(2, 14, 1), Catch(2, 20, 1)))
    return Chart(cells, **parts)  # type: ignore[arg-type]


def html_of(*charts: Chart, look: SheetLook = SheetLook()) -> str:  # noqa: B008  # frozen
    if len(charts) == 1:
        return knit_along(charts[0], plan_strands(charts[0]), look)
    pieces = [(chart, plan_strands(chart)) for chart in charts]
    return knit_along_all(pieces, "a pair", charts[0].construction.steps, look)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture
def opened(browser: Browser, tmp_path: Path) -> Iterator:
    """Open a chart's page; network is off and every complaint of the page fails the test."""
    contexts = []
    complaints: list[str] = []

    def open_page(*charts: Chart, size: dict[str, int] = TABLET, touch: bool = False) -> Page:
        context = browser.new_context(viewport=size, has_touch=touch, offline=True)  # type: ignore[arg-type]
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console", lambda said: complaints.append(said.text) if said.type == "error" else None
        )
        page.on(
            "request",
            lambda asked: (
                complaints.append(asked.url) if not asked.url.startswith("file:") else None
            ),
        )
        page.on("dialog", lambda dialog: dialog.accept())
        path = tmp_path / f"page-{len(contexts)}.html"
        path.write_text(html_of(*charts), encoding="utf-8")
        page.goto(path.as_uri())
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []


def round_shown(page: Page) -> str:
    return page.inner_text("#round").strip()


def test_keys_step_forth_and_back_and_stop_at_the_ends(opened):
    page = opened(make_chart())
    assert round_shown(page) == "Round 1 of 12"
    page.keyboard.press("ArrowLeft")
    assert round_shown(page) == "Round 1 of 12"
    for key in ("ArrowRight", "Space", "Enter", "PageDown"):
        page.keyboard.press(key)
    assert round_shown(page) == "Round 5 of 12"
    for key in ("Backspace", "ArrowLeft", "PageUp"):
        page.keyboard.press(key)
    assert round_shown(page) == "Round 2 of 12"
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    assert round_shown(page) == "All done of 12"
    assert page.is_disabled("#next")
    page.click("#back")
    assert round_shown(page) == "Round 12 of 12"


def test_pieces_are_chosen_and_each_keeps_its_own_place(opened):
    thumb = make_chart().with_(stitches=make_chart().stitches[:7, :9], catches=(), title="thumb")
    page = opened(make_chart(title="hand"), thumb)
    assert page.inner_text("h1") == "a pair"
    assert page.locator("#piece option").all_inner_texts() == ["hand", "thumb"]
    assert page.locator("#piece").bounding_box()["height"] >= 44  # for a thumb
    page.click("#next")
    page.click("#next")
    page.select_option("#piece", "2")
    expect(page.locator("#round")).to_have_text("Round 1 of 7")
    assert page.get_attribute("#goto", "max") == "7"
    page.click("#next")
    page.select_option("#piece", "1")
    expect(page.locator("#round")).to_have_text("Round 3 of 12")
    page.goto(page.url.partition("#")[0] + "#2")
    expect(page.locator("#round")).to_have_text("Round 2 of 7")


def test_each_round_shows_its_runs_catches_and_yarns(opened):
    chart = make_chart()
    page = opened(chart)
    names = called(chart)
    plan = plan_strands(chart)
    for spoken in speak(chart):
        page.fill("#goto", str(spoken.first + 1))
        page.press("#goto", "Enter")
        told = [
            b.get_attribute("aria-label") for b in page.locator("#parts button").element_handles()
        ]
        assert ", ".join(re.sub(r", catch .*", "", t) for t in told) == run_words(
            spoken.parts, names
        )
        shown = "; ".join(page.locator("#catches li").all_inner_texts())
        assert shown.lower() == catch_words(spoken, names).lower()
        order = plan.rounds[spoken.first].order
        yarns = page.locator("#yarns li").all_inner_texts()
        assert [
            y.split("\n")[-1].partition(",")[0].removeprefix("A").removeprefix("B") for y in yarns
        ] == [names[y] for y in order]
        if len(order) > 1:
            assert "under" in yarns[0]
            assert "over" in yarns[-1]


def test_a_run_tells_where_in_it_to_catch(opened):
    page = opened(make_chart())
    page.fill("#goto", "3")
    page.press("#goto", "Enter")
    labels = [
        b.get_attribute("aria-label") for b in page.locator("#parts button").element_handles()
    ]
    assert labels == [
        "3 oat",
        "6 ink, catch oat in the 3rd",
        "15 oat, catch ink in the 6th and 12th",
    ]


def test_on_a_wrong_side_row_the_count_runs_from_the_other_end(opened):
    page = opened(make_chart(worked="flat", catches=(Catch(5, 10, 0),)))
    page.fill("#goto", "6")
    page.press("#goto", "Enter")
    assert round_shown(page) == "Row 6 of 12"
    assert "purl, from left to right" in page.inner_text("#way")
    labels = [
        b.get_attribute("aria-label") for b in page.locator("#parts button").element_handles()
    ]
    assert labels == ["4 oat", "16 ink, catch oat in the 10th", "4 oat"]


def test_a_yarn_that_changes_places_is_told_in_its_round(opened):
    cells = np.zeros((6, 12), np.uint8)
    for r, pair in enumerate(((0, 1), (1, 2), (2, 0)) * 2):
        cells[r] = np.array(pair)[np.arange(12) // 2 % 2]
    chart = Chart(cells, (OAT, INK, Yarn("rust", "#a8502f")), title="dog")
    changes = plan_strands(chart).changes
    assert changes
    page = opened(chart)
    for r in range(chart.round_count):
        assert page.locator("#catches li").all_inner_texts() == list(changes.get(r, ()))
        page.click("#next")


def test_squares_without_a_stitch_are_nothing_to_knit(opened):
    chart = make_chart(catches=(Catch(5, 17, 0),))
    cells = chart.stitches.copy()
    cells[5, :3] = cells[5, 22:] = NO_STITCH
    page = opened(chart.with_(stitches=cells))
    page.fill("#goto", "6")
    page.press("#goto", "Enter")
    buttons = page.locator("#parts button")
    labels = [b.get_attribute("aria-label") for b in buttons.element_handles()]
    assert labels == ["1 oat", "16 ink, catch oat in the 14th", "2 oat"]
    buttons.nth(1).click()
    assert [b.get_attribute("aria-pressed") for b in buttons.element_handles()] == [
        "true",
        "true",
        "false",
    ]
    assert page.evaluate("document.activeElement.getAttribute('aria-label')").startswith("16 ink")


def labels_of(page: Page) -> list[str | None]:
    buttons = page.locator("#parts button").element_handles()
    return [b.get_attribute("aria-label") for b in buttons]


def test_a_run_tells_which_of_its_stitches_are_shaped(opened):
    shaping = [
        {"round": 6, "stitch": 5, "kind": "ssk"},
        {"round": 6, "stitch": 19, "kind": "k2tog"},
    ]
    chart = make_chart(catches=(), construction=constructed({"shaping": shaping}))
    cells = chart.stitches.copy()
    cells[5, :2] = cells[5, 22:] = NO_STITCH
    page = opened(chart.with_(stitches=cells))
    page.fill("#goto", "6")
    page.press("#goto", "Enter")
    assert labels_of(page) == ["2 oat", "16 ink, the 1st as ssk; the 15th as k2tog", "2 oat"]
    assert page.inner_text("#catches") == "Shaping: ssk at stitch 5; k2tog at stitch 19"


@pytest.mark.parametrize("worked", ["round", "flat"])
def test_a_folded_run_counts_over_all_its_turns(opened, worked):
    cells = np.zeros((2, 16), np.uint8)
    cells[1] = [0, 0, 0, 1] * 4
    cells[1, :3] = (NO_STITCH, 0, 0)
    chart = Chart(
        cells, (OAT, INK), worked=worked, catches=(Catch(1, 5, 1), Catch(1, 9, 1)), title="dog"
    )
    page = opened(chart)
    page.click("#next")
    told = {
        "round": ["2 oat", "1 ink", "(3 oat, 1 ink) × 3, catch ink in the 2nd and 6th of these 12"],
        "flat": ["1 ink", "(3 oat, 1 ink) × 3, catch ink in the 6th and 10th of these 12", "2 oat"],
    }
    assert labels_of(page) == told[worked]


def test_the_next_round_comes_into_view_on_a_phone(opened):
    cells = np.zeros((4, 60), np.uint8)
    cells[:, ::2] = 1
    cells[:, ::7] = 1
    page = opened(Chart(cells, (OAT, INK), title="dog"), size=PHONE, touch=True)
    page.evaluate("window.scrollTo(0, 900)")
    page.tap("#next")
    assert round_shown(page) == "Round 2 of 4"
    assert 0 <= page.locator("#round").bounding_box()["y"] < 100


def test_reload_keeps_round_runs_and_settings(opened):
    page = opened(make_chart())
    for _ in range(2):
        page.click("#next")
    page.locator("#parts button").nth(1).click()
    page.check("#contrast")
    page.check("#larger")
    page.reload()
    assert round_shown(page) == "Round 3 of 12"
    pressed = [
        b.get_attribute("aria-pressed") for b in page.locator("#parts button").element_handles()
    ]
    assert pressed == ["true", "true", "false"]
    assert page.is_checked("#contrast")
    assert page.evaluate("document.documentElement.className") == "contrast larger"
    page.click("#again")
    page.reload()
    assert round_shown(page) == "Round 1 of 12"


def test_what_is_kept_is_not_believed(opened):
    page = opened(make_chart())
    page.click("#next")
    for junk in (
        '{"round": 99, "done": "x"}',
        '{"round": -1}',
        "not json",
        '{"round": 1.5}',
        "null",
    ):
        page.evaluate(
            "junk => { for (const k of Object.keys(localStorage)) localStorage.setItem(k, junk); }",
            junk,
        )
        page.reload()
        assert round_shown(page) == "Round 1 of 12"


def test_another_chart_has_its_own_place(opened):
    first = opened(make_chart())
    first.click("#next")
    assert round_shown(opened(make_chart(title="gull"))) == "Round 1 of 12"
    keys = {html_of(make_chart(title=title)).split('"place":"')[1][:16] for title in ("a", "b")}
    assert len(keys) == 2


def swipe(page: Page, by: int, down: int = 0) -> None:
    box = page.locator("#now").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + 30
    client = page.context.new_cdp_session(page)
    client.send(
        "Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]}
    )
    point = {"x": x + by, "y": y + down}
    client.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    client.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_swipes_and_taps_step_on_a_phone(opened):
    page = opened(make_chart(), size=PHONE, touch=True)
    page.tap("#next")
    page.tap("#next")
    assert round_shown(page) == "Round 3 of 12"
    swipe(page, -110)
    until(page, "document.getElementById('round').innerText.startsWith('Round 4')")
    swipe(page, 110)
    until(page, "document.getElementById('round').innerText.startsWith('Round 3')")
    swipe(page, -20)
    swipe(page, -70, 200)
    assert round_shown(page) == "Round 3 of 12"


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
def test_it_fits_the_screen_and_buttons_are_large(opened, size):
    page = opened(make_chart(title="h" * 150, yarns=(Yarn("n" * 60, "#ece2d0"), INK)), size=size)
    page.click("#next")
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    for name in ("#next", "#back"):
        box = page.locator(name).bounding_box()
        assert box["height"] >= 44  # WCAG 2.2, 2.5.5 Target Size (Enhanced)
        assert box["y"] + box["height"] <= size["height"]
    for button in page.locator("#parts button").all():
        assert button.bounding_box()["height"] >= 44


@pytest.mark.parametrize("size", [PHONE, TABLET], ids=["phone", "tablet"])
@pytest.mark.parametrize("contrast", [False, True], ids=["plain", "contrast"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(opened, size, contrast, scheme):
    page = opened(make_chart(), size=size)
    page.emulate_media(color_scheme=scheme)
    for _ in range(2):
        page.click("#next")
    page.locator("#parts button").first.click()
    if contrast:
        page.check("#contrast")
    found = Axe().run(page).response
    assert len(found["passes"]) > 15
    assert [(v["id"], v["impact"]) for v in found["violations"]] == []


def test_screen_readers_are_told_the_round(opened):
    page = opened(make_chart())
    page.click("#next")
    page.click("#next")
    said = page.inner_text("#said")
    assert said.startswith("Round 3 of 12. Knit, from right to left. 3 oat, 6 ink, 15 oat.")
    assert "Catch ink behind stitches 15 and 21" in said
    assert page.get_attribute("#bar", "aria-valuenow") == "2"
    assert page.get_attribute("#chart", "aria-label") == "Chart, round 3 of 12 marked"


def test_the_chart_has_every_stitch_and_marks_the_round(opened):
    chart = make_chart()
    page = opened(chart)
    page.fill("#goto", "4")
    page.press("#goto", "Enter")
    seen = page.evaluate(
        """([rounds, stitches]) => {
            const canvas = document.getElementById("chart");
            const pen = canvas.getContext("2d");
            const w = canvas.width / stitches, h = canvas.height / rounds, out = [];
            for (let r = 0; r < rounds; r += 1) for (let s = 0; s < stitches; s += 1) {
                out.push([...pen.getImageData((s + 0.5) * w, (r + 0.5) * h, 1, 1).data.slice(0, 3)]);
            }
            return out;
        }""",
        list(chart.stitches.shape),
    )
    colours = np.array(seen).reshape(*chart.stitches.shape, 3)
    wanted = np.array([OAT.rgb, INK.rgb])[chart.stitches[::-1, ::-1]]
    assert np.abs(colours[8:] - wanted[8:]).max() <= 2  # knitted, and the round in hand
    paled = wanted + (255 - wanted) * 0.55
    assert np.abs(colours[:7] - paled[:7]).max() <= 3


@pytest.mark.parametrize("hand", ["right", "left"])
def test_catches_are_painted_on_the_chart(opened, hand):
    chart = make_chart(hand=hand)
    page = opened(chart)
    page.fill("#goto", "12")
    page.press("#goto", "Enter")
    for caught in chart.catches:
        column = caught.stitch if hand == "left" else chart.stitch_count - 1 - caught.stitch
        seen = page.evaluate(
            """([x, y]) => {
                const canvas = document.getElementById("chart");
                const at = [x / 24 * canvas.width, y / 12 * canvas.height];
                return [...canvas.getContext("2d").getImageData(...at, 1, 1).data.slice(0, 3)];
            }""",
            [column + 0.5, chart.round_count - caught.round - 0.18],
        )
        assert np.abs(np.array(seen) - chart.yarns[caught.yarn].rgb).max() <= 12


@pytest.mark.parametrize(
    ("hand", "worked", "ends"),
    [
        ("right", "round", ["right", "right"]),
        ("left", "round", ["left", "left"]),
        ("right", "flat", ["right", "left"]),
        ("left", "flat", ["left", "right"]),
    ],
)
def test_a_larger_chart_shows_where_the_round_starts(opened, hand, worked, ends):
    page = opened(
        Chart(np.zeros((4, 90), np.uint8), (OAT, INK), hand=hand, worked=worked, title="dog"),
        size=PHONE,
    )
    page.check("#zoom")
    for end in ends:
        left, width, room = page.evaluate(
            "(({scrollLeft, scrollWidth, clientWidth}) => [scrollLeft, scrollWidth, clientWidth])"
            "(document.getElementById('scroll'))"
        )
        assert width > 2 * room
        assert left == pytest.approx(width - room if end == "right" else 0, abs=1)
        page.click("#next")
    assert page.locator("#key li").all_inner_texts() == ["Aoat"]  # ink is not knitted


def test_the_chart_is_painted_once_and_not_with_every_round(opened):
    page = opened(make_chart())
    page.evaluate(
        """() => {
            window.painted = 0;
            const paint = window.paintChart;
            window.paintChart = (...told) => { window.painted += 1; paint(...told); };
        }"""
    )
    for _ in range(3):
        page.click("#next")
    assert page.evaluate("painted") == 0
    page.check("#zoom")
    assert page.evaluate("painted") == 1


def test_a_huge_chart_stays_within_what_a_phone_can_paint(opened):
    page = opened(Chart(np.zeros((160, 120), np.uint8), (OAT,), title="dog"), size=PHONE)
    page.check("#zoom")
    width, height = page.evaluate("[chart.width, chart.height]")
    assert 8_000_000 > width * height > 100_000
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_the_screen_is_asked_to_stay_awake(browser, tmp_path):
    context = browser.new_context(viewport=TABLET)
    page = context.new_page()
    page.add_init_script(
        """window.asked = [];
        Object.defineProperty(navigator, "wakeLock", {value: {request: async (kind) => {
            window.asked.push(kind); return {release: async () => { window.asked.push("released"); }};
        }}});"""
    )
    path = tmp_path / "page.html"
    path.write_text(html_of(make_chart()), encoding="utf-8")
    page.goto(path.as_uri())
    until(page, "window.asked.length === 1")
    page.uncheck("#awake")
    until(page, "window.asked.length === 2")
    assert page.evaluate("window.asked") == ["screen", "released"]
    context.close()


def test_hostile_names_are_only_text(opened):
    names = ("</script><script>document.title='owned'</script>", "<img src=x onerror=alert(1)>")
    chart = make_chart(
        title="\"><script>document.title='owned'</script>{{ 7*7 }}",
        yarns=tuple(Yarn(n, y.colour) for n, y in zip(names, (OAT, INK), strict=True)),
    )
    page = opened(chart)
    page.click("#next")
    assert page.title().startswith('"><script>')
    assert "{{ 7*7 }}" in page.inner_text("h1")
    assert page.locator("img").count() == 0
    assert page.locator("script").count() == 2


def test_data_cannot_end_its_script_element():
    text = _json({"name": "</script><!-- & \u2028"})
    assert not re.search("[<>&\u2028]", text)
    assert json.loads(text) == {"name": "</script><!-- & \u2028"}


def test_without_script_every_round_is_told(browser, tmp_path):
    chart = make_chart()
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    path = tmp_path / "page.html"
    path.write_text(html_of(chart), encoding="utf-8")
    page.goto(path.as_uri())
    assert len(page.locator("noscript li").all()) == len(speak(chart))
    context.close()


def test_the_file_stands_alone_and_is_small():
    cells = np.random.default_rng(1).integers(0, 2, (160, 120)).astype(np.uint8)
    text = html_of(Chart(cells, (OAT, INK), title="noise"))
    assert len(text.encode()) < 300_000
    assert not re.search(
        r"""(src|href)\s*=|url\(|@import|https?:""", text.replace("http-equiv", "")
    )
    assert "default-src 'none'" in html.unescape(text)
    assert text == html_of(Chart(cells, (OAT, INK), title="noise"))
