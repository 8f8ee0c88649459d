"""The command line: flags are the settings, failures are one line, help is quick and has examples."""

from __future__ import annotations

import io
import json
import re
import shlex
import subprocess
import sys
from collections import namedtuple
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import typer
from typer.testing import CliRunner

from pic2chart.checks.finding import Finding
from pic2chart.checks.report import report_of
from pic2chart.cli import app as shell
from pic2chart.cli import main
from pic2chart.cli.flags import chart_folder
from pic2chart.cli.progress import Steps
from pic2chart.cli.screen import many, one_line
from pic2chart.cli.show import (
    MOST_ALIKE,
    MOST_LINES,
    MOST_PAIRS,
    print_json,
    show,
    show_changes,
    status,
)
from pic2chart.cli.words import SHELL, flag
from pic2chart.core.errors import InputError
from pic2chart.core.messages import fill, said
from pic2chart.core.settings import Settings
from pic2chart.model.chart import Chart
from pic2chart.model.yarn import Yarn

OAT, INK = Yarn("oat", "#ece2d0"), Yarn("ink", "#26304c")
HEAVY = ("numpy", "PIL", "llvmlite", "cv2", "skimage", "sklearn", "scipy", "reportlab", "fastapi")
NAMES = [command.name for command in shell.COMMANDS]

app_commands: dict[str, Any] = typer.main.get_command(shell.build()).commands  # type: ignore[attr-defined]


def parameters(name: str) -> dict[str, Any]:
    return {parameter.name: parameter for parameter in app_commands[name].params}


@pytest.mark.parametrize("field", fields(Settings), ids=lambda field: field.name)
def test_every_setting_is_a_flag_with_the_same_help_and_default(field: Any) -> None:
    option = parameters("chart")[field.name]
    assert option.opts == [flag(field.name)]
    assert option.help.startswith(fill(field.metadata["help"], SHELL))
    assert option.multiple == isinstance(field.default, tuple)
    for choice in field.metadata["choices"]:
        assert choice in option.metavar
    for side in ("low", "high"):
        if field.metadata[side] is not None:
            assert f"{field.metadata[side]:.10g}" in option.help


def test_no_flag_given_means_the_default_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    assert settings_given(monkeypatch, []) == Settings()


def test_flags_become_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    flags = (
        "--stitches 64 --yarn oat=#ece2d0 --yarn a=b=#26304c --float-cm 2.5 --flat --min-delta-l 30"
    )
    wanted = Settings(
        stitches=64,
        yarn=("oat=#ece2d0", "a=b=#26304c"),
        float_cm=2.5,
        flat=True,
        min_delta_L=30.0,
    )
    assert settings_given(monkeypatch, flags.split()) == wanted


def settings_given(monkeypatch: pytest.MonkeyPatch, flags: list[str]) -> Settings:
    """What the pipeline is asked for; it answers with an error, so that nothing is made."""
    import pic2chart.pipeline

    asked: list[Settings] = []

    def make_chart(picture: Path, settings: Settings, progress: Any) -> None:
        asked.append(settings)
        raise InputError(said(f"The picture '{picture}' cannot be read."))

    monkeypatch.setattr(pic2chart.pipeline, "make_chart", make_chart)
    assert shell.run(["chart", "dog.png", *flags]) == 2
    return asked[0]


@pytest.mark.parametrize("command", shell.COMMANDS, ids=NAMES)
def test_help_has_an_example_that_parses(command: shell.Command) -> None:
    shown = CliRunner().invoke(shell.build(), [command.name, "--help"])
    assert shown.exit_code == 0
    assert f"Example:\n    {command.example}" in shown.output
    assert not re.search(r"<\w+(\[|>)|<=", shown.output)  # a type or a range as programs write it
    words = ["pic2chart", *command.name.split()]
    given = shlex.split(command.example)
    assert given[: len(words)] == words
    rest = given[len(words) :]
    with app_commands[command.name].make_context(command.name, rest) as context:
        assert context.params


def test_the_front_page_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    for line in ([], ["--help"]):
        assert shell.run(line) == 0
        page = capsys.readouterr().out
        assert shell.EXAMPLE in page
        assert all(f"\n  {name} " in page for name in NAMES)


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    from pic2chart import __version__

    assert shell.run(["--version"]) == 0
    assert capsys.readouterr().out == f"pic2chart {__version__}\n"


@pytest.mark.parametrize("line", [[], *([name] for name in NAMES)], ids=lambda line: " ".join(line))
def test_help_imports_nothing_heavy(line: list[str]) -> None:
    script = (
        "import sys; from pic2chart.cli.app import run\n"
        f"status = run({[*line, '--help']!r})\n"
        f"print([m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr); sys.exit(status)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "[]\n")


BAD = {
    "no such command": (["knit"], "No such command 'knit'"),
    "nearly a command": (["chrat"], "No such command 'chrat'. Did you mean 'chart'"),
    "no such thing to make": (["make", "mittens"], "Did you mean 'make mitten'"),
    "nothing like it to make": (["make", "x1"], "No such command 'make x1'"),
    "no such option": (["chart", "dog.png", "--colour", "red"], "--colour"),
    "no picture": (["chart"], "PICTURE"),
    "no chart": (["check"], "CHART"),
    "no out": (["mend", "a.chart.json"], "--out"),
    "not a number": (["chart", "dog.png", "--stitches", "many"], "--stitches"),
    "a value missing": (["chart", "dog.png", "--stitches"], "--stitches"),
    "out of range": (
        ["chart", "dog.png", "--stitches", "3"],
        "--stitches is 3; it must be between 4 and 1000 stitches.",
    ),
    "no such choice": (
        ["chart", "dog.png", "--long-floats", "cut"],
        "--long-floats is 'cut'; choose catch or break.",
    ),
    "not finite": (["chart", "dog.png", "--float-cm", "nan"], "--float-cm is nan"),
    "no such chart": (["check", "no-such.chart.json"], "no-such.chart.json"),
    "steers the terminal": (["\x1b[2J"], "No such command"),
}


@pytest.mark.parametrize(("line", "said"), BAD.values(), ids=BAD.keys())
def test_bad_usage_is_one_line_and_leaves_nothing(
    line: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as left:
        main(line)
    out, err = capsys.readouterr()
    assert (left.value.code, out) == (2, "")
    assert err.startswith("pic2chart: ")
    assert err.endswith("\n")
    assert err[:-1].isprintable()
    assert said in err
    assert list(tmp_path.iterdir()) == []


def test_a_picture_in_the_place_of_a_command_is_told_where_it_belongs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "dog.jpg").write_bytes(b"")
    assert shell.run(["dog.jpg"]) == 2
    assert "pic2chart chart 'dog.jpg', or open the page" in capsys.readouterr().err


def failing(error: BaseException) -> Callable[[], None]:
    def run() -> None:
        raise error

    return run


def run_failing(monkeypatch: pytest.MonkeyPatch, error: BaseException) -> int:
    commands = (*shell.COMMANDS, shell.Command("fail", failing(error), "pic2chart fail"))
    monkeypatch.setattr(shell, "COMMANDS", commands)
    return shell.run(["fail"])


def test_an_interruption_is_quiet(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_failing(monkeypatch, KeyboardInterrupt()) == 130
    assert capsys.readouterr() == ("", "")


def test_a_fault_of_the_program_asks_for_a_report(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delenv("PIC2CHART_TRACEBACK", raising=False)
    assert run_failing(monkeypatch, RuntimeError("a dropped\nstitch")) == 2
    out, err = capsys.readouterr()
    assert (out, err.count("\n")) == ("", 1)
    assert "RuntimeError: a dropped stitch" in err
    assert "report" in err


def test_a_traceback_is_there_when_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PIC2CHART_TRACEBACK", "1")
    with pytest.raises(RuntimeError, match="dropped"):
        run_failing(monkeypatch, RuntimeError("a dropped stitch"))


def test_too_little_memory_says_what_to_try(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run_failing(monkeypatch, MemoryError()) == 2
    assert "smaller" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_output_is_one_line() -> None:
    with open("/dev/full", "w") as full:
        done = run_module(["--help"], stdout=full)
    assert done.returncode == 2
    assert done.stderr == "pic2chart: The output cannot be written: no space left on device.\n"


def test_a_reader_who_leaves_is_no_fault() -> None:
    with subprocess.Popen(["true"], stdin=subprocess.PIPE) as reader:
        reader.wait()
        done = run_module(["chart", "--help"], stdout=reader.stdin)
    assert done.stderr == ""
    assert done.returncode == 1


def run_module(line: list[str], **where: Any) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pic2chart", *line]
    return subprocess.run(command, stderr=subprocess.PIPE, text=True, **where)


def findings(count: int, level: Any = "error") -> tuple[Finding, ...]:
    return tuple(
        Finding("long-float", level, said(f"Round {i + 1}: a float."), said("Catch it."), i + 1)
        for i in range(count)
    )


def small_chart(**parts: Any) -> Chart:
    stitches = np.array([[0, 0, 1, 1], [0, 1, 0, 1], [0, 0, 0, 0]], np.uint8)
    return Chart(stitches, (OAT, INK), **parts)


def test_the_screen_is_plain_when_piped_and_shows_what_it_can(
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = findings(MOST_LINES + 14)
    chart = small_chart(title="[bold]dog\x1b[31m")
    show(report_of(chart, found, moved=3), found, files=[Path("dog.chart.json")])
    lines = capsys.readouterr().out.splitlines()
    assert all(line == line.rstrip() and line.isprintable() for line in lines)
    assert lines[0] == "[bold]dog?[31m"
    assert sum("error" in line and "Catch it." in line for line in lines) == MOST_ALIKE - 1
    rest = len(found) - MOST_ALIKE + 1
    assert any(f"and {rest} more like this" in line for line in lines)
    assert "Written  dog.chart.json" in lines
    assert any(
        line.split() == ["B", "ink", "#26304c", "4", "stitches", "33%", "L*", "20"]
        for line in lines
    )
    assert any("1 round of one yarn, 2 of two" in line for line in lines)


def test_flat_work_has_rows_and_little_is_not_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    report = report_of(small_chart(worked="flat"), (), moved=0)
    show(replace(report, moved=1, live=1000), ())
    out = capsys.readouterr().out
    assert "1 stitch (under 1%)" in out
    assert "Yarns in a row" in out
    assert "30 rows in 10 cm" in out


def test_check_shows_all_findings(capsys: pytest.CaptureFixture[str]) -> None:
    found = findings(40)
    show(report_of(small_chart(), found), found, limit=None)
    assert capsys.readouterr().out.count("a float. Catch it.") == 40


def test_of_many_pairs_the_nearest_in_lightness_are_shown(
    capsys: pytest.CaptureFixture[str],
) -> None:
    greys = tuple(Yarn(f"grey {n}", f"#{40 * n:02x}{40 * n:02x}{40 * n:02x}") for n in range(6))
    chart = Chart(np.arange(6, dtype=np.uint8)[None].repeat(2, axis=0), greys)
    report = report_of(chart, ())
    show(report, ())
    lines = capsys.readouterr().out.splitlines()
    assert len(report.pairs) == 15
    shown = [
        float(line.split(" by ")[1].split()[0]) for line in lines if "lightness differs" in line
    ]
    assert shown == sorted(shown)
    assert len(shown) == MOST_PAIRS
    assert f"  and {15 - MOST_PAIRS} pairs further apart; --json lists them all" in lines


def test_a_chart_without_findings_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    show(report_of(small_chart(), ()), ())
    assert "every rule holds" in capsys.readouterr().out


def test_every_change_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    change = namedtuple("change", "round stitch before after")
    changes = [change(2, i, "oat", "ink") for i in (1, 2, 3, 7, 9, 10)]
    show_changes([*changes, change(2, 5, "ink", "oat"), change(30, 4, "oat", "ink")], "round")
    assert capsys.readouterr().out.splitlines() == [
        "",
        "8 stitches changed",
        "  Round 2, stitch 5: ink becomes oat",
        "  Round 2, stitches 1–3, 7, 9–10: oat becomes ink",
        "  Round 30, stitch 4: oat becomes ink",
    ]


def test_json_is_one_object(capsys: pytest.CaptureFixture[str]) -> None:
    found = findings(2, "warning")
    print_json(report_of(small_chart(), found), found, files=["a"])
    data = json.loads(capsys.readouterr().out)
    assert list(data) == ["files", "report", "findings"]
    assert data["report"]["warnings"] == 2
    assert data["findings"][1]["round"] == 2


def test_status_is_one_only_for_errors() -> None:
    assert [status(findings(2, level)) for level in ("note", "warning", "error")] == [0, 0, 1]
    assert status(()) == 0


def test_progress_is_silent_without_a_terminal_but_announces_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with Steps() as steps:
        for step in (
            "Reading the picture",
            "Preparing the solver once",
            "Preparing the solver once",
        ):
            steps(step, 0.1)
    assert capsys.readouterr() == ("", "Preparing the solver once\n")


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_bar_appears_on_a_terminal_when_work_is_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [0.0]
    monkeypatch.setattr("pic2chart.cli.progress.time.monotonic", lambda: now[0])
    monkeypatch.setenv("TERM", "xterm")
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with Steps() as steps:
        steps("Reading the picture", 0.1)
        assert terminal.getvalue() == ""
        now[0] = 2.0
        steps("Choosing stitches", 0.5)
    assert "Choosing stitches" in terminal.getvalue()
    assert "Reading" not in terminal.getvalue()


def test_where_a_chart_goes() -> None:
    assert chart_folder(Path("photos/dog.jpg"), None) == Path("dog-chart")
    assert chart_folder(Path("photos/dog.jpg"), Path("out")) == Path("out")


def test_wording() -> None:
    assert one_line(" a\n\tb\x07\u202e ") == "a b??"
    assert [many(1, "stitch", "stitches"), many(1920, "round")] == ["1 stitch", "1,920 rounds"]
