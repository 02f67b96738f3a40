"""The blue-noise mask behind the dither: made by the void-and-cluster method, in whole numbers, so that every
machine makes the same one. It takes a tenth of a second, so the program reads what scripts/pages/mask.py wrote.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ranks = NDArray[np.uint16]

MASK_EDGE: Final = 64
RANKS_FILE: Final = Path(__file__).with_name("blue_noise.bin")
"""4096 ranks, little-endian, row by row."""


def mask_ranks() -> Ranks:
    """The order in which the mask's places take ink, (64, 64): each of 0 to 4095 once."""
    return np.fromfile(RANKS_FILE, dtype="<u2").astype(np.uint16).reshape(MASK_EDGE, MASK_EDGE)


def made_ranks() -> Ranks:
    """The same, made anew. Source: Ulichney1993."""
    edge = MASK_EDGE
    count = edge * edge
    distance = np.minimum(np.arange(edge), edge - np.arange(edge)).astype(np.float64)
    bell = np.exp(-(distance[:, None] ** 2 + distance**2) / (2 * 1.5**2))
    kernel = np.tile(np.rint(bell * 2**40).astype(np.int64), (2, 2))
    on = np.zeros((edge, edge), bool)
    on.flat[np.random.default_rng(1993).permutation(count)[: count // 10]] = True
    energy = np.zeros((edge, edge), np.int64)

    def switch(index: int, value: bool) -> None:
        row, column = divmod(index, edge)
        on[row, column] = value
        spread = kernel[edge - row : 2 * edge - row, edge - column : 2 * edge - column]
        np.add(energy, spread if value else -spread, out=energy)

    def cluster() -> int:
        return int(np.argmax(np.where(on, energy, -1)))

    def void() -> int:
        return int(np.argmin(np.where(on, np.iinfo(np.int64).max, energy)))

    for index in np.flatnonzero(on):
        switch(int(index), True)
    while True:  # even out the first pattern
        tight = cluster()
        switch(tight, False)
        loose = void()
        switch(loose, True)
        if tight == loose:
            break
    rank = np.zeros(count, np.int64)
    first, first_energy = on.copy(), energy.copy()
    for place in range(count // 10 - 1, -1, -1):
        index = cluster()
        switch(index, False)
        rank[index] = place
    on[:], energy[:] = first, first_energy
    for place in range(count // 10, count):
        index = void()
        switch(index, True)
        rank[index] = place
    return rank.astype(np.uint16).reshape(edge, edge)
