"""What the tiles show: the whole picture and the places that reveal most, found where they were planted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from support.sheets import crops_for, scene
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.crops import Crop, choose_crops

LAYOUT = sheet_layout((150, 100))


def grey(height: int, width: int, lightness: float = 60.0) -> np.ndarray:
    lab = np.zeros((height, width, 3))
    lab[..., 0] = lightness
    lab[..., 1] = 12.0
    return lab


def middle(crop: Crop) -> tuple[float, float]:
    row, column, height, width = crop.box_px
    return row + height / 2, column + width / 2


def test_planted_kinds_are_found_in_their_places() -> None:
    lab = grey(400, 600)
    drawing = np.tile([[-3.0, 3.0]], (80, 40))
    lab[20:100, 20:100] = 0
    lab[20:100, 20:100, 0] = 12 + drawing
    lab[20:100, 500:580, 0], lab[20:100, 500:580, 1:] = 92 + drawing, 0
    lab[300:380, 20:100] = (50, 60, -60)
    lab[300:380, 500:580] = (55, 0, 0)
    lab[160:240, 260:340] = (65, 15, 19)
    crops = {crop.kind: crop for crop in choose_crops(lab, (0, 0, 400, 600), LAYOUT, (300, 200)).panels}
    planted = {"dark": (60, 60), "light": (60, 540), "saturated": (340, 60), "neutral": (340, 540), "skin": (200, 300)}
    assert set(crops) == set(planted)
    for kind, place in planted.items():
        assert middle(crops[kind]) == pytest.approx(place, abs=45), kind
    assert "at the upper left" in crops["dark"].reason
    assert "in the middle" in crops["skin"].reason


def test_kinds_the_picture_lacks_are_not_claimed() -> None:
    lab = grey(200, 300)
    lab[..., 1] = 8.0
    kinds = [crop.kind for crop in choose_crops(lab, (0, 0, 200, 300), LAYOUT, (300, 200)).panels]
    assert kinds == ["dark", "light"]


def test_the_strip_lies_on_the_busiest_place_at_final_scale() -> None:
    lab = grey(400, 600)
    lab[300:320, 100:350, 0] += np.random.default_rng(1).normal(0, 15, (20, 250))
    strip = choose_crops(lab, (0, 0, 4000, 6000), LAYOUT, (600, 400)).strip
    assert strip is not None
    assert middle(strip)[0] == pytest.approx(3100, abs=60)
    assert strip.box_px[3] / 6000 * 600 == pytest.approx(strip.place_mm[2], abs=0.2)
    assert strip.box_px[2] / 4000 * 400 == pytest.approx(strip.place_mm[3], abs=0.2)


def test_a_long_panorama_shows_a_part() -> None:
    main = choose_crops(grey(100, 400), (0, 0, 1000, 4000), LAYOUT, (400, 100)).main
    assert main.kind == "part"
    assert main.box_px[2] == 1000
    assert main.box_px[3] < 4000


@given(
    height=st.integers(20, 400),
    width=st.integers(20, 400),
    scale=st.sampled_from([1, 3, 11]),
    offset=st.tuples(st.integers(0, 900), st.integers(0, 900)),
    final=st.floats(60, 900),
)
def test_crops_stay_in_the_picture_and_in_the_tile(
    height: int, width: int, scale: int, offset: tuple[int, int], final: float
) -> None:
    shown = (*offset, height * scale, width * scale)
    lab = grey(height, width)
    lab[..., 0] = np.linspace(2, 98, width)
    layout = sheet_layout((150, 100), picture_shape=width / height)
    chosen = choose_crops(lab, shown, layout, (final, final * height / width))
    tile, strip = layout.tiles[0].box_mm, layout.strip_mm
    assert strip is not None
    assert chosen.strip is not None
    assert chosen.strip.place_mm[2] <= strip[2]
    assert chosen.strip.place_mm[3] <= strip[3]
    for crop in (*chosen.of_tile, chosen.strip):
        row, column, tall, wide = crop.box_px
        assert shown[0] <= row
        assert row + tall <= shown[0] + shown[2]
        assert shown[1] <= column
        assert column + wide <= shown[1] + shown[3]
        assert min(tall, wide) >= 1
    for crop in chosen.of_tile:
        x, y, across, down = crop.place_mm
        assert min(x, y) >= 0
        assert x + across <= tile[2] + 1e-6
        assert y + down <= tile[3] + 1e-6
        assert min(across, down) > 0


@pytest.mark.parametrize("shape", [(1, 300), (300, 1), (1, 1)])
def test_a_picture_one_pixel_thin_has_its_strip(shape: tuple[int, int]) -> None:
    shown = (0, 0, *shape)
    strip = choose_crops(grey(*shape), shown, LAYOUT, (300 * shape[1] / max(shape), 300 * shape[0] / max(shape))).strip
    assert strip is not None
    row, column, tall, wide = strip.box_px
    assert 0 <= row < row + tall <= shape[0]
    assert 0 <= column < column + wide <= shape[1]


def test_choosing_is_repeatable() -> None:
    assert crops_for(LAYOUT, scene()) == crops_for(LAYOUT, scene())
