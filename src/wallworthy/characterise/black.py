"""How much black ink a colour is wished to have: one smooth rule of lightness and chroma."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
BlackAmount = Literal["light", "medium", "heavy"]

EXPONENTS: Final[dict[BlackAmount, float]] = {"light": 2.2, "medium": 1.5, "heavy": 1.0}
CHROMA_FADE: Final = 0.7
CHROMA_HALF: Final = 30.0


def black_rule(lab: Array, start_lstar: float, darkest_lstar: float, amount: BlackAmount = "medium") -> Array:
    """Black ink wished for, 0-1 (N,), for media-relative Lab (N, 3).

    On neutrals it rises from 0 at `start_lstar` to 1 just above the darkest neutral that can be printed,
    `darkest_lstar`, as a power of the way (light 2.2, medium 1.5, heavy 1). Chroma takes up to 70 % of it
    away, less the darker the colour: dark colours keep their black, so that the ink limit is rarely met.
    The inversion departs from it only where the colour or the ink limit asks. Common practice, no source.

    >>> black_rule(np.array([[90.0, 0.0, 0.0], [5.0, 0.0, 0.0]]), 75.0, 16.0).tolist()
    [0.0, 1.0]
    """
    full = darkest_lstar + 1.0
    way = np.clip((start_lstar - lab[:, 0]) / max(start_lstar - full, 10.0), 0, 1)
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    light = np.clip((lab[:, 0] - full) / 35.0, 0, 1)
    fade = CHROMA_FADE * chroma / (chroma + CHROMA_HALF) * light * light * (3 - 2 * light)
    return way ** EXPONENTS[amount] * (1 - fade)
