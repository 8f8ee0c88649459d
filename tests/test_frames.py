"""Frames of a picture: what they show of its subject, and that a closer one shows more of it."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data

from pic2chart.compare import compare_frames, frames_picture
from pic2chart.core.settings import Settings
from pic2chart.design.draft import READABLE
from pic2chart.picture.framing import find_head, head_of
from pic2chart.picture.source import read_source
from pic2chart.pipeline import make_chart
from tests.helpers.places import SAMPLES

TWO = ("oat=#ece2d0", "ink=#26304c")


@pytest.fixture(scope="module")
def far_cup(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cup small in a wide plain picture, and its mask beside it."""
    folder = tmp_path_factory.mktemp("frames")
    cup = data.coffee()[60:360, 130:480]
    wide = np.full((700, 1200, 3), cup[:8].mean(axis=(0, 1)), np.uint8)
    wide[200:500, 300:650] = cup
    mask = np.zeros(wide.shape[:2], np.uint8)
    mask[210:490, 330:620] = 255
    Image.fromarray(wide).save(folder / "cup.png")
    Image.fromarray(mask).save(folder / "mask.png")
    return folder / "cup.png"


def asked(picture: Path, **more: object) -> Settings:
    return Settings.from_mapping(
        {"yarn": TWO, "stitches": 40, "subject": str(picture.with_name("mask.png")), **more}
    )


def test_a_closer_frame_shows_more_of_the_subject(far_cup: Path) -> None:
    offers = compare_frames(far_cup, asked(far_cup, crop="0,0,700,700", frame="head"))
    whole, close = offers["whole"], offers["close"]
    assert whole.made.source is not None
    assert whole.made.source.picture.window.w == 1200
    assert close.across > 2 * whole.across
    assert close.shown > whole.shown + 0.1
    assert close.readable
    assert not whole.readable
    assert frames_picture(offers) == frames_picture(offers)


def test_a_small_subject_is_advised_what_makes_it_wider(far_cup: Path) -> None:
    far = make_chart(far_cup, asked(far_cup, frame="whole", stitches=30))
    advice = {what.code: dict(what.parameters) for what in far.report.remarks}["subject-small-far"]
    close = make_chart(far_cup, asked(far_cup, frame="close", stitches=30))
    offer = compare_frames(far_cup, asked(far_cup, stitches=30))["close"]
    assert np.array_equal(close.chart.stitches, offer.made.chart.stitches)
    assert offer.across == pytest.approx(advice["closer"], abs=1)
    assert offer.across >= READABLE
    close = make_chart(far_cup, asked(far_cup, frame="close", stitches=16))
    codes = {what.code for what in close.report.remarks}
    assert "subject-small" in codes
    assert "subject-small-far" not in codes


def test_a_part_that_is_named_goes_before_a_frame(far_cup: Path) -> None:
    settings = asked(far_cup, crop="200,100,600,500", frame="head")
    window = read_source(far_cup, settings, (40, None)).picture.window
    assert str(window) == "200,100,600,500"


def test_the_head_is_where_the_top_of_the_subject_is() -> None:
    person = np.zeros((300, 200), np.float32)
    person[20:60, 120:150] = 1  # the head, over a body that leans away from it
    person[60:280, 60:160] = 1
    box = head_of(person, (400, 600))
    assert box.x < 240
    assert box.x + box.w > 300
    assert box.y <= 40
    assert 80 < box.y + box.h < 400
    tight = head_of(person, (400, 600), None, 0.0)
    assert (tight.y, tight.x + tight.w) == (40, 320)


def test_a_head_is_seen_beside_what_touches_the_upper_edge() -> None:
    person = np.zeros((300, 300), np.float32)
    person[0:60, 0:30] = 1  # a flag
    person[20:80, 120:180] = 1
    person[80:100, 135:165] = 1
    person[100:300, 60:240] = 1
    head = find_head(person, (600, 600))
    assert head is not None
    assert (head.x, head.y) == (pytest.approx(240, abs=6), pytest.approx(40, abs=6))
    assert head.w == pytest.approx(120, abs=10)
    assert head.h == pytest.approx(160, abs=10)
    box = head_of(person, (600, 600), room=0.0, shape=1.0)
    assert abs(box.x + box.w / 2 - 300) < 8
    assert box.y + box.h < 300


def test_no_head_is_seen_where_nothing_narrows_or_widens() -> None:
    ball = np.zeros((200, 200), np.float32)
    y, x = np.mgrid[:200, :200]
    ball[np.hypot(y - 100, x - 100) < 70] = 1
    assert find_head(ball, (400, 400)) is None
    ball[20:45, 60:66] = ball[20:45, 134:140] = 1  # ears are no heads
    assert find_head(ball, (400, 400)) is None
    assert find_head(np.zeros_like(ball), (400, 400)) is None


def test_a_face_that_is_too_small_is_told_and_offered_nearer_first(tmp_path: Path) -> None:
    picture = tmp_path / "her.png"
    Image.fromarray(data.astronaut()).save(picture)
    offers = compare_frames(picture, Settings(yarn=TWO, stitches=50))
    assert list(offers) == ["head", "whole", "close"]
    assert offers["whole"].faceless
    assert not offers["head"].faceless
    (small,) = (w for w in offers["whole"].made.report.remarks if w.code == "head-small")
    assert dict(small.parameters)["closer"] == offers["head"].head
    assert offers["head"].made.chart.source["drawn"]["look"] == "inked"
    assert "head-small" not in {w.code for w in offers["head"].made.report.remarks}


def test_without_a_subject_a_frame_has_nothing_to_follow() -> None:
    picture = SAMPLES / "boat.png"
    settings = Settings(yarn=TWO, stitches=30, frame="close", subject="none")
    made = make_chart(picture, settings)
    assert "frame-without-subject" in {what.code for what in made.report.remarks}
    assert list(compare_frames(picture, settings)) == ["whole"]
