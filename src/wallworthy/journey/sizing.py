"""Placing a picture in a size, and what a careful friend would say of it."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.records import Box, Margins, Master, Notice, Pair
from wallworthy.base.ticket import Ticket
from wallworthy.base.units import MM_PER_INCH, MM_PER_UNIT, SMALLEST_MM, Size, diagonal_mm

EYE_PPI_MM: Final = 87_320.0
"""Pixels per inch that are one minute of arc each, times the distance in mm: 25.4 / tan 1' (geometry)."""
LARGEST_BORDER_MM: Final = 500.0


@dataclass(frozen=True, slots=True)
class Shot:
    """A picture as it is to be printed: the part of its master (None: all of it), how large, and seen from where."""

    master: Master
    crop_px: Box | None
    size_mm: Pair
    distance_mm: float

    @property
    def part(self) -> str:
        """A name for the part of the picture that is printed, and how its colours are read."""
        profile = None if self.master.profile is None else hashlib.sha256(self.master.profile).hexdigest()
        return repr((self.master.sha256, profile, self.crop_px))


def shot_of(master: Master, place: tuple[Box | None, Pair], distance_mm: float | None) -> Shot:
    """A picture in the place `placed` gave it, seen from a distance or its own diagonal."""
    crop, size_mm = place
    return Shot(master, crop, size_mm, distance_mm or own_distance_mm(size_mm))


def own_distance_mm(size_mm: Pair) -> float:
    """From where a print is seen unless it is said: its diagonal, to a tenth of a millimetre."""
    return round(diagonal_mm(*size_mm), 1)


def placed(master: Master, size: Size, crop: Box | None, *, fill: bool) -> tuple[Box | None, Pair]:
    """The crop and the picture's size in mm (to a hundredth): inside `size` in its own proportions, or filling it.

    Raises InputError for a picture thinner than any print that would not be in the same size, turned.
    """
    height, width = (master.height_px, master.width_px) if crop is None else crop[2:]
    turned = size.turned_to(width, height)
    if not fill:
        got = _inside(turned, width, height)
        if min(got) < SMALLEST_MM and not size.named:
            _refuse_thin(got, Size(size.height_mm, size.width_mm), (width, height))
        return crop, got
    ratio = turned.width_mm / turned.height_mm
    cut_width = min(width, max(1, round(height * ratio)))
    cut_height = min(height, max(1, round(width / ratio)))
    box = ((height - cut_height) // 2, (width - cut_width) // 2, cut_height, cut_width)
    return box, (round(turned.width_mm, 2), round(turned.height_mm, 2))


def _inside(size: Size, width: int, height: int) -> Pair:
    """The largest picture of these proportions in a size."""
    scale = min(size.width_mm / width, size.height_mm / height)
    return max(0.01, round(width * scale, 2)), max(0.01, round(height * scale, 2))


def _refuse_thin(got: Pair, turned: Size, shape: tuple[int, int]) -> None:
    larger = _inside(turned, *shape)
    if min(larger) >= SMALLEST_MM:
        raise InputError(
            "size_absurd",
            f"In that size the picture would be {centimetres(got)}: an edge must be at least {SMALLEST_MM / 10:g} cm.",
            f"Turned, {turned.width_mm / 10:g}x{turned.height_mm / 10:g}cm, it would be {centimetres(larger)}.",
            where="--size",
        )


def parse_crop(text: str | None, master: Master) -> Box | None:
    """`row,column,height,width` in the upright master's pixels. Raises InputError when it lies outside."""
    if text is None:
        return None
    try:
        row, column, height, width = (int(part) for part in text.split(","))
    except ValueError:
        raise InputError(
            "crop_unclear", f"'{text}' is not a crop.", "Write row,column,height,width in pixels.", where="--crop"
        ) from None
    return checked_crop((row, column, height, width), master)


def checked_crop(box: Box, master: Master) -> Box:
    """The box, row, column, height, width. Raises InputError when it is empty or lies outside the master."""
    row, column, height, width = box
    inside = row >= 0 and column >= 0 and height > 0 and width > 0
    if not inside or row + height > master.height_px or column + width > master.width_px:
        raise InputError(
            "crop_outside",
            f"The crop {row},{column},{height},{width} lies outside the picture, "
            f"which has {master.width_px} x {master.height_px} pixels.",
            "Write row,column,height,width within it.",
            where="--crop",
        )
    return box


def margins_of(border: str | float | Sequence[float], where: str = "--border") -> Margins:
    """Widths of bare paper, one for all sides or four: top, right, bottom, left; in mm unless a unit is written.

    Raises UsageError when it is neither, and InputError for a width that can't be.

    >>> margins_of("20"), margins_of("20, 2cm, 35mm, 20")
    ((20.0, 20.0, 20.0, 20.0), (20.0, 20.0, 35.0, 20.0))
    """
    try:
        if isinstance(border, str):
            widths = [_width_mm(part) for part in border.split(",")]
        else:
            widths = [float(width) for width in (border if isinstance(border, Sequence) else [border])]
    except ValueError:
        widths = []
    if len(widths) not in (1, 4) or not all(math.isfinite(width) for width in widths):
        raise UsageError(
            "border_unclear",
            "A border is one width, or four.",
            "Give one, such as 20 (mm) or 2cm, or four for top, right, bottom and left, such as 20,20,35,20.",
            where=where,
        )
    for width in widths:
        if not 0 <= width <= LARGEST_BORDER_MM:
            text = f"A border of {width:g} mm can't be used."
            raise InputError("border_absurd", text, f"Give 0 to {LARGEST_BORDER_MM:g} mm.", where=where)
    top, right, bottom, left = widths if len(widths) == 4 else widths * 4
    return top, right, bottom, left


def _width_mm(text: str) -> float:
    """A width in mm, from a bare number or one with its unit. Raises ValueError for anything else."""
    number = text.strip().rstrip("cfimnt")
    unit = text.strip()[len(number) :] or "mm"
    if unit not in MM_PER_UNIT:
        raise ValueError(text)
    return float(number) * MM_PER_UNIT[unit]


def sheet_mm(size_mm: Pair, margins_mm: Margins) -> Pair:
    """The picture with its bare paper, width and height."""
    top, right, bottom, left = margins_mm
    return size_mm[0] + left + right, size_mm[1] + top + bottom


def border_words(margins_mm: Margins) -> str:
    """One width for all sides, or all four.

    >>> border_words((20, 20, 20, 20)), border_words((20, 20, 35, 20))
    ('20', '20, 20, 35, 20')
    """
    same = len(set(margins_mm)) == 1
    return ", ".join(f"{width:g}" for width in (margins_mm[:1] if same else margins_mm))


def size_notices(ticket: Ticket, master: Master, size: Size) -> tuple[Notice, ...]:
    """Whether the size would do better turned, what was cut, what the border adds, how few pixels there are."""
    width_mm, height_mm = ticket.size_mm
    shown = ticket.crop_px or (0, 0, master.height_px, master.width_px)
    notices: list[Notice] = []
    if not (ticket.fill or size.named) and (size.width_mm > size.height_mm) != (width_mm > height_mm):
        _, turned = placed(master, Size(size.height_mm, size.width_mm), ticket.crop_px, fill=False)
        if turned[0] > 1.05 * width_mm:
            text = f"The size was taken as written; turned, the picture would be {centimetres(turned)}."
            notices.append(Notice("size_turned", text))
    if ticket.fill:
        cut = 100 * (1 - shown[2] * shown[3] / (master.height_px * master.width_px))
        text = f"To fill the size, {cut:.0f} % of the picture was cut away, alike on both sides."
        notices.append(Notice("filled", text))
    if any(ticket.margins_mm):
        outer = sheet_mm(ticket.size_mm, ticket.margins_mm)
        notices.append(Notice("border_outside", f"With its border the file will measure {centimetres(outer)}."))
    density = shown[3] / width_mm * MM_PER_INCH
    asked = EYE_PPI_MM / ticket.distance_mm
    if density < asked / 2:
        text = (
            f"At this size the file has {density:.0f} pixels to the inch; from {ticket.distance_mm / 10:.0f} cm "
            f"the eye could use {asked:.0f}. It will look soft from there."
        )
        notices.append(Notice("few_pixels", text))
    return tuple(notices)


def centimetres(size_mm: Pair) -> str:
    """A size in words: '30 x 20 cm'."""
    return " x ".join(f"{edge / 10:.1f}".removesuffix(".0") for edge in size_mm) + " cm"
