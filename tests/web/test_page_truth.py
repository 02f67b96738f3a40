"""What the page shows against what `proof` writes; its weight; how soon something is seen."""

from __future__ import annotations

import base64
import gzip
import io
import re
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from support.browsing import STATIC, Served, Watched
from wallworthy.base.records import CORRECTION_AXES
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.proofing import prove
from wallworthy.trial.axes import STEP, UNSAID

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
SHIPPED_KB = 300


def lab_of(rgb: np.ndarray) -> np.ndarray:
    return to_lab(parse_profile(srgb_profile(), "sRGB"), rgb[..., :3].astype(np.float32) / 255)


def test_the_shown_proof_is_the_written_proof(
    visit: Callable[..., Watched], served: Served, ticket: str, tmp_path: Path
) -> None:
    """At the picture's own pixels, in an sRGB browser, the settled proof lies within 1 dE00 of the file everywhere."""
    watched = visit()
    page = watched.page
    page.set_default_timeout(120_000)
    with page.expect_response(lambda answer: "/view?" in answer.url and "quality=fine" in answer.url) as settled:
        page.goto(f"{served.origin}/t/{ticket}/proof")
    settled.value.finished()
    page.wait_for_timeout(1500)
    shown = page.evaluate(
        """async () => {
            const image = document.querySelector(".sheet .layer img");
            await image.decode();
            const canvas = document.createElement("canvas");
            canvas.width = image.naturalWidth;
            canvas.height = image.naturalHeight;
            const drawn = canvas.getContext("2d", { colorSpace: "srgb" });
            drawn.drawImage(image, 0, 0);
            return [canvas.width, canvas.height, canvas.toDataURL("image/png").split(",")[1]];
        }"""
    )
    asked = [url for url in watched.requests if "/view?" in url and "quality=quick" in url]
    assert len(asked) <= 2, "at rest nothing is drawn again"
    width, height, coded = shown
    seen = np.asarray(Image.open(io.BytesIO(base64.b64decode(coded))).convert("RGB"))
    target = tmp_path / "proof.png"
    prove(served.home, ticket, out=target)
    written = Image.open(target).convert("RGB")
    assert written.size == (width, height)
    away = ciede2000(lab_of(seen), lab_of(np.asarray(written)))
    assert away.max() <= 1.0
    assert np.ptp(lab_of(seen)[..., 0]) > 20
    page.close()


def test_the_places_told_of_become_the_command_s_own(
    visit: Callable[..., Watched], served: Served, ticket: str, tmp_path: Path
) -> None:
    """The quick words are of a smaller picture; what stays is what `proof` says of the same ticket."""
    page = visit().page
    page.set_default_timeout(120_000)
    with page.expect_response(lambda answer: "/report?" in answer.url and "quality=fine" in answer.url) as settled:
        page.goto(f"{served.origin}/t/{ticket}/proof")
    told = settled.value.json()
    answer = prove(served.home, ticket, out=tmp_path / "proof.png")
    assert [place["loss"] for place in told["findings"]] == [place.loss_mean_de00 for place in answer.worst]
    assert [f"{place['text']} {place['number']}" for place in told["findings"]] == [one.text for one in answer.worst]
    assert told["figures"]["loss_max_de00"] == answer.loss_max_de00
    page.get_by_text(told["findings"][-1]["text"]).wait_for()


def test_what_nobody_would_see_is_no_step_of_the_wish(
    visit: Callable[..., Watched], served: Served, ticket: str, tmp_path: Path
) -> None:
    prove(served.home, ticket, out=tmp_path / "proof.png", correct="shadow=-0.25,contrast=1.008,blue_yellow=-0.2")
    page = visit().page
    page.goto(f"{served.origin}/t/{ticket}/proof")
    for name, word in (("Shadows", "as they are"), ("Contrast", "as it is")):
        assert page.get_by_role("spinbutton", name=name).get_attribute("aria-valuetext") == word
    assert "bluer" not in page.get_by_role("region", name="What you want of the print").inner_text()
    prove(served.home, ticket, out=tmp_path / "proof.png", correct="contrast=1.03", force=True)
    page.reload()
    assert page.get_by_role("spinbutton", name="Contrast").get_attribute("aria-valuetext") == "a little stronger"
    prove(served.home, ticket, out=tmp_path / "proof.png", correct="none", force=True)


def test_page_and_program_call_the_same_a_step() -> None:
    text = (STATIC.parents[4] / "frontend/src/words/axes.ts").read_text()
    said = re.search(r"export const STEP[^{]*{(.*?)}", text, re.DOTALL)
    assert said
    steps = dict(re.findall(r"(\w+): ([\d.]+),", said[1]))
    assert {axis: float(step) for axis, step in steps.items()} == dict(zip(CORRECTION_AXES, STEP.tolist(), strict=True))
    assert f"export const UNSAID = {UNSAID:g};" in text


def test_the_page_is_light() -> None:
    """Scripts and styles together, as a browser fetches them compressed."""
    files = [path for path in (STATIC.parent / "assets").iterdir() if path.suffix in (".js", ".css")]
    if not files:
        pytest.skip("the page is not built")
    assert sum(len(gzip.compress(path.read_bytes())) for path in files) <= SHIPPED_KB * 1000


def test_something_is_seen_at_once(visit: Callable[..., Watched]) -> None:
    """The heading of the first visit; a generous bound, the figure itself stands in the benchmark."""
    began = time.monotonic()
    watched = visit("/")
    watched.page.get_by_role("heading", level=1).first.wait_for()
    assert time.monotonic() - began < 10
    painted = watched.page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert painted > 0
    watched.page.close()
