"""How far up detail reaches, from the spectrum of the busiest places: grass, hair, stone, which have no clean edges.

Detail of natural pictures loses power with frequency in much the same way whatever they show; blur takes more, and
in a curve of its own. Noise is taken off as the calmest places show it; what it hides is not claimed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

SIDE: Final = 32
RINGS: Final = np.arange(1, SIDE // 2 + 1) / SIDE
"""Cycles per pixel at which spectra are stated."""

FREQUENCY_OF_POWER: Final = (np.repeat(np.fft.fftfreq(SIDE), SIDE // 2 + 1), np.tile(np.fft.rfftfreq(SIDE), SIDE))
"""Cycles per pixel down and across of each power of a square, (544,) each."""

CORNERS: Final = 0.6
"""Spectra are finer than any ring from here on: along both diagonals."""

FALL: Final = 2.4
FALL_SPREAD: Final = 0.3
"""Natural detail loses power with frequency to this power, more or less (Field1987 and many since: 2 to 2.8)."""

FURTHEST_FALL: Final = 0.9
"""Spectra that fall otherwise by more than this are not those of natural detail and tell nothing."""

LEAST_DOUBT: Final = 0.06

SCATTER_DB: Final = 1.5
"""How far a picture's own spectrum strays from that at any frequency."""

ABOVE: Final = 3.0
"""Detail counts from this many times the noise on."""

FLOOR_SPREAD: Final = 0.3
"""How well the noise is known, as a share of it."""

NATURAL_DB: Final = -9.5
"""A spectrum that never falls further below the natural one than this is that of a picture sharp at its own pixels;
one enlarged twice by a cubic lies at twice that and more."""

NATURAL_LOSSY_DB: Final = -6.0
"""The same where compression has left fine detail of its own."""

HIGHEST_DB: Final = 9.0
"""Above the natural one by so much it is noise, whatever the calm places hold."""

BEYOND: Final = 1.25
"""Where detail would reach further than this beyond what stands clear of noise, noise hides how far."""

BUSIEST: Final = 1 / 20
FEWEST_SQUARES: Final = 6
FEWEST_RINGS: Final = 5
BLUR_DB: Final = 20 * 2 * math.pi**2 / math.log(10)
"""A Gaussian of a pixel takes so many decibels at f = 1: BLUR_DB sigma^2 f^2."""

TEXTURE_FALL_DB: Final = 10.0
TEXTURE_LEAST: Final = 0.02
"""Where even the calmest places fall so much towards the finest and still hold so much of it, they are texture."""


@dataclass(frozen=True, slots=True)
class Reach:
    """Frequency at which detail is gone, cycles per pixel; its relative doubt; whether it is there all the way up to
    the finest frequency as in any sharp picture."""

    cycles_per_px: float
    doubt: float
    natural: bool


def squares_of(tone: Floats, hop: int) -> tuple[Floats, Array]:
    """Squares of a tile (rows, columns), one every `hop` pixels: (n, 32, 32), and their corners (n, 2)."""
    if min(tone.shape) < SIDE:
        return np.zeros((0, SIDE, SIDE), np.float32), np.zeros((0, 2))
    found = sliding_window_view(tone, (SIDE, SIDE))[::hop, ::hop]
    place = np.stack(np.meshgrid(*(np.arange(n) * float(hop) for n in found.shape[:2]), indexing="ij"), axis=-1)
    return found.reshape(-1, SIDE, SIDE), place.reshape(-1, 2)


def spectra_of(squares: Floats) -> Array:
    """Power of squares (n, 32, 32) by ring, that of the corners, and their mean, (n, 18).

    White noise has its variance everywhere.
    """
    return by_ring(powers_of(squares), squares)


def powers_of(squares: Floats) -> Floats:
    """Power of squares (n, 32, 32) at each of FREQUENCY_OF_POWER, (n, 544); white noise has its variance everywhere."""
    window = _window_and_rings()[0]
    mean = squares.mean(axis=(1, 2), keepdims=True)
    waves = np.fft.rfft2((squares - mean) * window).reshape(len(squares), len(FREQUENCY_OF_POWER[0]))
    return (waves.real**2 + waves.imag**2).astype(np.float32)


def by_ring(power: Floats, squares: Floats) -> Array:
    """Powers (n, 544) by ring, those of the corners, and the mean of their squares, (n, 18)."""
    if len(power) == 0:
        return np.zeros((0, len(RINGS) + 2))
    _, order, first = _window_and_rings()
    # ring by ring rather than by a matrix, which would wake the threads of the library under numpy
    sums = np.add.reduceat(power[:, order], first, axis=1) / np.diff(np.append(first, len(order)))
    return np.hstack([sums, squares.mean(axis=(1, 2))[:, None]]).astype(np.float64)


@cache
def _window_and_rings() -> tuple[Floats, NDArray[np.intp], NDArray[np.intp]]:
    """The window; the places of half spectra ring by ring, the corners last; and where each ring begins."""
    edge = np.hanning(SIDE + 2)[1:-1]
    window = np.outer(edge, edge)
    window /= math.sqrt(float((window**2).sum()))
    radius = np.hypot(*FREQUENCY_OF_POWER)
    places = [np.flatnonzero(np.abs(radius - ring) < 0.5 / SIDE) for ring in RINGS]
    places.append(np.flatnonzero(radius > CORNERS))
    first = np.cumsum([0, *(len(place) for place in places[:-1])])
    return window.astype(np.float32), np.concatenate(places), first


def reach_of(busy: Array, calm: Array, noise: Array, last_seen: float, *, lossy: bool = False) -> Reach | None:
    """How far detail reaches; None when noise hides too much of it.

    busy: spectra of all squares looked at, of which the busiest count; calm: those of the calmest; noise: the power
    it has at least at each L*, (101,); last_seen: modulation at which detail counts as gone; lossy: was compressed.
    """
    if len(busy) < FEWEST_SQUARES:
        return None
    fine = busy[:, 7:12].sum(axis=1)
    most = np.argsort(-fine, kind="stable")[: max(FEWEST_SQUARES, round(BUSIEST * len(busy)))]
    power = busy[most, :-2].mean(axis=0)
    tones = np.clip(np.rint(100 * busy[most, -1]), 0, 100).astype(np.intp)
    floor = np.maximum(noise_floor(calm), noise[tones].mean())
    clear = power > ABOVE * floor
    count = len(clear) if clear.all() else int(np.argmin(clear))
    if count - 1 < FEWEST_RINGS:
        return None
    over = 10 * np.log10((power - floor)[1:count])
    natural = over + FALL * 10 * np.log10(RINGS[1:count])
    natural -= natural[:3].mean()
    if natural.max() > HIGHEST_DB:
        return None
    limit = NATURAL_LOSSY_DB if lossy else NATURAL_DB
    if count == len(clear) and float(np.convolve(natural, np.ones(3) / 3, mode="valid").min()) > limit:
        return Reach(0.5, LEAST_DOUBT, True)
    unsure = 10 * np.log10(1 + FLOOR_SPREAD * floor[1:count] / (power - floor)[1:count])
    scatter = np.hypot(SCATTER_DB, unsure)
    return _fitted(over, RINGS[1:count], scatter, -20 * math.log10(last_seen))


def noise_floor(calm: Array) -> Array:
    """Power of noise by ring, (16,), from the calmer half of the calmest squares.

    Where these are texture themselves, noise can be no more than what their corners hold, half of which at the
    least is texture too: white noise would be as strong there as anywhere and never stand out of it three times.
    """
    if len(calm) < FEWEST_SQUARES:
        return np.zeros(len(RINGS))
    half = np.argsort(calm[:, :-1].sum(axis=1), kind="stable")[: max(FEWEST_SQUARES, len(calm) // 2)]
    floor = np.median(calm[half], axis=0)
    top = float(floor[13:16].mean())
    if top > TEXTURE_LEAST**2 and 10 * math.log10(float(floor[1:4].mean()) / top) > TEXTURE_FALL_DB:
        return np.full(len(RINGS), floor[-2] / 2)
    return floor[:-2]


def _fitted(level: Array, rings: Array, scatter: Array, gone_db: float) -> Reach | None:
    """Natural fall and a Gaussian's blur fitted to a spectrum in decibels."""
    columns = np.stack([np.ones(len(rings)), 10 * np.log10(rings * 8), -BLUR_DB * rings**2], axis=1)
    design = np.vstack([columns / scatter[:, None], [0, 1 / FALL_SPREAD, 0]])
    found, smear = np.zeros(3), np.zeros(len(rings))
    for _ in range(3):
        natural = level - smear + FALL * 10 * np.log10(rings * 8)
        found = np.linalg.lstsq(design, np.append(natural / scatter, 0), rcond=None)[0]
        smear = _smear(rings, FALL - float(found[1]), max(float(found[2]), 0.0))
    if abs(float(found[1])) > FURTHEST_FALL:
        return None
    unsure = math.sqrt(float(np.linalg.inv(design.T @ design)[2, 2]))
    blur = max(float(found[2]), 1e-6)
    if math.sqrt(gone_db / (BLUR_DB * blur)) > BEYOND * rings[-1] and rings[-1] < RINGS[-1]:
        return None
    reach, lowest = (min(0.5, math.sqrt(gone_db / (BLUR_DB * b))) for b in (blur, blur + unsure))
    return Reach(reach, max(LEAST_DOUBT, 1 - lowest / reach), False)


def _smear(rings: Array, fall: float, blur: float) -> Array:
    """Decibels by which the window's own width lifts a spectrum that falls steeply."""

    def power(at: Array) -> Array:
        return np.maximum(at, 0.5 / SIDE) ** -fall * 10 ** (-BLUR_DB * blur * at**2 / 10)

    beside = 0.25 * (power(rings - 1 / SIDE) + power(rings + 1 / SIDE))
    return 10 * np.log10((power(rings) + beside) / (1.5 * power(rings)))
