"""`pic2chart library state`: what is decided about motifs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pic2chart.core.errors import SettingError
from pic2chart.core.messages import message

EXAMPLE = "pic2chart library state approved 3 12-20 --out motifs"


def state(
    state: Annotated[
        str | None, typer.Argument(metavar="STATE", help="new, approved, held or withdrawn.")
    ] = None,
    numbers: Annotated[
        list[str] | None,
        typer.Argument(metavar="NUMBERS", help="Of the motifs: 7, or 12-20."),
    ] = None,
    out: Annotated[Path, typer.Option("--out", metavar="OUT", help="Folder of the library.")] = ...,  # type: ignore[assignment]
    decisions: Annotated[
        Path | None,
        typer.Option("--decisions", metavar="FILE", help="What the contact sheet saved."),
    ] = None,
    proposed: Annotated[
        bool,
        typer.Option("--proposed", help="All that the program proposes to hold back."),
    ] = False,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="The reason.")] = "",
) -> None:
    """Decide about motifs: new, approved, held or withdrawn.

    The booklet and the gallery leave out what is held or withdrawn, and a release holds what is
    approved.
    """
    from pic2chart.library.states import chosen, numbers_in, read_decisions, set_states

    decided = {} if decisions is None else read_decisions(decisions)
    if state is not None and (numbers or proposed):
        picked = chosen(out, numbers_in(numbers or ()), proposed=proposed)
        decided |= dict.fromkeys(picked, state)
    elif decisions is None:
        raise SettingError(message("nothing-chosen", options=("decisions", "proposed")))
    changed = set_states(out, decided, why)
    print(f"{changed:,} of {len(decided):,} changed; the pages show it.")
