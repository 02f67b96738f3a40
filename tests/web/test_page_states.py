"""What the page says when something is not as it was, and how one goes on from there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import Served, Watched, settled
from support.page_server import tiff

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def test_what_is_pressed_answers_at_once(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    """While the server is still at work: the button says at what, for the ear too, and can't be pressed twice."""
    watched = visit()
    page = watched.page
    sha256 = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()["master"]["sha256"]
    held: list[Any] = []
    page.route(
        "**/api/tickets", lambda route: held.append(route) if route.request.method == "POST" else route.continue_()
    )
    page.goto(f"{served.origin}/m/{sha256}/paper")
    page.get_by_role("button", name="Print on this").first.click()
    pressed = page.get_by_role("button", name="Laying it on the paper ...")
    pressed.wait_for(timeout=1000)
    assert pressed.is_disabled()
    assert page.get_by_role("status").get_by_text("Laying it on the paper ...").count() == 1
    assert len(held) == 1
    held[0].continue_()
    page.wait_for_url("**/proof", timeout=60_000)
    page.get_by_role("spinbutton", name="Lightness").wait_for()
    assert watched.complaints == []
    page.close()


def test_a_master_that_moved_is_laid_down_again(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    (path,) = (served.home / "masters").rglob("*.tif")
    path.unlink()
    watched = visit(f"/t/{ticket}/master")
    settled(watched)
    page = watched.page
    assert page.get_by_role("heading", level=1).inner_text() == "The master’s file is no longer where it was."
    assert "Master, needs you" in page.get_by_role("navigation", name="The picture’s path").inner_text()
    chooser = page.get_by_label("Choose the file").last

    def give(name: str, data: bytes) -> None:
        chooser.set_input_files({"name": name, "mimeType": "image/tiff", "buffer": data})

    give("other.tif", tiff(seed=9))
    assert "is another picture than the one" in page.get_by_role("alert").inner_text()
    give("elsewhere.tif", tiff())
    page.get_by_role("heading", name="The master’s file").wait_for(state="detached")
    page.get_by_role("img", name="elsewhere.tif, the master as on screen").wait_for()
    assert all("422" in complaint for complaint in watched.complaints), watched.complaints
    page.close()
