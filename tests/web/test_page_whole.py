"""Each stage is whole in a window of 1440 x 900, whatever runs meanwhile and whatever is told above it."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from support.browsing import WINDOWS, Served, Watched, file, findings, main, poster, settled
from support.page_server import paper, tiff

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
RUNNING = {
    "job": "J91",
    "kind": "final",
    "ticket": "T99",
    "state": "running",
    "step": "writing",
    "share": 0.4,
    "left_s": 50.0,
    "result": None,
    "error": None,
    "at": "2031-05-04T18:22:07Z",
}
MEMORY = {"code": "memory", "text": "There is not enough memory for that.", "mend": "Close others.", "where": None}
FAILED = {**RUNNING, "job": "J92", "state": "failed", "error": MEMORY}


def over(page: Any) -> int:
    """How much of the stage lies below the window, CSS pixels, once it is at rest."""
    left, same = -1, 0
    for _ in range(80):
        page.wait_for_timeout(250)
        now = page.evaluate("(main) => main.scrollHeight - main.clientHeight", main(page))
        same = same + 1 if now == left else 0
        left = now
        if same == 6:
            break
    return int(left)


@pytest.fixture
def open_with(visit: Callable[..., Watched], served: Served) -> Callable[..., Watched]:
    def opened(path: str, jobs: list[dict[str, Any]], width: int = 1440, height: int = 900) -> Watched:
        watched = visit("/help", width, height)
        watched.page.route("**/api/jobs", lambda route: route.fulfill(json={"jobs": jobs}))
        watched.page.goto(served.origin + path)
        settled(watched)
        watched.page.wait_for_timeout(600)
        taken = watched.page.get_by_role("button", name="Take it over")  # the test before this had it in hand
        if taken.count():
            taken.click()
            taken.wait_for(state="detached")
        return watched

    return opened


@pytest.mark.parametrize("stage", ["master", "proof", "test", "print"])
def test_a_stage_stays_whole_while_work_runs(open_with: Callable[..., Watched], sheeted: str, stage: str) -> None:
    watched = open_with(f"/t/{sheeted}/{stage}", [RUNNING])
    page = watched.page
    line = page.get_by_role("list", name="What is being made")
    line.get_by_text("the print file for T99, 40 %").wait_for()
    assert over(page) == 0
    assert watched.complaints == []
    page.close()


def test_a_sheet_that_is_drawn_tells_of_it_on_bare_paper(open_with: Callable[..., Watched], sheeted: str) -> None:
    """Over nothing that is outlined on the sheet, and with the time left."""
    watched = open_with(f"/t/{sheeted}/test", [{**RUNNING, "kind": "sheet", "ticket": sheeted}])
    page = watched.page
    told = page.get_by_role("status").filter(has_text="Drawing the sheet, 40 %.")
    assert "About a minute left." in told.inner_text()
    grounds = told.evaluate(
        """(told) => [".note", ".sheet"].map((one) => getComputedStyle(told.closest(one)).backgroundColor)"""
    )
    assert grounds[0] == grounds[1]
    page.close()


def test_a_phone_that_is_not_let_in_is_told_in_lines(open_with: Callable[..., Watched], sheeted: str) -> None:
    watched = open_with(f"/t/{sheeted}/test", [])
    page = watched.page
    page.get_by_role("button", name="Judge on a phone").click()
    away = page.get_by_role("button", name="Put it away").bounding_box()
    assert away["width"] > away["height"], "one line, not a letter each"
    page.close()


def test_the_print_stays_in_view_whatever_is_unfolded_beside_it(open_with: Callable[..., Watched], ticket: str) -> None:
    watched = open_with(f"/t/{ticket}/proof", [])
    page = watched.page
    page.get_by_text("How it is squeezed in").first.wait_for()
    for fold in page.locator("details > summary").all():
        fold.click()
    page.locator("input[name=way]").last.scroll_into_view_if_needed()
    lying, table = page.locator(".lying").bounding_box(), page.locator("main").bounding_box()
    assert lying["y"] >= table["y"]
    assert lying["y"] + lying["height"] <= table["y"] + table["height"]
    page.close()


def test_a_long_correction_in_greys_stays_whole(open_with: Callable[..., Watched], served: Served, ticket: str) -> None:
    watched = open_with(f"/t/{ticket}/print", [])
    page = watched.page
    asked = {
        "black_and_white": "split",
        "correction": {
            "lightness": 2.2,
            "contrast": 1.06,
            "shadow": 1.2,
            "green_red": -0.8,
            "blue_yellow": 1.6,
            "chroma": 1.08,
        },
    }
    plain = {"lightness": 0, "contrast": 1, "shadow": 0, "green_red": 0, "blue_yellow": 0, "chroma": 1}

    def change(body: dict[str, Any]) -> None:
        answer = page.context.request.patch(
            f"{served.origin}/api/tickets/{ticket}",
            headers={"Origin": served.origin, "Content-Type": "application/json"},
            data=json.dumps(body),
        )
        assert answer.ok, answer.text()

    change(asked)
    card = page.get_by_role("region", name="Job card")
    card.get_by_text("blue to yellow +1.6").wait_for()
    card.get_by_text("no toning").wait_for()
    assert over(page) == 0
    change({"black_and_white": "none", "correction": plain})
    page.close()


def test_what_is_told_above_takes_its_height_from_the_print(open_with: Callable[..., Watched], ticket: str) -> None:
    plain = open_with(f"/t/{ticket}/proof", [])
    over(plain.page)
    before = plain.page.locator(".print .sheet").bounding_box()
    plain.page.close()
    told = open_with(f"/t/{ticket}/proof", [FAILED])
    alert = told.page.get_by_role("alert").filter(has_text="There is not enough memory")
    alert.wait_for()
    taken = alert.bounding_box()["height"]
    over(told.page)
    path = told.page.get_by_role("navigation", name="The picture’s path").bounding_box()
    heavy = told.page.locator(".wishes .do").bounding_box()
    assert heavy["y"] + heavy["height"] <= path["y"], "the print with its wish is whole; sentences may be longer"
    now = told.page.locator(".print .sheet").bounding_box()
    assert before["height"] - now["height"] == pytest.approx(taken, abs=30)
    alert.get_by_role("button", name="Put this away").press("Enter")
    alert.wait_for(state="detached")
    over(told.page)
    assert told.page.locator(".print .sheet").bounding_box()["height"] == pytest.approx(before["height"], abs=1)
    told.page.close()


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_work_and_warnings_are_for_everyone(
    open_with: Callable[..., Watched], ticket: str, width: int, height: int
) -> None:
    watched = open_with(f"/t/{ticket}/print", [RUNNING, FAILED], width, height)
    page = watched.page
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert findings(page) == []
    page.locator(".far .mark").focus()
    for _ in range(2):
        page.keyboard.press("Tab")
    assert "Cancel" in page.evaluate("document.activeElement.textContent")
    page.close()


@pytest.fixture(scope="module")
def tall(visit: Callable[..., Watched], served: Served) -> str:
    """A ticket for a picture two and a half times as high as wide."""
    first = visit().page
    post = poster(first, served)
    facts = post("/api/masters", multipart=file("tower.tif", tiff(450, 180)))
    upload = post("/api/profiles", multipart=file("paper.icc", paper()))["upload"]
    made = post("/api/tickets", data={"master_sha256": facts["sha256"], "size": "16x40cm", "upload": upload})
    first.close()
    return str(made["ticket"])


@pytest.mark.parametrize(("width", "height"), [size for size in WINDOWS if size[0] >= 1000])
@pytest.mark.parametrize("stage", ["master", "paper", "proof", "print"])
def test_a_tall_print_is_seen_whole(
    open_with: Callable[..., Watched], tall: str, stage: str, width: int, height: int
) -> None:
    page = open_with(f"/t/{tall}/{stage}", [], width, height).page
    below = over(page)
    sheet = page.locator("main .sheet").first.bounding_box()
    path = page.get_by_role("navigation", name="The picture’s path").bounding_box()
    assert sheet["width"] / sheet["height"] < 0.5
    assert sheet["y"] >= 0
    assert sheet["y"] + sheet["height"] <= path["y"]
    assert sheet["height"] >= 300
    if width > 1180 and stage != "master":  # where all that would show in the file is told
        assert below == 0, "and the stage with it"
    page.close()
