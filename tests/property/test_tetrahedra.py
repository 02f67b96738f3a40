"""Single colours looked up equal the same table set up whole."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.icc.lut import apply_lut, nodes_grid
from wallworthy.icc.tetrahedra import between, corners, looked_up, node_colours

pytestmark = pytest.mark.practice


def colours() -> np.ndarray:
    """Anywhere, on edges, on diagonals where tetrahedra meet, and a little outside."""
    dice = np.random.default_rng(3)
    anywhere = dice.uniform(-0.05, 1.05, (20_000, 3))
    rounded = np.round(dice.uniform(0, 1, (5000, 3)) * 32) / 32
    equal = np.repeat(dice.uniform(0, 1, (500, 1)), 3, axis=1)
    two = dice.uniform(0, 1, (3, 500, 3))
    for left_out in range(3):
        two[left_out, :, (left_out + 1) % 3] = two[left_out, :, (left_out + 2) % 3]
    return np.concatenate([anywhere, rounded, equal, two.reshape(-1, 3)]).astype(np.float32)


@pytest.mark.parametrize("channels", [1, 3, 4])
@pytest.mark.parametrize("size", [2, 9, 33])
def test_a_table_looked_up_here_and_there(size: int, channels: int) -> None:
    nodes = np.random.default_rng(size).random((size, size, size, channels), dtype=np.float32)
    places = corners(size, colours())
    assert np.abs(looked_up(nodes, places) - apply_lut(nodes, colours())).max() <= 2e-5
    assert np.array_equal(node_colours(size, np.arange(size**3)), nodes_grid(size).reshape(-1, 3).astype(np.float32))
    around = nodes.reshape(-1, channels)[places[0]]
    assert np.abs(between(around, places[1]) - looked_up(nodes, places)).max() <= 1e-6


def test_shares_are_whole() -> None:
    node, share = corners(17, colours())
    assert share.min() >= 0
    assert np.abs(share.sum(axis=0) - 1).max() <= 1e-6
    assert node.min() >= 0
    assert node.max() < 17**3
