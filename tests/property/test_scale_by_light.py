"""A picture reduced in its own light is the picture reduced by way of codes, but for the codes' rounding."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest

from wallworthy.base.records import Way
from wallworthy.icc.standard import display_p3_profile, srgb_profile, working_profile
from wallworthy.master.open import open_master
from wallworthy.master.source import WorkingSource, working_source
from wallworthy.raster.form import FileForm
from wallworthy.raster.scale import scaled_picture
from wallworthy.raster.write import write_picture

pytestmark = pytest.mark.practice

HEIGHT, WIDTH = 331, 470


class ByCodes:
    """The same source without its light."""

    def __init__(self, source: WorkingSource) -> None:
        self.width_px, self.height_px, self._source = source.width_px, source.height_px, source

    def strips(self, rows: int) -> Iterator[np.ndarray]:
        return self._source.strips(rows)


def written(folder: Path, bits: int, profile: bytes) -> Path:
    dice = np.random.default_rng(bits)
    soft = np.add.outer(np.linspace(0, 0.6, HEIGHT), np.linspace(0, 0.4, WIDTH))[..., None] * [1, 0.8, 0.5]
    rough = np.where(dice.random((HEIGHT, WIDTH, 1)) < 0.2, dice.random((HEIGHT, WIDTH, 3)), soft)
    rough[:40] = 1
    codes = np.round(rough * (2**bits - 1)).astype(np.uint16 if bits == 16 else np.uint8)
    path = folder / "picture.tif"
    write_picture(path, [codes], FileForm("tiff", WIDTH, HEIGHT, 3, bits, "RGB", 300.0, profile))
    return path


@pytest.mark.parametrize("profile", [srgb_profile, working_profile])
@pytest.mark.parametrize("bits", [8, 16])
def test_light_and_codes_agree(tmp_path: Path, bits: int, profile: Callable[[], bytes]) -> None:
    master = open_master(written(tmp_path, bits, profile()))
    source = working_source(master)
    assert source.light(64) is not None
    got = scaled_picture(source, 160, 111)
    assert source.clamped_share == 0
    by_codes = scaled_picture(ByCodes(working_source(master)), 160, 111)
    away = np.abs(got - by_codes) * 65535
    assert away.mean() <= 0.3
    assert away.max() <= 3
    assert np.abs(got[:10] - 1).max() <= 2e-5


def test_the_pieces_it_is_read_in_do_not_matter(tmp_path: Path) -> None:
    master = open_master(written(tmp_path, 16, srgb_profile()))
    whole = scaled_picture(working_source(master), 200, 140)
    top = scaled_picture(working_source(master, (0, 0, HEIGHT, WIDTH), Way.RELATIVE), 200, 140)
    assert np.array_equal(whole, top)


def test_colours_the_working_cube_can_not_hold_are_counted_as_before(tmp_path: Path) -> None:
    master = open_master(written(tmp_path, 16, display_p3_profile()))
    assert working_source(master).light(64) is None
    source, by_codes = working_source(master), working_source(master)
    assert np.array_equal(scaled_picture(source, 160, 111), scaled_picture(ByCodes(by_codes), 160, 111))
    assert source.clamped_share == by_codes.clamped_share
    assert source.clamped_share is not None
