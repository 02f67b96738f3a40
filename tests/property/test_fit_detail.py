"""The way `detail`: what is flattened is drawn out, edges get no halo, and tiles are the whole picture's."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallworthy.fit.boundary import boundary
from wallworthy.fit.detail import (
    Drawing,
    DrawnSource,
    Reach,
    choose_detail,
    drawn_by,
    drawn_out,
    drawn_out_strips,
    reach_for,
)
from wallworthy.fit.figures import halo_lstar
from wallworthy.fit.lights import Frame, Lights
from wallworthy.icc.read import parse_profile

pytestmark = pytest.mark.practice


def flattened(picture: np.ndarray) -> np.ndarray:
    """A map that takes 40 % of all contrast, as a paper with a light black does."""
    return (0.4 + 0.6 * picture).astype(np.float32)


def noise(height: int, width: int, seed: int = 1) -> np.ndarray:
    return (
        (0.3 + 0.03 * np.random.default_rng(seed).standard_normal((height, width, 1))).repeat(3, 2).astype(np.float32)
    )


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 90), st.integers(1, 60), st.integers(1, 5), st.integers(1, 40), st.integers(1, 70))
def test_strips_are_the_whole_pixel_for_pixel(height: int, width: int, step: int, cut: int, rows: int) -> None:
    picture = np.random.default_rng(height).random((height, width, 3), dtype=np.float32)
    nodes = np.random.default_rng(width).uniform(-0.05, 0.05, (3, 4, 8)).astype(np.float32)
    drawing = Drawing(flattened, Reach(step), Lights(nodes), Frame(0, 0, height, width))
    whole = np.concatenate(list(drawn_out_strips(iter([picture]), drawing, 10_000)))
    parts = (picture[first : first + cut] for first in range(0, height, cut))
    pieces = np.concatenate(list(drawn_out_strips(parts, drawing, rows)))
    assert np.array_equal(pieces, whole)


def test_texture_comes_back() -> None:
    picture = noise(150, 150)
    plain, ours = flattened(picture), flattened(drawn_out(picture, flattened, 30.0))
    inner = (slice(20, -20),) * 2
    assert plain[inner].std() == pytest.approx(0.6 * picture[inner].std(), rel=0.01)
    assert 0.85 <= ours[inner].std() / picture[inner].std() <= 1.1


def test_texture_comes_back_where_the_map_is_flat_only_in_the_dark() -> None:
    """Its slope is asked at every pixel: a mean over the window would draw the lights out for the shadows' sake."""

    def lifted(picture: np.ndarray) -> np.ndarray:
        return np.where(picture < 0.3, 0.3 + (picture - 0.3) * 0.5, picture).astype(np.float32)

    picture = noise(150, 150)
    ours = lifted(drawn_out(picture, lifted, 30.0))
    inner = (slice(20, -20), slice(20, -20), 0)
    dark = picture[inner] < 0.27
    before, after = picture[inner] - 0.3, ours[inner] - ours[inner].mean()
    lights = (picture[inner] > 0.32) & (picture[inner] < 0.36)
    assert after[dark].mean() / before[dark].mean() > 0.8, "half of it is taken by the map"
    assert after[lights].mean() / before[lights].mean() < 1.2, "nothing was taken there"


def test_a_map_that_takes_nothing_changes_nothing() -> None:
    picture = noise(60, 70)
    assert np.abs(drawn_out(picture, lambda p: p, 30.0) - picture).max() < 1e-6


def test_edges_get_no_halo() -> None:
    lightness = np.where(np.arange(160) < 80, 15.0, 75.0) * np.ones((120, 1))
    picture = (lightness / 100)[..., None].repeat(3, 2).astype(np.float32)
    ours = flattened(drawn_out(picture, flattened, 30.0))
    master = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1)
    printed = np.stack([100.0 * ours[..., 0], 0 * lightness, 0 * lightness], axis=-1)
    assert halo_lstar(master, printed, 30.0) <= 2.5, "60 L* side by side, 24 of them taken: 4 % of the edge"


def test_the_reach_follows_the_viewing_resolution() -> None:
    assert reach_for(300.0).step == 10 * reach_for(30.0).step
    assert reach_for(1.0).step == 1


def test_a_drawn_source_is_the_drawn_picture(published_profile: Callable[[str], bytes]) -> None:
    picture = np.random.default_rng(4).integers(6000, 30000, (140, 90, 3)).astype(np.uint16)
    floats = picture.astype(np.float32) / np.float32(65535)
    output = parse_profile(published_profile("fogra39"))
    chosen = choose_detail(floats, boundary(output), output, 40.0)
    source = DrawnSource(InMemory(picture), chosen, 40.0, Frame(0, 0, 140, 90))
    expected = np.rint(drawn_by(floats, chosen, 40.0) * np.float32(65535)).astype(np.uint16)
    for rows in (17, 64, 500):
        assert np.array_equal(np.concatenate(list(source.strips(rows))), expected)
    assert (source.width_px, source.height_px) == (90, 140)
    assert np.abs(expected.astype(int) - picture).max() > 300


class InMemory:
    """A picture in memory, read in strips."""

    def __init__(self, picture: np.ndarray) -> None:
        self.picture = picture
        self.height_px, self.width_px = picture.shape[:2]

    def strips(self, rows: int) -> Iterator[np.ndarray]:
        yield from (self.picture[first : first + rows] for first in range(0, self.height_px, rows))
