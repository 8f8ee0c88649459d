"""Flags made from the settings, so that every option is said once, in `pic2chart.core.settings`."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Mapping, Sequence
from dataclasses import Field, fields
from pathlib import Path
from typing import Annotated, Any

import typer

from pic2chart.cli.words import SHELL, flag
from pic2chart.core.files import file_stem
from pic2chart.core.messages import fill
from pic2chart.core.settings import Settings

METAVARS = {int: "N", float: "X", str: "TEXT"}

Json = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
ChartFile = Annotated[
    Path,
    typer.Argument(metavar="CHART", help="A chart: NAME.chart.json, or its PNG, CSV, SVG or PDF."),
]


def with_settings(
    command: Callable[..., Any],
    only: Sequence[str] | None = None,
    kind: type[Any] = Settings,
    name: str = "settings",
) -> Callable[..., Any]:
    """Give a command one flag for each setting; it is called with `settings` made of them.

    `only`: the names of the settings this command listens to, when not all. `kind`: the class of
    the settings, declared like Settings; `name`: the parameter that takes them.
    Ranges and choices are checked by that class itself, in the same words at every door.
    """
    signature = inspect.signature(command, eval_str=True)
    own = [p for p in signature.parameters.values() if p.name != name]
    chosen = [f for f in fields(kind) if only is None or f.name in only]
    flags = [_parameter(f) for f in chosen]

    @functools.wraps(command)
    def called(**given: Any) -> Any:
        values = {f.name: given.pop(f.name) for f in chosen}
        plain = {key: tuple(v) if isinstance(v, list) else v for key, v in values.items()}
        return command(**{name: kind(**plain)}, **given)

    parameters = [p.replace(kind=inspect.Parameter.KEYWORD_ONLY) for p in (*own, *flags)]
    called.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    called.__annotations__ = {p.name: p.annotation for p in parameters}
    return called


def _parameter(field: Field[Any]) -> inspect.Parameter:
    facts, default = field.metadata, field.default
    many = isinstance(default, tuple)
    kind: Any = facts["kind"]
    annotation: Any = list[kind] if many else kind | None if default is None else kind
    option = typer.Option(
        list(default) if isinstance(default, tuple) else default,
        flag(field.name),
        help=help_text(facts),
        metavar=None if kind is bool else "|".join(facts["choices"]) or METAVARS[kind],
        show_default=not many and default is not None and kind is not bool,
    )
    return inspect.Parameter(
        field.name, inspect.Parameter.KEYWORD_ONLY, default=option, annotation=annotation
    )


def help_text(facts: Mapping[str, Any]) -> str:
    """An option's help with its range and its example."""
    text = fill(facts["help"], SHELL)
    if facts["low"] is not None:
        text += f" {facts['low']:g} to {facts['high']:.10g} {facts['unit']}".rstrip() + "."
    return f"{text} Example: {facts['example']}" if facts["example"] else text


def chart_folder(picture: Path, out: Path | None) -> Path:
    """Where a chart goes: the folder asked for, or NAME-chart in the current folder."""
    return out if out is not None else Path(f"{file_stem(picture.stem)}-chart")
