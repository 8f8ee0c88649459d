"""Where things lie: the project's folder and what tests read from it, wherever a test stands."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).parents[2]
"""The project's folder: README.md, pyproject.toml and the rest."""
PACKAGE = ROOT / "pic2chart"
SAMPLES = ROOT / "sample_images"
TESTS = ROOT / "tests"
PUBLISHED = TESTS / "published"
"""Published numbers, each file with its source at its head."""
