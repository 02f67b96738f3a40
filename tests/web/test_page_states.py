"""What the page says when something is not as it was, and how one goes on from there."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from support.browsing import Served, Watched, settled
from support.page_server import tiff

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


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
