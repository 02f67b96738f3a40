"""The papers ranked on the page: best first, with reasons, and nothing moves under a hand that is at work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import WINDOWS, Served, Watched, assert_for_everyone, file, poster, settled
from support.page_server import paper, poor, tiff

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
PAPERS = "ol.papers:not(.more) h2"


@pytest.fixture(scope="module")
def laid(visit: Callable[..., Watched], served: Served) -> str:
    """A master in a home whose best paper was taken in last."""
    first = visit().page
    post = poster(first, served)

    for name, profile in (("ash", poor()), ("birch", poor()), ("cotton", paper())):
        upload = post("/api/profiles", multipart=file("paper.icc", profile))["upload"]
        post("/api/conditions", data={"name": name, "upload": upload})
    sha256 = post("/api/masters", multipart=file("dusk.tif", tiff()))["sha256"]
    first.close()
    return str(sha256)


def names(page: Any) -> list[str]:
    return page.locator(PAPERS).all_inner_texts()


def test_the_best_paper_lies_first_with_its_reason(visit: Callable[..., Watched], laid: str) -> None:
    watched = visit(f"/m/{laid}/paper")
    settled(watched)
    page = watched.page
    page.get_by_text("Best first, as it looks in even daylight").wait_for()
    assert names(page) == ["Cotton holds it best", "Ash comes second", "Birch comes third"]
    heavy = page.locator("button.do")
    assert heavy.inner_text().startswith("Print on this")
    assert "Cotton" in heavy.inner_text()
    best, poorer = page.locator("ol.papers li").nth(0), page.locator("ol.papers li").nth(1)
    assert "loses " in best.inner_text().replace("\u00a0", " ")
    assert " more" in poorer.inner_text().replace("\u00a0", " ")
    assert "Its darkest tone is" in poorer.inner_text()
    line = page.get_by_role("img", name="Visible loss of the picture on each paper")
    assert line.get_attribute("aria-label").count("Cotton") == 1
    for each in ("Cotton", "Ash", "Birch"):
        page.get_by_role("img", name=f"The picture on {each}").wait_for()
    path = page.get_by_role("navigation", name="The picture’s path").bounding_box()
    box = line.bounding_box()
    assert box["y"] + box["height"] <= path["y"], "the stage is whole in its window"
    assert page.locator(".far .title").inner_text().split() == ["wallworthy", "Dusk", "no", "ticket", "yet"]

    distance = page.get_by_role("combobox", name="Viewing distance")
    own = distance.inner_text().split("\n")[0]
    distance.select_option("1000mm")
    assert distance.get_by_role("option").first.inner_text() == f"its own diagonal, {own}"
    distance.select_option("")
    size = page.get_by_role("combobox", name="Size of the picture")
    size.select_option("other")
    field = page.get_by_role("textbox", name="Size of the picture")
    for text, why in (("9000 x 9000", "can’t be made"), ("hello", "is not a size")):
        assert field.evaluate("(field) => field === document.activeElement"), "it is there to be typed in"
        page.keyboard.type(text)
        page.keyboard.press("Enter")
        page.get_by_role("alert").get_by_text(why).wait_for()
        assert field.input_value() == text, "what was refused can be mended"
        assert field.get_attribute("aria-invalid") == "true"
        field.select_text()
    page.keyboard.press("Escape")
    assert size.evaluate("(choice) => choice === document.activeElement")
    assert size.input_value() == "A3", "what can't be is not shown as the order"
    watched.complaints.clear()  # the browser tells of every answer that refuses
    assert watched.complaints == []
    page.close()


def test_papers_stay_where_they_lie_once_a_hand_is_at_work(
    visit: Callable[..., Watched], served: Served, laid: str
) -> None:
    watched = visit()
    page = watched.page
    held: list[Any] = []
    page.route("**/ranking?*", lambda route: held.append(route))
    page.goto(f"{served.origin}/m/{laid}/paper")
    page.get_by_role("heading", name="Ash").wait_for()
    page.get_by_text("Trying it on your papers.").wait_for()
    page.keyboard.press("Tab")
    page.get_by_role("button", name="Print on this").first.focus()
    for _ in range(80):
        if held:
            break
        page.wait_for_timeout(100)
    held.pop().continue_()
    page.get_by_role("heading", name="Cotton holds it best").wait_for()
    assert names(page) == ["Ash comes second", "Birch comes third", "Cotton holds it best"]
    assert page.evaluate("document.activeElement.textContent").startswith("Print on this")
    page.get_by_role("button", name="Lay the best first").press("Enter")
    assert names(page)[0] == "Cotton holds it best"
    page.get_by_role("status").get_by_text("Best first").wait_for()

    # another light: what is said follows, the places stay
    page.get_by_role("combobox", name="Light").select_option("evening room")
    for _ in range(80):
        if held:
            break
        page.wait_for_timeout(100)
    assert "light=evening+room" in held[-1].request.url
    held.pop().continue_()
    page.get_by_text("Best first, as it looks under ‘evening room’").wait_for()
    assert watched.complaints == []
    page.close()


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_ranked_papers_are_for_everyone(visit: Callable[..., Watched], laid: str, width: int, height: int) -> None:
    watched = visit(f"/m/{laid}/paper", width, height)
    settled(watched)
    page = watched.page
    page.get_by_text("Best first").wait_for()
    assert_for_everyone(watched, width, height)
    page.close()


def test_a_ranking_that_fails_leaves_the_papers_to_choose_from(visit: Callable[..., Watched], laid: str) -> None:
    watched = visit(f"/m/{laid}/paper")
    settled(watched)
    page = watched.page
    body = (
        '{"error": {"code": "memory", "text": "There is not enough memory.", "mend": "Close others.", "where": null}}'
    )
    page.route("**/ranking?*", lambda route: route.fulfill(status=422, content_type="application/json", body=body))
    page.reload()
    page.get_by_role("alert").get_by_text("There is not enough memory.").wait_for()
    assert names(page) == ["Ash", "Birch", "Cotton"]
    assert page.get_by_role("button", name="Print on this").count() == 3
    page.close()


def from_proof_to_papers(visit: Callable[..., Watched], laid: str, served: Served) -> tuple[Watched, str]:
    """A window on the papers, gone to from the proof of a new ticket on Ash; and the ticket."""
    watched = visit()
    page = watched.page
    made = poster(page, served)("/api/tickets", data={"master_sha256": laid, "size": "15x10cm", "on": "ash"})
    page.goto(f"{served.origin}/t/{made['ticket']}/proof")
    settled(watched)
    page.locator(".sheet .layer img").wait_for()
    page.get_by_role("link", name="Paper").first.click()
    page.get_by_text("Best first").wait_for()
    settled(watched)
    return watched, str(made["ticket"])


def test_the_proof_on_another_paper_is_asked_for_at_the_press(
    visit: Callable[..., Watched], laid: str, served: Served
) -> None:
    """Once the page knows how large, before the ticket is changed; and not a second time. Another paper is shown."""
    watched, ticket = from_proof_to_papers(visit, laid, served)
    page = watched.page
    before = len(watched.requests)
    page.locator("ol.papers button").filter(has_text="Cotton").click()
    with page.expect_response(lambda answer: "/view?" in answer.url and "quality=fine" in answer.url) as fine:
        page.get_by_role("heading", name="Cotton").wait_for(state="detached")
        page.locator(".sheet .layer img").wait_for()
    assert fine.value.ok
    asked = [url for url in watched.requests[before:] if "/view?" in url and "quality=quick" in url]
    assert len(asked) == 1, [url[-130:] for url in asked]
    assert "condition=cotton" in asked[0]
    changed = [url for url in watched.requests[before:] if url.endswith(f"/api/tickets/{ticket}")]
    assert len(changed) == 1, "what the tab changed itself it does not read again"
    shown = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()
    assert shown["condition"]["name"] == "cotton"
    assert watched.complaints == []
    page.close()


def test_a_press_that_slips_off_shows_the_paper_one_has(
    visit: Callable[..., Watched], laid: str, served: Served
) -> None:
    watched, _ = from_proof_to_papers(visit, laid, served)
    page = watched.page
    before = len(watched.requests)
    page.locator("ol.papers button").filter(has_text="Cotton").hover()
    page.mouse.down()
    page.wait_for_timeout(300)
    page.mouse.move(5, 300)
    page.mouse.up()
    page.get_by_role("link", name="Proof").first.click()
    page.get_by_role("heading", name="Cotton").wait_for(state="detached")
    page.locator(".sheet .layer img").wait_for()
    asked = ["condition=cotton" in url for url in watched.requests[before:] if "/view?" in url and "quick" in url]
    assert asked == [True, False], "the proof on cotton was begun and let go"
    page.close()
