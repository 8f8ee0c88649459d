"""How the command line puts messages: an option is a flag, another way in is a command."""

from __future__ import annotations

from pic2chart.core.messages import Door, Message, render

_OTHERWISE = {
    "k": "--set",
    "known": "--reference-is",
    "knowns": "--known",
    "swatch_cm2": "--swatch-size",
    "m_per_100g": "m_per_100g",
}
"""Options that are no flag of their own name; the last is a column of the shelf."""


def flag(name: str) -> str:
    """The command line's spelling of an option: `float_limit` → `--float-limit`."""
    return _OTHERWISE.get(name) or "--" + name.replace("_", "-").lower()


def _option(name: str, value: str) -> str:
    return f"{flag(name)} {value}" if value else flag(name)


SHELL = Door(_option, lambda name: f"the command {name}")


def worded(what: Message) -> str:
    """A message as the command line says it."""
    return render(what, SHELL)
