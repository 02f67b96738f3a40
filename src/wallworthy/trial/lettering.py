"""Setting words with our own stroke letters: how wide they run, and their cover of a pixel grid."""

from __future__ import annotations

import itertools
import math
import unicodedata
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.alphabet import (
    ACCENTS,
    BETWEEN_UNITS,
    CAPITAL_UNITS,
    DIGIT_UNITS,
    SPACE_UNITS,
    STAND_INS,
    STROKES,
)

Cover = NDArray[np.float32]
Line = NDArray[np.float64]

ARC_STEP_DEG: Final = 15.0
PLAIN_STROKE: Final = 0.105
STRONG_STROKE: Final = 0.155
"""Pen widths, in heights of capitals."""
TAIL: Final = 0.36
"""How far letters such as g hang below the line, pen and all, in heights of capitals."""


def text_width_mm(text: str, capital_mm: float) -> float:
    """How wide a text runs whose capitals are `capital_mm` high.

    >>> text_width_mm("11", 7.0) == text_width_mm("08", 7.0)
    True
    """
    return _set(text)[1] * capital_mm / CAPITAL_UNITS


def fitting(text: str, capital_mm: float, width_mm: float) -> str:
    """The text, or as much of its beginning as fits, closed by three points.

    >>> fitting("a name", 2.7, 100)
    'a name'
    """
    if text_width_mm(text, capital_mm) <= width_mm:
        return text
    kept = text
    while kept and text_width_mm(kept + "...", capital_mm) > width_mm:
        kept = kept[:-1]
    return kept.rstrip(" ,.;:-") + "..."


@lru_cache(maxsize=512)
def letter_cover(
    text: str, capital_px: float, shape: tuple[int, int], base: tuple[float, float], *, strong: bool = False
) -> Cover:
    """How far each pixel of a grid (rows, columns) is covered by a text, 0-1, anti-aliased.

    base: row and column of the pen's start on the base line, in pixels; pixel centres lie at halves.
    Read only: sheets say the same words again and again.
    """
    unit = capital_px / CAPITAL_UNITS
    half = capital_px * (STRONG_STROKE if strong else PLAIN_STROKE) / 2
    cover = np.zeros(shape, dtype=np.float32)
    for line in _set(text)[0]:
        points = np.column_stack([base[0] - line[:, 1] * unit, base[1] + line[:, 0] * unit])
        for start, end in itertools.pairwise(points):
            _draw(cover, start, end, half)
    cover.setflags(write=False)
    return cover


def _draw(cover: Cover, start: Line, end: Line, half: float) -> None:
    """A round-ended stroke, laid into the cover where it covers more than what is there."""
    reach = half + 1
    low = np.floor(np.minimum(start, end) - reach).astype(int)
    high = np.ceil(np.maximum(start, end) + reach).astype(int)
    top, left = max(0, low[0]), max(0, low[1])
    bottom, right = min(cover.shape[0], high[0]), min(cover.shape[1], high[1])
    if top >= bottom or left >= right:
        return
    rows = np.arange(top, bottom)[:, None] + 0.5 - start[0]
    columns = np.arange(left, right)[None, :] + 0.5 - start[1]
    along = end - start
    square = float(along @ along)
    share = np.clip((rows * along[0] + columns * along[1]) / square, 0, 1) if square else 0.0
    distance = np.hypot(rows - share * along[0], columns - share * along[1])
    part = cover[top:bottom, left:right]
    np.maximum(part, np.clip(half + 0.5 - distance, 0, 1), out=part, casting="same_kind")


@lru_cache(maxsize=256)
def _set(text: str) -> tuple[tuple[Line, ...], float]:
    """The pen's lines of a text in units, and its width."""
    lines: list[Line] = []
    at = 0.0
    last: tuple[str, float] | None = None
    spelled = "".join(STAND_INS.get(letter, letter) for letter in text)
    for letter in unicodedata.normalize("NFD", spelled):
        if unicodedata.combining(letter):
            if last is not None and letter in ACCENTS:
                over = 8.0 if last[0].isupper() or last[0] in "bdfhklt" else 6.0
                lines.extend(line + np.array([last[1], over]) for line in _strokes(ACCENTS[letter]))
            continue
        if letter == " ":
            at += SPACE_UNITS
            continue
        drawn = _strokes(STROKES.get(letter, STROKES["\ufffd"]))
        reach = max(float(line[:, 0].max()) for line in drawn)
        width = DIGIT_UNITS if letter.isdigit() else reach
        lines.extend(line + np.array([at, 0.0]) for line in drawn)
        last = (letter, at + reach / 2)
        at += width + BETWEEN_UNITS
    return tuple(lines), max(0.0, at - BETWEEN_UNITS)


@lru_cache(maxsize=256)
def _strokes(spelled: str) -> tuple[Line, ...]:
    lines: list[Line] = []
    for stroke in spelled.split("|"):
        points: list[tuple[float, float]] = []
        for part in stroke.split():
            if part.startswith("~"):
                x, y, across, up, start, end = (float(number) for number in part[1:].split(","))
                steps = max(2, math.ceil(abs(end - start) / ARC_STEP_DEG))
                for i in range(steps + 1):
                    turn = math.radians(start + (end - start) * i / steps)
                    points.append((x + across * math.cos(turn), y + up * math.sin(turn)))
            else:
                x, y = (float(number) for number in part.split(","))
                points.append((x, y))
        lines.append(np.array(points))
    return tuple(lines)
