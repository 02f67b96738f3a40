"""Outlines and numbers drawn onto a picture, so that a person sees where."""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box

Bytes = NDArray[np.uint8]

DARK: Final = (32, 32, 32)
LIGHT: Final = (250, 250, 250)


def outline(picture: Bytes, box: Box, number: str) -> None:
    """Outline a box (row, column, height, width) of (H, W, 3) uint8 in place, light within dark, with its number."""
    row, column, height, width = box
    low = (max(0, column - 3), max(0, row - 3))
    high = (min(picture.shape[1] - 1, column + width + 2), min(picture.shape[0] - 1, row + height + 2))
    cv2.rectangle(picture, low, high, DARK, 3)
    cv2.rectangle(picture, low, high, LIGHT, 1)
    (wide, tall), base = cv2.getTextSize(number, cv2.FONT_HERSHEY_SIMPLEX, 0.5, 1)
    left = int(np.clip(low[0], 0, max(0, picture.shape[1] - wide - 6)))
    bottom = low[1] - 4 if low[1] > tall + 10 else min(picture.shape[0] - base - 2, high[1] + tall + 6)
    cv2.rectangle(picture, (left, bottom - tall - 4), (left + wide + 6, bottom + base), LIGHT, -1)
    cv2.rectangle(picture, (left, bottom - tall - 4), (left + wide + 6, bottom + base), DARK, 1)
    cv2.putText(picture, number, (left + 3, bottom - 1), cv2.FONT_HERSHEY_SIMPLEX, 0.5, DARK, 1, cv2.LINE_AA)


def resized_bytes(picture: Bytes, width: int, height: int) -> Bytes:
    """(H, W, 3) uint8 at another size."""
    shrinks = width < picture.shape[1]
    kernel = cv2.INTER_AREA if shrinks else cv2.INTER_CUBIC
    return np.asarray(cv2.resize(picture, (width, height), interpolation=kernel), dtype=np.uint8)
