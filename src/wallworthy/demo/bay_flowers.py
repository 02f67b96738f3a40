"""Poppies, seen from a little above with the low sun behind them."""

from __future__ import annotations

import numpy as np

from wallworthy.demo.bay_sky import Canvas
from wallworthy.demo.texture import Field, Noise, hashed, step_between

RED_THROUGH = np.array([1.30, 0.170, 0.012], np.float32)
RED_SHADE = np.array([0.150, 0.0155, 0.0075], np.float32)


def add_flower(
    picture: Field, canvas: Canvas, noise: Noise, flower: tuple[float, float, float, int], columns: slice
) -> None:
    """Draw one poppy and its stem where it falls into the given columns; in place."""
    cx, cy, r, number = flower
    chance = hashed(np.arange(8), number, 29)
    _add_stem(picture, canvas, cx, cy, r, chance, columns)
    h = canvas.height
    left, right = max(columns.start, int((cx - 1.35 * r) * h)), min(columns.stop, int((cx + 1.35 * r) * h) + 2)
    top, bottom = max(0, int((cy - 1.3 * r) * h)), min(h, int((cy + 1.3 * r) * h) + 2)
    if left >= right or top >= bottom:
        return
    part = picture[top:bottom, left:right]
    turn = (float(chance[0]) - 0.5) * 1.3
    u0 = ((canvas.x[left:right] - cx) / r)[None, :]
    v0 = ((canvas.y(top, bottom) - cy) / r)[:, None]
    cosine, sine = float(np.cos(turn)), float(np.sin(turn))
    u = u0 * cosine + v0 * sine
    v = (v0 * cosine - u0 * sine) / (0.42 + 0.42 * float(chance[1]))
    soft = np.float32(r * h * 0.7)
    petals = (
        # centre, radius, how much light comes through, height within the cup
        (0.00, -0.34, 0.74, 1.00),
        (-0.44, -0.02, 0.62, 0.62),
        (0.45, 0.02, 0.61, 0.52),
        (0.02, 0.36, 0.66, 0.34),
    )
    for petal, (pu, pv, size, through) in enumerate(petals):
        grown = size * (0.92 + 0.16 * float(chance[2 + petal]))
        _add_petal(
            part, noise, u - pu, v - pv, u, v, grown, through, soft, number * 7.3 + petal * 2.9, float(chance[7])
        )
    _add_heart(part, noise, u, v + 0.06, soft, number)


def _add_petal(
    part: Field,
    noise: Noise,
    du: Field,
    dv: Field,
    u: Field,
    v: Field,
    size: float,
    through: float,
    soft: np.float32,
    salt: float,
    chance: float,
) -> None:
    angle = np.arctan2(dv, du)
    d = np.hypot(du, dv)
    ruffle = 1 + 0.075 * noise.fractal(np.cos(angle) * 1.6 + salt, np.sin(angle) * 1.6, 2, gain=0.6)
    edge = d / (size * ruffle)
    cover = np.clip((1 - edge) * soft * size + 0.5, 0, 1)
    out = np.hypot(u, v)
    way = np.arctan2(v, u)
    folds = noise.fractal(way * 2.6 + salt, out * 1.1 + salt, 2, gain=0.6)
    veins = noise(way * 13 + salt, out * 1.5 + salt)
    light = through * (0.42 + 0.62 * np.clip(out, 0, 1.2)) * (1 + 0.48 * folds + 0.10 * veins)
    light *= 1 - 0.25 * step_between(0.75, 1.0, edge) + 0.42 * step_between(0.90, 1.0, edge)
    light = np.clip(light, 0.03, 1.5)[..., None]
    glow = np.float32(0.34 + 0.40 * chance)
    colour = RED_SHADE * (0.9 + 0.4 * folds[..., None]) + RED_THROUGH * light**1.6 * glow
    blotch = step_between(0.46, 0.24, out * (1 + 0.25 * folds))[..., None]
    colour = colour * (1 - 0.93 * blotch)
    shadow = step_between(1.22, 0.98, edge)[..., None] * (1 - cover[..., None]) * 0.5
    body = part.sum(axis=-1, keepdims=True)
    part *= 1 - shadow * (body > 0)
    part += (np.maximum(colour, 0.0004) - part) * cover[..., None]


def _add_heart(part: Field, noise: Noise, u: Field, v: Field, soft: np.float32, number: int) -> None:
    out = np.hypot(u, v)
    angle = np.arctan2(v, u)
    threads = noise(angle * 9 + number, out * 2.0)
    stamens = step_between(0.34, 0.20, out + 0.05 * threads) * step_between(-0.2, 0.5, threads + 0.1)
    part += (np.array([0.010, 0.006, 0.016], np.float32) - part) * (stamens * 0.9)[..., None]
    knob = np.clip((0.125 - out) * soft + 0.5, 0, 1)
    light = np.clip(0.5 - v * 4.0, 0, 1.2)[..., None]
    part += (np.array([0.060, 0.070, 0.028], np.float32) * (0.25 + light) - part) * knob[..., None]


def _add_stem(picture: Field, canvas: Canvas, cx: float, cy: float, r: float, chance: Field, columns: slice) -> None:
    h = canvas.height
    long = r * 4.2
    bend = (float(chance[6]) - 0.5) * 1.6 * r
    left = max(columns.start, int((cx - abs(bend) - r * 0.2) * h))
    right = min(columns.stop, int((cx + abs(bend) + r * 0.2) * h) + 2)
    top, bottom = max(0, int(cy * h)), min(h, int((cy + long) * h))
    if left >= right or top >= bottom:
        return
    part = picture[top:bottom, left:right]
    t = ((canvas.y(top, bottom) - cy) / long)[:, None]
    off = canvas.x[left:right][None, :] - (cx + bend * t * t)
    half = max(0.035 * r, 0.00028)
    cover = np.clip((half - np.abs(off)) * h + 0.5, 0, 1) * step_between(1.0, 0.7, t)
    rim = np.clip(0.5 + off / half * (-0.6 if cx > 0.5 else 0.6), 0, 1)[..., None]
    colour = np.array([0.018, 0.026, 0.010], np.float32) + np.array([0.15, 0.085, 0.020], np.float32) * rim
    part += (colour - part) * cover[..., None]
