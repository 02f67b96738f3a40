"""The bay's meadow: blades of grass in layers and poppies among them, lit through from behind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from wallworthy.demo.bay_flowers import add_flower
from wallworthy.demo.bay_sky import SUN_X, Canvas
from wallworthy.demo.texture import Field, Noise, hashed, step_between

LAYERS: Final = 26


@dataclass(frozen=True, slots=True)
class Layer:
    """One rank of blades: how far down the slope (0 far - 1 near) and its measures in picture heights."""

    number: int
    near: float
    drop: float
    tall: float
    cell: float
    half_width: float
    lean: float


def layers() -> list[Layer]:
    """Far to near."""
    ranks: list[Layer] = []
    for k in range(LAYERS):
        near = k / (LAYERS - 1)
        swing = float(hashed(np.array([k]), 3, 11)[0])
        ranks.append(
            Layer(
                number=k,
                near=near,
                drop=0.012 + 0.37 * near**1.25,
                tall=0.034 + 0.150 * near**1.2,
                cell=0.0019 + 0.0042 * near,
                half_width=0.00042 + 0.00125 * near,
                lean=(0.10 + 0.30 * swing) * (1 if k % 3 else -0.6),
            )
        )
    return ranks


def dune_line(x: Field, noise: Noise) -> Field:
    """The meadow's far edge, y by x: low at the left, rising to the right."""
    bend = noise.fractal(x * 1.7 + 12.0, np.float32(50.0), 4, gain=0.45)
    return (1.045 - 0.335 * step_between(0.18, 1.62, x) + 0.016 * bend).astype(np.float32)


Flower = tuple[float, float, float, int]
"""x and y of the bloom, its radius, a number of its own."""


def add_meadow(picture: Field, canvas: Canvas, noise: Noise, flowers: list[list[Flower]], columns: slice) -> None:
    """Draw the meadow into some columns of the picture; other columns are independent; in place."""
    line = dune_line(canvas.x, noise)
    for layer in layers():
        _ground(picture, canvas, noise, line + layer.drop, columns, layer)
        _add_blades(picture, canvas, noise, line + layer.drop, layer, columns)
        for flower in flowers[layer.number]:
            add_flower(picture, canvas, noise, flower, columns)


def plant(noise: Noise, seed: int) -> list[list[Flower]]:
    """Flowers by layer."""
    random = np.random.default_rng(seed + 17)
    planted: list[list[Flower]] = []
    number = 0
    for layer in layers():
        row: list[Flower] = []
        for _ in range(int(40 - 31 * layer.near)):
            x = float(random.random() * 1.56 - 0.03)
            rise, size, chance = random.random(3)
            patch = float(noise.fractal(np.float32(x * 3.1), np.float32(layer.drop * 9 + 4.0), 3))
            if chance < 0.38 + 0.75 * patch:
                base = float(dune_line(np.array([x], np.float32), noise)[0]) + layer.drop
                y = base - layer.tall * (0.48 + 0.60 * float(rise))
                row.append((x, y, (0.0040 + 0.0225 * layer.near) * (0.55 + 0.60 * float(size)), number))
            number += 1
        planted.append(row)
    return planted


def _ground(picture: Field, canvas: Canvas, noise: Noise, base: Field, columns: slice, layer: Layer) -> None:
    """Dark earth and litter under the blades."""
    line = base[columns]
    top = max(0, int((float(line.min()) - 0.002) * canvas.height))
    bottom = min(canvas.height, int((float(line.max()) + 0.06) * canvas.height) + 2)
    if layer.near == 1.0:
        bottom = canvas.height
    if top >= bottom:
        return
    part = picture[top:bottom, columns]
    y = canvas.y(top, bottom)[:, None]
    x = canvas.x[columns][None, :]
    cover = np.clip((y - line[None, :]) * canvas.height + 0.5, 0, 1)
    litter = noise.fractal(x * 130, y * 60, 3, gain=0.7)
    earth = np.array([0.0050, 0.0056, 0.0056], np.float32) * np.clip(0.8 + 0.9 * litter, 0.1, 3)[..., None]
    part += (earth - part) * cover[..., None]


def _add_blades(picture: Field, canvas: Canvas, noise: Noise, base: Field, layer: Layer, columns: slice) -> None:
    line = base[columns]
    top = max(0, int((float(line.min()) - layer.tall * 1.02) * canvas.height))
    bottom = min(canvas.height, int(float(line.max()) * canvas.height) + 1)
    if top >= bottom:
        return
    part = picture[top:bottom, columns]
    y = canvas.y(top, bottom)[:, None]
    x = canvas.x[columns][None, :]
    rise = (line[None, :] - y) / np.float32(layer.tall)
    safe = np.clip(rise, 0, 1)
    sway = layer.lean + 0.10 * noise.fractal(x * 4.0, np.float32(layer.number * 3.1), 2)
    bent = x - np.float32(layer.tall) * sway * safe * safe
    cell = np.floor(bent / np.float32(layer.cell)).astype(np.intp)
    cover = np.zeros(rise.shape, np.float32)
    along = np.zeros(rise.shape, np.float32)
    kind = np.zeros(rise.shape, np.float32)
    first = int(cell.min()) - 2
    cells = np.arange(first, int(cell.max()) + 3)
    r = [hashed(cells, layer.number, salt) for salt in range(5)]
    place = ((cells + 0.15 + 0.7 * r[0]) * layer.cell).astype(np.float32)
    grown = (0.42 + 0.58 * r[1]).astype(np.float32)
    aslant = ((r[2] - 0.5) * 3.4 * layer.cell).astype(np.float32)
    wide = (layer.half_width * (0.55 + 0.75 * r[3])).astype(np.float32)
    for side in (-2, -1, 0, 1, 2):
        index = cell + (side - first)
        t = rise / grown.take(index)
        centre = place.take(index) + aslant.take(index) * t
        taper = wide.take(index) * np.sqrt(np.clip(1 - t, 0, 1))
        here = np.clip((taper - np.abs(bent - centre)) * np.float32(canvas.height) + 0.5, 0, 1)
        here *= (t > 0) & (t < 1)
        better = here > cover
        np.copyto(cover, here, where=better)
        np.copyto(along, t, where=better)
        np.copyto(kind, r[4].take(index), where=better)
    colour = _blade_colour(x, along, kind, layer)
    part += (colour - part) * cover[..., None]


def _blade_colour(x: Field, along: Field, kind: Field, layer: Layer) -> Field:
    """Dark and bluish at the foot, lit through at the tip, dry blades among the green."""
    towards = np.exp(-(((x - SUN_X) / 0.75) ** 2))
    open_air = along**1.6
    glow = open_air**1.3 * (0.30 + 1.05 * towards) * (0.25 + 1.1 * kind) * (1.15 - 0.86 * layer.near)
    shade = 0.16 + 0.84 * along
    green = np.array([0.020, 0.032, 0.011], np.float32)
    dry = np.array([0.052, 0.040, 0.022], np.float32)
    body = green + (dry - green) * step_between(0.72, 0.90, kind)[..., None]
    through = np.array([0.330, 0.215, 0.030], np.float32)
    return body * (shade**1.9 * (0.80 - 0.50 * layer.near))[..., None] + through * (glow * 0.62)[..., None]
