"""Where the browser is that some tests need, or what to install."""

from __future__ import annotations

import shutil
from typing import Any

import pytest


def chromium() -> str:
    """The path of Debian's Chromium. The test fails, and says what to install, where there is none."""
    path = shutil.which("chromium")
    if path is None:
        pytest.fail(
            "This test looks at a page in a real browser: install Debian's Chromium "
            "(apt-get install chromium).",
            pytrace=False,
        )
    return path


def until(page: Any, expression: str) -> None:
    """Wait until an expression holds; polled from here, since the page allows no eval."""
    for _ in range(400):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"never came true: {expression}")
