"""The library: recipe, folder, what is made again, catalogue, questions, and files that are broken."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from pic2chart.core.errors import InputError, OutputError, SettingError
from pic2chart.design.checked import check_chart
from pic2chart.library import tables
from pic2chart.library.batch import remarks_on
from pic2chart.library.catalogue import NAME, natural, opened, reading
from pic2chart.library.crew import on_cores
from pic2chart.library.difficulty import amounts_in, changes, difficulty_of, grade, parts_of
from pic2chart.library.find import Question, bounds, find, fit
from pic2chart.library.motif import Missed, place_of
from pic2chart.library.recipe import Recipe
from pic2chart.library.scan import scan
from pic2chart.model.any_file import read_any
from pic2chart.model.chart import Chart
from pic2chart.model.chart_file import write_chart
from pic2chart.model.measure import floats
from pic2chart.model.repeat import find_repeat
from pic2chart.model.yarn import Yarn
from tests.helpers.library_runs import (
    SMALL,
    contents,
    make_older,
    numbers,
    run,
    small_folder,
    tasks_of,
)

OAT, INK, RUST = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c"), Yarn("rust", "#a8502f")


def _names(out: Path, **asked: object) -> list[str]:
    return [answer.motif.name for answer in find(out, Question(**asked))]  # type: ignore[arg-type]


# Recipe and folder


def test_a_recipe_s_digest_changes_with_the_contents_of_its_shelf(tmp_path: Path) -> None:
    shelf = tmp_path / "yarns.csv"
    digests = set()
    for yarns in ("name,colour\noat,#ece2d0\n", "name,colour\nink,#26304c\n"):
        shelf.write_text(yarns)
        read = Recipe().over({"shelf": str(shelf)})
        digests.add(read.digest(read.order("dog.png")))
    plain = Recipe()
    assert len(digests | {plain.digest(plain.order("dog.png"))}) == 3


def test_later_patterns_and_side_files_go_over_the_recipe(tmp_path: Path) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(
        'stitches = 40\nshelf = "yarns.csv"\n[[pictures]]\nmatch = "cats/*"\nstitches = 50\n'
        'tags = ["cat"]\n[[pictures]]\nmatch = "*-wide.png"\nstitches = 60\n'
    )
    side = tmp_path / "tom.toml"
    side.write_text('rounds = 30\nsheets = ["words"]\n[sheet]\npaper = "letter"\n')
    read = Recipe.read(recipe)
    assert read.order("dog.png").settings.stitches == 40
    assert read.order("cats/tom.png").tags == ("cats", "cat")
    assert read.order("cats/tom-wide.png").settings.stitches == 60
    assert read.order("dog.png").settings.shelf == str(tmp_path / "yarns.csv")
    order = read.order("cats/tom.png", side)
    assert (order.settings.stitches, order.settings.rounds) == (50, 30)
    assert order.sheets is not None
    assert (order.sheets.only, order.sheets.paper) == (("words",), "letter")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("stiches = 4", "not an option"),
        ("stitches = 2", "between 4 and"),
        ("stitches = [", "not good TOML"),
        ("[[pictures]]\nstitches = 9", "no 'match'"),
        ("pictures = 3", "must be tables"),
        ('sheets = ["poster"]', "poster"),
        ("[sheet]\ninks = 3", "no option of sheets"),
        ('take = "both"', "choose auto"),
        ('tags = "sea"', "list of words"),
    ],
)
def test_a_wrong_recipe_is_refused_in_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    recipe = tmp_path / "recipe.toml"
    recipe.write_text(text)
    with pytest.raises((SettingError, InputError), match=said):
        Recipe.read(recipe)


def test_each_file_has_a_name_of_its_own_and_companions_are_left_out(tmp_path: Path) -> None:
    for name in ("a.png", "A.jpg", "b/c.png", "b c.png", ".hidden.png", "notes.txt", "gull.png",
                 "gull.chart.json", "gull-front.png", "out/x.png", "ü日.png", "a.toml", "🐟.gif",
                 "l" * 200 + ".png"):  # fmt: skip
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"")
    found = scan(tmp_path, frozenset({tmp_path / "out"})).found
    names = {file.path: file.name for file in found}
    assert len({name.casefold() for name in names.values()}) == len(names)
    assert "gull.chart.json" in names
    assert not {"gull.png", "gull-front.png", ".hidden.png", "notes.txt", "out/x.png"} & set(names)
    assert names["ü日.png"] == "ü日"
    assert all(len(name) <= 100 for name in names.values())
    assert {f.path: f.side for f in found}["a.png"] == tmp_path / "a.toml"


def test_a_name_that_is_no_text_is_taken(tmp_path: Path) -> None:
    picture = small_folder(tmp_path / "one", 1) / "sign 1.png"
    folder = tmp_path / "pictures"
    folder.mkdir()
    shutil.copy(picture, os.path.join(os.fsencode(folder), b"caf\xe9.png"))
    assert run(folder, tmp_path / "out").good
    assert find(tmp_path / "out", Question())[0].motif.path == "caf\\xe9.png"


def test_what_is_passed_over_is_told(tmp_path: Path) -> None:
    folder, recipe = small_folder(tmp_path / "pictures", 2), tmp_path / "pictures" / "recipe.toml"
    recipe.write_text('[[pictures]]\nmatch = "sgn*"\n[[pictures]]\nmatch = "sign*"\n')
    for name in ("a.pdf", "b.PDF", "notes", "sign 1.toml", "sign 9.toml", "gull.svg"):
        (folder / name).write_text("")
    (folder / "yarns.csv").write_text("sep=;\nName;Color;mine\noat;#ece2d0;1\n", "utf-16")
    for name in ("gull.chart.json", "gull.png", "gull-front.png", "gull-words.txt", ".hidden"):
        (folder / name).write_text("{}")
    read = Recipe.read(recipe)
    listing = scan(folder, read.files)
    assert listing.strange == ("a.pdf", "b.PDF", "notes")
    assert listing.lonely == ("sign 9.toml",)
    told = tuple(map(str, remarks_on(listing, read)))
    assert told[0] == "Passed over, as neither pictures nor charts: 2 .pdf, 1 without an ending."
    assert told[1].startswith("'sign 9.toml' has no picture of its name beside it")
    assert told[2:] == ("The recipe's pattern 'sgn*' fits no picture.",)
    assert str(run(folder, tmp_path / "out").remarks[0]) == told[0]


# What is made again


def test_only_what_changed_is_made_again(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 5), tmp_path / "out"
    assert run(folder, out).made == 5
    before = contents(out)
    assert (run(folder, out).made, run(folder, out).unchanged) == (0, 5)
    assert contents(out) == before
    later = time.time() + 50
    os.utime(folder / "sign 2.png", (later, later))
    assert run(folder, out).made == 0, "the same contents at another time"
    shutil.copy(folder / "sign 1.png", folder / "sign 2.png")
    assert run(folder, out).made == 1
    assert run(folder, out, {**SMALL, "float_limit": 4}).made == 5
    (folder / "sign 3.toml").write_text("float_limit = 3")
    assert run(folder, out, {**SMALL, "float_limit": 4}).made == 1
    assert run(folder, out, {**SMALL, "float_limit": 4}, again=True).made == 5
    (out / place_of("sign-4") / "sign-4.svg").unlink()
    assert run(folder, out, {**SMALL, "float_limit": 4}).made == 1


def test_a_file_changed_within_the_tick_of_the_clock_is_read_again(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 1), tmp_path / "out"
    run(folder, out)
    with reading(out) as catalogue:
        assert catalogue.seen() == {}, "too fresh to be trusted by its time alone"


def test_a_changed_shelf_makes_the_charts_again(tmp_path: Path) -> None:
    folder, out, shelf = (
        small_folder(tmp_path / "pictures", 2),
        tmp_path / "out",
        tmp_path / "s.csv",
    )
    shelf.write_text("name,colour\noat,#ece2d0\nink,#26304c\n")
    options = {"stitches": 14, "rounds": 12, "shelf": str(shelf)}
    assert run(folder, out, options).made == 2
    assert run(folder, out, options).made == 0
    shelf.write_text("name,colour\nsnow,#f4f4f0\ncoal,#202020\n")
    assert run(folder, out, options).made == 2
    assert _names(out, yarns=("coal",)) == ["sign-1", "sign-2"]


def test_motifs_of_gone_pictures_leave_but_another_folder_does_not_empty_the_library(
    tmp_path: Path,
) -> None:
    folder, out = small_folder(tmp_path / "pictures", 4), tmp_path / "out"
    run(folder, out)
    (folder / "sign 2.png").unlink()
    assert run(folder, out).removed == 1
    assert not (out / place_of("sign-2")).exists()
    assert [row[0] for row in numbers(out)] == [1, 2, 3, 4], "a number is never given twice"
    small_folder(folder, 5)
    run(folder, out)
    found = {m.motif.name: m.motif.number for m in find(out, Question())}
    assert found == {f"sign-{n}": n for n in range(1, 6)}, "the one that came back has its own"
    (folder / "sign 5.png").unlink()
    (folder / "sign 2.png").unlink()
    run(folder, out)
    other = tmp_path / "other"
    other.mkdir()
    with pytest.raises(SettingError, match="holds no picture of"):
        run(other, out)
    assert len(_names(out)) == 3


def test_a_folder_that_holds_something_else_is_not_written_into(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 1)
    with pytest.raises(SettingError, match="not a library and not empty"):
        run(folder, folder)
    with pytest.raises(InputError, match="not a folder of pictures"):
        run(tmp_path / "nowhere", tmp_path / "out")
    with pytest.raises(SettingError, match="Only one yarn"):
        run(folder, tmp_path / "out", {**SMALL, "yarn": ["oat=#ece2d0"]})


def test_the_same_on_one_core_and_on_two(tmp_path: Path) -> None:
    folder = small_folder(tmp_path / "pictures", 8)
    run(folder, tmp_path / "one")
    run(folder, tmp_path / "two", jobs=2)
    assert contents(tmp_path / "one") == contents(tmp_path / "two")


# Broken files and charts


def _broken(folder: Path) -> set[str]:
    """One file of every kind of damage; their names."""
    whole = (folder / "sign 1.png").read_bytes()
    with Image.open(folder / "sign 1.png") as picture:
        picture.convert("RGB").save(folder / "whole.jpg")
    jpeg = (folder / "whole.jpg").read_bytes()
    bomb = bytearray(whole)
    bomb[16:24] = (60_000).to_bytes(4, "big") * 2
    files = {
        "empty.png": b"",
        "cut.png": whole[: len(whole) // 2],
        "bomb.png": bytes(bomb),
        "cut.jpg": jpeg[: len(jpeg) // 3],
        "text.jpg": b"this is no picture",
        "zeros.tif": bytes(4000),
        "gif.gif": b"GIF89a" + bytes(30),
        "bad.chart.json": b'{"format": "pic2chart.chart", "version": 1}',
        "newer.chart.json": b'{"format": "pic2chart.chart", "version": 99}',
        "deep.chart.json": b"[" * 50_000,
        "keys.csv": b"A,B\n" + bytes([0xFF, 0xFE]),
        "heic.heic": b"\0\0\0\x18ftypheic" + bytes(50),
    }
    for name, data in files.items():
        (folder / name).write_bytes(data)
    (folder / "side.png").write_bytes(whole)
    (folder / "side.toml").write_text("stitches = 'many'")
    (folder / "dangling.png").symlink_to(folder / "nowhere.png")
    return set(files) | {"side.png"}


def test_broken_files_are_reported_and_skipped_and_the_rest_is_done(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    bad = _broken(folder)
    summary = run(folder, out, jobs=2)
    assert {path for path, _ in summary.broken} == bad
    assert (summary.made, summary.good) == (4, False)
    assert all("Something went wrong" not in message for _, message in summary.broken)
    said = dict(summary.broken)
    assert said["text.jpg"].startswith("The picture is not a JPEG")
    assert said["newer.chart.json"].startswith("The chart file has format version 99")
    assert not any(str(tmp_path) in message for path, message in said.items() if path != "side.png")
    again = run(folder, out)
    assert (again.made, again.broken) == (0, summary.broken)
    for name in bad:
        (folder / name).unlink()
    (folder / "side.toml").unlink()
    assert run(folder, out).good


class Deadly:
    """Ends the process that unpacks it, as a decoder that crashes would."""

    def __reduce__(self) -> tuple[Any, tuple[int]]:
        return os._exit, (7,)


@pytest.mark.slow
def test_a_picture_that_kills_its_process_takes_none_with_it(tmp_path: Path) -> None:
    tasks = tasks_of(small_folder(tmp_path / "pictures", 10), tmp_path)
    deadly = replace(tasks[4], order=Deadly())  # type: ignore[arg-type]
    results = list(on_cores(2, tmp_path)([*tasks[:4], deadly, *tasks[5:]]))
    assert sorted(r.path for r in results) == sorted(t.path for t in tasks)
    missed = [r for r in results if isinstance(r, Missed)]
    assert [r.path for r in missed] == [deadly.path]
    assert "ended; it is tried again next time" in missed[0].message


@pytest.mark.faulty_charts
def test_finished_charts_are_taken_as_they_are_and_checked(tmp_path: Path) -> None:
    folder, out = tmp_path / "charts", tmp_path / "out"
    folder.mkdir()
    stitches = np.tile(np.array([[0, 0, 1, 1], [0, 1, 1, 0]], np.uint8), (3, 4))
    chart = Chart(stitches, (OAT, INK), title="slant")
    write_chart(chart, folder / "slant.chart.json")
    long = stitches.copy()
    long[2] = 0
    long[2, :2] = 1
    write_chart(chart.with_(stitches=long, title="long"), folder / "long.chart.json")
    page = Image.fromarray(stitches[::-1, ::-1])
    page.putpalette([0xEC, 0xE2, 0xD0, 0x26, 0x30, 0x4C])
    page.save(folder / "pixels.png")
    (folder / "keys.csv").write_text("A,B,B\nB,A,A\n")
    summary = run(folder, out)
    assert (summary.motifs, summary.good) == (4, False)
    assert [path for path, _ in summary.faulty] == ["long.chart.json"]
    assert "floats behind" in summary.faulty[0][1]
    slant = find(out, Question("slant"))[0].motif
    assert (slant.kind, slant.likeness) == ("chart", None)
    assert (slant.repeat_kind, slant.repeat_stitches, slant.repeat_rounds) == ("straight", 4, 2)
    kept = read_any(out / slant.place / f"{slant.name}.chart.json")
    assert np.array_equal(kept.stitches, stitches)
    assert _names(out, faulty=True) == ["long"]
    options = {**SMALL, "take": "picture"}
    assert run(folder, out, options).broken, "a chart file is no picture"
    assert find(out, Question("pixels"))[0].motif.kind == "picture"


# The catalogue


@pytest.mark.parametrize("version", [1, 2])
def test_a_library_of_an_older_layout_is_taken_over(tmp_path: Path, version: int) -> None:
    folder, out = small_folder(tmp_path / "pictures", 3), tmp_path / "out"
    run(folder, out)
    whole = contents(out)
    make_older(out, version)
    with pytest.raises(InputError, match="older version"):
        find(out, Question())
    summary = run(folder, out)
    assert (summary.made, summary.unchanged) == (0, 3)
    assert contents(out).keys() == whole.keys()
    assert [m.motif.number for m in find(out, Question("sign"))] == [1, 2, 3]
    run(folder, out, again=True)  # what an older version did not know is known now
    assert contents(out) == whole


def test_a_newer_or_foreign_catalogue_is_refused(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 1), tmp_path / "out"
    run(folder, out)
    connection = sqlite3.connect(out / NAME)
    connection.execute(f"PRAGMA user_version = {tables.VERSION + 1}")
    connection.close()
    for ask in (lambda: find(out, Question()), lambda: run(folder, out)):
        with pytest.raises(InputError, match="use a newer pic2chart"):
            ask()
    for name, data in (("text", b"no catalogue" * 99), ("other", None)):
        place = tmp_path / name
        place.mkdir()
        if data is None:
            sqlite3.connect(place / NAME).execute("CREATE TABLE cats (name TEXT)").close()
        else:
            (place / NAME).write_bytes(data)
        with pytest.raises(InputError):
            find(place, Question())
        with pytest.raises((InputError, OutputError)):
            run(folder, place)
    with pytest.raises(InputError, match="not a library"):
        find(tmp_path, Question())


def test_each_step_of_the_schema_starts_where_the_one_before_ends(tmp_path: Path) -> None:
    connection = sqlite3.connect(tmp_path / "x", isolation_level=None)
    tables.bring_up_to_date(connection, tmp_path / "x")
    assert tables.version_of(connection, tmp_path / "x") == tables.VERSION
    connection.close()
    with opened(tmp_path) as here:
        assert here.connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_the_catalogue_says_what_the_chart_files_say(tmp_path: Path) -> None:
    folder, out = small_folder(tmp_path / "pictures", 4), tmp_path / "out"
    run(folder, out)
    for answer in find(out, Question()):
        motif = answer.motif
        assert all((out / motif.place / file).is_file() for file in motif.files)
        checked = check_chart(out / motif.place / f"{motif.name}.chart.json")
        report = checked.report
        for name in (
            "stitches",
            "rounds",
            "longest_float",
            "catches",
            "isolated",
            "ends",
            "errors",
        ):
            assert getattr(motif, name) == getattr(report, name), name
        assert motif.yarns == report.yarns
        assert motif.contrast == report.pairs[0].delta_L
        repeat = find_repeat(checked.chart.stitches, circular=checked.chart.in_round)
        assert motif.parts == parts_of(amounts_in(checked.chart, report, repeat))
        assert motif.difficulty == difficulty_of(motif.parts)
        assert motif.likeness == checked.chart.score["likeness"]
        assert (motif.width_cm, motif.height_cm) == (report.width_cm, report.height_cm)


def test_motifs_are_numbered_as_people_count(tmp_path: Path) -> None:
    run(small_folder(tmp_path / "pictures", 11), tmp_path / "out")
    assert _names(tmp_path / "out")[:3] == ["sign-1", "sign-2", "sign-3"]
    assert natural("fish 2") < natural("Fish 10")
    assert natural("٣") == natural("3")


# Difficulty


def _difficulty(chart: Chart) -> tuple[float, tuple[float, ...]]:
    from pic2chart.checks.report import report_of
    from pic2chart.checks.rules import check

    repeat = find_repeat(chart.stitches, circular=chart.in_round)
    parts = parts_of(amounts_in(chart, report_of(chart, check(chart)), repeat))
    return difficulty_of(parts), parts


def test_the_difficulty_formula_by_hand() -> None:
    """Two yarns changing at every stitch, known by heart: changes count .25 in full, four ends in
    four rounds .08 in full; .33 lies three tenths of the way from 2 to 3.5."""
    stitches = np.tile(np.array([[0, 1], [1, 0]], np.uint8), (2, 5))
    chart = Chart(stitches, (OAT, INK))
    assert changes(chart) == 40
    difficulty, parts = _difficulty(chart)
    assert difficulty == round(1 + 1 + 0.3 * 1.5, 1)
    assert parts[0] == pytest.approx(1.45 * 0.25 / 0.33, abs=0.01)
    assert parts[4] == pytest.approx(1.45 * 0.08 / 0.33, abs=0.01)
    assert sum(parts) == parts[0] + parts[4]
    assert grade(difficulty) == "easy"
    assert _difficulty(Chart(np.zeros((4, 10), np.uint8), (OAT,)))[0] == 1.0
    assert changes(chart.with_(worked="flat")) == 36


def test_what_is_harder_counts_as_harder() -> None:
    rng = np.random.default_rng(1)
    noise = rng.integers(0, 2, (40, 40)).astype(np.uint8)
    blocks = np.kron(rng.integers(0, 2, (10, 10)), np.ones((4, 4), int)).astype(np.uint8)
    small = np.tile(noise[:4, :4], (10, 10))
    order = [_difficulty(Chart(squares, (OAT, INK)))[0] for squares in (small, blocks, noise)]
    assert max(order[:2]) < 3
    assert order[2] > 7


# Questions


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four charts with known figures and four pictures."""
    place = tmp_path_factory.mktemp("library")
    folder = small_folder(place / "pictures", 4)
    unit = np.array([[0, 0, 1, 0, 1, 1], [0, 1, 0, 1, 1, 0]], np.uint8)
    straight = Chart(np.tile(unit, (4, 4)), (OAT, INK), title="rope")
    write_chart(straight, folder / "rope.chart.json")
    drop = np.hstack([np.vstack([unit, 1 - unit]), np.vstack([1 - unit, unit])])
    write_chart(
        Chart(np.tile(drop, (3, 2)), (OAT, RUST), title="net & buoy"), folder / "drop.chart.json"
    )
    (folder / "sign 1.toml").write_text('tags = ["Sea", "Möwe"]')
    run(folder, place / "out")
    return place / "out"


def test_words_are_found_by_their_beginning_whatever_the_accents(library: Path) -> None:
    assert _names(library, words="rop") == ["rope"]
    assert _names(library, words="mowe sea") == ["sign-1"]
    assert _names(library, words="rust") == ["drop"]
    assert _names(library, words='"net" AND OR ( buoy*') == []
    assert _names(library, words='NEAR("') == []
    assert _names(library, words="& buoy") in ([], ["drop"])


def test_ranges_yarns_and_kinds(library: Path) -> None:
    assert _names(library, ranges={"stitches": "24"}) == ["drop", "rope"]
    assert _names(library, ranges={"stitches": "-14"}) == [f"sign-{n}" for n in range(1, 5)]
    assert _names(library, ranges={"repeat": "6"}) == ["rope"]
    assert _names(library, kind="half-drop") == ["drop"]
    assert _names(library, yarns=("RUST",)) == ["drop"]
    assert _names(library, yarns=("oat", "ink"), ranges={"rounds": "8"}) == ["rope"]
    assert _names(library, ranges={"likeness": "0-1"}) == [f"sign-{n}" for n in range(1, 5)]
    assert _names(library, sort="stitches", limit=2) == ["sign-1", "sign-2"]
    assert _names(library, words="'; DROP TABLE motif; --") == []
    assert len(_names(library)) == 6


@pytest.mark.parametrize("text", ["", "-", "a", "9-3", "1-b", "nan-"])
def test_a_range_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(SettingError, match="give a number or a range"):
        bounds(text, "stitches")


def test_motifs_that_divide_a_round(library: Path) -> None:
    fits = {f.motif.name: f for f in fit(library, 48)}
    assert (fits["rope"].words, fits["drop"].words) == ("8 × 6", "4 × 12")
    strip = fits["sign-1"]
    assert strip.filler is not None
    for found in fits.values():
        assert found.times * (found.unit + found.strip) == 48
    alone = fit(library, 48, alone=True)
    assert {f.motif.name for f in alone} == {"drop", "rope"}
    best = [(f.longest_float > f.motif.float_limit, f.strip > 0) for f in fit(library, 48)]
    assert best == sorted(best), "the best first"
    assert fit(library, 13, alone=True) == []
    with pytest.raises(SettingError, match="cannot be fitted"):
        fit(library, 3)


def test_the_longest_float_of_a_fitted_round_is_that_of_the_round_put_together(
    library: Path,
) -> None:
    for found in fit(library, 96, alone=True):
        place = library / found.motif.place / f"{found.motif.name}.chart.json"
        unit = read_any(place).stitches[:, : found.unit]
        whole = np.ascontiguousarray(np.tile(unit, (1, found.times)))
        assert floats(whole, circular=True).longest == found.longest_float


def test_json_of_every_answer_is_plain(library: Path) -> None:
    from pic2chart.cli.library import _fit_plain, _plain

    for answer in find(library, Question()):
        assert json.loads(json.dumps(_plain(answer)))["name"] == answer.motif.name
    assert json.loads(json.dumps([_fit_plain(f) for f in fit(library, 48)]))
