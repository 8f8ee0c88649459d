"""Shelf files as the tests write them."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from pic2chart.model.yarn import Yarn
from pic2chart.yarns.shelf import Shelf


def write_shelf(path: Path, yarns: Iterable[Yarn]) -> None:
    """Yarns as a new shelf, or in the place of those of the shelf that is there."""
    Shelf.at(path).with_yarns(yarns).write(path)
