"""The page's scripts, the checker of their types, and where to find it."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

import pic2chart

PACKAGE = Path(pic2chart.__file__).parent
DESK = sorted((PACKAGE / "desk" / "static").glob("*.js"))
KNIT_ALONG = sorted((PACKAGE / "sheets" / "knit_along" / "page").glob("*.js"))
CONTACT = [PACKAGE / "library" / "contact.js"]
GALLERY = [PACKAGE / "library" / "gallery.js"]
SCRIPTS = [*DESK, *KNIT_ALONG, *CONTACT, *GALLERY]

TSC = PACKAGE.parent / ".venv" / "node" / "node_modules" / "typescript" / "bin" / "tsc"
"""Put there by `tests/run.sh`, which also says which version."""
FLAGS = (
    *("--noEmit", "--allowJs", "--checkJs", "--strict", "--noFallthroughCasesInSwitch"),
    *("--noImplicitOverride", "--noImplicitReturns", "--forceConsistentCasingInFileNames"),
    *("--target", "es2022", "--module", "es2022", "--moduleResolution", "bundler"),
    *("--lib", "es2023,dom,dom.iterable"),
)
_IMPORT = re.compile(r"""^(?:import|export)\b[^;]*?["']\./([\w-]+\.js)["']""", re.M | re.S)
_COMMENT = re.compile(r"/\*.*?\*/|^\s*//[^\n]*", re.M | re.S)


def checker() -> list[str]:
    """The command that runs the checker; without node the test is skipped, but never under CI."""
    node = shutil.which("node")
    if node and TSC.is_file():
        return [node, str(TSC)]
    missing = "node" if not node else "TypeScript"
    why = f"{missing} is not here; install node and npm, then run 'sh tests/run.sh' once"
    if os.environ.get("CI") == "true":
        pytest.fail(why)
    pytest.skip(why)


def complaints(files: list[Path], *more: str) -> str:
    """What the checker says of the files, which it sees as one program."""
    command = [*checker(), *FLAGS, *more, *map(str, files)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=PACKAGE.parent)
    assert done.returncode == 0 or done.stdout, done.stderr
    return done.stdout


def imports(source: str) -> list[str]:
    """The files beside it that a module imports; those in comments, for types alone, do not count."""
    return _IMPORT.findall(_COMMENT.sub("", source))


def circle(modules: dict[str, list[str]]) -> list[str]:
    """The names along one circle of imports, the first once more at the end; empty when there is none."""

    def walk(name: str, way: list[str]) -> Iterator[list[str]]:
        if name in way:
            yield [*way[way.index(name) :], name]
            return
        if name not in done:
            for other in modules.get(name, []):
                yield from walk(other, [*way, name])
            done.add(name)

    done: set[str] = set()
    return next((found for name in modules for found in walk(name, [])), [])
