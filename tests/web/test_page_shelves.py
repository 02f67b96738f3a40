"""The shelves on the page: what one owns is told anew, taken off, and refused where a print uses it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from support.browsing import Served, Watched, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def test_things_are_told_anew_and_taken_off(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    watched = visit("/shelves")
    page = watched.page
    asked, origin = page.context.request, {"Origin": served.origin}
    told = {"name": "Cotton", "surface": "matt", "stock": {"A4": 20}, "prices": {"A4": 1.6}}
    assert asked.post(f"{served.origin}/api/papers", headers=origin, data=told).ok
    assert asked.post(f"{served.origin}/api/lights", headers=origin, data={"name": "hall", "lux": 150}).ok
    page.reload()
    settled(watched)

    page.get_by_label("Currency: its code or sign").fill("CHF")
    page.get_by_label("Currency: its code or sign").press("Enter")
    page.get_by_text("1.60\u00a0CHF for A4").wait_for()

    paper = page.get_by_role("listitem").filter(has_text="Cotton")
    paper.get_by_text("Change it: Cotton").click()
    paper.get_by_label("Sheets left, A4").fill("17")
    paper.get_by_label("Another size").fill("A3")
    paper.get_by_label("Sheets left, A3").fill("4")
    paper.get_by_role("button", name="Keep it so").click()
    paper.get_by_text("17 sheets A4 and 4 sheets A3").wait_for()
    assert asked.get(f"{served.origin}/api/things").json()["papers"][0]["prices"] == {"A4": 1.6}

    light = page.get_by_role("listitem").filter(has_text="hall")
    light.get_by_text("Change it: hall").click()
    light.get_by_label("Illuminance in lux").fill("300")
    light.get_by_role("button", name="Keep it so").click()
    light.get_by_text("300 lux").wait_for()
    light.get_by_role("button", name="Take it off the shelf").click()
    light.wait_for(state="detached")

    name = asked.get(f"{served.origin}/api/tickets/{ticket}").json()["condition"]["name"]
    condition = page.get_by_role("listitem").filter(has_text="Change it: " + name)
    condition.get_by_text(f"Change it: {name}").click()
    condition.get_by_label("Ink spread in cycles per mm").fill("5.5")
    condition.get_by_role("button", name="Keep it so").click()
    condition.get_by_text("In figures").click()
    condition.get_by_text("5.5 cycles per mm", exact=True).wait_for()
    assert min(one.bounding_box()["width"] for one in condition.locator("dd").all()) >= 100, "figures are read in lines"
    if not condition.get_by_role("button", name="Take it off the shelf").is_visible():
        condition.get_by_text(f"Change it: {name}").click()
    condition.get_by_role("button", name="Take it off the shelf").click()
    refused = condition.get_by_role("alert")
    assert f"t be removed: {ticket} is printed on it." in refused.inner_text()
    assert all("409" in complaint for complaint in watched.complaints), watched.complaints
    page.close()
