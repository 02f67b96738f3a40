"""Rendered scenes of exactly known sharpness, for what photos can't tell: their own sharpness is never quite known.

Drawn four times as fine as their pixels, blurred there, averaged to pixels; noise comes last, as in a camera.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

FINE = 4
Field = NDArray[np.float64]
Photo = NDArray[np.uint8]


def _leaves(random: np.random.Generator, side: int, smallest: float, largest: float, count: int) -> Field:
    """Discs laid over each other, sizes by an inverse cube: what objects before each other look like."""
    fine = side * FINE
    out = np.full((fine, fine), 0.5)
    low, high = smallest**-2, largest**-2
    radii = (low + (high - low) * random.random(count)) ** -0.5 * FINE
    for radius in radii:
        row, column = random.uniform(-radius, fine + radius, 2)
        top, left = max(0, int(row - radius)), max(0, int(column - radius))
        part = out[top : int(row + radius) + 2, left : int(column + radius) + 2]
        y, x = np.ogrid[top : top + part.shape[0], left : left + part.shape[1]]
        part[(y - row) ** 2 + (x - column) ** 2 <= radius**2] = random.uniform(0.12, 0.9)
    return out


def _strokes(random: np.random.Generator, side: int, count: int) -> Field:
    """Grass: thin strokes that bend, of half a pixel to two pixels."""
    fine = side * FINE
    out = np.full((fine, fine), 0.4)
    for _ in range(count):
        row, column = random.uniform(0, fine, 2)
        turn, bend = random.normal(math.pi / 2, 0.5), random.normal(0, 0.01)
        tone, wide = random.uniform(0.1, 0.9), int(random.integers(2, 8))
        for _ in range(int(random.uniform(20, 60)) * FINE // 2):
            row, column, turn = row - 2 * math.sin(turn), column + 2 * math.cos(turn), turn + bend
            r, c = int(row), int(column)
            out[max(0, r) : max(0, r + wide), max(0, c) : max(0, c + wide)] = tone
    return out


def _bars(random: np.random.Generator, side: int) -> Field:
    """Blocks and bars at all angles before plain walls."""
    y, x = np.mgrid[0 : side * FINE, 0 : side * FINE] / FINE
    field = 0.4 + 0.2 * x / side
    for _ in range(40):
        row, column = random.uniform(0, side, 2)
        tall, wide = random.uniform(6, 110, 2)
        turn = random.uniform(0, math.pi)
        u = (x - column) * math.cos(turn) + (y - row) * math.sin(turn)
        v = (y - row) * math.cos(turn) - (x - column) * math.sin(turn)
        field[(np.abs(u) < wide / 2) & (np.abs(v) < tall / 2)] = random.uniform(0.15, 0.88)
    return field


KINDS: dict[str, Callable[[np.random.Generator, int], Field]] = {
    "objects": lambda random, side: _leaves(random, side, 1.0, 90.0, 6000),
    "gravel": lambda random, side: _leaves(random, side, 1.0, 7.0, 40_000),
    "grass": lambda random, side: _strokes(random, side, 5000),
    "bars": _bars,
}


def drawn(kind: str, number: int, side: int = 320) -> Field:
    """A scene four times as fine as its pixels, (4 side, 4 side), 0-1."""
    return KINDS[kind](np.random.default_rng(number), side)


def pictured(field: Field, blur_px: float, noise: float = 1.0, number: int = 0) -> Photo:
    """The scene through pixels and a Gaussian blur, with noise of that many codes, in bytes (side, side, 3)."""
    side = field.shape[0] // FINE
    soft = gaussian_filter(field, blur_px * FINE) if blur_px > 0 else field
    seen = soft.reshape(side, FINE, side, FINE).mean(axis=(1, 3)) * 255
    seen = seen[..., None] + np.random.default_rng(number).normal(0, noise, (side, side, 3))
    return np.clip(np.rint(seen), 0, 255).astype(np.uint8)
