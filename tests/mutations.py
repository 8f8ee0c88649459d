"""Small faults put into the package one at a time, and whether the tests of that module notice.

    python -m tests.mutations                    all of it: five faults in each of twelve modules
    python -m tests.mutations colour repeat      those modules alone
    python -m tests.mutations --seed 2           other faults

The faults are drawn with a seed from all that `faults_of` finds in a module's syntax tree. Each is
tried in a copy of the project, by the tests that concern the module and with a limit of time; a test
that fails, breaks or never ends has caught it. Prints those that were not caught, and leaves with 1
when one of them is not in EXCUSED or more than five survive.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.helpers.places import ROOT

MODULES: dict[str, tuple[str, ...]] = {
    "core/colour.py": ("core/test_colour.py",),
    "model/repeat.py": ("model/test_repeat.py",),
    "picture/grid.py": ("picture/test_grid.py",),
    "stranding/strands.py": ("stranding/test_strands.py",),
    "checks/shape_rules.py": ("checks/test_rules.py",),
    "yarns/seeing.py": ("yarns/test_seeing.py",),
    "solve/problem.py": ("solve/test_problem.py", "solve/test_solver.py"),
    "design/filler.py": ("design/test_filler.py",),
    "sheets/words/write.py": ("sheets/test_words.py",),
    "garment/sizes.py": ("garment/test_sizes.py",),
    "library/recipe.py": ("library/test_library.py", "-k", "recipe"),
    "desk/edits.py": ("desk/test_edits.py",),
}
"""A module of each of twelve rooms, and the tests that concern it, as words for pytest."""
EACH = 5
MOST_SURVIVORS = 5
LEAST_SECONDS, TIMES_AS_LONG = 60.0, 6.0
"""A run may take so long, or so many times what the module's tests take without a fault."""
EXCUSED: dict[str, str] = {
    "library/recipe.py: 5000000  ->  5000001": "A byte more or less of a hostile file is no matter.",
    "library/recipe.py: 2  ->  1": (
        "MAKING, a number that is only raised: what counts is that it changes, not what it is."
    ),
    "yarns/seeing.py: reserve >= RESERVE  ->  reserve > RESERVE": (
        "The same: a reserve of just so much falls between two steps of the halving."
    ),
    "model/repeat.py: best >= _MIRRORED  ->  best > _MIRRORED": (
        "A line drawn by judgement: a unit that agrees in just 97 of 100 may be called either."
    ),
}
"""Faults that survive, as `Fault.name` has them, each with the reason."""

COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
SUMS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
}
TINY = 1e-5
"""Constants below are guards against a division by nothing or a draw, not figures of the trade."""


@dataclass(frozen=True, eq=False)
class Fault:
    """One change: a node of a module's tree, what is to stand in its place, and both in words."""

    module: str
    line: int
    was: str
    now: str
    tree: ast.AST
    node: ast.AST
    other: ast.AST

    @property
    def name(self) -> str:
        return f"{self.module}: {self.was}  ->  {self.now}"

    @property
    def source(self) -> str:
        """The whole module with the fault in it."""
        self.node.__dict__["chosen"] = True
        faulty = _Swap(self.node, self.other).visit(copy.deepcopy(self.tree))
        del self.node.__dict__["chosen"]
        return ast.unparse(faulty)


def faults_of(module: str, source: str) -> list[Fault]:
    """Every fault there is to try in a module, in the order of its lines."""
    tree = ast.parse(source)
    found = []
    for node in _mutable(tree):
        for other in _changed(node):
            was, now = ast.unparse(node).splitlines()[0], ast.unparse(other).splitlines()[0]
            if isinstance(node, ast.If):
                now = "pass"
            found.append(Fault(module, node.lineno, was, now, tree, node, other))
    return sorted(found, key=lambda fault: (fault.line, fault.was, fault.now))


def _mutable(tree: ast.AST) -> Iterator[ast.expr | ast.stmt]:
    """The nodes that do something: no annotations, decorators, words, `__repr__`s or imports."""
    for field, value in ast.iter_fields(tree):
        if field in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for node in value if isinstance(value, list) else [value]:
            if not isinstance(node, ast.AST) or isinstance(node, ast.JoinedStr):
                continue
            if isinstance(node, ast.FunctionDef) and node.name in ("__repr__", "__str__"):
                continue
            if isinstance(node, (ast.expr, ast.stmt)):
                yield node
            yield from _mutable(node)


def _changed(node: ast.AST) -> Iterator[ast.AST]:
    """What a node may be turned into."""
    if isinstance(node, ast.Compare) and len(node.ops) == 1:
        swapped = COMPARISONS[type(node.ops[0])]()
        yield ast.Compare(node.left, [swapped], node.comparators)
    elif isinstance(node, ast.BoolOp):
        yield ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield node.operand
    elif isinstance(node, ast.BinOp) and type(node.op) in SUMS and not _words(node):
        yield ast.BinOp(node.left, SUMS[type(node.op)](), node.right)
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        if node.value == 0 or abs(node.value) > TINY:
            yield from (ast.Constant(node.value + step) for step in (1, -1))
    elif isinstance(node, ast.If) and _guards(node):
        yield ast.Pass()


def _guards(node: ast.If) -> bool:
    """Whether it does nothing but leave early."""
    only = len(node.body) == 1 and not node.orelse
    return only and isinstance(node.body[0], (ast.Return, ast.Raise, ast.Continue))


def _words(node: ast.BinOp) -> bool:
    """Whether text is put together."""
    sides = (node.left, node.right)
    return any(
        isinstance(side, ast.JoinedStr)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )


class _Swap(ast.NodeTransformer):
    """Puts a node in the place of the chosen one's copy."""

    def __init__(self, node: ast.AST, other: ast.AST) -> None:
        self.other = ast.copy_location(other, node)

    def visit(self, node: ast.AST) -> ast.AST:
        return self.other if "chosen" in node.__dict__ else super().generic_visit(node)


def drawn(module: str, seed: int) -> list[Fault]:
    """EACH faults of a module, on lines of their own where there are enough."""
    every = faults_of(module, (ROOT / "pic2chart" / module).read_text("utf-8"))
    dice = random.Random(f"{seed} {module}")
    dice.shuffle(every)
    by_line = {fault.line: fault for fault in reversed(every)}
    return sorted(list(by_line.values())[::-1][:EACH], key=lambda fault: fault.line)


def copied(place: Path) -> Path:
    """The project without what it makes; with the compiled kernels, which take a minute to make."""
    left = shutil.ignore_patterns(".*", "build", "*.egg-info", "first-chart")
    return Path(shutil.copytree(ROOT, place / "project", ignore=left))


def run_tests(project: Path, tests: tuple[str, ...], seconds: float) -> tuple[bool, float]:
    """Whether all tests pass, and how long they took, in seconds."""
    began = time.monotonic()
    words = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider"]
    words += ["-p", "_hypothesis_pytestplugin", "--hypothesis-seed=1"]
    words += ["-m", "not slow and not browser and not network"]
    words += [f"tests/{word}" if word.endswith(".py") else word for word in tests]
    more = {
        "PYTHONPATH": str(project),
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",  # they take as long to load as most tests to run
    }
    try:
        done = subprocess.run(
            words, cwd=project, env={**os.environ, **more}, capture_output=True, timeout=seconds
        )
    except subprocess.TimeoutExpired:
        return False, seconds
    return done.returncode == 0, time.monotonic() - began


def survivors_of(project: Path, module: str, seed: int) -> tuple[list[Fault], int]:
    """The faults of a module that no test caught, and how many were tried."""
    tests, file = MODULES[module], project / "pic2chart" / module
    whole = file.read_bytes()
    passed, seconds = run_tests(project, tests, 600)
    assert passed, f"The tests of {module} fail without any fault: {', '.join(tests)}."
    limit = max(LEAST_SECONDS, TIMES_AS_LONG * seconds)
    alive, faults = [], drawn(module, seed)
    for fault in faults:
        file.write_text(fault.source, "utf-8")
        survived, took = run_tests(project, tests, limit)
        told = "SURVIVED" if survived else "caught"
        print(f"{told:<9} {took:5.1f} s  line {fault.line}: {fault.name}", flush=True)
        alive += [fault] if survived else []
    file.write_bytes(whole)
    return alive, len(faults)


def main() -> int:
    """Try the faults, say which survive; 1 when too many do, or one without an excuse."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("modules", nargs="*", help="parts of modules' names")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    chosen = [m for m in MODULES if not asked.modules or any(w in m for w in asked.modules)]
    alive, tried = [], 0
    with tempfile.TemporaryDirectory(prefix="mutations-") as place:
        project = copied(Path(place))
        for module in chosen:
            survived, count = survivors_of(project, module, asked.seed)
            alive, tried = alive + survived, tried + count
    print(f"\n{tried - len(alive)} of {tried} caught.")
    for fault in alive:
        print(f"  {fault.name}\n      {EXCUSED.get(fault.name, 'NO REASON GIVEN')}")
    unexplained = [fault for fault in alive if fault.name not in EXCUSED]
    return int(bool(unexplained) or len(alive) > MOST_SURVIVORS)


if __name__ == "__main__":
    sys.exit(main())
