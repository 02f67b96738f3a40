"""A browser for all tests of the page, a server for each file of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from support.browsing import SILENT, Served, Watched, need_page, serving


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    path = need_page()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=path, args=list(SILENT))
        yield running
        running.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory, browser: Any) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("page") / "home") as server:
        yield server


@pytest.fixture(scope="module")
def visit(browser: Any, served: Served) -> Iterator[Callable[..., Watched]]:
    """Opens the page in a window of a given size; the first visit hands the token over, for all windows after it."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    first = context.new_page()
    first.goto(served.entry)
    first.close()

    def open_window(path: str = "/", width: int = 1440, height: int = 900) -> Watched:
        page = context.new_page()
        page.set_viewport_size({"width": width, "height": height})
        watched = Watched(page)
        page.goto(served.origin + path)
        return watched

    yield open_window
    context.close()


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("screenshots")
