"""Colours and places by name, as a photographer would say them; the words stand in `words`."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wallworthy.base.records import Triple
from wallworthy.proof import words as say

NEUTRAL_CHROMA = 5.0
TINTED_CHROMA = 10.0
WIDE_SHARE = 0.6


@dataclass(frozen=True, slots=True)
class Name:
    """A colour's name; `many` when it is a plural ('light greys')."""

    text: str
    many: bool


def hue_angle(a: float, b: float) -> float:
    """CIELAB hue angle in degrees, 0 up to 360."""
    return math.degrees(math.atan2(b, a)) % 360.0


def colour_name(lab: Triple) -> Name:
    """A plain name for any Lab colour (relative to the picture's own white): our own scheme, no standard.

    >>> colour_name((55.0, -35.0, -20.0)).text
    'bright blue-green'
    """
    lightness, a, b = lab
    chroma = math.hypot(a, b)
    hue = hue_angle(a, b)
    if chroma < NEUTRAL_CHROMA or (lightness < 12 and chroma < 20):
        return Name(_rung(say.NEUTRALS, lightness).format(""), many=True)
    if chroma < TINTED_CHROMA:
        return Name(_rung(say.NEUTRALS, lightness).format(f"{_rung(say.TINTS, hue)} "), many=True)
    noun = hue_name(lightness, chroma, hue)
    return Name(f"{_adjective(lightness, chroma, noun)} {noun}".strip(), many=False)


def hue_name(lightness: float, chroma: float, hue: float) -> str:
    """The noun: a hue, or brown, olive, beige, pink, purple where one would say so."""
    rosy = hue >= 335 or hue < 35
    if (rosy and lightness > 62 and chroma < 64) or (35 <= hue < 55 and lightness > 72 and chroma < 35):
        return say.PINK
    if 30 <= hue < 88 and lightness < 48 and chroma < 58:
        return say.BROWN
    if 55 <= hue < 98 and chroma < 32 and 55 <= lightness < 92:
        return say.BEIGE
    if 35 <= hue < 80 and chroma < 45 and lightness < 72:
        return say.LIGHT_BROWN
    if 88 <= hue < 112 and lightness < 58 and chroma < 60:
        return say.OLIVE
    if 315 <= hue < 348 and lightness < 55:
        return say.PURPLE
    if 309 <= hue < 335 and chroma < 48:
        return say.VIOLET
    return _rung(say.HUES, hue)


def _adjective(lightness: float, chroma: float, noun: str) -> str:
    if lightness < 20:
        return say.VERY_DARK
    if lightness < 38:
        return say.STRONG if chroma > 80 else say.DARK
    if noun in (say.BROWN, say.LIGHT_BROWN, say.OLIVE):
        return ""
    if chroma < 30 and lightness > 70:
        return say.VERY_PALE if lightness > 88 else say.PALE
    if chroma > 55:
        return say.BRIGHT if lightness > 50 else say.STRONG
    if chroma > 35 and lightness > 50:
        return say.BRIGHT if noun in say.SHINING else ""
    return say.MUTED if chroma < 20 and noun != say.BEIGE else ""


def hue_direction(hue_before: float, turn_degrees: float) -> str:
    """The hue that a turn leads towards: the next named one beyond the start, never the one it is already at."""
    best, best_way = "", 361.0
    here = _rung(say.HUES, hue_before)
    for anchor, name in say.HUE_ANCHORS:
        way = (anchor - hue_before) % 360 if turn_degrees > 0 else (hue_before - anchor) % 360
        if 8 <= way < best_way and name != here and not here.endswith(name):
            best, best_way = name, way
    return best


def tint_name(a: float, b: float) -> str:
    """'bluish' and the like for a small shift of a neutral."""
    return _rung(say.TINTS, hue_angle(a, b))


def place_name(row: float, column: float, height: float, width: float) -> str:
    """Where a box lies, all in shares of the picture: upper left corner (row, column), height, width.

    >>> place_name(0.7, 0.7, 0.2, 0.2)
    'at the lower right'
    >>> place_name(0.1, 0.1, 0.1, 0.8)
    'across the upper part'
    """
    third_row = min(2, int((row + height / 2) * 3))
    third_column = min(2, int((column + width / 2) * 3))
    wide, tall = width >= WIDE_SHARE, height >= WIDE_SHARE
    if wide and tall:
        return say.EVERYWHERE
    if wide:
        return say.ACROSS[third_row]
    return say.DOWN[third_column] if tall else say.PLACES[third_row][third_column]


def _rung(ladder: tuple[tuple[float, str], ...], value: float) -> str:
    """The first rung whose bound lies above the value; the last one otherwise."""
    return next((name for bound, name in ladder if value < bound), ladder[-1][1])
