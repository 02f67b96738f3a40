"""What the page says when something is not as it was, and how one goes on from there."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

import pytest
from PIL import Image

from support.browsing import Served, Watched, file, poster, serving, settled
from support.page_server import paper, tiff

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def test_what_is_pressed_answers_at_once(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    """While the server is still at work: the button says at what, for the ear too, and can't be pressed twice."""
    watched = visit()
    page = watched.page
    sha256 = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()["master"]["sha256"]
    held: list[Any] = []
    page.route(
        "**/api/tickets", lambda route: held.append(route) if route.request.method == "POST" else route.continue_()
    )
    page.goto(f"{served.origin}/m/{sha256}/paper")
    page.get_by_role("button", name="Print on this").first.click()
    pressed = page.get_by_role("button", name="Laying it on the paper ...")
    pressed.wait_for(timeout=1000)
    assert pressed.is_disabled()
    assert page.get_by_role("status").get_by_text("Laying it on the paper ...").count() == 1
    assert len(held) == 1
    held[0].continue_()
    page.wait_for_url("**/proof", timeout=60_000)
    page.get_by_role("spinbutton", name="Lightness").wait_for()
    assert watched.complaints == []
    page.close()


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


def test_a_space_that_was_told_is_offered_the_next_time(visit: Callable[..., Watched], served: Served) -> None:
    post = poster(visit().page, served)
    sha256 = post("/api/masters", multipart=file("bare.tif", tiff(seed=4, tagged=False)))["sha256"]
    watched = visit(f"/m/{sha256}/master")
    watched.page.get_by_role("heading", name="The file says nothing about its colours").wait_for()
    watched.page.get_by_role("img", name="bare.tif in grey").wait_for()
    onward = watched.page.get_by_role("button", name="Choose its paper")
    assert onward.is_disabled()
    watched.page.get_by_role("radio", name="sRGB").check()
    shown = watched.page.get_by_role("img", name="bare.tif, the master as on screen")
    assert "assume=srgb" in (shown.get_attribute("src") or "")
    assert onward.is_enabled()
    watched.page.close()

    post("/api/tickets", data={"master_sha256": sha256, "size": "15x10cm", "paper": "matt", "assume": "display-p3"})
    again = visit(f"/m/{sha256}/master")
    page = again.page
    page.get_by_text("it is taken as Display P3, as you said of this picture before").wait_for()
    assert page.get_by_role("radio", name="Display P3").is_checked()
    assert page.get_by_role("button", name="Choose its paper").is_enabled()
    page.get_by_role("radio", name="sRGB").check()
    page.get_by_text("as you said of this picture before").wait_for(state="detached")
    assert watched.complaints == again.complaints == []
    page.close()


def test_a_grey_picture_is_offered_what_works_for_grey(visit: Callable[..., Watched], served: Served) -> None:
    out = io.BytesIO()
    Image.linear_gradient("L").save(out, "png")
    post = poster(visit().page, served)
    sha256 = post("/api/masters", multipart=file("grey.png", out.getvalue()))["sha256"]
    watched = visit(f"/m/{sha256}/master")
    page = watched.page
    page.get_by_role("heading", name="The file says nothing about its greys").wait_for()
    assert page.get_by_role("radio", name="sRGB", exact=True).count() == 0
    page.get_by_role("radio", name="Grey as in sRGB").check()
    page.get_by_role("heading", name="The file says nothing about its greys").wait_for(state="detached")
    settled(watched)
    assert page.get_by_role("button", name="Choose its paper").is_enabled()
    assert page.get_by_role("alert").count() == 0
    assert watched.complaints == []
    page.close()


def test_ticks_that_were_not_taken_are_said_so(visit: Callable[..., Watched], served: Served, sheeted: str) -> None:
    """The server's reading of a scan, told by an event of its own making."""
    watched = visit()
    page = watched.page
    tick = {"kind": "best", "code": "B2", "axis": None, "direction": None, "confidence": 0.99}
    fault = {"kind": "profile_twice", "probability": 0.97, "evidence": "It is paler.", "mend": "Switch it off."}
    reading = {
        "ticket": sheeted,
        "sheet_no": 1,
        "found": True,
        "scale_error_pct": 0.1,
        "absolute": False,
        "measurement_error_de00": 1.0,
        "tiles": [],
        "faults": [fault],
        "ticked": [tick],
        "verdict_taken": False,
        "sentences": ["It is paler."],
        "notices": [{"code": "ticks_of_a_faulty_print", "text": "as the command says it"}],
        "files": [],
        "next": "Switch it off.",
    }
    job = {
        "job": "J99",
        "kind": "scan",
        "ticket": sheeted,
        "state": "done",
        "step": "done",
        "share": 1.0,
        "left_s": 0.0,
        "result": {"ticket": sheeted, "sheet_no": 1, "reading": reading},
        "error": None,
        "queued": "2031-05-04T18:22:07Z",
    }
    page.route("**/api/jobs", lambda route: route.fulfill(json={"jobs": [job]}))
    page.goto(f"{served.origin}/t/{sheeted}/test")
    page.get_by_text("Ticked in pencil").wait_for()
    page.get_by_text("were not taken as a verdict: they would mend that instead of the picture").wait_for()
    assert page.get_by_text("as the command says it").count() == 0
    page.close()


def test_what_a_sheet_has_settled_leads_to_another_print(
    visit: Callable[..., Watched], served: Served, sheeted: str
) -> None:
    watched = visit(f"/t/{sheeted}/paper")
    page = watched.page
    page.get_by_role("button", name="gloss").click()
    told = page.get_by_role("alert").filter(has_text="can’t change any more")
    told.get_by_role("link", name="Begin another print of this picture").click()
    page.wait_for_url("**/m/*/paper")
    offered = page.get_by_role("button", name="Print on this").first
    offered.wait_for()
    assert offered.is_enabled()
    refused = [said for said in watched.complaints if "422" in said]
    assert watched.complaints == refused
    assert len(refused) == 1, "the refusal that was told"
    page.close()


def test_the_phone_names_the_light(browser: Any, tmp_path: Any) -> None:
    """The key's page on a phone's screen: whose sheet, and in which light it is to be judged."""
    shown = {
        "ticket": "T1",
        "title": "dusk",
        "light": "evening room",
        "sheet": {
            "ticket": "T1",
            "sheet_no": 1,
            "at": "2031-05-04T18:22:07Z",
            "mode": "tiles",
            "sheet_mm": [150.0, 100.0],
            "density_ppi": 200.0,
            "tiles": [
                {"code": code, "box_mm": [10.0 + 45 * at, 7.0, 40.0, 31.0], "correction": {}, "file": 0}
                for at, code in enumerate(("A1", "A2", "A3"))
            ],
            "mark_text": "",
            "dry_from": "2031-05-04T19:22:07Z",
            "file_names": ["sheet.tif"],
            "expected_de00": 2.0,
            "p90_de00": 3.0,
            "said": None,
            "verdict": None,
            "reading": None,
            "cost": None,
        },
    }
    with serving(tmp_path / "home") as server:
        context = browser.new_context(viewport={"width": 360, "height": 740})
        page = context.new_page()
        page.route("**/api/p/*", lambda route: route.fulfill(json=shown))
        page.goto(f"{server.origin}/p/{'k' * 24}")
        light = page.get_by_text("In this light: evening room.")
        light.wait_for()
        assert light.count() == 1
        context.close()


def test_a_tool_that_stopped_is_told_of_in_view_and_nothing_can_be_pressed(browser: Any, tmp_path: Any) -> None:
    """Started again it has a fresh key: the page says so, and goes on once the new address is open."""
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.set_default_timeout(60_000)
    with serving(tmp_path / "home") as server:
        page.goto(server.entry)
        post = poster(page, server)
        sha256 = post("/api/masters", multipart=file("dusk.tif", tiff()))["sha256"]
        upload = post("/api/profiles", multipart=file("paper.icc", paper()))["upload"]
        post("/api/tickets", data={"master_sha256": sha256, "size": "15x10cm", "upload": upload})
        page.goto(f"{server.origin}/t/T1/proof")
        page.get_by_role("button", name="Lightness: one step more").wait_for()
        page.locator("main").get_by_role("radio").first.wait_for()
        page.evaluate("document.querySelector('main').scrollTo(0, 400)")
        server.process.kill()
        gone = page.get_by_role("alert")
        gone.get_by_role("heading", name="The tool has stopped behind this page.").wait_for()
        told, table = gone.bounding_box(), page.locator("main").bounding_box()
        assert told["y"] >= 0, "in view, however far one has scrolled"
        assert told["y"] + told["height"] <= table["y"], "and over nothing"
        assert page.locator("main").get_by_role("radio").first.is_disabled()
        assert page.get_by_role("button", name="Lightness: one step more").is_disabled()
        assert page.get_by_role("spinbutton", name="Lightness").get_attribute("aria-disabled") == "true"
        assert page.get_by_role("link", name="Shelves").is_enabled()
        assert "finds it by itself" not in gone.inner_text()
    with serving(tmp_path / "home", "--port", str(urlsplit(server.origin).port)) as anew:
        page.get_by_role("heading", name="The tool was started anew, and this page has its old key.").wait_for()
        assert page.get_by_text("It is back.").count() == 0
        assert page.locator("main").get_by_role("radio").first.is_disabled()
        other = context.new_page()
        other.goto(anew.entry)
        gone.wait_for(state="detached")
        page.get_by_role("button", name="Lightness: one step more").wait_for()
        assert page.locator("main").get_by_role("radio").first.is_enabled()
        context.close()
