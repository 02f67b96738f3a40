"""Traces of lossy compression: the steps its coefficients were rounded to, and the seams of its blocks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from wallworthy.raster.filters import block_transforms

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

PATCH: Final = 16
"""Side of a patch: whichever way the grid lies, one whole block of 8 x 8 is inside."""

COEFFICIENTS: Final = ((0, 1), (1, 0), (1, 1), (0, 2), (2, 0), (2, 1), (1, 2), (0, 3), (3, 0), (2, 2))
STEPS: Final = np.arange(3, 61)
FEWEST_BLOCKS: Final = 60
CLEAR: Final = 0.45
"""Mean of cos(2 pi c / q) over coefficients c from which they count as rounded to multiples of q."""


@dataclass(frozen=True, slots=True)
class Compression:
    """What was found: the steps of the first coefficients (codes of 255), the grid's offset, seams in codes of 255."""

    step: float
    offset_px: tuple[int, int]
    seam: float
    quality: float
    """About the quality setting (1-100) of the usual tables; an estimate."""


def patches_of(samples: NDArray[Any], count: int, draw: int) -> Floats:
    """`count` patches of a strip's luma, 0-255, at places that are multiples of 8, busy ones first.

    samples: (rows, columns, channels); only RGB and grey of whole numbers have a luma that compression works on.
    """
    rows, columns = (samples.shape[0] - PATCH) // 8 + 1, (samples.shape[1] - PATCH) // 8 + 1
    if rows < 1 or columns < 1 or samples.shape[2] not in (1, 3) or samples.dtype.kind == "f":
        return np.zeros((0, PATCH, PATCH), np.float32)
    random = np.random.default_rng(draw)
    index = np.unique(random.integers(0, rows * columns, 3 * count))
    r, c = index // columns * 8, index % columns * 8
    found = _luma(sliding_window_view(samples, (PATCH, PATCH), axis=(0, 1))[r, c])
    spread = found.std(axis=(1, 2))
    inside = (found.min(axis=(1, 2)) > 3) & (found.max(axis=(1, 2)) < 252) & (spread > 1.0)
    found, spread = found[inside], spread[inside]
    return np.ascontiguousarray(found[np.argsort(-spread, kind="stable")[:count]], dtype=np.float32)


def _luma(samples: NDArray[Any]) -> Floats:
    """Rec. 601 luma, 0-255, of grey or RGB samples (n, channels, rows, columns)."""
    scale = np.float32(255.0 / float(np.iinfo(samples.dtype).max))
    if samples.shape[1] == 1:
        return samples[:, 0] * scale
    red, green, blue = (samples[:, i] * (scale * np.float32(w)) for i, w in enumerate((0.299, 0.587, 0.114)))
    return red + green + blue


def find_compression(patches: Floats) -> Compression | None:
    """Whether these patches (n, 16, 16) were compressed in blocks of 8 x 8; None when nothing says so.

    The grid is looked for at all 64 offsets. Rounded coefficients lie on multiples of a step, which a picture that
    was never compressed does not do at any offset. Source: T81 for blocks, coefficients and their tables.
    """
    if len(patches) < FEWEST_BLOCKS:
        return None
    offset, regular = _grid(patches)
    if regular is None:
        return None
    row, column = offset
    # steps of the usual luminance table at the first coefficients, quality 50
    table = {(0, 1): 11, (1, 0): 12, (1, 1): 12, (0, 2): 10, (2, 0): 14, (2, 1): 13, (1, 2): 14, (0, 3): 16, (3, 0): 14}
    ratios = [step / table[place] for place, step in regular.items() if place in table]
    scale = 100 * float(np.median(ratios)) if ratios else 100.0
    quality = 100 - scale / 2 if scale <= 100 else 5000 / scale
    return Compression(
        step=float(np.median(list(regular.values()))),
        offset_px=(row, column),
        seam=_seam(patches, row, column),
        quality=float(np.clip(quality, 1, 100)),
    )


def _grid(patches: Floats) -> tuple[tuple[int, int], dict[tuple[int, int], int] | None]:
    """The offset at which most coefficients are regular, and their steps there; None when too few are."""
    best: dict[tuple[int, int], int] = {}
    where = (0, 0)
    for row in range(8):
        for column in range(8):
            blocks = patches[:240, row : row + 8, column : column + 8]
            found = _regular(block_transforms(np.ascontiguousarray(blocks)), COEFFICIENTS[:5])
            if len(found) > len(best):
                best, where = found, (row, column)
    if len(best) < 2:
        return where, None
    row, column = where
    every = _regular(block_transforms(np.ascontiguousarray(patches[:, row : row + 8, column : column + 8])))
    return where, every if len(every) >= 4 else None


def _regular(coefficients: Floats, places: tuple[tuple[int, int], ...] = COEFFICIENTS) -> dict[tuple[int, int], int]:
    """The step of each coefficient whose values lie on multiples of one."""
    found: dict[tuple[int, int], int] = {}
    for place in places:
        values = coefficients[:, place[0], place[1]]
        # small values lie near a multiple (zero) of any large step and tell nothing
        for_step = np.abs(values)[:, None]
        inside = for_step > 0.25 * STEPS
        count = inside.sum(axis=0)
        comb = (np.cos(2 * np.pi * for_step / STEPS) * inside).sum(axis=0) / np.maximum(count, 1)
        clear = (count >= 24) & (comb > np.maximum(CLEAR, 4.0 / np.sqrt(2 * np.maximum(count, 1))))
        if clear.any():
            found[place] = int(STEPS[np.flatnonzero(clear)[-1]])
    return found


def _seam(patches: Floats, row: int, column: int) -> float:
    """How much larger differences across the blocks' seams are than beside them, in codes of 255."""
    across, down = np.abs(np.diff(patches, axis=2)), np.abs(np.diff(patches, axis=1))
    at_c, at_r = (column - 1) % 8, (row - 1) % 8
    seam = np.median(across[:, :, at_c]) + np.median(down[:, at_r])
    beside = [np.median(across[:, :, (at_c + k) % 8]) + np.median(down[:, (at_r + k) % 8]) for k in (2, 3, 4, 5, 6)]
    return max(0.0, float(seam - np.mean(beside)) / 2)
