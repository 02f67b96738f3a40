"""A browser for all tests of the page, a server for each file of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest

from support.browsing import SILENT, Served, Watched, file, need_page, poster, serving
from support.page_server import paper, tiff


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


@pytest.fixture(scope="module")
def ticket(visit: Callable[..., Watched], served: Served) -> str:
    """A ticket, made through the page's own server."""
    first = visit().page
    post = poster(first, served)
    facts = post("/api/masters", multipart=file("dusk.tif", tiff()))
    upload = post("/api/profiles", multipart=file("paper.icc", paper()))["upload"]
    made = post("/api/tickets", data={"master_sha256": facts["sha256"], "size": "15x10cm", "upload": upload})
    first.close()
    return str(made["ticket"])


@pytest.fixture(scope="module")
def sheeted(visit: Callable[..., Watched], served: Served, ticket: str) -> str:
    """The same ticket with a test sheet."""
    first = visit().page
    job = poster(first, served)(f"/api/tickets/{ticket}/sheets", data={})
    for _ in range(600):
        job = first.context.request.get(f"{served.origin}/api/jobs/{job['job']}").json()
        if job["state"] not in ("waiting", "running"):
            break
        first.wait_for_timeout(250)
    assert job["state"] == "done", job
    first.close()
    return ticket
