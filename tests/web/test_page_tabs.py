"""Many tabs on one server: they share its line of events, and one of them holds a ticket."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import Served, Watched, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
TABS = 8
"""A browser keeps six connections to a host."""


def lines(tabs: list[Watched]) -> int:
    """How many lines of events the tabs have asked for, all together."""
    return sum(url.endswith("/api/events") for tab in tabs for url in tab.requests)


def rename(tab: Watched, served: Served, ticket: str, title: str) -> None:
    """Change the ticket behind the tabs' backs."""
    answer = tab.page.context.request.patch(
        f"{served.origin}/api/tickets/{ticket}", headers={"Origin": served.origin}, data={"title": title}
    )
    assert answer.ok, answer.text()


def named(tab: Watched, title: str) -> Any:
    return tab.page.get_by_role("banner").get_by_text(title, exact=True)


def test_the_eighth_tab_paints_and_all_hear_by_one_line(
    visit: Callable[..., Watched], served: Served, ticket: str
) -> None:
    tabs = [visit(f"/t/{ticket}/print") for _ in range(TABS)]
    try:
        last = tabs[-1]
        settled(last)
        drawn = last.page.locator(".sheet img").first
        drawn.wait_for()
        assert drawn.evaluate("(image) => image.complete && image.naturalWidth") > 0
        assert lines(tabs) == 1

        rename(last, served, ticket, "heard by all")
        for tab in tabs:
            named(tab, "heard by all").wait_for()

        listener = next(tab for tab in tabs if lines([tab]))
        tabs.remove(listener)
        listener.page.close()
        rename(last, served, ticket, "heard by the rest")
        for tab in tabs:
            named(tab, "heard by the rest").wait_for()
        assert lines(tabs) == 1
        assert all(tab.complaints == [] for tab in tabs)
    finally:
        for tab in tabs:
            tab.page.close()
