"""Motion: a blur that runs one way takes the fine detail of every direction but the one across from it.

A picture of one kind of line, such as a single horizon, looks alike; so the detail that is left must lie about, not
along one line. Still it is only ever 'perhaps'.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.spectrum import FREQUENCY_OF_POWER
from wallworthy.raster.filters import sampled

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

WAYS: Final = 8
"""Directions of detail told apart, of 22.5 degrees each."""

BAND: Final = (0.18, 0.30)
"""Where detail is counted, cycles per pixel: fine, and still clear of ordinary noise."""

RICHEST: Final = 0.03
FEWEST_RICHEST: Final = 4
FEWEST_SQUARES: Final = 40

LEAST_DB: Final = 10.0
"""One direction's finest detail must be stronger than any other's, but its neighbours', by so much; pictures of brick,
print and lattices stay below."""

ROUNDEST: Final = 0.15
"""Places whose width is less than this share of their length lie along a line."""

SHORTEST_PX: Final = 6.0
"""A shorter motion leaves too much of the other directions to be found."""

LINE: Final = 128
LAGS: Final = (4, 60)
"""Lengths of motion looked for, in pixels."""

EVEN: Final = 0.15
"""A box's spectrum repeats its gaps so clearly; pictures that did not move stay below 0.12, most below 0.05."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A blur that runs one way: its direction in degrees from the horizontal, downwards to the right (0-180), its
    length in pixels; None when the motion was not even, so that it has none."""

    direction_deg: float
    length_px: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Directed:
    """Fine detail of squares by direction, (n, 8) mean power, and where they lie, (n, 2) row, column."""

    power: Array
    place: Array


def directed(power: Floats, place: Array) -> Directed:
    """The fine detail of squares by direction, from their powers (n, 544) as `powers_of` states them."""
    order, first, counts = _ways()
    return Directed((np.add.reduceat(power[:, order], first, axis=1) / counts).astype(np.float64), place)


@cache
def _ways() -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """The places of half spectra direction by direction; where each begins; how many they are."""
    down, across = FREQUENCY_OF_POWER
    radius = np.hypot(down, across)
    way = np.rint(np.mod(np.arctan2(down, across), np.pi) / np.pi * WAYS).astype(np.intp) % WAYS
    places = [np.flatnonzero((radius >= BAND[0]) & (radius < BAND[1]) & (way == number)) for number in range(WAYS)]
    counts = np.array([len(one) for one in places])
    return np.concatenate(places), np.cumsum(counts) - counts, counts


def find_motion(parts: list[Directed], tones: list[Floats]) -> Motion | None:
    """Whether the finest detail is left in one direction only; None when nothing says so.

    parts: the squares of each tile; tones: the tiles (rows, columns), 0-1. Each direction is judged by the squares
    that hold most of it.
    """
    power = np.concatenate([part.power for part in parts]) if parts else np.zeros((0, WAYS))
    if len(power) < FEWEST_SQUARES:
        return None
    place = np.concatenate([part.place for part in parts])
    count = max(FEWEST_RICHEST, round(RICHEST * len(power)))
    richest = np.partition(power, -count, axis=0)[-count:].mean(axis=0)
    level = 10 * np.log10(np.maximum(richest, 1e-12))
    left = int(np.argmax(level))
    others = np.roll(level, -left)[2:-1]
    chosen = np.argsort(-power[:, left], kind="stable")[:count]
    if level[left] - float(others.max()) < LEAST_DB or _in_a_line(place[chosen]):
        return None
    before, at, after = np.roll(richest, 1 - left)[:3]
    normal = (left + (after - before) / (before + at + after)) * 180 / WAYS
    direction = float(normal + 90) % 180
    depth, length = _gaps(tones, direction)
    return Motion(direction, length if depth >= EVEN else None)


def _in_a_line(place: Array) -> bool:
    """Whether places (n, 2) lie along one line."""
    small, large = np.linalg.eigvalsh(np.cov(place.T))
    return float(small) < ROUNDEST**2 * float(large)


def _gaps(tones: list[Floats], direction_deg: float) -> tuple[float, float]:
    """How clearly the spectrum along a direction has evenly spaced gaps, as an even motion leaves them, and the length
    of that motion in pixels."""
    lines = np.concatenate([_lines(tone, math.radians(direction_deg)) for tone in tones])
    if len(lines) == 0:
        return 0.0, 0.0
    slope = np.diff(lines.astype(np.float64), axis=1)
    slope = (slope - slope.mean(axis=1, keepdims=True)) * np.hanning(LINE - 1)
    level = np.log((np.abs(np.fft.rfft(slope, 2 * LINE, axis=1)) ** 2).sum(axis=0) + 1e-12)
    frequency = np.fft.rfftfreq(2 * LINE)
    known = frequency > 3 / (2 * LINE)
    at = frequency[known]
    trend = np.stack([np.ones_like(at), np.log(at), at, at**2], axis=1)
    rest = np.zeros_like(level)
    rest[known] = level[known] - trend @ np.linalg.lstsq(trend, level[known], rcond=None)[0]
    # beyond, the sampling between pixels has its own say
    repeats = np.fft.irfft(np.where(frequency < 0.42, rest, 0.0))
    lag = LAGS[0] + int(np.argmin(repeats[LAGS[0] : LAGS[1]]))
    before, middle, after = (float(v) for v in repeats[lag - 1 : lag + 2])
    bow = before - 2 * middle + after
    return -middle, lag + ((before - after) / (2 * bow) if bow > 0 else 0.0)


def _lines(tone: Floats, turn: float) -> Floats:
    """Lines of a tile at an angle (radians), two pixels apart, as far as they lie inside it: (n, 128)."""
    height, width = tone.shape
    along = np.arange(LINE) - (LINE - 1) / 2
    beside = np.arange(-max(height, width) / 2, max(height, width) / 2, 2.0)[:, None]
    x = (width - 1) / 2 + along * math.cos(turn) - beside * math.sin(turn)
    y = (height - 1) / 2 + along * math.sin(turn) + beside * math.cos(turn)
    inside = ((x >= 0) & (x <= width - 1) & (y >= 0) & (y <= height - 1)).all(axis=1)
    if not inside.any():
        return np.zeros((0, LINE), np.float32)
    return sampled(tone, x[inside].astype(np.float32), y[inside].astype(np.float32))
