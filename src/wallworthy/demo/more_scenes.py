"""Two more invented masters: a snowy wood in fog, nearly all light, and the bay by moonlight, nearly all dark."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.demo import bay_sky, bay_water
from wallworthy.demo.bay_sky import HORIZON, SUN_X, SUN_Y, Canvas
from wallworthy.demo.scene import HEIGHT_PX, SEED, WIDTH_PX, develop
from wallworthy.demo.texture import STRIP, Field, Noise, blend, in_two_threads, step_between

FOG: Final = np.array([1.42, 1.40, 1.46], np.float32)
FIR: Final = np.array([0.020, 0.026, 0.026], np.float32)
MOONLIGHT: Final = np.array([0.105, 0.118, 0.150], np.float32)
LAMP: Final = np.array([1.7, 0.98, 0.36], np.float32)
NIGHT_WATER: Final = np.array([0.0016, 0.0027, 0.0050], np.float32)


def render_snow(width: int = WIDTH_PX, height: int = HEIGHT_PX, seed: int = SEED) -> NDArray[np.uint16]:
    """Firs in fog over untouched snow: (height, width, 3) uint16 in the working encoding. High key, L* mostly 80-98."""
    canvas, noise = Canvas(width, height), Noise(seed + 1)
    picture = np.empty((height, width, 3), np.float32)

    def ground(top: int) -> None:
        _fog_and_snow(picture, canvas, noise, top, min(top + STRIP, height))

    in_two_threads(ground, range(0, height, STRIP))
    random = np.random.default_rng(seed + 101)
    for rank, (near, count) in enumerate(((0.0, 34), (0.22, 26), (0.48, 14), (0.80, 6))):
        for number in range(count):
            x, lift, size, lean = random.random(4)
            tall = (0.10 + 0.48 * near**1.2) * (0.65 + 0.7 * size)
            foot = 0.575 + 0.16 * near + 0.020 * lift
            if near > 0.7:
                x = 0.30 * x if number % 2 else 0.86 + 0.20 * x
            place = (float(x) * 1.56 - 0.03, foot, tall, (float(lean) - 0.5) * 0.03)
            _add_fir(picture, canvas, noise, place, near, rank * 100 + number)
    return develop(picture, seed)


def _fog_and_snow(picture: Field, canvas: Canvas, noise: Noise, top: int, bottom: int) -> None:
    y, x = canvas.y(top, bottom)[:, None], canvas.x[None, :]
    drift = noise.fractal(x * 1.3, y * 2.6, 4)
    glow = np.exp(-(((x - 0.55) / 0.42) ** 2 + ((y - 0.30) / 0.26) ** 2))
    fog = FOG * (0.86 + 0.07 * drift)[..., None] + glow[..., None] * np.array([1.35, 1.12, 0.82], np.float32)
    fog -= step_between(0.35, 0.0, y)[..., None] * np.array([0.42, 0.36, 0.26], np.float32)
    below = np.maximum(y - 0.47, 0.012)
    z = 0.3 / below
    px, pz = (x - 0.75) * z, z
    footprint = z * z / 0.3 / canvas.height
    lumps = noise.fractal(px * 1.1 + 9.0, pz * 1.5, 5, gain=0.42, footprint=footprint * 1.5)
    higher = noise.fractal(px * 1.1 + 9.0, pz * 1.5 + 0.10, 5, gain=0.42, footprint=footprint * 1.5)
    crust = noise.fractal(px * 150, pz * 190, 4, gain=0.8, footprint=footprint * 190)
    facing = np.clip(0.5 + (higher - lumps) * 2.4 + 0.045 * crust, 0, 1.2)
    glint = np.clip(noise(px * 420, pz * 520) - 1.25, 0, None) * np.exp(-((footprint * 260) ** 2)) * 3.0
    shade = np.array([0.90, 0.96, 1.20], np.float32)
    lit = np.array([2.30, 2.12, 1.92], np.float32)
    snow = blend(shade, lit, facing) + glint[..., None]
    far = np.exp(-np.maximum(y - 0.55, 0) / 0.085)
    snow = blend(snow, fog * np.float32(1.02), np.clip(far, 0, 1))
    line = 0.555 + 0.012 * noise.fractal(x * 1.6 + 3.0, np.float32(8.0), 4)
    picture[top:bottom] = blend(fog, snow, step_between(-0.015, 0.015, y - line))


def _add_fir(
    picture: Field, canvas: Canvas, noise: Noise, place: tuple[float, float, float, float], near: float, number: int
) -> None:
    """One fir with snow on its boughs, fading into the fog with distance; in place."""
    cx, foot, tall, lean = place
    h = canvas.height
    left, right = max(0, int((cx - 0.26 * tall) * h)), min(canvas.width, int((cx + 0.26 * tall) * h) + 2)
    top, bottom = max(0, int((foot - tall) * h)), min(h, int((foot + 0.012) * h))
    if left >= right or top >= bottom:
        return
    part = picture[top:bottom, left:right]
    y, x = canvas.y(top, bottom)[:, None], canvas.x[left:right][None, :]
    t = np.clip((y - (foot - tall)) / tall, 0, 1)
    off = (x - cx - lean * (1 - t)) / tall
    side = np.where(off > 0, 31.0, 7.0).astype(np.float32)
    tiers = t * (15 + number % 5) + noise.fractal(off * 3 + number, t * 5 + side, 2) * 0.9 - np.abs(off) * 9
    saw = tiers - np.floor(tiers)
    ragged = noise.fractal(off * 55 + number * 3.7, t * 60 + side, 4, gain=0.7)
    half = 0.205 * t**0.85 * (0.52 + 0.48 * saw) * (1 + 0.30 * ragged)
    inside = (half - np.abs(off)) * tall
    cover = np.clip(inside * h + 0.5, 0, 1) * step_between(0.985, 0.955, t)
    trunk = np.clip((0.007 * (0.4 + t) - np.abs(off)) * tall * h + 0.5, 0, 1)
    cover = np.maximum(cover, trunk * (t > 0.05))
    needles = noise.fractal(off * 150 + number, t * 190, 3, gain=0.8)
    snowy = step_between(0.46, 0.12, saw + 0.35 * ragged + 0.12 * needles) * (1 - trunk) * (0.55 + 0.45 * near)
    wood = FIR * np.clip(1 + 0.9 * needles - 0.3 * off * 10, 0.15, 3)[..., None]
    colour = blend(wood, np.array([1.10, 1.14, 1.28], np.float32), np.clip(snowy * 0.9, 0, 1))
    fog = np.clip(0.92 - 1.08 * near**0.75 + (0.34 - 0.20 * near) * step_between(0.60, 1.0, t), 0.015, 0.97)
    colour = blend(colour, FOG * np.float32(0.93), fog)
    part += (colour - part) * cover[..., None]


def render_night(width: int = WIDTH_PX, height: int = HEIGHT_PX, seed: int = SEED) -> NDArray[np.uint16]:
    """The bay under a veiled moon, a village's lamps across it: (height, width, 3) uint16. Low key, L* mostly 2-30."""
    canvas, noise = Canvas(width, height), Noise(seed + 2)
    mirror = _night_sky(canvas, noise)
    picture = np.empty((height, width, 3), np.float32)
    picture[: len(mirror)] = mirror
    _add_stars(picture, canvas, seed)
    _add_lamps(picture[: len(mirror)], canvas, seed, streak=False)  # the rows below are still to be painted
    _add_lamps(mirror, canvas, seed, streak=True)

    def water(top: int) -> None:
        bottom = min(top + STRIP, height)
        part = bay_water.paint_water(mirror, canvas, noise, top, bottom, sun=MOONLIGHT, deep=NIGHT_WATER)
        picture[top:bottom] = part

    in_two_threads(water, range(int(np.ceil(HORIZON * height)), height, STRIP))
    _add_moon(picture, canvas)
    _add_jetty(picture, canvas, noise)
    return develop(picture, seed)


def _night_sky(canvas: Canvas, noise: Noise) -> Field:
    dusk = bay_sky.paint_sky(canvas, noise)
    lightness = dusk @ np.array([0.3, 0.5, 0.2], np.float32)
    y, x = canvas.y(0, len(dusk))[:, None], canvas.x[None, :]
    r = np.hypot(x - SUN_X, y - SUN_Y)
    veil = np.exp(-r / 0.20) * 0.055 + np.exp(-r / 0.035) * 0.16
    base = np.array([0.0062, 0.0088, 0.0190], np.float32) * (0.55 + 1.1 * step_between(0.0, 0.43, y))[..., None]
    sky = base + lightness[..., None] * np.array([0.0085, 0.0105, 0.0165], np.float32)
    sky += (veil * (0.55 + 0.45 * np.clip(lightness, 0, 1.5)))[..., None] * np.array([0.90, 0.98, 1.12], np.float32)
    for tall, rough, offset, dark in ((0.050, 3.0, 4.0, 0.0052), (0.026, 6.0, 52.0, 0.0019)):
        ridge = noise.fractal(x * rough * 0.5 + offset, np.float32(offset), 8, gain=0.48)
        top = HORIZON - tall * np.clip(0.7 + 0.8 * ridge, 0.05, None)
        cover = np.clip((y - top) * canvas.height + 0.5, 0, 1)[..., None]
        trees = 1 + 0.5 * noise.fractal(x * 90, y * 130, 4)[..., None]
        sky += (np.array([0.85, 1.0, 1.45], np.float32) * dark * trees - sky) * cover
    return sky


def _add_stars(sky: Field, canvas: Canvas, seed: int) -> None:
    random = np.random.default_rng(seed + 401)
    rows = (random.random(900) ** 1.2 * 0.36 * canvas.height).astype(int)
    columns = (random.random(900) * canvas.width).astype(int)
    bright = 0.012 + 0.35 * random.random(900) ** 7
    tint = 0.85 + 0.3 * random.random((900, 3))
    y = (rows + 0.5) / canvas.height
    bright *= step_between(HORIZON - 0.08, HORIZON - 0.20, y.astype(np.float32))
    sky[rows, columns] += (bright[:, None] * tint).astype(np.float32)


def _add_lamps(sky: Field, canvas: Canvas, seed: int, *, streak: bool) -> None:
    """Windows and lamps along the far shore, each with its halo, or drawn long for the water's mirror; in place."""
    random = np.random.default_rng(seed + 402)
    h = canvas.height
    for _ in range(70):
        place, lift, size, warm = random.random(4)
        cx = 0.80 + 0.62 * float(place) ** 0.8
        cy = HORIZON - 0.002 - 0.017 * float(lift) ** 2.2
        reach = 0.17 if streak else 0.02
        left, top = max(0, int((cx - 0.02) * h)), max(0, int((cy - reach) * h))
        part = sky[top : top + int(2 * reach * h), left : left + int(0.04 * h)]
        y, x = canvas.y(top, top + part.shape[0])[:, None], canvas.x[left : left + part.shape[1]][None, :]
        r = np.hypot(x - cx, y - cy)
        if streak:
            r = np.hypot((x - cx) * 0.55, (y - cy) * np.float32(0.024))
        core = np.exp(-((r / (0.00055 + 0.0005 * float(size))) ** 2)) * 1.8
        halo = np.exp(-r / 0.0032) * 0.05
        tint = (
            LAMP
            * np.array([1.0, 0.8 + 0.35 * float(warm), 0.6 + 0.9 * float(warm)], np.float32)
            * np.float32(0.45 if streak else 1)
        )
        fade = step_between(reach, 0.2 * reach, np.abs(y - cy))
        part += ((core + halo) * fade * (0.35 + float(size)))[..., None] * tint


def _add_moon(picture: Field, canvas: Canvas) -> None:
    h = canvas.height
    top, left = int((SUN_Y - 0.03) * h), int((SUN_X - 0.03) * h)
    part = picture[top : top + int(0.06 * h) + 1, left : left + int(0.06 * h) + 1]
    y, x = canvas.y(top, top + part.shape[0])[:, None], canvas.x[left : left + part.shape[1]][None, :]
    disc = step_between(0.0135, 0.0125, np.hypot(x - SUN_X, y - SUN_Y))
    part += disc[..., None] * np.array([2.2, 2.25, 2.2], np.float32)


def _add_jetty(picture: Field, canvas: Canvas, noise: Noise) -> None:
    """A wet wooden jetty running out from the lower right, its planks just lit; in place."""
    top = int(0.60 * canvas.height)
    y, x = canvas.y(top, canvas.height)[:, None], canvas.x[None, :]
    depth = np.clip((y - 0.60) / 0.40, 1e-3, 1)
    middle, half = 0.93 + 0.14 * depth, 0.018 + 0.20 * depth
    across = (x - middle) / half
    cover = np.clip((1 - np.abs(across)) * half * canvas.height + 0.5, 0, 1)
    away = 3.2 / (0.10 + depth)
    plank = away * 2.0
    gap = np.abs(plank - np.floor(plank) - 0.5)
    grain = noise.fractal(across * 5 + np.floor(plank) * 3.7, plank * 9, 4, gain=0.7, footprint=0.02)
    board = noise(np.floor(plank) * 5.3, np.float32(2.0))
    wet = np.exp(-(((x - SUN_X - 0.32) / 0.30) ** 2)) * (1.1 - 0.75 * depth)
    wood = (
        np.array([0.0065, 0.0070, 0.0090], np.float32) * np.clip(1 + 0.55 * grain + 0.5 * board, 0.1, None)[..., None]
    )
    wood = wood + (wet * np.clip(0.30 + 0.5 * grain, 0, None))[..., None] * MOONLIGHT * np.float32(0.22)
    wood = wood * step_between(0.495, 0.44, gap)[..., None]
    part = picture[top:]
    part *= 1 - 0.75 * (step_between(1.22, 1.0, np.abs(across + 0.06)) * (1 - cover))[..., None]
    part += (wood - part) * cover[..., None]
