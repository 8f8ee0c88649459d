"""Files that nobody should trust, for every reader: damaged at random, found earlier, and crafted.

Much longer runs: `python -m tests.fuzz.long`.
"""

from __future__ import annotations

import base64
import json
import random
import resource
import sqlite3
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from pic2chart.core.errors import InputError, Pic2ChartError, SettingError
from pic2chart.core.files import read_bytes
from pic2chart.core.settings import Settings
from pic2chart.desk.project import Project
from pic2chart.desk.state import State
from pic2chart.library.recipe import Recipe
from pic2chart.model.chart import Catch
from pic2chart.sheets.words.read import read_words
from pic2chart.sheets.words.write import words_text
from tests.fuzz.readers import READERS, charts, leave, try_one
from tests.helpers.places import TESTS

FOUND = sorted(path for path in (TESTS / "fuzz" / "found").rglob("*") if path.is_file())
CPU_SECONDS = 0.9
"""Work given to each reader here."""


@pytest.fixture(scope="module", autouse=True)
def _work_folder() -> Iterator[None]:
    yield
    leave()


@pytest.mark.parametrize("name", READERS)
def test_good_files_are_read(name: str) -> None:
    taken = [try_one(name, seed) for seed in READERS[name].seeds()]
    assert sum(taken) > 0.7 * len(taken)


@pytest.mark.slow
@pytest.mark.parametrize("name", READERS)
def test_damaged_files_are_refused_in_one_sentence_or_read_soundly(name: str) -> None:
    dice, seeds = random.Random(name), READERS[name].seeds()
    end, tried, taken = time.process_time() + CPU_SECONDS, 0, 0
    while tried < 50 or (tried < 2000 and time.process_time() < end):
        data = READERS[name].spoiled(dice, seeds, structured=tried % 2 == 1)
        try:
            taken += try_one(name, data)
        except Exception as error:
            pytest.fail(f"{name}, input {tried}: {error!r}\nkeep this as a case: {data[:2000]!r}")
        tried += 1
    assert 0 < taken < tried


@pytest.mark.parametrize("path", FOUND, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_what_was_found_stays_mended(path: Path) -> None:
    try_one(path.parent.name, path.read_bytes())


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"stitches": [20, 30]}, "it must be one whole number"),
        ({"yarn": "oat=#ece2d0"}, "it must be a list of words"),
        ({"long_floats": ["catch"]}, "it must be one word"),
        ({"seed": None}, "it must be a whole number"),
        ({"title": "x" * 5, "gulls" * 3000: 1}, "is not an option"),
    ],
)
def test_an_option_takes_as_many_values_as_it_has(options: dict[str, object], said: str) -> None:
    with pytest.raises(SettingError, match=said) as told:
        Settings.from_mapping(options)
    assert len(str(told.value)) < 1500


def _words(**parts: str) -> str:
    """The words of a chart of 2 rounds of 5 stitches, with some lines changed."""
    lines = words_text(charts()[0]).splitlines()
    changed = [
        f"{name}: {parts[name.replace(' ', '_')]}" if name.replace(" ", "_") in parts else line
        for line in lines
        for name in [line.partition(": ")[0]]
    ]
    return "\n".join(changed)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (_words(Round_2="(0 oat) × 9999, " * 200_000 + "5 oat."), "is no run"),
        (_words(Round_2="(1 oat) × 0, 5 oat."), "is no run"),
        (_words(Round_2="5 oat.") + "\nRound 2: 5 ink." * 10, "Round 2 is told twice"),
        (_words() + "\n" * 3_000_000, "more than 20,000 lines"),
    ],
    ids=["runs of nothing", "no times", "told twice", "lines without end"],
)
def test_short_words_cannot_ask_for_endless_work(words: str, said: str) -> None:
    began = time.process_time()
    with pytest.raises(InputError, match=said):
        read_words(words)
    assert time.process_time() - began < 5


def test_words_that_tell_of_more_catches_than_stitches() -> None:
    many = "5 oat" + "; catch ink behind stitches " + "1, " * 100_000 + "1."
    words = _words(Size="5 stitches × 1000 rounds", Round_2=many)
    with pytest.raises(InputError, match="more than 10,100 catches"):
        read_words(words.replace("Round 2:", "Rounds 2–1000:"))


@pytest.mark.parametrize(
    "text",
    ["a." * 400_000 + "a = 1\n", "x = " + "[" * 400_000, "x = " + "{a=" * 300_000],
    ids=["dots", "lists", "tables"],
)
def test_a_recipe_cannot_keep_the_reader_busy(tmp_path: Path, text: str) -> None:
    path = tmp_path / "recipe.toml"
    path.write_text(text)
    began = time.process_time()
    with pytest.raises(InputError):
        Recipe.read(path)
    assert time.process_time() - began < 5


def test_a_name_that_no_file_can_have() -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_bytes(Path("a\0b"), 10, "shelf")


def _project(folder: Path, *lines: tuple[bytes, bytes], tail: bytes = b"") -> Project:
    """A project whose history has these lines (kind, body), with good checksums."""
    folder.mkdir()
    signed = [b"%s %08x %s\n" % (kind, zlib.crc32(body), body) for kind, body in lines]
    (folder / "history.log").write_bytes(b"".join(signed) + tail)
    return Project(folder, folder / "shelf.csv")


def _step(**changes: object) -> tuple[bytes, bytes]:
    plain = State(Settings(), charts()[0]).to_plain() | changes
    return b"S", json.dumps({"what": "x", "state": plain}).encode()


def _packed(data: bytes) -> str:
    return base64.b64encode(zlib.compress(data)).decode()


def _arrays(catches: tuple[int, ...]) -> dict[str, object]:
    """A later step's arrays, of 2 rounds of 5 stitches; `catches`: round, stitch and yarn of each."""
    numbers = b"".join(number.to_bytes(2, "little") for number in catches)
    packed = {"stitches": _packed(bytes(10)), "fixed": None, "catches": _packed(numbers)}
    return {"shape": [2, 5], **packed}


@pytest.mark.parametrize(
    "changes",
    [
        {"chart": "no base64!"},
        {"chart": base64.b64encode(b"no zlib").decode()},
        {"chart": _packed(b"\xff")},
        {"chart": _packed(b"{}")},
        {"chart": _packed(b" " * 300_000_000)},
        {"chart": 7},
        {"whole": 0, "arrays": {"shape": [2, 5], "stitches": _packed(bytes(3))}},
        {"arrays": _arrays(catches=(0, 0, 7))},
        {"arrays": _arrays(catches=(2, 0, 0))},
        {"settings": {"stitches": -1}},
        {"settings": [1]},
        {"picture": "../../elsewhere"},
        {"picture": "picture-0123456789abcdeg"},
        {"remarks": 5},
        {"facts": None},
    ],
    ids=str,
)
def test_a_step_that_holds_anything_else_is_told(
    tmp_path: Path, changes: dict[str, object]
) -> None:
    began = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    project = _project(tmp_path / "0123456789ab", _step(**changes))
    with pytest.raises(Pic2ChartError) as told:
        assert project.now
    assert "\n" not in str(told.value)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - began < 400_000  # kilobytes


def test_the_same_step_with_a_catch_that_is_there_is_read(tmp_path: Path) -> None:
    project = _project(tmp_path / "0123456789ab", _step(arrays=_arrays(catches=(1, 3, 1))))
    assert project.now.state.chart.catches == (Catch(1, 3, 1),)


@pytest.mark.parametrize("whole", [10**30, -5, 3, "x", None, [1]], ids=str)
def test_a_step_that_leans_on_no_other_is_told(tmp_path: Path, whole: object) -> None:
    plain = {k: v for k, v in State(Settings(), charts()[0]).to_plain().items() if k != "chart"}
    body = json.dumps({"what": "x", "state": plain | {"whole": whole}}).encode()
    project = _project(tmp_path / "0123456789ab", _step(), (b"S", body))
    with pytest.raises(InputError, match="cannot be read"):
        assert project.now


def test_a_move_to_a_step_that_is_not_there_changes_nothing(tmp_path: Path) -> None:
    project = _project(tmp_path / "0123456789ab", _step(), (b"G", b"7"))
    assert project.history.step == 0
    assert project.now.state.chart.title == "harbour dog"


def test_a_line_nested_without_end_is_where_the_history_ends(tmp_path: Path) -> None:
    deep = b'{"what":' + b"[" * 200_000
    project = _project(tmp_path / "0123456789ab", _step(), (b"S", deep))
    assert project.history.step == 0


def test_one_project_that_cannot_be_read_hides_no_other(tmp_path: Path) -> None:
    from pic2chart.desk.store import Store

    store = Store(tmp_path)
    _project(tmp_path / "0123456789ab", _step(chart="spoilt"))
    _project(tmp_path / "ba9876543210", _step())
    cards = {card["id"]: card for card in store.cards()}
    assert "cannot be read" in cards["0123456789ab"]["trouble"]
    assert cards["ba9876543210"]["title"] == "harbour dog"


def test_a_damaged_catalogue_is_told(tmp_path: Path) -> None:
    from pic2chart.library.catalogue import NAME
    from pic2chart.library.find import Question, find
    from tests.helpers import library_runs as runs

    runs.run(runs.small_folder(tmp_path / "pictures", 2), tmp_path / "out")
    connection = sqlite3.connect(tmp_path / "out" / NAME)
    connection.execute("PRAGMA journal_mode = DELETE")  # all of it in one file
    connection.close()
    whole, dice, told = (tmp_path / "out" / NAME).read_bytes(), random.Random(5), 0
    (tmp_path / "spoilt" / "motifs").mkdir(parents=True)
    for _ in range(300):
        data = bytearray(whole)
        for _ in range(dice.choice((1, 5, 40))):
            at = dice.randrange(len(data))
            data[at : at + 4] = dice.randbytes(4)
        for old in (tmp_path / "spoilt").glob("catalogue*"):
            old.unlink()
        (tmp_path / "spoilt" / NAME).write_bytes(data)
        try:
            find(tmp_path / "spoilt", Question())
        except InputError as error:
            told += "cannot be read" in str(error)
    assert told
