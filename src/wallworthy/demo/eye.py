"""The demo's virtual eye: it wants the print otherwise than the plain fit gives it, and says what it sees.

It is never told a tile's correction: it compares the printed tile with the print it has in mind, both as
Lab pictures, chooses by how far they lie apart, and names the difference that strikes it most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Correction
from wallworthy.colour.ciede2000 import ciede2000

Floats = NDArray[np.floating]

WANTED: Final = Correction(lightness=5.0, contrast=1.05, shadow=2.0, blue_yellow=-1.5, chroma=1.06)
"""What the demo's person wants of this picture on this paper, in this light. Invented."""

DECIDEDNESS: Final = float(np.log(3))
"""Utility lost for each image JND (2 dE00): at one JND's difference three of four choose right."""
RIGHT_DE00: Final = 2.0
CLEARLY_DE00: Final = 2.0


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the eye says of a sheet: best and next best tile by place, and a word on the best."""

    best: int
    next: int | None
    word: str


def distance_de00(printed: Floats, wished: Floats) -> float:
    """How far a print lies from the one in mind: root mean square dE00 of two Lab pictures (H, W, 3)."""
    return float(np.sqrt(np.mean(ciede2000(printed, wished) ** 2)))


def look(tiles: Sequence[Floats], wished: Floats, seed: int) -> Opinion:
    """Judge printed tiles (Lab, each of the wished print's shape) with a chooser's noise, seeded."""
    distances = np.array([distance_de00(tile, wished) for tile in tiles])
    noise = np.random.default_rng(seed).gumbel(size=len(tiles))
    order = np.argsort(DECIDEDNESS * distances / 2.0 - noise)
    best = int(order[0])
    return Opinion(best, int(order[1]) if len(order) > 1 else None, striking(tiles[best], wished))


def striking(printed: Floats, wished: Floats) -> str:
    """The difference that strikes most, in words, with its grade; 'right' when nothing does."""
    if distance_de00(printed, wished) < RIGHT_DE00:
        return "right"
    lightness = wished[..., 0]
    gap = np.asarray(printed, dtype=np.float64) - wished
    dark = lightness <= np.quantile(lightness, 0.15)
    chroma = np.hypot(printed[..., 1], printed[..., 2]) - np.hypot(wished[..., 1], wished[..., 2])
    slope = np.polyfit(lightness.ravel(), np.asarray(printed[..., 0]).ravel(), 1)[0] - 1
    mean = gap.mean(axis=(0, 1))
    seen = {
        ("too light", "too dark"): mean[0],
        ("too strong", "too soft"): 25 * slope,
        ("shadows too open", "shadows too deep"): gap[dark][:, 0].mean() - mean[0],
        ("too red", "too green"): mean[1],
        ("too yellow", "too blue"): mean[2],
        ("too much colour", "too little colour"): 0.5 * chroma.mean(),
    }
    (much, little), amount = max(seen.items(), key=lambda item: abs(item[1]))
    grade = "clearly " if abs(amount) > CLEARLY_DE00 else "a touch "
    return grade + (much if amount > 0 else little)
