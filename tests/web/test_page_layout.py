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

from support.browsing import Watched, settled

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
KEPT = Path(__file__).resolve().parents[1] / "golden" / "page"
COARSE = 8
MEAN_CODES, WORST_CODES = 2.0, 60.0
"""Of 255, over cells of 8 x 8 CSS pixels: a line of text that moves by its own height changes more."""
PLACES = [
    ("home", "/", 1440, 900),
    ("proof", "/t/{}/proof", 1440, 900),
    ("proof-narrow", "/t/{}/proof", 360, 740),
    ("help", "/help", 1440, 900),
]


def cells(picture: Image.Image) -> np.ndarray:
    """Mean grey of cells of 8 x 8 pixels, in codes."""
    grey = np.asarray(picture.convert("L"), dtype=float)
    rows, columns = (edge // COARSE for edge in grey.shape)
    return grey[: rows * COARSE, : columns * COARSE].reshape(rows, COARSE, columns, COARSE).mean(axis=(1, 3))


def at_rest(page: Any) -> np.ndarray:
    """The page once its pictures and sentences are there and nothing moved for three looks."""
    last, same = np.zeros(1), 0
    for _ in range(60):
        page.wait_for_timeout(1500)
        now = cells(Image.open(io.BytesIO(page.screenshot())))
        here = page.locator(".sheet .layer, .lying").count()
        drawn = page.locator(".sheet .layer img, .tile").count()
        waits = page.locator(".tile.coming").count() or (here and not drawn)
        still = now.shape == last.shape and np.abs(now - last).mean() < 0.02
        same = same + 1 if still and not waits else 0
        if same == 3:
            return now
        last = now
    raise AssertionError("the page does not come to rest")


@pytest.mark.parametrize(("name", "path", "width", "height"), PLACES, ids=[place[0] for place in PLACES])
def test_a_stage_keeps_its_layout(
    visit: Callable[..., Watched], ticket: str, name: str, path: str, width: int, height: int
) -> None:
    watched = visit(path.format(ticket), width, height)
    settled(watched)
    page = watched.page
    now = at_rest(page)
    page.close()
    kept = KEPT / f"{name}.png"
    if os.environ.get("WALLWORTHY_GOLDEN") == "write":
        Image.fromarray(np.round(now).astype(np.uint8)).save(kept)
    golden = np.asarray(Image.open(kept), dtype=float)
    assert now.shape == golden.shape
    away = np.abs(now - golden)
    assert away.mean() <= MEAN_CODES
    assert np.quantile(away, 0.999) <= WORST_CODES
