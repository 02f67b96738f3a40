"""A newcomer's path on the page, from an empty home to the final, without a command line."""

from __future__ import annotations

import base64
import hashlib
import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.browsing import Served, Watched
from support.page_server import paper
from wallworthy.icc.standard import srgb_profile

pytestmark = [pytest.mark.practice, pytest.mark.timeout(600)]
PATIENCE_MS = 120_000


def picture() -> bytes:
    """A tagged 16-bit TIFF: a slope of colours with dark water at its foot."""
    rows, columns = np.mgrid[0:600, 0:900].astype(float)
    across, down = columns / 900, rows / 600
    rgb = np.stack([0.2 + 0.8 * across, 0.5 + 0.4 * np.sin(5 * down + 3 * across), 1 - 0.9 * down], axis=-1)
    rgb[400:] *= 0.15 + 0.1 * np.sin(columns[400:, :, None] / 9)
    file = io.BytesIO()
    codes = np.round(np.clip(rgb, 0, 1) * 65535).astype(np.uint16)
    tifffile.imwrite(file, codes, photometric="rgb", iccprofile=srgb_profile())
    return file.getvalue()


def zipped_profile() -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("from the lab/matt paper.icc", paper())
    return file.getvalue()


def press(page: Any, name: str | re.Pattern[str]) -> None:
    """The button or link of that name."""
    page.get_by_role("button", name=name).or_(page.get_by_role("link", name=name)).first.click()


def lay(page: Any, name: str, data: bytes) -> None:
    """Drop a file anywhere on the page."""
    page.evaluate(
        """([name, bytes]) => {
            const dataTransfer = new DataTransfer();
            dataTransfer.items.add(new File([Uint8Array.from(atob(bytes), (c) => c.charCodeAt(0))], name));
            for (const kind of ["dragenter", "dragover", "drop"])
                document.body.dispatchEvent(new DragEvent(kind, { bubbles: true, cancelable: true, dataTransfer }));
        }""",
        [name, base64.b64encode(data).decode()],
    )


def test_from_an_empty_home_to_the_final(visit: Callable[..., Watched], served: Served, tmp_path: Path) -> None:
    watched = visit()
    page = watched.page
    page.set_default_timeout(PATIENCE_MS)
    assert page.get_by_role("heading", level=1).inner_text() == "Lay a finished picture here."

    lay(page, "dark water.tif", picture())
    press(page, "Choose its paper")
    lay(page, "profile.zip", zipped_profile())
    page.get_by_text("profile.zip holds one profile.").wait_for()
    press(page, "Print on this")

    page.wait_for_url("**/proof")
    notes = page.get_by_role("region", name="What this paper does to the picture")
    notes.get_by_role("heading", level=1).wait_for()
    first = notes.get_by_role("listitem").first
    assert "ΔE00" in first.inner_text()
    first.get_by_role("button", name=re.compile("Show me where")).click()
    page.get_by_role("button", name="Lightness: one step more").click()
    assert "a touch lighter" in page.get_by_role("region", name="What you want of the print").inner_text()

    press(page, re.compile("^Make a test sheet"))
    page.wait_for_url("**/test")
    press(page, "Make a test sheet")
    page.get_by_role("button", name=re.compile("^Tile A1")).wait_for()
    page.get_by_role("button", name=re.compile("^Tile A1")).click()
    page.get_by_role("button", name=re.compile("^Tile B1")).click()
    press(page, "Take this verdict")
    page.get_by_text(re.compile("You can print it now|One more sheet pays")).first.wait_for()

    press(page, re.compile("^Print it now"))
    page.wait_for_url("**/print")
    press(page, "Make the file")
    with page.expect_download() as coming:
        press(page, "Fetch the file")
    kept = tmp_path / "final.tif"
    coming.value.save_as(kept)
    with tifffile.TiffFile(kept) as final:
        assert final.pages[0].tags["InterColorProfile"].value == paper()
        assert min(final.pages[0].shape[:2]) > 600
    assert hashlib.sha256(kept.read_bytes()).hexdigest() in {
        hashlib.sha256(path.read_bytes()).hexdigest() for path in served.home.rglob("*.tif")
    }

    assert watched.stayed_home()
    assert watched.complaints == []
