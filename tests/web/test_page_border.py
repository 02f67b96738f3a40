"""Bare paper round the picture, on the Print stage: typed, made equal, made heavier at the foot, dragged."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import WINDOWS, Served, Watched, findings, settled, unroll

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def kept(page: Any, served: Served, ticket: str, margins: list[float]) -> None:
    """Waits until the server has these widths with the ticket."""
    told: Any = None
    for _ in range(60):
        told = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()["margins_mm"]
        if told == margins:
            return
        page.wait_for_timeout(200)
    raise AssertionError(told)


def typed(page: Any, *widths: str) -> None:
    for side, width in zip(("top", "right", "foot", "left"), widths, strict=True):
        page.get_by_label(f"Border at the {side}, in cm").fill(width)
    page.keyboard.press("Enter")


def test_borders_may_differ_by_side(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    watched = visit(f"/t/{ticket}/print")
    settled(watched)
    page = watched.page
    unfold = page.get_by_role("button", name="type the borders")
    unfold.focus()
    page.keyboard.press("Enter")
    typed(page, "1", "wide", "1", "1")
    page.get_by_role("alert").get_by_text("A border is a number").wait_for()
    typed(page, "1", "1", "1", "1")
    kept(page, served, ticket, [10, 10, 10, 10])
    page.get_by_role("button", name="Equal borders").wait_for(state="detached")

    page.get_by_role("button", name="Heavier at the foot").press("Enter")
    kept(page, served, ticket, [10, 10, 15, 10])
    page.get_by_role("button", name="Heavier at the foot").wait_for(state="detached")
    assert page.locator(".drawing svg").get_by_text("1.5", exact=True).count() == 1
    sheet, picture = page.locator(".sheet .pict"), page.locator(".drawing .sheet .sheet")
    inner, outer = sheet.bounding_box(), picture.bounding_box()
    above, below = inner["y"] - outer["y"], outer["y"] + outer["height"] - inner["y"] - inner["height"]
    assert below == pytest.approx(1.5 * above, abs=1.5)

    # one side that differs is dragged by itself
    x, y = inner["x"] + inner["width"], inner["y"] + inner["height"] / 2
    px_per_mm = outer["width"] / (150 + 20)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 4 * px_per_mm, y, steps=4)
    page.mouse.up()
    kept(page, served, ticket, [10, 14, 15, 10])

    page.goto(f"{served.origin}/t/{ticket}/paper")
    assert page.get_by_label("Border").input_value() == "10,14,15,10"
    page.get_by_text("borders of 1 cm to 1.5 cm").first.wait_for(state="attached")
    page.goto(f"{served.origin}/t/{ticket}/print")
    for width, height in WINDOWS:
        page.set_viewport_size({"width": width, "height": height})
        unfold.click()
        page.get_by_label("Border at the left, in cm").wait_for()
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        unroll(page, width, height)
        assert findings(page) == []
        unfold.click()

    page.get_by_role("button", name="Equal borders").click()
    kept(page, served, ticket, [10, 10, 10, 10])
    page.get_by_role("button", name="No border").click()
    kept(page, served, ticket, [0, 0, 0, 0])
    assert watched.complaints == []
    page.close()


def test_a_size_with_its_border_says_which_sheet_it_needs(
    visit: Callable[..., Watched], served: Served, ticket: str
) -> None:
    page = visit(f"/t/{ticket}/paper").page
    page.get_by_role("combobox", name="Border").select_option("0")
    kept(page, served, ticket, [0, 0, 0, 0])
    page.get_by_text("With its border it needs a sheet").wait_for(state="detached")
    page.get_by_role("combobox", name="Border").select_option("20")
    kept(page, served, ticket, [20, 20, 20, 20])
    page.get_by_text("With its border it needs a sheet of").wait_for()
    told = page.locator(".held").inner_text().replace("\u00a0", " ")
    assert "With its border it needs a sheet of 19 × 14 cm." in told
