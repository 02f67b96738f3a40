"""The bay's water: perspective ripples that mirror the sky, the sun's glitter, foam at the shore."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.demo.bay_sky import HORIZON, SUN_X, SUN_Y, Canvas
from wallworthy.demo.texture import Field, Noise, step_between

DEPTH: Final = 0.30
SUN_ON_WATER: Final = np.array([1.30, 0.66, 0.17], np.float32)
DEEP_WATER: Final = np.array([0.010, 0.021, 0.034], np.float32)


def paint_water(
    mirror: Field,
    canvas: Canvas,
    noise: Noise,
    top: int,
    bottom: int,
    *,
    sun: Field = SUN_ON_WATER,
    deep: Field = DEEP_WATER,
) -> Field:
    """Rows `top` to `bottom` of the water, (rows, width, 3), mirroring `mirror` (sky rows).

    sun: colour of the glitter; deep: what shines up from below; both (3,), scene-linear.
    """
    x = canvas.x[None, :]
    below = np.maximum(canvas.y(top, bottom)[:, None] - HORIZON, np.float32(0.4 / canvas.height))
    z = DEPTH / below
    px, pz = (x - SUN_X) * z, z
    footprint = z * z / DEPTH / canvas.height
    swell = noise.fractal(px * 1.3 + 2.0, pz * 2.6, 2, footprint=footprint * 2.6)
    chop = noise.fractal(px * 11 + 13.0, pz * 26, 4, gain=0.70, footprint=footprint * 26)
    fine = noise.fractal(px * 80 + 31.0, pz * 160, 4, gain=0.76, footprint=footprint * 160)
    calm = step_between(-0.35, 0.45, noise.fractal(px * 0.22 + 7.0, pz * 0.75, 3)) * 0.5 + 0.5
    slope = swell * 0.16 + (chop * 0.62 + fine * 0.62) * calm
    side = noise.fractal(px * 11 + 57.0, pz * 13, 4, gain=0.7, footprint=footprint * 13) * calm
    steep = 0.030 + 0.10 * np.sqrt(below)
    unresolved = np.sqrt(np.clip(footprint * 60, 0, 1)) * np.float32(0.010)
    seen = HORIZON - below * 0.90 - np.abs(slope * steep + 0.5 * steep * slope**2) * 1.0 - unresolved
    colour = _look_up(mirror, canvas, seen, x + side * steep * 0.35)
    shine = 0.30 + 0.68 * np.exp(-below * 4.2)
    facing = np.clip(slope * 0.22 + 0.05, -0.2, 0.4)
    shine = np.clip(shine - facing, 0.05, 1)
    colour = colour * shine[..., None] + deep * (1 - shine[..., None])
    colour += _glitter(x, below, slope, side, steep, calm)[..., None] * sun
    return colour


def _look_up(mirror: Field, canvas: Canvas, y: Field, x: Field) -> Field:
    rows = np.clip(y * canvas.height, 0, mirror.shape[0] - 1).astype(np.int32)
    columns = np.clip(x * canvas.height, 0, canvas.width - 1).astype(np.int32)
    return mirror.reshape(-1, 3).take(rows * np.int32(canvas.width) + columns, axis=0)


def _glitter(x: Field, below: Field, slope: Field, side: Field, steep: Field, calm: Field) -> Field:
    """Strength of the facets that happen to throw the sun at us."""
    sun_below = HORIZON - SUN_Y
    need = (below - sun_below) * 0.50
    miss_y = (need - slope * steep * 1.35) / (0.010 + steep * 0.16)
    miss_x = ((x - SUN_X) * 0.55 - side * steep * 0.55) / (0.012 + steep * 0.13)
    flash = np.exp(-0.5 * (miss_y**2 + miss_x**2))
    far = np.exp(-0.5 * (((x - SUN_X) / (0.020 + 0.10 * below)) ** 2)) * np.exp(-below * 22) * 0.55
    return flash * 7.5 * (0.35 + 0.65 * calm) + far * 2.2


def shoreline(x: Field, noise: Noise) -> Field:
    """Where the water ends, y by x."""
    bend = noise.fractal(x * 2.1 + 70.0, np.float32(3.0), 5, gain=0.5)
    return (0.742 - 0.085 * (x - 0.15) + 0.055 * x * x + 0.020 * bend).astype(np.float32)


def foam_cover(x: Field, y: Field, shore: Field, noise: Noise, canvas: Canvas) -> NDArray[np.float32]:
    """How much foam lies at each place, 0-1: a torn lace behind the last wave."""
    away = shore - y
    z = DEPTH / (y - HORIZON)
    px, pz = x * z, z
    footprint = z * z / DEPTH / canvas.height
    lace = noise.fractal(px * 30, pz * 46, 6, gain=0.72, footprint=footprint * 46, ridged=True)
    edge = noise.fractal(px * 3.0 + 4.0, pz * 2.0, 4)
    patchy = noise.fractal(x * 6.0 + 9.0, y * 20.0, 4)
    first = np.exp(-(((away - 0.003 - 0.004 * edge) / (0.0030 + 0.0020 * patchy)) ** 2))
    second = np.exp(-(((away - 0.026 - 0.012 * edge) / (0.0045 + 0.0030 * patchy)) ** 2)) * step_between(
        -0.1, 0.5, edge
    )
    behind = step_between(0.0, 0.004, away) * np.exp(-np.maximum(away, 0) / 0.012) * 0.75
    body = np.maximum(np.maximum(first, 0.85 * second), behind * (0.6 + 0.8 * patchy))
    return step_between(0.48, 0.98, body * (0.62 + 0.85 * lace)).astype(np.float32)
