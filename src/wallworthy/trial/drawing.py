"""Drawing on the sheet in the one black it has: the mark, angles, bar, boxes and letters."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.units import MM_PER_INCH
from wallworthy.trial.layout import BoxMm, Label, SheetLayout
from wallworthy.trial.lettering import TAIL, fitting, letter_cover, text_width_mm
from wallworthy.trial.marks import QUIET_MODULES, mark_modules

Floats = NDArray[np.float32]

BAR_STROKE_MM: Final = 0.25
ARROW_STROKE_MM: Final = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Inks:
    """Device values (K,) of bare paper and of the pure black that marks are drawn in."""

    paper: Floats
    black: Floats


def plain_inks(space: str, channels: int) -> Inks:
    """Paper and black of a device space: RGB and GRAY count light; of the inks, CMYK has its own black.

    Raises ValueError for other ink sets, whose black the caller must name.

    >>> plain_inks("CMYK", 4).black.tolist()
    [0.0, 0.0, 0.0, 1.0]
    """
    if space in ("RGB", "GRAY"):
        return Inks(np.ones(channels, np.float32), np.zeros(channels, np.float32))
    if space == "CMYK":
        return Inks(np.zeros(4, np.float32), np.array([0, 0, 0, 1], np.float32))
    raise ValueError(f"the pure black of {space} must be named")


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """The sheet's device values and its scale. Boxes are in mm and land on the nearest pixel edges."""

    device: Floats
    inks: Inks
    ppi: float

    @staticmethod
    def size_px(layout: SheetLayout) -> tuple[int, int]:
        width, height = layout.sheet_mm
        return max(1, round(width / MM_PER_INCH * layout.ppi)), max(1, round(height / MM_PER_INCH * layout.ppi))

    @classmethod
    def bare(cls, layout: SheetLayout, inks: Inks) -> Plate:
        width, height = cls.size_px(layout)
        device = np.empty((height, width, len(inks.paper)), dtype=np.float32)
        device[...] = inks.paper
        return cls(device, inks, layout.ppi)

    def px(self, mm: float) -> int:
        return round(mm / MM_PER_INCH * self.ppi)

    def exact(self, mm: float) -> float:
        return mm / MM_PER_INCH * self.ppi

    def extent(self, box: BoxMm) -> tuple[int, int]:
        """Width and height in pixels, the same wherever a box of this size lies."""
        return max(1, self.px(box[2])), max(1, self.px(box[3]))

    def lay(self, at_mm: tuple[float, float], pixels: Floats) -> None:
        row, column = self.px(at_mm[1]), self.px(at_mm[0])
        self.device[row : row + pixels.shape[0], column : column + pixels.shape[1]] = pixels

    def fill(self, box: BoxMm, values: Floats) -> None:
        """A rectangle whose edges lie on pixel edges; neighbours meet without a gap."""
        top, bottom = self.px(box[1]), self.px(box[1] + box[3])
        left, right = self.px(box[0]), self.px(box[0] + box[2])
        self.device[top : max(bottom, top + 1), left : max(right, left + 1)] = values

    def black(self, box: BoxMm) -> None:
        self.fill(box, self.inks.black)

    def cover(self, row: int, column: int, cover: Floats) -> None:
        """Lay black through a cover 0-1 whose corner lies at a pixel."""
        bottom, right = row + cover.shape[0], column + cover.shape[1]
        part = self.device[row:bottom, column:right]
        part += cover[: part.shape[0], : part.shape[1], None] * (self.inks.black - part)


def draw_marks(plate: Plate, layout: SheetLayout, mark_text: str, notes: tuple[str, str]) -> None:
    """Everything black: angles, mark, bar, boxes, labels, notes and the slot's arrow."""
    _corners(plate, layout)
    _mark(plate, layout.mark_mm, mark_text)
    _bar(plate, layout.bar_mm)
    for tick in layout.ticks:
        _frame(plate, tick.box_mm, layout.tick_stroke_mm)
    for label in layout.labels:
        _text(plate, label)
    for box, note in zip(layout.notes_mm, notes, strict=True):
        _text(plate, Label(note, box, "left", layout.notes_turned))
    if layout.slot is not None:
        _arrow(plate, layout.slot.arrow_mm)


def _corners(plate: Plate, layout: SheetLayout) -> None:
    """Two bars along the outer edges of each box."""
    stroke = layout.corner_stroke_mm
    for place, (x, y, width, height) in enumerate(layout.corners_mm):
        right, low = place in (1, 2), place in (2, 3)
        plate.black((x, y + height - stroke if low else y, width, stroke))
        plate.black((x + width - stroke if right else x, y, stroke, height))


def _mark(plate: Plate, box: BoxMm, text: str) -> None:
    """Modules of whole pixels, as large as the box and its quiet zone allow."""
    modules = mark_modules(text)
    count = len(modules) + 2 * QUIET_MODULES
    wide, high = plate.extent(box)
    size = max(1, min(wide, high) // count)
    drawn = np.kron(modules, np.ones((size, size))).astype(np.float32)
    plate.cover(plate.px(box[1]) + (high - len(drawn)) // 2, plate.px(box[0]) + (wide - len(drawn)) // 2, drawn)


def _bar(plate: Plate, box: BoxMm) -> None:
    """A line with a tick at each end; outer edge to outer edge is the bar's length."""
    x, y, width, height = box
    stroke = BAR_STROKE_MM
    if width >= height:
        plate.black((x, y + height - stroke, width, stroke))
        plate.black((x, y, stroke, height))
        plate.black((x + width - stroke, y, stroke, height))
    else:
        plate.black((x, y, stroke, height))
        plate.black((x, y, width, stroke))
        plate.black((x, y + height - stroke, width, stroke))


def _frame(plate: Plate, box: BoxMm, stroke_mm: float) -> None:
    """An empty box; all boxes of one size come out alike."""
    wide, high = plate.extent(box)
    row, column, pen = plate.px(box[1]), plate.px(box[0]), max(1, plate.px(stroke_mm))
    cover = np.ones((high, wide), np.float32)
    cover[pen : high - pen, pen : wide - pen] = 0
    plate.cover(row, column, cover)


def _text(plate: Plate, label: Label) -> None:
    """One line of letters in its box; turned text reads from bottom to top."""
    x, y, width, height = label.box_mm
    capital, run = (width, height) if label.turned else (height, width)
    text = fitting(label.text, capital, run)
    spare = max(0.0, run - text_width_mm(text, capital))
    start = {"left": 0.0, "right": spare, "centre": spare / 2}[label.align]
    pad = plate.px(capital * TAIL)
    shape = plate.px(capital) + 2 * pad, plate.px(run) + 2 * pad
    base = pad + plate.exact(capital), pad + plate.exact(start)
    cover: Any = letter_cover(text, plate.exact(capital), shape, base, strong=label.strong)
    if label.turned:
        cover = np.ascontiguousarray(cover[:, ::-1].T)
    plate.cover(plate.px(y) - pad, plate.px(x) - pad, cover)


def _arrow(plate: Plate, box: BoxMm) -> None:
    """An arrow pointing at the sheet's upper edge, which goes into the printer first."""
    x, y, width, height = box
    stroke = plate.exact(ARROW_STROKE_MM)
    rows, columns = plate.px(height), plate.px(width)
    middle, head = columns / 2, columns * 0.5
    r, c = np.mgrid[0:rows, 0:columns] + 0.5
    shaft = np.clip(stroke / 2 + 0.5 - np.abs(c - middle), 0, 1) * (r > head * 0.6)
    point = np.clip(r * 0.5 * columns / (head * 1.6) - np.abs(c - middle) + 0.5, 0, 1) * (r < head * 1.6)
    plate.cover(plate.px(y), plate.px(x), np.maximum(shaft, point).astype(np.float32))
