"""Messages are data: a code, its parameters and the options meant; each door puts them into words.

    raise SettingError(message("subject-small", wide=12, options=("stitches",)))

The words stand in `pic2chart.core.english`, a template for each code. A template names an option as
`{option[float_limit]}`, by the setting's own name; the door spells it: the command as a flag, the
page as the label of its field, and whoever calls the package from Python as the name it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

from pic2chart.core.english import TEMPLATES
from pic2chart.core.english.grammar import Grammar

Value: TypeAlias = "str | int | float | Message | tuple[Value, ...] | None"


@dataclass(frozen=True, slots=True)
class Message:
    """What there is to say. `parameters`: (name, value) pairs; `options`: settings by their names.

    A value may be a message itself, and a tuple of values is a list of them.
    """

    code: str
    parameters: tuple[tuple[str, Value], ...] = ()
    options: tuple[str, ...] = ()

    def __str__(self) -> str:
        return render(self)

    def with_values(self, new: Mapping[str, str]) -> Message:
        """The message with each parameter that is a key of `new` replaced by what stands there."""
        parameters = tuple((name, _changed(value, new)) for name, value in self.parameters)
        return Message(self.code, parameters, self.options)


def _changed(value: Value, new: Mapping[str, str]) -> Value:
    if isinstance(value, Message):
        return value.with_values(new)
    return new.get(value, value) if isinstance(value, str) else value


def message(code: str, /, *, options: tuple[str, ...] = (), **parameters: Value) -> Message:
    """The message of that code; its template names the parameters and the options."""
    return Message(code, tuple(parameters.items()), options)


def said(words: str) -> Message:
    """A sentence that somebody else has put into words already: a system, a decoder, an older file."""
    return message("said", words=words)


@dataclass(frozen=True, slots=True)
class Door:
    """How those who come in by one door know things.

    `option` spells a setting's name with the value to give it ('' for none), `command` another way
    in, by the name of its command.
    """

    option: Callable[[str, str], str]
    command: Callable[[str], str]


def _named(name: str, value: str) -> str:
    return f"{name}={value}" if value else name


PYTHON = Door(_named, {"chart": "make_chart", "read": "read_photo", "mend": "mend"}.__getitem__)
"""Settings and functions by their names, as one writes them in Python."""


def render(what: Message, door: Door = PYTHON) -> str:
    """The sentence. Raises KeyError when template and message do not match: a fault of the program."""
    template, given = TEMPLATES[what.code], dict(what.parameters)
    rendered = {name: _plain(value, door) for name, value in given.items()}
    return fill(template, door, what.options, **rendered)


def fill(template: str, door: Door, options: tuple[str, ...] | None = None, **given: object) -> str:
    """A template in a door's words; `options` are those it may name, None for any."""
    return Grammar().vformat(
        template,
        (),
        {**given, "option": _Options(door, options), "command": _Commands(door)},
    )


def _plain(value: Value, door: Door) -> object:
    """A parameter as the grammar takes it: numbers, words and tuples of these."""
    if isinstance(value, Message):
        return render(value, door)
    if isinstance(value, tuple):
        return tuple(_plain(part, door) for part in value)
    return value


@dataclass(frozen=True, slots=True)
class _Option:
    """An option in a template; what follows its colon is the value to give it."""

    door: Door
    name: str

    def __format__(self, value: str) -> str:
        return self.door.option(self.name, value)


@dataclass(frozen=True, slots=True)
class _Options:
    door: Door
    names: tuple[str, ...] | None

    def __getitem__(self, key: int | str) -> _Option:
        """By name, or by place where a template serves many options."""
        if isinstance(key, int):
            return _Option(self.door, (self.names or ())[key])
        if self.names is not None and key not in self.names:
            raise KeyError(key)
        return _Option(self.door, key)


@dataclass(frozen=True, slots=True)
class _Commands:
    door: Door

    def __getitem__(self, name: str) -> str:
        return self.door.command(name)
