"""The page's layout against kept pictures, coarse enough to pass over a letter's edge.

    WALLWORTHY_GOLDEN=write .venv/bin/pytest tests/web/test_page_layout.py

keeps new ones, in tests/golden/page: look at them before they are committed.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from support.browsing import Watched, assert_for_everyone, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
KEPT = Path(__file__).resolve().parents[1] / "golden" / "page"
COARSE = 8
MEAN_CODES, WORST_CODES = 2.0, 60.0
"""Of 255, over cells of 8 x 8 CSS pixels: a line of text that moves by its own height changes more."""
STAGES = ("master", "paper", "proof", "test", "print")
WINDOWS = {"": (1440, 900), "-middle": (1024, 768), "-narrow": (360, 740)}
PLACES = [
    *((f"{stage}{size}", f"/t/{{}}/{stage}", *window) for stage in STAGES for size, window in WINDOWS.items()),
    *((f"home{size}", "/", *window) for size, window in WINDOWS.items()),
    ("shelves", "/shelves", 1440, 900),
    ("help", "/help", 1440, 900),
]


def cells(picture: Image.Image) -> np.ndarray:
    """Mean grey of cells of 8 x 8 pixels, in codes."""
    grey = np.asarray(picture.convert("L"), dtype=float)
    rows, columns = (edge // COARSE for edge in grey.shape)
    return grey[: rows * COARSE, : columns * COARSE].reshape(rows, COARSE, columns, COARSE).mean(axis=(1, 3))


WAITS = """() => {
  const drawn = (image) => image.complete && image.naturalWidth > 0;
  const bare = [...document.querySelectorAll(".sheet .layer")].some((layer) => !layer.querySelector("img"));
  const asked = [...document.images].some((image) => !drawn(image));
  return bare || asked || document.querySelector(".tile.coming, .later, .sheet .waiting") !== null;
}"""
"""Whether a picture or a sentence is still to come."""


def at_rest(page: Any) -> np.ndarray:
    """The page once its pictures and sentences are there and nothing moved for three looks."""
    last, same = np.zeros(1), 0
    for _ in range(200):
        page.wait_for_timeout(400)
        taken_over = page.get_by_role("button", name="Take it over")  # the test before this one had it in hand
        if taken_over.count():
            taken_over.click()
        if page.evaluate(WAITS):
            same = 0
            continue
        now = cells(Image.open(io.BytesIO(page.screenshot())))
        still = now.shape == last.shape and np.abs(now - last).mean() < 0.02
        same = same + 1 if still else 0
        if same == 3:
            return now
        last = now
    raise AssertionError("the page does not come to rest")


@pytest.mark.parametrize(("name", "path", "width", "height"), PLACES, ids=[place[0] for place in PLACES])
def test_a_stage_keeps_its_layout_and_is_for_everyone(
    visit: Callable[..., Watched], sheeted: str, name: str, path: str, width: int, height: int
) -> None:
    watched = visit(path.format(sheeted), width, height)
    settled(watched)
    now = at_rest(watched.page)
    try:
        assert_for_everyone(watched, width, height, sideways=path == "/shelves")
    finally:
        watched.page.close()
    kept = KEPT / f"{name}.png"
    if os.environ.get("WALLWORTHY_GOLDEN") == "write":
        Image.fromarray(np.round(now).astype(np.uint8)).save(kept)
    golden = np.asarray(Image.open(kept), dtype=float)
    assert now.shape == golden.shape
    away = np.abs(now - golden)
    assert away.mean() <= MEAN_CODES
    assert np.quantile(away, 0.999) <= WORST_CODES
