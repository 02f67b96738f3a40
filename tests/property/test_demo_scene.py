"""The invented master: the same every time, and hard in the ways it is meant to be."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import ConvexHull

from wallworthy.colour.lab import absolute_to_relative, lab_to_xyz
from wallworthy.colour.working import working_to_lab
from wallworthy.demo.more_scenes import render_night, render_snow
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.scene import (
    CURVE_HALF,
    CURVE_SLOPE,
    CURVE_TOP,
    HEIGHT_PX,
    WIDTH_PX,
    render_scene,
    scene_places,
    tone_curve,
)

WIDTH, HEIGHT = 1200, 800
# IEC 61966-2-1 matrix, brought to D50 by Bradford, from XYZ to linear sRGB.
XYZ_TO_SRGB = np.array([[3.1338561, -1.6168667, -0.4906146], [-0.9787684, 1.9161415, 0.0334540],
                        [0.0719453, -0.2289914, 1.4052427]])  # fmt: skip


@pytest.fixture(scope="module")
def picture() -> np.ndarray:
    return render_scene(WIDTH, HEIGHT)


@pytest.fixture(scope="module")
def lab(picture: np.ndarray) -> np.ndarray:
    return working_to_lab(picture / 65535)


def cut(picture: np.ndarray, name: str) -> np.ndarray:
    [place] = [place for place in scene_places(WIDTH, HEIGHT) if place.name == name]
    row, column, height, width = place.box_px
    return picture[row : row + height, column : column + width]


def beyond_srgb(lab: np.ndarray) -> np.ndarray:
    rgb = lab_to_xyz(lab) @ XYZ_TO_SRGB.T
    return np.any((rgb < -0.002) | (rgb > 1.002), axis=-1)


def beyond_paper(lab: np.ndarray, paper: str) -> float:
    """Share of pixels outside even the convex hull of what the paper can show (so at least this much)."""
    printer = VirtualPrinter(paper)
    printable = absolute_to_relative(printer.table[::4, ::4, ::4].reshape(-1, 3), printer.white_xyz)
    planes = ConvexHull(printable).equations
    some = lab[::3, ::3].reshape(-1, 3)
    return float(np.mean(np.max(some @ planes[:, :3].T + planes[:, 3], axis=1) > 1.0))


def texture(lab: np.ndarray) -> float:
    """Mean difference in L* between a pixel and its neighbour."""
    return float(np.abs(np.diff(lab[..., 0], axis=1)).mean())


def test_it_is_16_bits_of_rgb_and_uses_them(picture: np.ndarray) -> None:
    assert picture.shape == (HEIGHT, WIDTH, 3)
    assert picture.dtype == np.uint16
    assert len(np.unique(picture[..., 1])) > 20_000
    assert WIDTH_PX * HEIGHT_PX >= 12_000_000


Told = list[tuple[str, float]]


@pytest.fixture(scope="module")
def small() -> tuple[np.ndarray, Told]:
    """A small picture and what was told while it was painted."""
    told: Told = []
    return render_scene(240, 160, seed=7, progress=lambda stage, share: told.append((stage, share))), told


def test_the_same_seed_gives_the_same_bytes(picture: np.ndarray, small: tuple[np.ndarray, Told]) -> None:
    assert render_scene(WIDTH, HEIGHT).tobytes() == picture.tobytes()
    assert render_scene(240, 160, seed=8).tobytes() != small[0].tobytes()


def test_colours_leave_srgb_and_paper(lab: np.ndarray) -> None:
    assert 0.04 < beyond_srgb(lab).mean() < 0.30
    matt, gloss = beyond_paper(lab, "matt"), beyond_paper(lab, "gloss")
    assert 0.10 < matt < 0.6
    assert 0.03 < gloss < matt


def test_deep_shadows_hold_detail(lab: np.ndarray) -> None:
    lightness = lab[..., 0]
    assert (lightness < 10).mean() > 0.02
    grass = cut(lab, "the foot of the grass")[..., 0]
    deep = (grass[:, 1:] < 12) & (grass[:, :-1] < 12)
    assert deep.mean() > 0.1
    assert np.abs(np.diff(grass, axis=1))[deep].mean() > 0.4


def test_near_white_holds_detail(lab: np.ndarray) -> None:
    sail = cut(lab, "the sail")[..., 0]
    bright = sail[(sail > 88) & (sail < 99)]
    assert len(bright) > 300
    assert 0.3 < bright.std() < 4
    assert ((lab[..., 0] > 94) & (lab[..., 0] < 99.5)).mean() > 0.004
    assert (lab[..., 0] >= 99.9).mean() < 0.005


def test_texture_where_there_are_blades_and_none_in_the_sky(lab: np.ndarray) -> None:
    assert texture(cut(lab, "the foot of the grass")) > 4
    assert texture(cut(lab, "the stones")) > 2
    assert texture(cut(lab, "the smooth sky")) < 1.0
    sky = cut(lab, "the smooth sky")[..., 0]
    rows = sky.mean(axis=1)
    assert np.abs(np.diff(rows)).max() < 0.6, "the gradient must run without steps"


def test_poppies_and_glow_are_saturated(lab: np.ndarray) -> None:
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    assert np.quantile(cut(chroma, "the poppies"), 0.98) > 95
    assert np.quantile(cut(chroma, "the burning horizon"), 0.5) > 60
    assert beyond_srgb(cut(lab, "the poppies")).mean() > 0.1


@pytest.mark.parametrize("size", [(4500, 3000), (1200, 800), (90, 60)])
def test_places_lie_in_the_picture(size: tuple[int, int]) -> None:
    width, height = size
    places = scene_places(width, height)
    assert len({place.name for place in places}) == len(places) >= 6
    for place in places:
        row, column, tall, wide = place.box_px
        assert tall >= 1
        assert wide >= 1
        assert row >= 0
        assert column >= 0
        assert row + tall <= height
        assert column + wide <= width
        assert place.hard


def test_the_snow_is_high_key_with_detail() -> None:
    snow = render_snow(600, 400)
    lightness = working_to_lab(snow / 65535)[..., 0]
    assert np.quantile(lightness, 0.25) > 75
    assert np.quantile(lightness, 0.99) < 99
    assert ((lightness > 90) & (lightness < 98)).mean() > 0.2
    assert np.quantile(lightness, 0.001) < 30
    assert render_snow(600, 400).tobytes() == snow.tobytes()


def test_the_night_is_low_key_with_detail() -> None:
    night = render_night(600, 400)
    lightness = working_to_lab(night / 65535)[..., 0]
    assert np.median(lightness) < 15
    assert ((lightness > 1) & (lightness < 12)).mean() > 0.4
    assert lightness.max() > 80
    assert render_night(600, 400).tobytes() == night.tobytes()


@pytest.mark.source("NakaRushton1966", "R / Rmax = I^n / (I^n + s^n), half of Rmax at I = s")
@pytest.mark.memory
def test_the_scene_s_curve_is_the_published_one() -> None:
    light = np.array([0, 0.05, 0.2, CURVE_HALF, 0.9], dtype=np.float32)
    expected = CURVE_TOP * light**CURVE_SLOPE / (light**CURVE_SLOPE + CURVE_HALF**CURVE_SLOPE)
    assert tone_curve(light) == pytest.approx(np.minimum(expected, 1), abs=1e-6)
    assert tone_curve(np.float32([CURVE_HALF]))[0] == pytest.approx(CURVE_TOP / 2, abs=1e-6)
    assert tone_curve(np.float32([-1, 1e6])).tolist() == pytest.approx([0, min(CURVE_TOP, 1)], abs=1e-4)


def test_the_scene_tells_truly_how_far_it_is(small: tuple[np.ndarray, Told]) -> None:
    told = small[1]
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert list(dict.fromkeys(stage for stage, _ in told)) == [
        "painting the sky",
        "painting the water",
        "painting stones and grass",
        "developing it",
    ]
