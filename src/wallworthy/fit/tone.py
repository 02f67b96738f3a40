"""The tone curve of `whole` and of `detail`: from the master's lightness to the paper's, for this picture.

A paper's black is lighter than the master's, so tones must give way somewhere. Where they give way
is chosen: little where the picture has texture the eye sees, more where it has none, and never far
from the lightness asked for. Defined by this project (docs/why/fit.md).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Way
from wallworthy.fit.bounded import least_within

Array = NDArray[np.float64]

KNOTS: Final = np.linspace(0.0, 100.0, 101)
SLOWEST: Final = 0.35
"""Least slope where the picture has tones: two that could be told apart still can."""
EMPTY_SLOPE: Final = 0.02
FASTEST: Final = 1.12
APART: Final = 0.56
"""Least slope below DEEP_LSTAR: steps of one L* stay apart by a little more than the half that can be told."""
DEEP_LSTAR: Final = 25.0
DEEP: Final = 0.5
"""Slope asked of tones that the paper can't hold: all of it would push up what lies above them."""
DEEP_UNTIL: Final = 0.85
"""Times the paper's black, the middle of the way from DEEP to 1."""
DEEP_WIDTH: Final = 10.0
"""L* that way is long."""
STRAY: Final[Mapping[Way, float]] = MappingProxyType({Way.WHOLE: 0.0002, Way.DETAIL: 0.0006})
"""Price of a dark tone one L* off, squared, against slope lost, squared; `detail` draws out beforehand what is lost."""
STRAY_ABOVE: Final = 4.0
"""How many times dearer mid-tones and lights are: what a picture looks like as a whole hangs on them."""
MIDDLE: Final = (25.0, 50.0)
"""L* between which the price rises."""
BEND: Final = 2.0
"""Price of a change of slope from one L* to the next: no corner that would show as a band."""
SPREAD: Final = 3.0
"""Histograms are smoothed by a bell of this many L*: neighbouring tones are alike."""
DARKEST_SHARE: Final = 0.005
CALM_LSTAR: Final = 6.0
EVEN: Final = 0.15
"""Share of the weights that is the same for all tones, whatever the picture."""


@dataclass(frozen=True, slots=True)
class Tones:
    """What the picture has at each L* of KNOTS: how many pixels, how much visible texture; each sums to 1."""

    share: Array = field(repr=False)
    texture: Array = field(repr=False)
    asked: Array = field(repr=False, default_factory=lambda: np.zeros(len(KNOTS)))
    """How much of it must not suffer, 0 to 1."""

    @staticmethod
    def of(lightness: Array, deviation: Array, weight: Array | None = None) -> Tones:
        """From L* of pixels, the local deviation around each, and how much each matters (1 by default)."""
        weight = np.ones_like(lightness) if weight is None else weight
        asked = 1 - _counted(lightness, np.ones_like(weight)) / np.maximum(_counted(lightness, weight), 1e-12)
        share, texture = _counted(lightness, weight), _counted(lightness, weight * deviation)
        return Tones(_shares(share), _shares(texture), np.where(share > 1e-6 * share.sum(), asked, 0.0))

    @staticmethod
    def together(members: Sequence[Tones]) -> Tones:
        """The tones of a set of pictures; each has the same say, whatever its size."""
        names = ("share", "texture", "asked")
        return Tones(*(np.mean([getattr(one, name) for one in members], axis=0) for name in names))


def tone_curve(tones: Tones, black_lstar: float, way: Way = Way.WHOLE) -> Array:
    """L* of the print at KNOTS (101,): rising, from the paper's black to white.

    Minimises the sum over tones of texture times (wanted slope - slope) squared, plus STRAY times share times
    how far the tone moved, squared, plus BEND times bends; slopes within bounds. A convex problem.
    """
    if black_lstar <= 0:
        return KNOTS.copy()
    count = len(KNOTS) - 1
    # the farther the picture's own darkest tones lie above the paper's black, the less is there to do
    darkest = float(np.interp(DARKEST_SHARE, np.cumsum(tones.share), KNOTS))
    calm = float(np.clip((darkest - black_lstar) / CALM_LSTAR, 0, 1))
    even, bend = EVEN * (1 - calm) + 0.002, BEND * (1 - calm) + 0.2
    between = (tones.texture[1:] + tones.texture[:-1]) / 2 * count
    texture = (1 - even) * between + even
    here = (tones.share[1:] + tones.share[:-1]) / 2 * count
    low = EMPTY_SLOPE + (SLOWEST - EMPTY_SLOPE) * np.clip(here / 0.05, 0, 1)
    middles = (KNOTS[1:] + KNOTS[:-1]) / 2
    low = np.where(middles < DEEP_LSTAR, np.maximum(low, APART), low)
    wanted = DEEP + (1 - DEEP) * np.clip((middles - DEEP_UNTIL * black_lstar) / DEEP_WIDTH + 0.5, 0, 1)
    wanted += (1 - wanted) * np.clip((tones.asked[1:] + tones.asked[:-1]) / 2, 0, 1)
    low *= min(1.0, 0.9 * (100 - black_lstar) / low.sum())
    above = np.triu(np.ones((count, count)))
    price = STRAY[way] * (1 + (STRAY_ABOVE - 1) * np.clip((KNOTS[:-1] - MIDDLE[0]) / (MIDDLE[1] - MIDDLE[0]), 0, 1))
    strays = price * (1 + 50 * calm) * ((1 - even) * tones.share[:-1] * count + even)
    bends = (np.eye(count, k=1) - np.eye(count))[:-1]
    # tones by slopes: T(i) = 100 - sum of slopes from i on, so that white stays white
    square = np.diag(texture) + above.T @ (strays[:, None] * above) + bend * bends.T @ bends
    pull = texture * wanted + above.T @ (strays * above.sum(axis=1))
    slopes = least_within(square, pull, low, np.full(count, FASTEST), total=100 - black_lstar)
    return np.concatenate([[black_lstar], black_lstar + np.cumsum(slopes)])


def _counted(lightness: Array, weight: Array) -> Array:
    """Weights by L* of KNOTS, smoothed, (101,)."""
    found, _ = np.histogram(np.clip(lightness, 0, 100), bins=101, range=(-0.5, 100.5), weights=weight)
    steps = np.arange(-12, 13)
    bell = np.exp(-((steps / SPREAD) ** 2) / 2)
    padded = np.pad(found.astype(np.float64), 12)
    smooth = np.convolve(padded, bell / bell.sum(), mode="same").astype(np.float64)
    inner = smooth[12:-12].copy()
    inner[:12] += smooth[:12][::-1]
    inner[-12:] += smooth[-12:][::-1]
    return np.asarray(inner, dtype=np.float64)


def _shares(counted: Array) -> Array:
    return counted / max(float(counted.sum()), 1e-12)
