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


def contact_picture(shown: Sequence[Shown]) -> Bytes:
    """All in rows, (H, W, 3) uint8 in the display's space; pictures of one shape are asked for."""
    height, width = shown[0].image.shape[:2]
    scale = min(1.0, EDGE_PX / max(height, width))
    size = max(1, round(width * scale)), max(1, round(height * scale))
    wide, tall = size[0] + 2 * BORDER_PX, size[1] + 2 * BORDER_PX + 2 * LINE_PX
    columns = math.ceil(math.sqrt(len(shown) * tall / wide))
    columns = max(1, min(columns, len(shown)))
    rows = math.ceil(len(shown) / columns)
    table = np.full((GAP_PX + rows * (tall + GAP_PX), GAP_PX + columns * (wide + GAP_PX), 3), TABLE, np.uint8)
    for number, one in enumerate(shown):
        top, left = GAP_PX + number // columns * (tall + GAP_PX), GAP_PX + number % columns * (wide + GAP_PX)
        sheet = table[top : top + tall - 2 * LINE_PX, left : left + wide]
        sheet[:] = one.white
        small = one.image if scale == 1 else resized_bytes(one.image, *size)
        sheet[BORDER_PX : BORDER_PX + size[1], BORDER_PX : BORDER_PX + size[0]] = small
        lines = table[top + tall - 2 * LINE_PX : top + tall, left : left + wide]
        for row, text in enumerate((one.name, one.line)):
            _write(lines[row * LINE_PX : (row + 1) * LINE_PX], text, strong=row == 0)
    return table


def _write(line: Bytes, text: str, *, strong: bool) -> None:
    text = fitting(text, CAPITAL_PX, line.shape[1])
    cover = letter_cover(text, CAPITAL_PX, line.shape[:2], (LINE_PX - 8.0, 2.0), strong=strong)[..., None]
    line[:] = np.rint(line * (1 - cover) + INK * cover).astype(np.uint8)
