"""The type of every sheet: Roboto (Apache licence 2.0), which ships with this package in `fonts/`.

So a sheet looks the same on every machine, also where no fonts are installed.
"""

from __future__ import annotations

from importlib.resources import files

from pic2chart.errors import OutputError


def type_file(name: str) -> bytes:
    """The TrueType file of that name. Raises OutputError when the installation has lost it."""
    try:
        return files("pic2chart.draw").joinpath("fonts", f"{name}.ttf").read_bytes()
    except OSError as error:
        raise OutputError(
            f"The type file '{name}.ttf' is missing from this installation of pic2chart; install "
            "pic2chart again."
        ) from error
