"""Invented master pictures, rendered by our own code from a seed: nothing here was photographed.

Light is added up linearly in ROMM primaries, dimmed at the corners, given a camera's noise, bent by
one tone curve and stored as the working encoding (`colour.working`), 16 bits a sample.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.progress import Progress, silent, within
from wallworthy.base.records import Box
from wallworthy.colour.float32 import unit_lightness32
from wallworthy.demo import bay_meadow, bay_shore, bay_sky, bay_water
from wallworthy.demo.bay_sky import HORIZON, Canvas
from wallworthy.demo.texture import STRIP, Field, Noise, in_two_threads, step_between

WIDTH_PX: Final = 4500
HEIGHT_PX: Final = 3000
SEED: Final = 7

BLOCKS: Final = 24
FOAM: Final = np.array([0.95, 0.66, 0.52], np.float32)
SHOT_NOISE: Final = 0.00007
READ_NOISE: Final = 0.00022
CURVE_HALF: Final = 0.60
CURVE_SLOPE: Final = 1.15
CURVE_TOP: Final = 1.085
SKY_SHARE, WATER_SHARE, GROUND_SHARE = 0.1, 0.4, 0.92
"""How much of the work is done after each, as measured."""


@dataclass(frozen=True, slots=True)
class Place:
    """A hard place of the picture: where, and what is hard about it, for a sentence."""

    name: str
    box_px: Box
    hard: str


def render_scene(
    width: int = WIDTH_PX, height: int = HEIGHT_PX, seed: int = SEED, progress: Progress = silent
) -> NDArray[np.uint16]:
    """A tidal bay at sundown: (height, width, 3) uint16 in the working encoding, 0-65535 for 0-1.

    The same seed and size give the same bytes. Made for proportions near 3 : 2; about 10 s for
    13.5 megapixels on two cores.

    >>> render_scene(48, 32, seed=1).shape
    (32, 48, 3)
    """
    canvas, noise = Canvas(width, height), Noise(seed)
    progress("painting the sky", 0.0)
    sky = bay_sky.paint_sky(canvas, noise)
    bay_sky.add_hills(sky, canvas, noise)
    mirror = bay_sky.sky_for_mirror(sky, canvas, noise)
    bay_sky.add_sun(sky, canvas)
    picture = np.empty((height, width, 3), np.float32)
    picture[: len(sky)] = sky
    del sky
    shore = bay_water.shoreline(canvas.x, noise)
    in_two_threads(
        lambda top: _water_and_sand(picture, mirror, canvas, noise, shore, top),
        range(int(np.ceil(HORIZON * height)), height, STRIP),
        lambda share: progress("painting the water", SKY_SHARE + (WATER_SHARE - SKY_SHARE) * share),
    )
    bay_sky.add_boat(picture, canvas, noise)
    pebbles = bay_shore.strew(canvas, noise, shore, seed)
    stone = bay_shore.stone_texture(canvas, noise)
    flowers = bay_meadow.plant(noise, seed)

    def foreground(block: int) -> None:
        columns = slice(block * width // BLOCKS, (block + 1) * width // BLOCKS)
        bay_shore.add_pebbles(picture, canvas, pebbles, stone, columns)
        bay_meadow.add_meadow(picture, canvas, noise, flowers, columns)

    ground = within(progress, WATER_SHARE, GROUND_SHARE)
    in_two_threads(foreground, range(BLOCKS), lambda share: ground("painting stones and grass", share))
    return develop(picture, seed, within(progress, GROUND_SHARE, 1.0))


def scene_places(width: int = WIDTH_PX, height: int = HEIGHT_PX) -> tuple[Place, ...]:
    """The hard places of `render_scene` at this size."""
    said = (
        ("the sail", (0.365, 1.035, 0.095, 0.105), "near-white folds that must not melt into bare paper"),
        ("the burning horizon", (0.375, 0.18, 0.085, 0.56), "orange more saturated than ink can lay"),
        ("the smooth sky", (0.02, 0.10, 0.12, 0.50), "a long gradient that must not show steps"),
        ("the clouds", (0.06, 0.85, 0.14, 0.55), "rose and violet side by side"),
        ("the sun's path on the water", (0.55, 0.30, 0.15, 0.32), "sparkles beside deep tones"),
        ("the stones", (0.84, 0.02, 0.15, 0.50), "wet dark stones with detail near black"),
        ("the foot of the grass", (0.90, 0.95, 0.09, 0.50), "blades a few pixels wide in deep shadow"),
        ("the poppies", (0.74, 1.15, 0.22, 0.33), "lit reds beyond any paper"),
    )
    places: list[Place] = []
    for name, (row, column, tall, wide), hard in said:
        top, left = round(row * height), min(round(column * height), width - 2)
        box = (top, left, max(1, round(tall * height)), max(1, min(round(wide * height), width - left)))
        places.append(Place(name, box, hard))
    return tuple(places)


def develop(light: Field, seed: int, progress: Progress = silent) -> NDArray[np.uint16]:
    """Scene-linear light (H, W, 3) to the finished picture: lens fall-off, camera noise, tone curve, encoding."""
    height, width = light.shape[:2]
    out = np.empty((height, width, 3), np.uint16)

    def strip(top: int) -> None:
        part = light[top : top + STRIP]
        y = ((np.arange(top, top + len(part)) + 0.5) / height - 0.5)[:, None]
        x = ((np.arange(width) + 0.5) / width - 0.5)[None, :]
        fall_off = (1 - 0.26 * (x * x + y * y)).astype(np.float32)[..., None]
        exposed = np.maximum(part * fall_off, 0)
        random = np.random.default_rng([seed, top])
        spread = np.sqrt(exposed * np.float32(SHOT_NOISE) + np.float32(READ_NOISE**2))
        exposed += spread * random.standard_normal(exposed.shape, dtype=np.float32)
        out[top : top + len(part)] = _encode(tone_curve(exposed))

    in_two_threads(strip, range(0, height, STRIP), lambda share: progress("developing it", share))
    return out


def tone_curve(light: Field) -> Field:
    """Scene light to picture light 0-1: a saturating power (Naka and Rushton 1966), clipped at the top."""
    # a power by logarithm and exponential, which go by wide registers
    power = np.maximum(light, np.float32(1e-30)) * np.float32(1 / CURVE_HALF)
    np.log(power, out=power)
    power *= np.float32(CURVE_SLOPE)
    np.exp(power, out=power)
    power /= 1 + power
    power *= np.float32(CURVE_TOP)
    return np.minimum(power, 1, out=power)


def _encode(linear: Field) -> NDArray[np.uint16]:
    """Linear ROMM-primaries RGB 0-1 to the working encoding, whose curve is CIELAB's lightness."""
    lightness = unit_lightness32(linear)
    lightness *= np.float32(65535)
    lightness += np.float32(0.5)
    return lightness.astype(np.uint16)


def _water_and_sand(picture: Field, mirror: Field, canvas: Canvas, noise: Noise, shore: Field, top: int) -> None:
    bottom = min(top + STRIP, canvas.height)
    part = picture[top:bottom]
    y = canvas.y(top, bottom)[:, None]
    wettest, driest = float(shore.min()), float(shore.max())
    if y[0, 0] < driest + 0.01:
        part[:] = bay_water.paint_water(mirror, canvas, noise, top, bottom)
    if y[-1, 0] > wettest - 0.01:
        sand = bay_shore.paint_sand(mirror, canvas, noise, top, bottom, shore)
        land = step_between(-0.001, 0.001, y - shore[None, :])[..., None] if y[0, 0] < driest + 0.01 else np.float32(1)
        part[:] = sand if y[0, 0] >= driest + 0.01 else part + (sand - part) * land
    if wettest - 0.07 < y[-1, 0] and y[0, 0] < driest + 0.02:
        foam = bay_water.foam_cover(canvas.x[None, :], y, shore[None, :], noise, canvas)[..., None]
        part += (FOAM - part) * foam
