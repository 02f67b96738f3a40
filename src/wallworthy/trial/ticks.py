"""The boxes to tick on a test sheet, and the words beside them."""

from __future__ import annotations

from typing import Final

from wallworthy.base.records import CORRECTION_AXES
from wallworthy.trial.layout import Label, Mode, TickBox, TickKind, TilePlace
from wallworthy.trial.lettering import text_width_mm

TICK_MM: Final = 2.6
TICK_STROKE_MM: Final = 0.18
BETWEEN_TICKS_MM: Final = 0.9
BESIDE_TICK_MM: Final = 0.8
CAPITAL_MM: Final = 2.7
"""Height of capitals of codes: 11 pt type."""
SMALL_CAPITAL_MM: Final = 1.8
"""Height of capitals of the words beside boxes: 7.5 pt type."""
ROW_MM: Final = 3.2
NONE: Final = "none is right"
LAB_REQUEST: Final = "no auto correction, please"
LEAST_FOOT_MM: Final = 62.0
"""The line under a single picture is at least this wide, even under a narrow one."""

PAIRS: Final[tuple[tuple[str, str], ...]] = (
    ("dark", "light"),
    ("soft", "strong"),
    ("shadows deep", "open"),
    ("green", "red"),
    ("blue", "yellow"),
    ("dull", "garish"),
)
"""By correction axis: what a tile is with too little and with too much of it."""


def tile_feet(tiles: tuple[TilePlace, ...], mode: Mode) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """Under each tile: its code, then boxes for best and next best; under a single picture whether it is right."""
    ticks: list[TickBox] = []
    labels: list[Label] = []
    for tile in tiles:
        x, y, width, height = tile.box_mm
        if mode != "tiles" and width < LEAST_FOOT_MM:
            x, width = x + (width - LEAST_FOOT_MM) / 2, LEAST_FOOT_MM
        top = y + height + 0.8
        low, right = top + (CAPITAL_MM - SMALL_CAPITAL_MM), x + width
        if mode != "whole":
            labels.append(Label(tile.code, (x + 0.2, top, 6.0, CAPITAL_MM), strong=True))
        if mode == "prints":
            labels.append(Label(LAB_REQUEST, (x + 7.0, low, width - 31.0, SMALL_CAPITAL_MM)))
        asked: tuple[tuple[TickKind, str], ...] = (
            (("right", "right as it is"),) if mode == "whole" else (("next", "next"), ("best", "best"))
        )
        for kind, word in asked:
            box = (right - TICK_MM, top + CAPITAL_MM - TICK_MM + 0.05, TICK_MM, TICK_MM)
            wide = text_width_mm(word, SMALL_CAPITAL_MM) + 0.1
            labels.append(Label(word, (box[0] - 0.8 - wide, low, wide, SMALL_CAPITAL_MM), "right"))
            ticks.append(TickBox(kind, box, code=tile.code))
            right = box[0] - 0.8 - wide - 2.4
    return tuple(ticks), tuple(labels)


def _pairs(x: float, y: float, width: float, columns: int) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs of opposites in columns: word, box, box, word; boxes stand under each other."""
    ticks: list[TickBox] = []
    labels: list[Label] = []
    reach = [
        [max(text_width_mm(pair[side], SMALL_CAPITAL_MM) for pair in PAIRS[column::columns]) for side in (0, 1)]
        for column in range(columns)
    ]
    boxes_wide = 2 * TICK_MM + BETWEEN_TICKS_MM + 2 * BESIDE_TICK_MM
    spare = min(12.0, (width - sum(map(sum, reach)) - columns * boxes_wide) / max(1, columns - 1))
    for column in range(columns):
        first = x + reach[column][0] + BESIDE_TICK_MM
        for row, axis in enumerate(range(column, len(PAIRS), columns)):
            top = y + row * ROW_MM
            low = top + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
            name = CORRECTION_AXES[axis]
            second = first + TICK_MM + BETWEEN_TICKS_MM
            ticks.append(TickBox("word", (first, top, TICK_MM, TICK_MM), axis=name, sign=-1))
            ticks.append(TickBox("word", (second, top, TICK_MM, TICK_MM), axis=name, sign=1))
            before = (x, low, reach[column][0] + 0.1, SMALL_CAPITAL_MM)
            behind = (second + TICK_MM + BESIDE_TICK_MM, low, reach[column][1] + 0.1, SMALL_CAPITAL_MM)
            labels.append(Label(PAIRS[axis][0], before, "right"))
            labels.append(Label(PAIRS[axis][1], behind))
        x += sum(reach[column]) + boxes_wide + spare
    return tuple(ticks), tuple(labels)


def _label(text: str, x: float, y: float, *, strong: bool = False) -> Label:
    """Small words with a box of their own length."""
    return Label(text, (x, y, text_width_mm(text, SMALL_CAPITAL_MM) + 0.1, SMALL_CAPITAL_MM), strong=strong)


def _said(mode: Mode) -> str:
    return "The best is still too" if mode == "tiles" else "It is too"


def words_beside(x: float, y: float, width: float, mode: Mode) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in two rows of three, behind their opening words."""
    lead = 28.0
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    ticks, labels = _pairs(x + lead, y, width - lead, 3)
    said = _label(_said(mode), x + 0.2, low, strong=True)
    if mode != "tiles":
        return ticks, (said, *labels)
    none = TickBox("none_right", (x, y + ROW_MM, TICK_MM, TICK_MM))
    word = _label(NONE, x + TICK_MM + BESIDE_TICK_MM, low + ROW_MM)
    return (none, *ticks), (said, word, *labels)


def words_under(
    x: float, y: float, width: float, columns: int, mode: Mode
) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in rows, their opening words above them."""
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    ticks, labels = _pairs(x, y + ROW_MM, width, columns)
    said = _label(_said(mode), x + 0.2, low, strong=True)
    if mode != "tiles":
        return ticks, (said, *labels)
    none = TickBox("none_right", (x + width - TICK_MM, y, TICK_MM, TICK_MM))
    word = _label(NONE, none.box_mm[0] - BESIDE_TICK_MM - text_width_mm(NONE, SMALL_CAPITAL_MM) - 0.1, low)
    return (none, *ticks), (said, word, *labels)
