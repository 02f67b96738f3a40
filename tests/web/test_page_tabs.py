"""Many tabs on one server: they share its line of events, and one of them holds a ticket."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import Served, Watched, settled
from wallworthy.journey.changing import ChangeAsked, change_ticket

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


def test_the_second_tab_looks_until_it_takes_the_ticket_over(visit: Callable[..., Watched], ticket: str) -> None:
    first = visit(f"/t/{ticket}/proof")
    settled(first)
    second = visit(f"/t/{ticket}/print")
    settled(second)
    page = second.page
    try:
        told = page.get_by_role("alert")
        told.get_by_role("heading", name="This ticket is open in another tab.").wait_for()
        assert re.search(r"That one stands at ‘Proof’ and has held it since \d\d:\d\d", told.inner_text())
        assert page.get_by_role("button", name="Make the file").is_disabled()
        assert page.get_by_role("button", name="type the border").is_disabled()
        assert page.get_by_label("Format").is_disabled()
        page.get_by_role("link", name="Proof").click()
        assert page.get_by_role("radio").first.is_disabled()
        assert page.get_by_role("button", name="Lightness: one step more").is_disabled()
        assert page.get_by_role("spinbutton", name="Lightness").get_attribute("aria-disabled") == "true"
        assert page.get_by_role("button", name="look closer").is_enabled()

        told.get_by_role("button", name="Take it over").click()
        told.wait_for(state="detached")
        assert page.get_by_role("button", name="Lightness: one step more").is_enabled()
        lost = first.page.get_by_role("alert")
        lost.get_by_role("heading", name="Another tab has taken this ticket over.").wait_for()
        assert first.page.get_by_role("button", name="Lightness: one step more").is_disabled()
    finally:
        first.page.close()
        page.close()


def test_a_ticket_that_was_put_down_is_free_at_once(visit: Callable[..., Watched], ticket: str) -> None:
    first = visit(f"/t/{ticket}/proof")
    settled(first)
    first.page.goto("about:blank")
    first.page.wait_for_timeout(1000)
    second = visit(f"/t/{ticket}/proof")
    settled(second)
    try:
        assert second.page.get_by_role("button", name="Lightness: one step more").is_enabled()
        assert second.page.get_by_role("alert").count() == 0
    finally:
        first.page.close()
        second.page.close()


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

        rename(last, served, ticket, "Heard by all")
        for tab in tabs:
            named(tab, "Heard by all").wait_for()

        listener = next(tab for tab in tabs if lines([tab]))
        tabs.remove(listener)
        listener.page.close()
        rename(last, served, ticket, "Heard by the rest")
        for tab in tabs:
            named(tab, "Heard by the rest").wait_for()
        assert lines(tabs) == 1
        assert all(tab.complaints == [] for tab in tabs)
    finally:
        for tab in tabs:
            tab.page.close()


def test_a_size_that_another_process_gave_is_shown(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    """Nothing tells the page's server of it: the tab hears by asking for the ticket, and its picture is drawn anew."""
    tab = visit(f"/t/{ticket}/proof")
    settled(tab)
    page = tab.page
    try:
        before = page.locator(".sheet .seen").bounding_box()
        old = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()["shown"]

        def is_new(answer: Any, path: str) -> bool:
            return path in answer.url and "quality=fine" in answer.url and f"shown={old}" not in answer.url

        with (
            page.expect_response(lambda answer: is_new(answer, "/report?")),
            page.expect_response(lambda answer: is_new(answer, "/view?")),
        ):
            change_ticket(served.home, ticket, ChangeAsked(size="10x10cm", fill=True))
        settled(tab)
        after = page.locator(".sheet .seen").bounding_box()
        assert before["width"] / before["height"] > 1.3
        assert after["width"] / after["height"] == pytest.approx(1.0, abs=0.02)
        image = page.locator(".sheet .layer img")
        assert image.evaluate("(image) => image.naturalWidth / image.naturalHeight") == pytest.approx(1.0, abs=0.02)
        assert tab.complaints == []
    finally:
        page.close()
