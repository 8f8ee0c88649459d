"""`pic2chart desk`: the local page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

EXAMPLE = "pic2chart desk"


def desk(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="FOLDER", help="Where projects are kept; pic2chart-desk at home."),
    ] = None,
    port: Annotated[
        int | None,
        typer.Option(
            "--port", metavar="N", min=1, max=65535, help="Port to listen on; a free one at first."
        ),
    ] = None,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Print the address and open no browser.")
    ] = False,
) -> None:
    """Open a page to make, change and print charts by mouse.

    Nothing leaves this machine. The page is kept open until you press Ctrl-C.
    """
    from pic2chart.desk.serve import serve

    def say(address: str) -> None:
        typer.echo(f"The desk is open at {address}")
        typer.echo("Leave this running while you work; Ctrl-C closes it.", err=True)

    serve(folder or Path.home() / "pic2chart-desk", port, not no_browser, say)
