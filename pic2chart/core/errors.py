"""The one error tree. Every error carries a message: what was found, where, what to do."""

from __future__ import annotations

from pic2chart.core.messages import Message


class Pic2ChartError(Exception):
    """Anything the program can explain. Commands print it on one line and leave with status 2.

    `message` is what there is to say; str() puts it into words that name options as settings.
    """

    def __init__(self, message: Message) -> None:
        super().__init__(message)
        self.message = message

    def __str__(self) -> str:
        return str(self.message)


class SettingError(Pic2ChartError):
    """An option is out of range, or two options contradict each other."""


class InputError(Pic2ChartError):
    """A picture, chart or shelf cannot be read."""


class OutputError(Pic2ChartError):
    """A file cannot be written; nothing half-written is left behind."""


def reason(error: OSError | ValueError) -> str:
    """The system's own words for what went wrong, in lower case."""
    return (getattr(error, "strerror", None) or str(error) or "unknown error").lower()
