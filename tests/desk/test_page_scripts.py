"""The page's scripts: imports go one way, files can be read, and types hold (TypeScript's checker)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.helpers.scripts_checked import (
    CONTACT,
    DESK,
    KNIT_ALONG,
    PACKAGE,
    SCRIPTS,
    circle,
    complaints,
    imports,
)

LONGEST = 400  # as a module of the package


def test_every_script_of_the_package_is_looked_at() -> None:
    assert set(SCRIPTS) == set(PACKAGE.rglob("*.js"))
    assert len(DESK) > 10


def test_the_desks_modules_import_in_no_circle() -> None:
    modules = {script.name: imports(script.read_text("utf-8")) for script in DESK}
    assert set().union(*modules.values()) <= set(modules)
    assert sum(map(len, modules.values())) > 40
    assert circle(modules) == []


def test_every_module_is_reached_from_the_first_of_a_page() -> None:
    modules = {script.name: imports(script.read_text("utf-8")) for script in DESK}
    reached, waiting = set(), ["main.js", "place.js"]
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += modules[name]
    assert reached == set(modules)


def test_a_circle_is_seen() -> None:
    source = (
        '// import { a } from "./a.js";\n/** @import { B } from "./b.js" */\n'
        'import * as c from "./c.js";\nimport {\n  d,\n} from "./d.js";\nexport { e } from "./e.js";\n'
    )
    assert imports(source) == ["c.js", "d.js", "e.js"]
    assert circle({"a": ["b", "c"], "b": ["d"], "c": ["d"], "d": []}) == []
    assert circle({"a": ["b"], "b": ["c"], "c": ["d", "b"], "d": []}) == ["b", "c", "b"]
    assert circle({"a": ["a"]}) == ["a", "a"]


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_a_script_asks_to_be_checked_and_can_be_read(script: Path) -> None:
    lines = script.read_text("utf-8").splitlines()
    assert lines[0] == "// @ts-check"
    assert 40 <= len(lines) <= LONGEST
    assert not any("@ts-ignore" in line or "@ts-expect-error" in line for line in lines)


@pytest.mark.parametrize(
    ("files", "more"),
    [(DESK, ()), (KNIT_ALONG, ()), (CONTACT, ("--moduleDetection", "force"))],
    ids=["desk", "knit-along", "contact sheet"],
)
@pytest.mark.slow
def test_types_hold(files: list[Path], more: tuple[str, ...]) -> None:
    """The contact sheet's script stands alone on its page; the checker is told so."""
    assert complaints(files, *more) == ""


@pytest.mark.slow
def test_a_wrong_type_is_seen(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.js"
    wrong.write_text("// @ts-check\n/** @param {number} n */\nexport const f = (n) => n.length;\n")
    assert "TS2339" in complaints([wrong])
    wrong.write_text("// @ts-check\nexport const f = (n) => n;\n")
    assert "TS7006" in complaints([wrong])
