"""Sizes, distances and pixels, parsed once at the edge; millimetres inside.

Named sizes: ISO 216:2007 A series; photographic and North American sizes by their
millimetres in PWG 5101.1-2013 (media size names).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from wallworthy.base.errors import InputError

MM_PER_UNIT: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
MM_PER_INCH: Final = 25.4

# width, height in mm, upright. A series: ISO 216; the others: PWG 5101.1.
NAMED_SIZES_MM: Final[dict[str, tuple[float, float]]] = {
    "A0": (841, 1189),
    "A1": (594, 841),
    "A2": (420, 594),
    "A3": (297, 420),
    "A4": (210, 297),
    "A5": (148, 210),
    "A6": (105, 148),
    "A3+": (330.2, 482.6),  # na_super-b_13x19in
    "letter": (215.9, 279.4),  # na_letter_8.5x11in
    "legal": (215.9, 355.6),  # na_legal_8.5x14in
}

SMALLEST_MM: Final = 10.0
LARGEST_MM: Final = 20_000.0
FARTHEST_MM: Final = 100_000.0
"""Nobody looks at a print from farther away: up to here a good distance is looked for."""

_SIZE = re.compile(r"\s*(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*([a-z]*)\s*", re.IGNORECASE)
_LENGTH = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([a-z]*)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Size:
    """A print size; `named` when it came by name and so turns with the picture."""

    width_mm: float
    height_mm: float
    named: bool = False

    def turned_to(self, width: float, height: float) -> Size:
        """The same size in the orientation of a picture `width` by `height`; sizes given in
        numbers stay as they were given.

        >>> Size(297, 420, named=True).turned_to(3, 2)
        Size(width_mm=420, height_mm=297, named=True)
        """
        if self.named and (width > height) != (self.width_mm > self.height_mm):
            return Size(self.height_mm, self.width_mm, self.named)
        return self


def parse_size(text: str) -> Size:
    """`A3`, `30x40cm`, `300x400mm`, `8x10in` to a size in mm.

    Raises InputError for an unknown name, a missing unit, or an edge outside 10 mm to 20 m.

    >>> parse_size("30x40cm")
    Size(width_mm=300.0, height_mm=400.0, named=False)
    """
    for name, (width, height) in NAMED_SIZES_MM.items():
        if text.strip().lower() == name.lower():
            return Size(width, height, named=True)
    match = _SIZE.fullmatch(text)
    if not match:
        raise InputError(
            "size_unclear",
            f"'{text}' is not a size I know.",
            "Write a size such as A3, 30x40cm, 300x400mm or 8x10in.",
            where="--size",
        )
    scale = _unit(match.group(3), text, "--size")
    size = Size(float(match.group(1)) * scale, float(match.group(2)) * scale)
    for edge in (size.width_mm, size.height_mm):
        if not SMALLEST_MM <= edge <= LARGEST_MM:
            raise InputError(
                "size_absurd",
                f"A print of {text} can't be made: an edge must be between 1 cm and 20 m.",
                "Check the numbers and the unit.",
                where="--size",
            )
    return size


def parse_length_mm(text: str, where: str = "--from") -> float:
    """`60cm`, `2ft`, `1.8m` to mm. Raises InputError without a unit or out of 1 cm to 100 m."""
    match = _LENGTH.fullmatch(text)
    if not match:
        raise InputError(
            "distance_unclear",
            f"'{text}' is not a distance I know.",
            "Write a distance such as 60cm, 1.8m or 2ft.",
            where=where,
        )
    length = float(match.group(1)) * _unit(match.group(2), text, where)
    if not 10.0 <= length <= 100_000.0:
        raise InputError(
            "distance_absurd",
            f"A distance of {text} can't be used: it must be between 1 cm and 100 m.",
            "Check the number and the unit.",
            where=where,
        )
    return length


def pixels(mm: float, ppi: float) -> int:
    """Pixels along an edge: round(mm / 25.4 * ppi), halves to even as Python rounds, at least 1."""
    return max(1, round(mm / MM_PER_INCH * ppi))


def diagonal_mm(width_mm: float, height_mm: float) -> float:
    return math.hypot(width_mm, height_mm)


def _unit(unit: str, text: str, where: str) -> float:
    if unit.lower() not in MM_PER_UNIT:
        known = ", ".join(MM_PER_UNIT)
        raise InputError(
            "unit_missing" if not unit else "unit_unknown",
            f"'{text}' needs a unit." if not unit else f"'{unit}' is not a unit I know.",
            f"Add one of {known}.",
            where=where,
        )
    return MM_PER_UNIT[unit.lower()]
