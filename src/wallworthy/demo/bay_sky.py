"""The bay's sky, hills and boat, in scene-linear light (ROMM primaries).

Places are in units of the picture's height: x from the left edge, y from the top.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.demo.texture import Field, Noise, blend, colours_along, enlarge, step_between

HORIZON: Final = 0.43
SUN_X: Final = 0.46
SUN_Y: Final = 0.342
BOAT_X: Final = 1.085
BOAT_WATERLINE: Final = 0.470
BOAT_SIZE: Final = 0.78
COARSER: Final = 4

Colour = tuple[float, float, float]

NEAR_SUN: Final[list[tuple[float, Colour]]] = [
    (0.00, (1.60, 0.39, 0.026)),
    (0.035, (1.32, 0.46, 0.066)),
    (0.08, (0.90, 0.49, 0.20)),
    (0.14, (0.56, 0.44, 0.34)),
    (0.21, (0.31, 0.33, 0.38)),
    (0.31, (0.150, 0.190, 0.335)),
    (0.43, (0.072, 0.098, 0.235)),
]
AWAY: Final[list[tuple[float, Colour]]] = [
    (0.00, (0.56, 0.190, 0.165)),
    (0.04, (0.56, 0.215, 0.200)),
    (0.10, (0.42, 0.26, 0.30)),
    (0.17, (0.27, 0.225, 0.33)),
    (0.28, (0.125, 0.140, 0.290)),
    (0.43, (0.055, 0.074, 0.195)),
]


@dataclass(frozen=True, slots=True)
class Canvas:
    """Size of the picture and where its pixels lie."""

    width: int
    height: int

    @property
    def x(self) -> Field:
        return ((np.arange(self.width) + 0.5) / self.height).astype(np.float32)

    def y(self, top: int, bottom: int) -> Field:
        return ((np.arange(top, bottom) + 0.5) / self.height).astype(np.float32)


def paint_sky(canvas: Canvas, noise: Noise) -> Field:
    """The sky down to a little below the horizon, (rows, width, 3)."""
    rows = int(np.ceil((HORIZON + 0.01) * canvas.height))
    small_rows, small_width = -(-rows // COARSER), -(-canvas.width // COARSER)
    y = ((np.arange(small_rows) + 0.5) * rows / small_rows / canvas.height).astype(np.float32)[:, None]
    x = ((np.arange(small_width) + 0.5) * canvas.width / small_width / canvas.height).astype(np.float32)[None, :]
    high = HORIZON - y
    dx = (x - SUN_X) * np.ones_like(y)
    near = np.exp(-((dx / 0.62) ** 2))
    sky = blend(colours_along(high, AWAY), colours_along(high, NEAR_SUN), near)
    r = np.sqrt(dx**2 + (y - SUN_Y) ** 2)
    sky += np.exp(-r / 0.150)[..., None] * np.array([1.05, 0.36, 0.030], np.float32)
    sky += np.exp(-r / 0.045)[..., None] * np.array([3.0, 1.75, 0.50], np.float32)
    sky = _add_clouds(sky, x, y, r, noise)
    return enlarge(sky, rows, canvas.width)


def _add_clouds(sky: Field, x: Field, y: Field, r: Field, noise: Noise) -> Field:
    """A mackerel deck aloft and torn banks low down, lit from the sun's side."""
    reach = 1 / (np.maximum(HORIZON - y, 0) + 0.085)
    u, v = (x - SUN_X) * reach * 1.05, reach * 2.3
    density = _deck(u, v, noise)
    light = np.zeros_like(density)
    # The sun stands low at the deck's far end: march towards it through the deck.
    length = np.hypot(u, 24.0 - v)
    for step in (0.10, 0.24, 0.45, 0.8):
        light += _deck(u - u / length * step, v + (24.0 - v) / length * step, noise) * 0.55
    lit = np.exp(-1.5 * light)
    warm = np.exp(-r / 0.30)
    bright = blend(
        np.array([0.86, 0.215, 0.165], np.float32), np.array([2.10, 0.80, 0.19], np.float32), np.clip(warm, 0, 1)
    )
    dark = blend(
        np.array([0.120, 0.092, 0.170], np.float32), np.array([0.330, 0.155, 0.145], np.float32), np.clip(warm, 0, 1)
    )
    cloud = blend(dark, bright, np.clip(lit * 1.15, 0, 1))
    aloft = step_between(0.02, 0.10, HORIZON - y)
    sky = blend(sky, cloud, np.clip(density * aloft, 0, 1) * np.float32(0.93))
    return _add_bank(sky, x, y, warm, noise)


def _deck(u: Field, v: Field, noise: Noise) -> Field:
    """Cloud density 0-1 over the sky plane: warped streaks broken into ripples."""
    warp_u = noise.fractal(u * 0.35 + 3.1, v * 0.35 + 8.2, 3)
    warp_v = noise.fractal(u * 0.35 + 41.7, v * 0.35 + 2.9, 3)
    a, b = u + 1.35 * warp_u, v + 1.1 * warp_v
    body = noise.fractal(a * 0.40 - b * 0.12, b * 0.34, 6, gain=0.52)
    ripple = noise.fractal(a * 1.7 + 11.3, b * 2.3 + 5.0, 4, gain=0.55)
    return step_between(-0.02, 0.85, body + 0.46 * ripple)


def _add_bank(sky: Field, x: Field, y: Field, warm: Field, noise: Noise) -> Field:
    """Thin long banks just over the hills, violet with bright upper rims near the sun."""
    high = HORIZON - y
    drift = noise.fractal(x * 2.2 + 5.0, y * 14.0, 3) * 0.02
    thick = noise.fractal(x * 1.9 + 60.0 + drift * 20, (high + drift) * 34.0, 6, gain=0.55)
    place = step_between(0.02, 0.045, high) * step_between(0.165, 0.075, high)
    cover = step_between(0.22, 0.72, thick) * place
    above = noise.fractal(x * 1.9 + 60.0 + drift * 20, (high + drift - 0.006) * 34.0, 6, gain=0.55)
    rim = np.clip((thick - above) * 1.6, 0, 1)
    base = blend(np.array([0.165, 0.100, 0.165], np.float32), np.array([0.62, 0.235, 0.115], np.float32), warm)
    edge = blend(np.array([0.75, 0.30, 0.22], np.float32), np.array([2.4, 1.15, 0.34], np.float32), warm)
    return blend(sky, blend(base, edge, rim), cover * np.float32(0.86))


def add_sun(picture: Field, canvas: Canvas) -> None:
    """The disc, soft at its rim, half veiled; in place."""
    half = int(0.05 * canvas.height) + 2
    top, left = int(SUN_Y * canvas.height) - half, int(SUN_X * canvas.height) - half
    part = picture[top : top + 2 * half, left : left + 2 * half]
    y = canvas.y(top, top + part.shape[0])[:, None]
    x = canvas.x[left : left + part.shape[1]][None, :]
    r = np.hypot(x - SUN_X, (y - SUN_Y) * 1.04)
    disc = step_between(0.0112, 0.0100, r)
    part += disc[..., None] * np.array([9.0, 6.6, 3.1], np.float32)


def add_hills(picture: Field, canvas: Canvas, noise: Noise) -> None:
    """Five ranges, paler with distance, mist at their feet; in place, down to the horizon."""
    x = canvas.x
    ranges: list[tuple[float, float, float, float, float]] = [
        # height, roughness, offset, distance 0 near - 1 far, slope towards the sun
        (0.052, 3.0, 4.0, 0.98, 0.0),
        (0.046, 4.1, 21.0, 0.78, 0.012),
        (0.040, 5.0, 37.5, 0.55, 0.022),
        (0.031, 6.5, 52.0, 0.32, 0.026),
        (0.0175, 9.0, 77.0, 0.10, 0.020),
    ]
    for number, (tall, rough, offset, far, lean) in enumerate(ranges):
        ridge = noise.fractal(x * rough * 0.5 + offset, np.float32(offset), 8, gain=0.46)
        away = np.clip(np.abs(x - SUN_X - 0.05) / 0.75, 0, 1.3)
        height = np.clip(tall * (0.62 + 0.75 * ridge) + lean * (away - 0.42), 0.0006, None)
        if number >= 3:
            trees = noise.fractal(x * 210.0, np.float32(offset), 3, gain=0.7)
            height += (
                (0.0011 if number == 3 else 0.0020) * np.clip(trees + 0.35, 0, None) * step_between(0, 0.008, height)
            )
        _lay_range(picture, canvas, height, far, noise, number)


def _lay_range(picture: Field, canvas: Canvas, height: Field, far: float, noise: Noise, number: int) -> None:
    top = max(0, int((HORIZON - float(height.max())) * canvas.height) - 2)
    rows = picture.shape[0]
    y = canvas.y(top, rows)[:, None]
    x = canvas.x[None, :]
    under = (y - (HORIZON - height)[None, :]) * canvas.height
    cover = np.clip(under + 0.5, 0, 1)
    near_sun = np.exp(-(((x - SUN_X) / 0.42) ** 2))
    haze = blend(np.array([0.300, 0.150, 0.175], np.float32), np.array([1.33, 0.375, 0.034], np.float32), near_sun)
    base = np.array([0.026, 0.023, 0.036], np.float32)
    relief = noise.fractal(x * 26 + 7.0 * number, y * 60, 4)[..., None] * np.float32(0.16)
    mist = np.exp(-np.maximum(HORIZON - y, 0) / (0.006 + 0.010 * far))[..., None] * (0.12 + 0.42 * far)
    share = np.clip(far**1.15 * 0.80 + mist, 0, 0.97).astype(np.float32)
    colour = base * (1 + relief) * (1.35 - 0.35 * far) * (1 - share) + haze * share
    picture[top:rows] += (colour - picture[top:rows]) * cover[..., None]


def add_boat(picture: Field, canvas: Canvas, noise: Noise, waterline: float = BOAT_WATERLINE) -> None:
    """A small white-sailed boat; light comes through the sails, so they glow; in place."""
    h = canvas.height
    top, bottom = int((waterline - 0.135) * h), int((waterline + 0.004) * h)
    left, right = int((BOAT_X - 0.075) * h), int((BOAT_X + 0.085) * h)
    bottom = min(bottom, picture.shape[0])
    part = picture[top:bottom, left:right]
    x = (canvas.x[left:right][None, :] - BOAT_X) / BOAT_SIZE * np.ones((bottom - top, 1), np.float32)
    y = (waterline - canvas.y(top, bottom)[:, None]) / BOAT_SIZE + x * 0.02
    soft = np.float32(h * BOAT_SIZE)
    main = _triangle(x, y, (-0.0035, 0.017), (-0.0030, 0.124), (-0.056, 0.0195), soft, belly=0.010)
    jib = _triangle(x, y, (0.002, 0.106), (0.001, 0.016), (0.045, 0.0135), soft, belly=-0.004)
    for cover, tilt, seed in ((main, 1.0, 3.0), (jib, -1.0, 9.0)):
        fold = noise.fractal(x * 46 + tilt * y * 24 + seed, y * 9 - x * 5, 4, gain=0.55)
        seams = np.abs(((y * 52 + x * 6 * tilt) % 1) - 0.5)
        cloth = 2.35 + 0.42 * fold + 7.5 * tilt * x - 0.26 * step_between(0.05, 0.02, 0.5 - seams)
        sail = np.clip(cloth, 1.3, 3.9)[..., None] * np.array([1.0, 0.955, 0.865], np.float32)
        part += (sail - part) * cover[..., None]
    hull_line = 0.0125 + 0.10 * (x - 0.005) ** 2 * 14
    ends = np.clip((0.0535 - np.abs(x + 0.004) - 0.12 * (0.012 - y)) * soft + 0.5, 0, 1)
    hull = np.clip((hull_line - y) * soft + 0.5, 0, 1) * np.clip(y * soft + 0.5, 0, 1) * ends
    stripe = np.clip(1 - np.abs(y - hull_line + 0.0022) * soft * 0.55, 0, 1)[..., None]
    wood = np.array([0.060, 0.014, 0.010], np.float32) * (1 + 0.5 * step_between(0.0, 0.012, y)[..., None])
    part += (wood + stripe * np.array([0.5, 0.40, 0.30], np.float32) - part) * hull[..., None]
    mast = np.clip((0.00115 - np.abs(x + 0.0012)) * soft + 0.5, 0, 1) * step_between(0.128, 0.1275, y)
    mast *= step_between(0.010, 0.011, y)
    part += (np.array([0.10, 0.055, 0.030], np.float32) - part) * mast[..., None]


Point = tuple[float, float]


def _triangle(x: Field, y: Field, a: Point, b: Point, c: Point, soft: np.float32, belly: float) -> Field:
    """Coverage of a triangle a-b-c (anticlockwise or not) whose edge b-c is bowed by `belly`."""
    cover = np.ones_like(x)
    turn = np.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
    for (px, py), (qx, qy), bow in ((a, b, 0.0), (b, c, belly), (c, a, 0.0)):
        length = np.hypot(qx - px, qy - py)
        along = ((x - px) * (qx - px) + (y - py) * (qy - py)) / length**2
        distance = turn * ((qx - px) * (y - py) - (qy - py) * (x - px)) / length
        distance = distance + np.float32(bow) * 4 * np.clip(along * (1 - along), 0, None)
        cover *= np.clip(distance * soft + 0.5, 0, 1)
    return cover


def sky_for_mirror(sky: NDArray[np.float32], canvas: Canvas, noise: Noise) -> Field:
    """The sky with the boat where its mirror image must be looked up."""
    mirror = sky.copy()
    add_boat(mirror, canvas, noise, waterline=2 * HORIZON - BOAT_WATERLINE)
    return mirror
