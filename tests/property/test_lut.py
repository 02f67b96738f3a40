"""Looking tables up: tetrahedral, by nodes exactly, and never silently wrong."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.icc.lut import apply_lut, nodes_grid

pytestmark = pytest.mark.practice


def by_hand(nodes: np.ndarray, pixels: np.ndarray) -> np.ndarray:
    """Tetrahedral interpolation written out: from the cell's low corner along the axes, largest share first."""
    place = pixels.reshape(-1, 3).astype(np.float64) * (len(nodes) - 1)
    low = np.minimum(place.astype(int), len(nodes) - 2)
    share = place - low
    order = np.argsort(-share, axis=1, kind="stable")
    ranked = np.take_along_axis(share, order, axis=1)
    corner, rows = low.copy(), np.arange(len(low))
    out = nodes[tuple(corner.T)] * (1 - ranked[:, :1])
    for step in range(3):
        corner[rows, order[:, step]] += 1
        rest = ranked[:, step + 1] if step < 2 else 0
        out = out + nodes[tuple(corner.T)] * (ranked[:, step] - rest)[:, None]
    return out.reshape(*pixels.shape[:-1], -1)


@pytest.mark.parametrize("channels", [1, 2, 3, 4, 6, 8])
@pytest.mark.parametrize("size", [2, 9, 33])
def test_the_interpolation_is_tetrahedral(channels: int, size: int) -> None:
    dice = np.random.default_rng(size * channels)
    nodes = dice.uniform(-2, 3, (size, size, size, channels)).astype(np.float32)
    pixels = dice.uniform(0, 1, (61, 67, 3)).astype(np.float32)
    assert np.abs(apply_lut(nodes, pixels) - by_hand(nodes, pixels)).max() <= 2e-5
    words = np.round(pixels * 65535).astype(np.uint16)
    assert np.abs(apply_lut(nodes, words) - by_hand(nodes, words / 65535)).max() <= 2e-5


def test_nodes_come_back_exactly() -> None:
    nodes = np.random.default_rng(1).uniform(0, 1, (17, 17, 17, 4)).astype(np.float32)
    got = apply_lut(nodes, nodes_grid(17).reshape(17, -1, 3).astype(np.float32))
    assert np.abs(got - nodes.reshape(17, -1, 4)).max() <= 1e-6
    corners = np.array([[[0, 0, 0], [65535, 65535, 65535]]], dtype=np.uint16)
    assert np.array_equal(apply_lut(nodes, corners)[0], nodes[[0, -1], [0, -1], [0, -1]])


def test_large_pictures_are_sliced_without_a_seam() -> None:
    dice = np.random.default_rng(2)
    nodes = dice.uniform(0, 1, (9, 9, 9, 3)).astype(np.float32)
    pixels = dice.integers(0, 65536, (700, 701, 3)).astype(np.uint16)
    whole = apply_lut(nodes, pixels)
    assert np.array_equal(whole[340:360], apply_lut(nodes, np.ascontiguousarray(pixels[340:360])))
    assert apply_lut(nodes, pixels[:0]).shape == (0, 701, 3)


def test_values_outside_the_cube_are_held_at_its_edge() -> None:
    nodes = nodes_grid(5).astype(np.float32)
    got = apply_lut(nodes, np.array([[[-1.0, 0.5, 7.0]]], dtype=np.float32))
    assert got[0, 0] == pytest.approx([0, 0.5, 1], abs=1e-6)


def test_no_number_is_refused() -> None:
    nodes = nodes_grid(5).astype(np.float32)
    with pytest.raises(ValueError, match="NaN"):
        apply_lut(nodes, np.full((1, 1, 3), np.nan, dtype=np.float32))
    nodes[0, 0, 0] = np.nan
    with pytest.raises(ValueError, match="NaN"):
        apply_lut(nodes, np.zeros((1, 1, 3), dtype=np.uint16))


@pytest.mark.parametrize("shape", [(5, 5, 4, 3), (1, 1, 1, 3), (130, 130, 130, 1), (5, 5, 5)])
def test_no_cube_is_refused(shape: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="no cube"):
        apply_lut(np.zeros(shape, dtype=np.float32), np.zeros((1, 1, 3), dtype=np.uint16))
