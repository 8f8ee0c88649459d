"""The browser and the desk that a file's tests of the page share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

from tests.helpers.chromium import chromium
from tests.helpers.desk_page import FLAGS, running_desk


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=chromium(), args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with running_desk(tmp_path_factory.mktemp("desk")) as (_, where):
        yield where
