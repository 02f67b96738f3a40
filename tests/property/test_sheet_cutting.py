"""Reading the master once for the tiles gives what reading every crop would."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from support.sheets import PictureSource, crops_for, engine, paper, scene
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import working_to_lab
from wallworthy.raster.scale import scaled_picture
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.cutting import cut_from, reading_px


def test_tiles_cut_from_one_reading_look_alike() -> None:
    layout = sheet_layout((150, 100), ppi=72)
    picture = scene()
    shown = (0, 0, *picture.shape[:2])
    small = scaled_picture(PictureSource(picture), *reading_px(layout, shown))
    assert small.shape[1] < picture.shape[1]
    cut, directly = cut_from(small, shown), engine(paper(), picture).working_of
    for crop in crops_for(layout, picture).of_tile:
        wide, high = (round(value / 25.4 * 72) for value in crop.place_mm[2:])
        one, other = cut(crop.box_px, wide, high), directly(crop.box_px, wide, high)
        assert one.shape == other.shape == (high, wide, 3)
        means = [working_to_lab(part).mean(axis=(0, 1)) for part in (one, other)]
        assert float(ciede2000(*means)) < 1.0


@given(
    row=st.integers(0, 299),
    column=st.integers(0, 449),
    height=st.integers(1, 300),
    width=st.integers(1, 450),
)
def test_any_box_can_be_cut(row: int, column: int, height: int, width: int) -> None:
    picture = np.linspace(0, 1, 30 * 45 * 3, dtype=np.float32).reshape(30, 45, 3)
    box = (100 + row, 200 + column, min(height, 300 - row), min(width, 450 - column))
    part = cut_from(picture, (100, 200, 300, 450))(box, 7, 5)
    assert part.shape == (5, 7, 3)
    assert part.min() >= 0
    assert part.max() <= 1


@pytest.mark.parametrize("shape", [(3000, 4500), (4500, 3000), (1000, 6000), (200, 300)])
def test_no_more_is_read_than_the_master_holds(shape: tuple[int, int]) -> None:
    width, height = reading_px(sheet_layout((150, 100), picture_shape=shape[1] / shape[0]), (0, 0, *shape))
    assert width <= shape[1]
    assert height <= shape[0]
    assert width / height == pytest.approx(shape[1] / shape[0], rel=0.02)
