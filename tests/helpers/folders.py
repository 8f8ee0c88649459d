"""Whole folders, to compare before and after."""

from __future__ import annotations

from pathlib import Path


def tree(folder: Path) -> dict[str, bytes | None]:
    """Every path below the folder, with the contents of the files."""
    return {
        str(path.relative_to(folder)): None if path.is_dir() else path.read_bytes()
        for path in sorted(folder.rglob("*"))
    }
