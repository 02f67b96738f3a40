"""The appraisal on the page: in words, worst first, with its places; a rung for every size; at three widths."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from PIL import Image

from support.appraised import corners, photo_of, sky
from support.browsing import WINDOWS, Served, Watched, assert_for_everyone, poster, settled
from wallworthy.icc.standard import srgb_profile

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
SPOTS = ((100, 480), (300, 520), (500, 560))
"""Row and column of what lies on the sensor, in a picture of 640 x 640 pixels."""


def png(samples: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(samples).save(out, "PNG", icc_profile=srgb_profile())
    return out.getvalue()


def dusty() -> bytes:
    field, (row, column) = sky(3), np.mgrid[0:640, 0:640]
    for at in SPOTS:
        field = field - 12 * (np.hypot(row - at[0], column - at[1]) < 9)
    return png(photo_of(field / 255))


@pytest.fixture(scope="module")
def lay(visit: Callable[..., Watched], served: Served) -> Callable[[str, bytes], str]:
    """Takes a master in; its SHA-256."""
    first = visit().page

    def post(name: str, data: bytes) -> str:
        part = {"file": {"name": name, "mimeType": "application/octet-stream", "buffer": data}}
        answer = first.context.request.post(
            f"{served.origin}/api/masters", headers={"Origin": served.origin}, multipart=part, timeout=120_000
        )
        assert answer.ok, answer.text()
        return str(answer.json()["sha256"])

    return post


@pytest.fixture(scope="module")
def specked(lay: Callable[[str, bytes], str]) -> str:
    return lay("sky.png", dusty())


@pytest.fixture(scope="module")
def sharp(lay: Callable[[str, bytes], str]) -> str:
    return lay("blocks.png", png(photo_of(corners(size=640, number=4))[:420]))


def told(watched: Watched) -> Any:
    """The page once the appraisal is there."""
    settled(watched)
    watched.page.get_by_role("heading", level=2, name="would show").wait_for()
    watched.page.wait_for_timeout(300)
    return watched.page


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_it_says_how_large_and_what_would_show_at_a_width(
    visit: Callable[..., Watched], specked: str, width: int, height: int
) -> None:
    watched = visit(f"/m/{specked}/master", width, height)
    page = told(watched)
    try:
        assert re.match(r"From [\d.]+ cm it can go up to [\d.]+ × [\d.]+ cm\.$", plain(page.locator("h1").inner_text()))
        words = plain(page.get_by_role("region", name="About the file").inner_text())
        assert "hold can’t be told: too few clear edges" in words
        assert "by a good inkjet on gloss, until size and paper are settled." in words
        assert re.search(r"A dark spot of [\d.]+ mm on paper, .*: dust\? Two more like it\.", words)
        assert page.get_by_role("img", name="Size ladder").is_visible()
        assert_for_everyone(watched, width, height)
    finally:
        page.close()


def test_by_keys_alone_it_shows_where(visit: Callable[..., Watched], specked: str) -> None:
    watched = visit(f"/m/{specked}/master")
    page = told(watched)
    try:
        dust = page.get_by_role("listitem").filter(has_text="dust?")
        number = dust.get_attribute("data-n")
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("() => document.activeElement.textContent.includes('Show me where')"):
                break
        page.keyboard.press("Enter")
        assert dust.get_by_role("button").get_attribute("aria-pressed") == "true"
        sheet = page.locator(".sheet .pict").bounding_box()
        middles = page.evaluate(
            """() => [...document.querySelectorAll(".marks path.light")].map((loop) => {
                const box = loop.getBoundingClientRect();
                return [box.left + box.width / 2, box.top + box.height / 2];
            })"""
        )
        assert len(middles) == len(SPOTS)
        for row, column in SPOTS:
            at = sheet["x"] + sheet["width"] * column / 640, sheet["y"] + sheet["height"] * row / 640
            assert min(np.hypot(at[0] - x, at[1] - y) for x, y in middles) < 12
        assert page.locator(".marks text").all_text_contents() == [number], "one number for all of a kind"
        page.keyboard.press("Enter")
        assert page.locator(".marks path").count() == 0
    finally:
        page.close()


def test_every_size_has_a_rung_and_the_asked_one_is_bold(visit: Callable[..., Watched], sharp: str) -> None:
    watched = visit(f"/m/{sharp}/master")
    page = told(watched)
    try:
        own = page.locator(".rungs g.own text").first.text_content()
        page.locator(".rungs summary").click()
        rows = [plain(row) for row in page.locator(".rungs tbody tr").all_inner_texts()]
        sizes = [row.split("\t")[0] for row in rows]
        edges = [float(size.split(" ")[0]) for size in sizes]
        assert edges == sorted(edges)
        # 640 x 420: 10 x 15 cm is filled by its long edge
        assert [round(edge) for edge in edges if edge != 42] == [15, 18, 30, 40, 60, 90, 150]
        assert plain(own) in sizes
        drawn = [plain(text) for text in page.locator(".rungs svg text").all_text_contents()]
        for row in rows:
            _, _, grade, _, near, _ = row.split("\t")
            assert grade in drawn
            assert f"from {near}" in drawn
        path = page.get_by_role("navigation", name="The picture’s path")
        assert re.search(r"(holds|soft at) 42 cm", plain(path.inner_text()))
    finally:
        page.close()


def test_in_inches(visit: Callable[..., Watched], served: Served, specked: str) -> None:
    watched = visit("/")
    headers = {"Origin": served.origin}
    units = f"{served.origin}/api/units"
    try:
        watched.page.context.request.patch(units, headers=headers, data={"length": "in"})
        watched.page.goto(f"{served.origin}/m/{specked}/master")
        page = told(watched)
        words = plain(page.locator("main").inner_text())
        assert re.search(r"A dark spot of 0\.\d+ in on paper", words)
        assert " cm" not in words
        assert " mm" not in words
        # a square picture in inches lies inside 4 x 6, 5 x 7 ...
        drawn = [plain(text) for text in page.locator(".rungs svg text").all_text_contents()]
        assert {"4 × 4 in", "5 × 5 in", "24 × 24 in", "40 × 40 in"} <= set(drawn)
    finally:
        watched.page.context.request.patch(units, headers=headers, data={"length": "cm"})
        watched.page.close()


def test_another_size_in_the_order_says_what_it_would_be(visit: Callable[..., Watched], sharp: str) -> None:
    watched = visit(f"/m/{sharp}/paper")
    settled(watched)
    page = watched.page
    try:
        size = page.get_by_role("combobox", name="Size of the picture")
        line = page.locator(".held .say").first
        line.get_by_text("soft").wait_for()
        size.select_option("15x10cm")
        page.get_by_role("combobox", name="Viewing distance").select_option("2000mm")
        line.get_by_text("The file carries this size with ease.").wait_for()
        with page.expect_response(lambda answer: answer.url.endswith("/api/tickets")) as made:
            page.get_by_role("button", name="Print on this").first.click()
        # the size that was read in the sentence is the size of the print
        assert made.value.json()["size_mm"] == pytest.approx([150, 98.44], abs=0.1)
        page.wait_for_url("**/proof")
        page.get_by_role("navigation", name="The picture’s path").get_by_role("link", name="Master").click()
        page.get_by_role("heading", level=2, name="would show").wait_for()
        words = plain(page.get_by_role("region", name="About the file").inner_text())
        assert re.search(r"Told for generic \w+\.", words)
        assert "150" not in plain(page.locator("h1").inner_text())
    finally:
        page.close()


def test_a_typed_distance_is_read_back_and_a_border_that_is_none_is_refused(
    visit: Callable[..., Watched], sharp: str
) -> None:
    watched = visit(f"/m/{sharp}/paper")
    settled(watched)
    page = watched.page

    def blank(name: str, words: str) -> Any:
        page.get_by_role("combobox", name=name).select_option("other")
        page.get_by_role("textbox", name=name).fill(words)
        page.get_by_role("textbox", name=name).press("Enter")
        return page.get_by_role("combobox", name=name).locator("option:checked")

    try:
        assert plain(blank("Viewing distance", "90").inner_text()) == "90 cm"
        assert plain(blank("Border", "1in").inner_text()) == "a border of 2.5 cm"
        page.get_by_role("combobox", name="Border").select_option("other")
        field = page.get_by_role("textbox", name="Border")
        for words in ("-3", "wide", "900"):
            field.fill(words)
            field.press("Enter")
            page.get_by_text(f"‘{words}’ is no border I can print.").wait_for()
            assert field.input_value() == words, "what was typed stays to be mended"
        field.press("Escape")
        shown = page.get_by_role("combobox", name="Border").locator("option:checked")
        assert plain(shown.inner_text()) == "a border of 2.5 cm"
    finally:
        page.close()


def test_what_can_t_be_appraised_is_said_and_the_way_on_stays_open(visit: Callable[..., Watched], sharp: str) -> None:
    watched = visit()
    page = watched.page
    refusal = {"code": "pixels_damaged", "text": "The picture breaks off.", "mend": "Save it anew.", "where": None}
    try:
        page.route(
            "**/appraisal?*",
            lambda route: route.fulfill(
                status=422, content_type="application/json", body=json.dumps({"error": refusal})
            ),
        )
        page.goto(f"{watched.page.url.split('/m/')[0].rstrip('/')}/m/{sharp}/master")
        settled(watched)
        page.get_by_role("heading", level=1, name="How large it can go can’t be told.").wait_for()
        assert page.get_by_text("The picture breaks off.").is_visible()
        assert page.get_by_text("Save it anew.").is_visible()
        assert page.get_by_role("button", name="Choose its paper").is_enabled()
    finally:
        page.close()


def test_the_light_is_named_and_the_path_is_steady_while_another_is_tried(
    visit: Callable[..., Watched], served: Served, sharp: str
) -> None:
    """No light in particular is one of the lights; what the file holds is not taken back while it is told anew."""
    first = visit().page
    post = poster(first, served)
    own = post("/api/tickets", data={"master_sha256": sharp, "size": "15x10cm", "paper": "matt"})["ticket"]
    first.close()
    watched = visit(f"/t/{own}/master")
    page = watched.page
    path = page.get_by_role("navigation", name="The picture’s path")
    holds = re.compile(r"(holds|soft at)\s15\scm")
    path.get_by_text(holds).wait_for(timeout=30_000)
    path.get_by_role("link", name="Proof").click()
    daylight = page.get_by_role("radio", name="Even daylight")
    daylight.wait_for(state="attached")
    assert daylight.is_checked()
    asked: list[Any] = []
    page.route("**/appraisal*", lambda route: asked.append(route))  # it is never told anew
    with page.expect_response(lambda answer: answer.request.method == "PATCH"):
        page.get_by_text("Gallery wall").click()
    assert path.get_by_text(holds).count() == 1
    page.get_by_role("button", name="all lights").click()
    with page.expect_response(lambda answer: answer.request.method == "PATCH"):
        page.get_by_text("Even daylight").click()
    assert page.context.request.get(f"{served.origin}/api/tickets/{own}").json()["light"] is None
    assert watched.complaints == []
    page.unroute_all(behavior="ignoreErrors")
    page.close()
