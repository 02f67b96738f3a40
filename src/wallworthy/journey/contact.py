"""The contact picture: small proofs side by side on a grey table, each on its own paper's white with its name."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.raster.drawing import resized_bytes
from wallworthy.trial.lettering import fitting, letter_cover

Bytes = NDArray[np.uint8]

EDGE_PX: Final = 640
BORDER_PX: Final = 24
GAP_PX: Final = 28
CAPITAL_PX: Final = 15.0
LINE_PX: Final = 30
TABLE: Final = 200
INK: Final = 45


@dataclass(frozen=True, slots=True)
class Shown:
    """A proof for the display, (H, W, 3), the paper's white on that display, and two lines under it."""

    image: Bytes = field(repr=False)
    white: Bytes = field(repr=False)
    name: str
    line: str


def contact_picture(shown: Sequence[Shown], columns: int | None = None) -> Bytes:
    """All in rows, (H, W, 3) uint8 in the display's space; `columns` in a row, or as the whole is squarest."""
    sizes = [_fitted(one.image.shape[:2]) for one in shown]
    wide = max(width for width, _ in sizes) + 2 * BORDER_PX
    tall = max(height for _, height in sizes) + 2 * BORDER_PX + 2 * LINE_PX
    columns = columns or max(1, min(math.ceil(math.sqrt(len(shown) * tall / wide)), len(shown)))
    rows = math.ceil(len(shown) / columns)
    table = np.full((GAP_PX + rows * (tall + GAP_PX), GAP_PX + columns * (wide + GAP_PX), 3), TABLE, np.uint8)
    for number, (one, (width, height)) in enumerate(zip(shown, sizes, strict=True)):
        top, left = GAP_PX + number // columns * (tall + GAP_PX), GAP_PX + number % columns * (wide + GAP_PX)
        bottom = top + tall - 2 * LINE_PX
        sheet = table[bottom - height - 2 * BORDER_PX : bottom, left : left + width + 2 * BORDER_PX]
        sheet[:] = one.white
        small = one.image if one.image.shape[:2] == (height, width) else resized_bytes(one.image, width, height)
        sheet[BORDER_PX : BORDER_PX + height, BORDER_PX : BORDER_PX + width] = small
        lines = table[bottom : top + tall, left : left + wide]
        for row, text in enumerate((one.name, one.line)):
            _write(lines[row * LINE_PX : (row + 1) * LINE_PX], text, strong=row == 0)
    return table


def _fitted(shape: tuple[int, ...]) -> tuple[int, int]:
    """Width and height of a picture (H, W) that is to be at most EDGE_PX long."""
    scale = min(1.0, EDGE_PX / max(shape))
    return max(1, round(shape[1] * scale)), max(1, round(shape[0] * scale))


def _write(line: Bytes, text: str, *, strong: bool) -> None:
    text = fitting(text, CAPITAL_PX, line.shape[1])
    cover = letter_cover(text, CAPITAL_PX, line.shape[:2], (LINE_PX - 8.0, 2.0), strong=strong)[..., None]
    line[:] = np.rint(line * (1 - cover) + INK * cover).astype(np.uint8)
