"""The table of commands, and how anything that goes wrong becomes one line and an exit status."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import typer
from typer.core import TyperArgument, TyperCommand, TyperGroup

from pic2chart import __version__
from pic2chart.cli import (
    amounts,
    chart,
    check,
    contrast,
    desk,
    gauge,
    kit,
    library,
    library_export,
    library_states,
    make,
    mend,
    practice,
    read,
    shade,
    shading,
    sheet,
    substitute,
)
from pic2chart.cli.interrupting import INTERRUPTED, came_of_interrupt, interruptible
from pic2chart.cli.screen import one_line
from pic2chart.cli.words import worded
from pic2chart.core.errors import Pic2ChartError, reason
from pic2chart.garment.kinds import GARMENTS

FAILED = 2
OWN_END = ("desk", "library")
"""Commands that have much to bring to an end when they are interrupted, and see to it themselves."""


ALONE = ("make",)
"""Commands that take no word of their own: one that follows belongs to the command's name."""


@dataclass(frozen=True, slots=True)
class Command:
    """A command's name, what runs it, and the example its help ends with."""

    name: str
    run: Callable[..., Any]
    example: str


class Shell(TyperGroup):
    """Knows commands of two words too, beside the command of the first word alone."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Join two words that make a command; a folder of the second's name is written ./NAME."""
        pair = " ".join(args[:2])
        joined = pair in self.commands or self._begins_only(args)
        return super().parse_args(ctx, [pair, *args[2:]] if joined else args)

    def _begins_only(self, args: list[str]) -> bool:
        """Whether the first word takes none of its own, so that the second is a slip to be told of."""
        first = args[0] if len(args) > 1 and not args[1].startswith("-") else ""
        alone = first in self.commands and first not in ALONE
        return not alone and any(n.startswith(f"{first} ") for n in self.commands)


class _Plain(TyperCommand):
    """Help without the types and ranges that those who program know arguments by."""

    def get_params(self, ctx: Any) -> Any:
        """The parameters, without what Typer 0.29 adds of types and ranges; 0.20 shows ranges still."""
        parameters = super().get_params(ctx)
        for parameter in parameters:
            hidden = {"_get_number_range_help_str": ""}
            if isinstance(parameter, TyperArgument):
                hidden["display_type_rich"] = ""
            for name, words in hidden.items():
                setattr(parameter, name, lambda *_, words=words, **__: words)
        return parameters


COMMANDS = (
    Command("desk", desk.desk, desk.EXAMPLE),
    Command("chart", chart.chart, chart.EXAMPLE),
    Command("check", check.check, check.EXAMPLE),
    Command("mend", mend.mend, mend.EXAMPLE),
    Command("contrast", contrast.contrast, contrast.EXAMPLE),
    Command("shade", shade.shade, shade.EXAMPLE),
    Command("shading", shading.shading, shading.EXAMPLE),
    Command("gauge", gauge.gauge, gauge.EXAMPLE),
    Command("read", read.read, read.EXAMPLE),
    Command("make", make.kinds, make.EXAMPLE),
    *(Command(f"make {k.name}", make.maker(k), make.example(k)) for k in GARMENTS.values()),
    Command("amounts", amounts.amounts, amounts.EXAMPLE),
    Command("kit", kit.kit, kit.EXAMPLE),
    Command("kit pack", kit.pack, kit.PACK_EXAMPLE),
    Command("kit undo", kit.undo, kit.UNDO_EXAMPLE),
    Command("substitute", substitute.substitute, substitute.EXAMPLE),
    Command("sheet", sheet.sheet, sheet.EXAMPLE),
    Command("practice", practice.practice, practice.EXAMPLE),
    Command("library", library.library, library.EXAMPLE),
    Command("library find", library.find, library.FIND_EXAMPLE),
    Command("library fit", library.fit, library.FIT_EXAMPLE),
    Command("library state", library_states.state, library_states.EXAMPLE),
    Command("library export", library_export.export, library_export.EXPORT_EXAMPLE),
    Command("library gallery", library_export.gallery, library_export.GALLERY_EXAMPLE),
    Command("library release", library_export.release, library_export.RELEASE_EXAMPLE),
)

EXAMPLE = "pic2chart chart dog.jpg --stitches 64 --yarn oat=#ece2d0 --yarn ink=#26304c"


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pic2chart {__version__}")
        raise typer.Exit


def _front(
    context: typer.Context,
    version: bool = typer.Option(
        False, "--version", callback=_version, is_eager=True, help="Show the version and leave."
    ),
) -> None:
    """Turn a picture into a stranded-colourwork chart that can be knitted, and show that it can."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def build(commands: Sequence[Command] = COMMANDS) -> typer.Typer:
    """The Typer app with these commands."""
    app = typer.Typer(cls=Shell, add_completion=False, rich_markup_mode=None)
    app.callback(invoke_without_command=True, epilog=_epilog(EXAMPLE))(_front)
    for command in commands:
        app.command(command.name, cls=_Plain, epilog=_epilog(command.example))(command.run)
    return app


def run(arguments: Sequence[str]) -> int:
    """Run one command line and give back its exit status; prints at most one line on failure."""
    with contextlib.suppress(AttributeError):  # whatever the terminal cannot show is told anyway
        sys.stdout.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]
    try:
        if _is_a_file(arguments):
            name = one_line(arguments[0])
            return _complain(
                f"'{name}' is a file; say what to make of it, such as: pic2chart chart '{name}', or "
                "open the page for all of it by mouse: pic2chart desk."
            )
        command = typer.main.get_command(build(_meant(arguments)))
        with _ends_itself(arguments) or interruptible():
            status = command.main(list(arguments), prog_name="pic2chart", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except Pic2ChartError as error:
        return _complain(worded(error.message))
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    except OSError as error:
        return _output_refused(error)
    except Exception as error:
        return INTERRUPTED if came_of_interrupt(error) else _unexpected(error)


def _ends_itself(arguments: Sequence[str]) -> contextlib.nullcontext[None] | None:
    """A context for a command that sees to interrupts itself, None for any other."""
    return contextlib.nullcontext() if arguments[:1] and arguments[0] in OWN_END else None


def _meant(arguments: Sequence[str]) -> Sequence[Command]:
    """The commands of the first word; all where it is none. Each costs some milliseconds to build."""
    first = arguments[0] if arguments else ""
    return [c for c in COMMANDS if c.name.split()[0] == first] or COMMANDS


def _is_a_file(arguments: Sequence[str]) -> bool:
    """Whether someone named a file where a command belongs."""
    known = {command.name.split()[0] for command in COMMANDS}
    return bool(arguments) and arguments[0] not in known and os.path.isfile(arguments[0])


def _unexpected(error: Exception) -> int:
    """A usage error says so itself; anything else is a fault of the program."""
    if hasattr(error, "format_message"):  # what Typer raises on bad usage, whichever its version
        context = getattr(error, "ctx", None)
        path = context.command_path if context is not None else "pic2chart"
        words = error.format_message().rstrip(".")
        return _complain(f"{words}{'' if words.endswith('?') else '.'} See {path} --help.")
    if os.environ.get("PIC2CHART_TRACEBACK"):
        raise error
    if isinstance(error, MemoryError):
        return _complain("There is not enough memory for this; try a smaller picture or chart.")
    return _complain(
        f"Something went wrong that should not ({type(error).__name__}: {error}). Please report it "
        "with the command you gave; PIC2CHART_TRACEBACK=1 shows where it happened."
    )


def _complain(sentence: str) -> int:
    print(f"pic2chart: {one_line(sentence)}", file=sys.stderr)
    return FAILED


def _output_refused(error: OSError) -> int:
    """Standard output is full, or whoever read it has left (then without a word)."""
    if error.filename is not None:
        return _unexpected(error)
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # nothing is flushed again
    if isinstance(error, BrokenPipeError):
        return 1
    return _complain(f"The output cannot be written: {reason(error)}.")


def _epilog(example: str) -> str:
    return f"\b\nExample:\n  {example}"
