"""The deep zoom: windows of a large picture are those of the whole, by way of its halves on the disk."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
import tifffile

from wallworthy.base.records import Way
from wallworthy.colour.lab import y_from_lightness
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.held import Held
from wallworthy.journey.recent import Recent
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source
from wallworthy.raster.scale import scaled_picture
from wallworthy.raster.window import halved, scaled_window

pytestmark = pytest.mark.practice

WIDE = 5500


@pytest.fixture(scope="module")
def wide(tmp_path_factory: pytest.TempPathFactory) -> tuple[Held, Path]:
    """A long narrow picture, wider than twice a screen, so that it has halves."""
    folder = tmp_path_factory.mktemp("wide")
    column = np.arange(WIDE)[None, :, None] / WIDE
    wave = 0.5 + 0.4 * np.sin(column * np.array([40, 90, 200]) + np.arange(90)[:, None, None] / 15)
    path = folder / "wide.tif"
    tifffile.imwrite(path, (wave * 65535).astype(np.uint16), photometric="rgb", iccprofile=srgb_profile())
    return Held(open_master(path), None, Way.RELATIVE_BPC, folder), folder


@pytest.mark.parametrize(
    ("width", "window", "within"),
    [(WIDE, (10, 3000, 64, 512), 0), (4000, (5, 1024, 60, 512), 2), (9000, (40, 5000, 100, 512), 2)],
    ids=["its own pixels", "smaller", "larger"],
)
def test_a_window_is_that_of_the_whole(
    wide: tuple[Held, Path], width: int, window: tuple[int, int, int, int], within: int
) -> None:
    held, _ = wide
    size = (width, round(90 * width / WIDE))
    top, left, rows, columns = window
    rows = min(rows, size[1] - top)
    whole = scaled_picture(working_source(open_master(held.master.path)), *size) * 65535
    got = held.window(size, (top, left, rows, columns)).astype(float)
    assert np.abs(got - whole[top : top + rows, left : left + columns]).max() <= within


def test_a_window_of_a_far_smaller_picture_comes_from_a_half(wide: tuple[Held, Path]) -> None:
    held, folder = wide
    size = (2700, 44)
    got = held.window(size, (0, 500, 44, 512)).astype(float)
    whole = scaled_picture(working_source(open_master(held.master.path)), *size) * 65535
    assert np.abs(got - whole[:, 500:1012]).mean() < 130, "0.2 L* of two ways to make a picture smaller"
    assert [path.name for path in (folder / "views").iterdir()] == [], "its file has no name and goes with it"


def test_what_a_slow_page_asks_for_next_is_made_beforehand(
    wide: tuple[Held, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    held, _ = wide
    monkeypatch.setattr("wallworthy.journey.held.READY_AFTER_S", 0.0)
    coarser = [("quick", held.size_at(width)) for width in (1001, 708)]
    assert [held._sizes.peek(size) for size in coarser] == [None, None]
    held.ready_coarser(1000)
    held.ready_coarser(1416)
    for _ in range(200):
        if all(held._sizes.peek(size) is not None for size in coarser):
            break
        time.sleep(0.05)
    assert [made.shape[1] for size in coarser if (made := held._sizes.peek(size)) is not None] == [1001, 708]
    assert held._sizes.peek(("quick", held.size_at(707))) is None, "small pictures are asked for whole"


def test_halving_keeps_the_light() -> None:
    picture = np.random.default_rng(3).integers(0, 65536, (40, 60, 3)).astype(np.uint16)
    light = y_from_lightness(picture / 65535 * 100)
    kept = y_from_lightness(halved(picture) / 65535 * 100)
    assert kept.shape == (20, 30, 3)
    assert kept.mean() == pytest.approx(light.mean(), rel=1e-4)
    assert halved(picture[:39, :59]).shape == (20, 30, 3)
    flat = np.full((9, 9, 3), 12345, np.uint16)
    assert np.array_equal(halved(flat), np.full((5, 5, 3), 12345))


def test_a_constant_stays_constant_in_a_window() -> None:
    flat = np.full((300, 200, 3), 40000, np.uint16)
    for size in ((200, 300), (77, 115), (333, 500)):
        assert np.abs(scaled_window(flat, size, (3, 5, 50, 60)).astype(int) - 40000).max() <= 1


def test_what_is_remembered_is_bounded_and_made_once() -> None:
    made: list[int] = []
    recent: Recent[int] = Recent(2)

    def make(number: int) -> int:
        made.append(number)
        return number

    for number in (1, 2, 1, 3, 1, 2):
        assert recent.get(number, lambda number=number: make(number)) == number
    assert made == [1, 2, 3, 2]
    with pytest.raises(ZeroDivisionError):
        recent.get("broken", lambda: 1 // 0)
    assert recent.peek("broken") is None
