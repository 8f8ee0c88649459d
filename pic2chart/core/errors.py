"""The one error tree. Every message is a full sentence: what was found, where, what to do."""

from __future__ import annotations


class Pic2ChartError(Exception):
    """Anything the program can explain. Commands print it on one line and leave with status 2."""


class SettingError(Pic2ChartError):
    """An option is out of range, or two options contradict each other."""


class InputError(Pic2ChartError):
    """A picture, chart or shelf cannot be read."""


class OutputError(Pic2ChartError):
    """A file cannot be written; nothing half-written is left behind."""


def reason(error: OSError | ValueError) -> str:
    """The system's own words for what went wrong, in lower case."""
    return (getattr(error, "strerror", None) or str(error) or "unknown error").lower()
