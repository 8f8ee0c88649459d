"""Where the browser is that some tests need, or what to install."""

from __future__ import annotations

import shutil

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
