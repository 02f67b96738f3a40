"""'What must not suffer?' on the page: named or touched, kept with the ticket, and it is said who pays."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import Served, Watched, poster, settled
from wallworthy.journey.together import hang_together

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def kept(page: Any, served: Served, ticket: str, count: int) -> dict[str, Any]:
    """The ticket once the server has so many wishes."""
    for _ in range(80):
        told = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()
        if len(told["must_not_suffer"]) == count:
            return told
        page.wait_for_timeout(250)
    raise AssertionError(told["must_not_suffer"])


def hung_beside(visit: Callable[..., Watched], served: Served, ticket: str) -> str:
    """Another print of the same picture, which the ticket hangs together with."""
    page = visit().page
    told = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()
    asked = {"master_sha256": told["master"]["sha256"], "size": "9x6cm", "on": told["condition"]["name"]}
    other = str(poster(page, served)("/api/tickets", data=asked)["ticket"])
    hang_together(served.home, [ticket, other])
    page.close()
    return other


def test_what_is_named_or_touched_is_looked_after(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    beside = hung_beside(visit, served, ticket)
    watched = visit(f"/t/{ticket}/proof")
    settled(watched)
    page = watched.page
    said = page.get_by_text("Hangs with")
    said.wait_for()
    assert said.get_by_role("link", name="Dusk").get_attribute("href") == f"/t/{beside}/proof"
    assert "treats every picture alike" in said.inner_text()
    page.get_by_text("What must not suffer?").click()
    page.get_by_label("name it").select_option(label="the shadows")
    told = kept(page, served, ticket, 1)
    assert (told["must_not_suffer"], told["way"]) == (["shadows"], "whole")
    page.get_by_text("Hangs with Dusk and shares its tones.").wait_for()
    notes = page.get_by_role("region", name="What this paper does to the picture")
    notes.get_by_role("listitem").filter(has_text="the shadows").wait_for()
    notes.get_by_role("status").get_by_text("no more than without asking: the tones are shared").wait_for()

    page.get_by_role("button", name="Touch the place in the picture").click()
    box = page.locator(".touch").bounding_box()
    page.mouse.click(box["x"] + 0.1 * box["width"], box["y"] + 0.15 * box["height"])
    wishes = kept(page, served, ticket, 2)["must_not_suffer"]
    row, column, height, width = (int(edge) for edge in wishes[1].split(","))
    assert row <= 0.15 * 120 <= row + height
    assert column <= 0.1 * 180 <= column + width
    assert page.locator(".touch").count() == 0
    notes.get_by_text("the place at the upper left").first.wait_for()

    notes.get_by_role("button", name=re.compile("^let it go.*the shadows")).click()
    assert kept(page, served, ticket, 1)["must_not_suffer"] == wishes[1:]
    path = page.get_by_role("navigation", name="The picture’s path")
    path.get_by_text("soft at 15 cm").wait_for()  # though neither Master nor Paper was visited
    assert watched.complaints == []
    page.close()
