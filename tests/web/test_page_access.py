"""Narrow shelves and help for everyone, and what has the focus in sight; the stages are seen to beside their layout."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from support.browsing import WINDOWS, Watched, assert_for_everyone, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


@pytest.mark.parametrize(("width", "height"), WINDOWS[1:])
@pytest.mark.parametrize("place", ["/shelves", "/help"])
def test_a_place_beside_the_path(visit: Callable[..., Watched], place: str, width: int, height: int) -> None:
    watched = visit(place, width, height)
    settled(watched)
    try:
        assert_for_everyone(watched, width, height, sideways=place == "/shelves")
    finally:
        watched.page.close()


def test_what_has_the_focus_is_never_under_the_path(visit: Callable[..., Watched], ticket: str) -> None:
    watched = visit(f"/t/{ticket}/proof", 1024, 600)
    settled(watched)
    page = watched.page
    try:
        path = page.get_by_role("navigation", name="The picture’s path").bounding_box()
        covered = []
        for _ in range(40):
            page.keyboard.press("Tab")
            name, box, inside = page.evaluate(
                """() => {
                    const held = document.activeElement, box = held.getBoundingClientRect();
                    const own = held === document.body || held.closest("nav") !== null;
                    return [held.outerHTML.slice(0, 80), [box.top, box.bottom], own];
                }"""
            )
            if not inside and box[1] > path["y"] + 1 and box[0] < path["y"]:
                covered.append(name)
        assert covered == []
    finally:
        page.close()
