"""Every stage for everyone: no serious finding of axe-core, no sideways scroll, nothing that leaves loopback."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from support.browsing import Watched, findings, main, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
WIDTHS = ((1440, 900), (1024, 768), (360, 740))


@pytest.mark.parametrize(("width", "height"), WIDTHS)
@pytest.mark.parametrize("place", ["", "master", "paper", "proof", "test", "print", "shelves", "help"])
def test_a_stage_at_a_width(visit: Callable[..., Watched], ticket: str, place: str, width: int, height: int) -> None:
    stage = place in ("master", "paper", "proof", "test", "print")
    watched = visit(f"/t/{ticket}/{place}" if stage else f"/{place}", width, height)
    settled(watched)
    page = watched.page
    try:
        if place != "shelves":
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            assert page.evaluate("(main) => main.scrollWidth - main.clientWidth", main(page)) == 0
        assert findings(page) == []
        # And whole, with what has to be scrolled up in a window of this size.
        below = page.evaluate("(main) => main.scrollHeight - main.clientHeight", main(page))
        page.set_viewport_size({"width": width, "height": height + below + 40})
        assert findings(page) == []
        assert watched.stayed_home()
        assert watched.complaints == []
    finally:
        page.close()


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
