"""What is installed with the program and for its tests, written down: python -m tests.helpers.parts_list

Writes `tests/lock.txt`, the exact version of everything the tests were last run with, which
`tests/run.sh` installs; and `sbom.cdx.json`, the parts list of the program itself (CycloneDX 1.6):
every library it loads, with version, licence and what that one needs in turn, and what ships inside the
package. To take newer versions: `pip install -U -e ".[test]"`, the tests, then this.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, metadata, requires, version
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement

import pic2chart
from tests.helpers.places import PACKAGE, ROOT

LOCK, PARTS = ROOT / "tests" / "lock.txt", ROOT / "sbom.cdx.json"
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
SHIPPED = {"*.ttf": "Apache-2.0", "*.onnx": "MIT AND Apache-2.0"}
"""Files inside the package that were not written here, or not by hand, and their licences; the network
was trained here from weights under the second one.
"""


def normal(name: str) -> str:
    """A distribution's name as the index compares it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def installed_with(lines: Iterable[str]) -> dict[str, set[str]]:
    """Everything that some requirements bring with them, and what each asks for itself, extras included."""
    found: dict[str, set[str]] = {}
    waiting = [Requirement(line) for line in lines]
    while waiting:
        one = waiting.pop()
        if one.marker is not None and not one.marker.evaluate({"extra": ""}):
            continue
        name = normal(one.name)
        before = found.setdefault(name, set())
        for extra in ("", *sorted(one.extras)):
            new = [
                need
                for need in map(Requirement, requires(one.name) or [])
                if need.marker is None or need.marker.evaluate({"extra": extra})
            ]
            fresh = [need for need in new if normal(need.name) not in before]
            before |= {normal(need.name) for need in fresh}
            for need in fresh:
                need.marker = None
            waiting += fresh
    return found


def licence_of(name: str) -> str:
    """The licence in a distribution's metadata: its expression, else its classifiers, else its text."""
    fields = metadata(name)
    classifiers = [c for c in fields.get_all("Classifier") or [] if c.startswith("License ::")]
    return str(fields.get("License-Expression") or "; ".join(classifiers) or fields.get("License"))


def lock_text() -> str:
    """A line for every distribution that the program and its tests bring with them."""
    lines = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    head = "# Written by tests/helpers/parts_list.py; what the tests are run with.\n"
    return head + "".join(f"{name}=={version(name)}\n" for name in sorted(installed_with(lines)))


def parts_list() -> dict[str, Any]:
    """The parts list of the program; the same for the same versions, so it has no date and no number."""
    found = installed_with(PROJECT["dependencies"])
    whole = f"pkg:pypi/pic2chart@{pic2chart.__version__}"
    known = {name: f"pkg:pypi/{name}@{version(name)}" for name in sorted(found)}
    own = sorted(known[normal(Requirement(line).name)] for line in PROJECT["dependencies"])
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application",
                "bom-ref": whole,
                "name": "pic2chart",
                "version": pic2chart.__version__,
                "purl": whole,
                "licenses": [{"license": {"id": "MIT"}}],
            }
        },
        "components": [*(_library(name, ref) for name, ref in known.items()), *_shipped()],
        "dependencies": [
            {"ref": whole, "dependsOn": own},
            *(
                {"ref": ref, "dependsOn": sorted(known[need] for need in found[name])}
                for name, ref in known.items()
            ),
        ],
    }


def _library(name: str, ref: str) -> dict[str, Any]:
    return {
        "type": "library",
        "bom-ref": ref,
        "name": name,
        "version": version(name),
        "purl": ref,
        "licenses": [{"license": {"name": " ".join(licence_of(name).split())[:120]}}],
    }


def _shipped() -> list[dict[str, Any]]:
    files = [(path, licence) for kind, licence in SHIPPED.items() for path in PACKAGE.rglob(kind)]
    return [
        {
            "type": "file",
            "bom-ref": path.relative_to(ROOT).as_posix(),
            "name": path.relative_to(ROOT).as_posix(),
            "hashes": [{"alg": "SHA-256", "content": _hash(path)}],
            "licenses": [{"expression": licence}],
        }
        for path, licence in sorted(files)
    ]


def _hash(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def parts_text() -> str:
    """The parts list as its file holds it."""
    return json.dumps(parts_list(), indent=1) + "\n"


def locked() -> dict[str, str]:
    """Name and version of every line of the lock file."""
    lines = [line for line in LOCK.read_text("ascii").splitlines() if not line.startswith("#")]
    return dict(line.split("==") for line in lines)


def as_locked() -> bool:
    """Whether this environment is the one that the lock file tells of."""
    try:
        return all(version(name) == number for name, number in locked().items())
    except PackageNotFoundError:
        return False


if __name__ == "__main__":
    LOCK.write_text(lock_text(), "ascii")
    PARTS.write_text(parts_text(), "utf-8")
