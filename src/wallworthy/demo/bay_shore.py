"""The bay's shore: wet sand that mirrors the sky, and pebbles and rocks lit from behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from wallworthy.demo.bay_meadow import dune_line
from wallworthy.demo.bay_sky import HORIZON, SUN_X, Canvas
from wallworthy.demo.bay_water import DEPTH
from wallworthy.demo.texture import Field, Noise, step_between

SUNLIGHT: Final = np.array([1.65, 0.62, 0.135], np.float32)
SKYLIGHT: Final = np.array([0.155, 0.150, 0.260], np.float32)
PEBBLES: Final = 5200


def paint_sand(mirror: Field, canvas: Canvas, noise: Noise, top: int, bottom: int, shore: Field) -> Field:
    """Rows of the beach, (rows, width, 3): wet near the water, darker and dull further up."""
    x = canvas.x[None, :]
    y = canvas.y(top, bottom)[:, None]
    below = np.maximum(y - HORIZON, 0.01)
    z = DEPTH / below
    px, pz = (x - SUN_X) * z, z
    footprint = z * z / DEPTH / canvas.height
    ribs = noise.fractal(px * 7 + 3.0, pz * 34, 4, gain=0.5, footprint=footprint * 34)
    grain = noise.fractal(px * 300, pz * 420, 3, gain=0.8, footprint=footprint * 420)
    up = y - shore[None, :]
    wet = step_between(0.120, 0.004, up + 0.020 * ribs)
    facing = 1 + 0.55 * ribs + 0.35 * grain
    towards = np.exp(-(((x - SUN_X) / 0.55) ** 2))
    light = SKYLIGHT * 0.75 + SUNLIGHT * (0.07 + 0.20 * towards[..., None]) * np.clip(facing, 0.2, 2)[..., None]
    sand = np.array([0.150, 0.150, 0.150], np.float32) * light * (1 - 0.55 * wet[..., None])
    tilt = (ribs * 0.012 + grain * 0.003) * (1.3 - wet)
    rows = np.clip((HORIZON - below * 0.92 + tilt) * canvas.height, 0, mirror.shape[0] - 1).astype(np.int32)
    columns = np.clip((x + tilt * 0.4) * canvas.height, 0, canvas.width - 1).astype(np.int32)
    sky = mirror.reshape(-1, 3).take(rows * np.int32(canvas.width) + columns, axis=0)
    gloss = (0.035 + 0.46 * wet**2) * np.clip(1 - 0.25 * grain, 0, 2)
    return sand + sky * gloss[..., None]


@dataclass(frozen=True, slots=True)
class Pebble:
    """One stone: centre and half width in picture heights, height over width, colour, and a number of its own."""

    x: float
    y: float
    r: float
    flat: float
    colour: Field
    number: int


def strew(canvas: Canvas, noise: Noise, shore: Field, seed: int) -> list[Pebble]:
    """The beach's stones, far to near."""
    random = np.random.default_rng(seed + 3)
    y = HORIZON + 0.315 + 0.40 * random.random(PEBBLES) ** 1.15
    x = random.random(PEBBLES) * 1.5
    size = (0.0036 + 0.0075 * random.random(PEBBLES) ** 3) * (y - HORIZON) / 0.42
    size = np.where(random.random(PEBBLES) < 0.012, size * 3.2, size)
    tone = np.exp(0.50 * random.standard_normal(PEBBLES)) * 0.30
    warm = random.random(PEBBLES)
    flat = 0.50 + 0.22 * random.random(PEBBLES)
    keep = y > np.interp(x, canvas.x, shore) + 0.030 + 0.05 * random.random(PEBBLES)
    keep &= y - size < dune_line(x.astype(np.float32), noise) + 0.03
    clumps = noise.fractal((x * 5).astype(np.float32), (y * 14).astype(np.float32), 3)
    keep &= (clumps > -0.25) | (y > 0.90)
    pebbles: list[Pebble] = []
    for i in np.argsort(y):
        if keep[i]:
            tint = np.array([1.0, 0.86 + 0.10 * warm[i], 0.74 + 0.30 * warm[i]])
            place = (float(x[i]), float(y[i]), float(size[i]), float(flat[i]))
            pebbles.append(Pebble(*place, (tone[i] * tint).astype(np.float32), int(i)))
    return pebbles


def stone_texture(canvas: Canvas, noise: Noise) -> Field:
    """Grain and veins, (2, n, n), from which each stone cuts its own piece."""
    edge = int(0.34 * canvas.height) + 8
    at = (np.arange(edge, dtype=np.float32) / canvas.height).astype(np.float32)
    grain = noise.fractal(at[None, :] * 420, at[:, None] * 540, 3, gain=0.8, footprint=480 / canvas.height)
    veins = noise.fractal(at[None, :] * 70, at[:, None] * 200 + at[None, :] * 50, 3, gain=0.6)
    return np.stack([grain, veins])


def add_pebbles(picture: Field, canvas: Canvas, pebbles: list[Pebble], texture: Field, columns: slice) -> None:
    """Draw the stones into some columns: lit, speckled, wet-rimmed domes with their shadows; in place."""
    for pebble in pebbles:
        _add_pebble(picture, canvas, pebble, texture, columns)


def _add_pebble(picture: Field, canvas: Canvas, pebble: Pebble, texture: Field, columns: slice) -> None:
    cx, cy, r, flat, h = pebble.x, pebble.y, pebble.r, pebble.flat, canvas.height
    whole_left, whole_top = int((cx - 1.5 * r) * h), int((cy - 1.3 * r * flat) * h)
    left, right = max(columns.start, whole_left), min(columns.stop, int((cx + 1.5 * r) * h) + 2)
    top, bottom = max(0, whole_top), min(h, int((cy + 1.7 * r * flat) * h) + 2)
    if left >= right or top >= bottom:
        return
    part = picture[top:bottom, left:right]
    u = ((canvas.x[left:right] - cx) / r)[None, :]
    v = ((canvas.y(top, bottom) - cy) / (r * flat))[:, None]
    phase = np.float32(pebble.number % 97)
    out_u = u + 0.10 * np.sin(2.3 * v + phase) + 0.05 * np.sin(4.7 * v + 3 * phase)
    out_v = v + 0.10 * np.sin(1.9 * u + 2 * phase)
    d = np.sqrt(out_u * out_u + out_v * out_v)
    cover = np.clip((1 - d) * (r * flat * h) + 0.5, 0, 1)[..., None]
    # The sun is behind: the shadow falls towards us.
    fall = np.sqrt((u - 0.12 * (cx - SUN_X)) ** 2 + (v - 0.55) ** 2)
    part *= (1 - 0.80 * step_between(1.30, 0.50, fall))[..., None]
    part += (
        _stone_light(pebble, u, v, d, _cut(texture, pebble.number, top, left, part, whole_top, whole_left)) - part
    ) * cover


def _cut(texture: Field, number: int, top: int, left: int, part: Field, whole_top: int, whole_left: int) -> Field:
    """The stone's own piece of the texture, the same whichever columns are being drawn."""
    rows, columns = part.shape[:2]
    free = texture.shape[1] // 2
    down = number * 7919 % free + top - whole_top
    across = number * 104729 % free + left - whole_left
    down, across = min(down, texture.shape[1] - rows), min(across, texture.shape[2] - columns)
    return texture[:, down : down + rows, across : across + columns]


def _stone_light(pebble: Pebble, u: Field, v: Field, d: Field, texture: Field) -> Field:
    grain, veins = texture
    dome = np.sqrt(np.clip(1 - d * d, 0, 1))
    # A dome seen from a little above: its top looks up at v = -0.35.
    up = np.clip(1 - ((v + 0.35) ** 2 * 0.62 + u * u * 0.42), 0, 1)
    sun = np.clip(-0.80 * v + 0.45 * (SUN_X - pebble.x) * u - 0.10 + 0.10 * grain, 0, None) ** 1.3
    sheen = np.clip(-v - 0.30 + 0.05 * grain, 0, None) ** 2 * (1.05 - dome)
    above = 0.10 + 0.85 * up * np.sqrt(up)
    body = pebble.colour * np.clip(1 + 0.30 * grain + 0.35 * veins, 0.2, None)[..., None]
    lit = body * (SKYLIGHT * above[..., None] * 0.85 + SUNLIGHT * sun[..., None] * 0.42)
    return np.asarray(lit + (SUNLIGHT * 0.55 + SKYLIGHT * 0.30) * sheen[..., None], dtype=np.float32)
