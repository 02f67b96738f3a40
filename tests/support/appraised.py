"""Pictures with a known sharpness, noise or fault, and how the appraisal looks at them."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.appraisal import Appraisal, Picture, appraise
from wallworthy.appraise.grade import setting_of
from wallworthy.appraise.look import ROWS, Look, look_at
from wallworthy.base.records import Box, Way
from wallworthy.colour.float32 import pixels_of, planes_of, working_to_lab32
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.master.convert import route_of

Photo = NDArray[np.uint8]
Field = NDArray[np.float64]


def edge_field(sigma_px: float, degrees: float, size: int = 192, low: float = 0.3, high: float = 0.7) -> Field:
    """A slanted edge under a Gaussian of that deviation, by its closed form at pixel centres, (size, size)."""
    y, x = np.mgrid[0:size, 0:size] - (size - 1) / 2
    turn = math.radians(degrees)
    away = (x + 0.13) * math.cos(turn) + y * math.sin(turn)
    rise = np.vectorize(lambda d: 0.5 * math.erfc(-d / (sigma_px * math.sqrt(2))))(away)
    return low + (high - low) * rise


FINE = 4
"""The scene of corners is drawn this many times as fine, then averaged."""


@lru_cache(maxsize=2)
def _drawn_corners(size: int, number: int) -> Field:
    """The scene of corners before any blur, (4 size, 4 size); each block is drawn within the square it reaches."""
    random = np.random.default_rng(number)
    at = np.arange(size * FINE) / FINE
    field = np.full((size * FINE, size * FINE), 0.5)
    for _ in range(34):
        row, column = random.uniform(0, size, 2)
        tall, wide = random.uniform(24, 90, 2)
        turn = random.uniform(0, math.pi)
        reach = math.hypot(tall, wide) / 2
        rows, columns = (
            slice(*np.searchsorted(at, (middle - reach, middle + reach + 1 / FINE))) for middle in (row, column)
        )
        y, x = at[rows, None], at[None, columns]
        u = (x - column) * math.cos(turn) + (y - row) * math.sin(turn)
        v = (y - row) * math.cos(turn) - (x - column) * math.sin(turn)
        field[rows, columns][(np.abs(u) < wide / 2) & (np.abs(v) < tall / 2)] = random.uniform(0.2, 0.85)
    field.setflags(write=False)
    return field


@lru_cache(maxsize=16)
def corners(sigma_px: float = 0.4, size: int = 384, number: int = 1) -> Field:
    """A sharp scene of bars and blocks at many angles, 0-1, (size, size), read only; drawn 4 times as fine."""
    from scipy.ndimage import gaussian_filter

    field = _drawn_corners(size, number)
    soft = gaussian_filter(field, sigma_px * FINE) if sigma_px > 0 else field
    scene = soft.reshape(size, FINE, size, FINE).mean(axis=(1, 3))
    scene.setflags(write=False)
    return scene


def natural(number: int, side: int = 256, blur: float = 0.0, fall: float = 2.4) -> Field:
    """Texture whose power falls with frequency to the power `fall`, under a Gaussian blur; mean 0.5, deviation 0.12."""
    random = np.random.default_rng(number)
    f = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :])
    f[0, 0] = 1
    waves = np.fft.rfft2(random.normal(0, 1, (side, side))) * f ** (-fall / 2)
    waves *= np.exp(-2 * (math.pi * blur * f) ** 2)
    waves[0, 0] = 0
    field = np.fft.irfft2(waves, (side, side))
    return 0.5 + 0.12 * field / field.std()


def photo_of(field: Field) -> Photo:
    """A field 0-1 as a grey photo in bytes."""
    return np.repeat(np.clip(np.rint(field * 255), 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def sky(number: int, side: int = 640, noise: float = 1.0) -> Field:
    """A smooth sky with faint clouds and noise, codes of 255."""
    from scipy.ndimage import zoom

    random = np.random.default_rng(number)
    y, x = np.mgrid[0:side, 0:side] / side
    field = 150 + 60 * random.random() * y + 20 * (random.random() - 0.5) * x
    clouds = zoom(random.normal(0, 1, (8, 8)), side / 8, order=3)[:side, :side]
    return field + 4 * random.random() * clouds + random.normal(0, noise, (side, side))


def looked_at(samples: NDArray[Any], profile: bytes | None = None) -> Look:
    """What one pass sees of RGB samples (H, W, 3), sRGB unless a profile is given."""
    route = route_of(parse_profile(profile or srgb_profile()), samples.dtype, Way.RELATIVE)
    strips = [np.ascontiguousarray(samples[row : row + ROWS]) for row in range(0, samples.shape[0], ROWS)]
    return look_at(((strip, route(strip)[0]) for strip in strips), samples.shape[1], samples.shape[0])


def appraised(
    samples: NDArray[Any],
    width_mm: float = 300.0,
    distance_mm: float = 400.0,
    profile: bytes | None = None,
    ratio: float | None = None,
    subject: Box | None = None,
) -> Appraisal:
    """A picture as a print of that width from that distance."""
    look = looked_at(samples, profile)
    lab = pixels_of(working_to_lab32(planes_of(look.small.reshape(-1, 3))))
    size = (width_mm, width_mm * samples.shape[0] / samples.shape[1])
    bits = 8 * samples.dtype.itemsize
    return appraise(look, lab, Picture(size, distance_mm, setting_of(None, None), bits, "RGB", ratio, (0, 0), subject))


def kinds(found: Appraisal) -> set[str]:
    return {one.kind for one in found.findings}
