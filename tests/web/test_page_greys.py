"""Black and white on the page: said in a sentence, kept with the ticket, painted, told of, and on the job card."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from support.browsing import WINDOWS, Served, Watched, file, findings, poster, settled, unroll
from support.page_server import paper
from wallworthy.icc.standard import grey_profile

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]


def kept(page: Any, served: Served, ticket: str, tone: str | None) -> None:
    """Waits until the server has the tone with the ticket."""
    for _ in range(80):
        told = page.context.request.get(f"{served.origin}/api/tickets/{ticket}").json()
        if told["black_and_white"] == tone:
            return
        page.wait_for_timeout(250)
    raise AssertionError(told["black_and_white"])


def spread(page: Any) -> float:
    """How far red, green and blue of the print lie apart on the screen, codes, on average."""
    shot = page.locator(".sheet .pict").screenshot()
    picture = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB"), dtype=float)
    return float((picture.max(axis=-1) - picture.min(axis=-1)).mean())


def test_a_picture_is_said_to_be_black_and_white(visit: Callable[..., Watched], served: Served, ticket: str) -> None:
    watched = visit(f"/t/{ticket}/proof")
    settled(watched)
    page = watched.page
    notes = page.get_by_role("region", name="What this paper does to the picture")
    notes.get_by_text("Black and white", exact=True).wait_for()
    in_colour = spread(page)
    notes.get_by_text("Black and white", exact=True).focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.getAttribute('aria-label')") == "In colour, or in greys of which tone"
    page.keyboard.press("ArrowDown")
    kept(page, served, ticket, "neutral")
    notes.get_by_role("status").get_by_text("Greys hold the tone ‘neutral’").wait_for()
    for _ in range(40):
        if spread(page) < 0.4 * in_colour:
            break
        page.wait_for_timeout(250)
    assert spread(page) < 0.4 * in_colour
    assert notes.get_by_text("How far its colours reach").count() == 0

    page.reload()
    settled(watched)
    choice = page.get_by_label("In colour, or in greys of which tone")
    assert choice.input_value() == "neutral"
    notes.get_by_role("status").get_by_text("Greys hold the tone").wait_for()
    for width, height in WINDOWS:
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        unroll(page, width, height)
        assert findings(page) == []

    page.goto(f"{served.origin}/t/{ticket}/print")
    card = page.get_by_role("region", name="Job card")
    card.get_by_text("neutral", exact=True).wait_for()
    assert card.get_by_text("no toning").count() == 1
    page.goto(f"{served.origin}/t/{ticket}/proof")
    choice.select_option(label="in its colours")
    kept(page, served, ticket, None)
    assert watched.complaints == []
    page.close()


def test_a_grey_file_is_offered_neutral_greys(visit: Callable[..., Watched], served: Served) -> None:
    watched = visit()
    page = watched.page
    post = poster(page, served)

    out = io.BytesIO()
    ramp = np.tile(np.linspace(0, 65535, 180).astype(np.uint16), (120, 1))
    tifffile.imwrite(out, ramp, photometric="minisblack", iccprofile=grey_profile())
    sha256 = post("/api/masters", multipart=file("fog.tif", out.getvalue()))["sha256"]
    upload = post("/api/profiles", multipart=file("paper.icc", paper()))["upload"]
    made = post("/api/tickets", data={"master_sha256": sha256, "size": "15x10cm", "upload": upload})
    assert made["black_and_white"] is None, "it is offered, not taken"
    page.goto(f"{served.origin}/t/{made['ticket']}/proof")
    settled(watched)
    page.get_by_text("The file is grey.").wait_for()
    choice = page.get_by_label("In colour, or in greys of which tone")
    assert choice.locator("option").first.inner_text() == "as the file has its greys"
    choice.select_option("neutral")
    kept(page, served, made["ticket"], "neutral")
    page.get_by_text("The file is grey.").wait_for(state="detached")
    assert watched.complaints == []
    page.close()
