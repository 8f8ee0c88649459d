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
    on_network: Annotated[
        bool,
        typer.Option(
            "--on-network",
            help="Open it to the home network too, for your phone; devices are let in one by one.",
        ),
    ] = False,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Print the address and open no browser.")
    ] = False,
) -> None:
    """Open a page to make, change and print charts by mouse.

    Nothing leaves this machine, or your home network. The page is kept open until you press Ctrl-C.
    """
    from pic2chart.desk.serve import serve

    def say(address: str) -> None:
        typer.echo(f"The desk is open at {address}")
        typer.echo("Leave this running while you work; Ctrl-C closes it.", err=True)

    def say_network(address: str, fingerprint: str) -> None:
        typer.echo(
            f"On your home network it is at {address}; 'On the phone' on the page lets one in."
        )
        typer.echo(f"A new device warns once: its certificate's SHA-256 must be {fingerprint}")

    where = folder or Path.home() / "pic2chart-desk"
    serve(where, port, not no_browser, say, say_network if on_network else None)
