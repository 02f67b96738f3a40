"""Arranging a test sheet: the tiles large, everything else at its foot and in its margins.

Measures of the 10 x 15 cm sheet: tiles 40 x 31.25 mm, 4 mm apart across and 5 mm down, codes under them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES, Pair
from wallworthy.trial.layout import (
    BAR_MM,
    COLOURS,
    NEUTRAL_LSTAR,
    BoxMm,
    ColourPatch,
    Label,
    Mode,
    NeutralStep,
    SheetLayout,
    SlotPlace,
    TickBox,
    TilePlace,
    evenly,
)

EDGE_MM: Final = 5.0
"""Nothing lies nearer to the edge: labs and borderless printing cut about 3 mm."""
CORNER_MM: Final = 4.0
CORNER_STROKE_MM: Final = 0.9
SIDE_MM: Final = 11.0
TOP_MM: Final = 6.0
GAP_ACROSS_MM: Final = 4.0
GAP_DOWN_MM: Final = 5.0
FOOT_MM: Final = 3.6
"""Under a tile: its code, its boxes for best and next best."""
MARK_MM: Final = 17.0
TICK_MM: Final = 2.6
TICK_STROKE_MM: Final = 0.18
CAPITAL_MM: Final = 2.7
"""Height of capitals of codes and notes: 11 pt type."""
SMALL_CAPITAL_MM: Final = 1.8
"""Height of capitals of the words beside boxes: 7.5 pt type."""
ROW_MM: Final = 3.2
WEDGE_MM: Final = 3.5
STRIP_MM: Final = 4.9
BAR_TICK_MM: Final = 1.1
SMALLEST_MM: Final = (85.0, 125.0)
SLOTS: Final = 4
TILE_SHAPE: Final = 1.28

PAIRS: Final[tuple[tuple[str, str], ...]] = (
    ("dark", "light"),
    ("soft", "strong"),
    ("shadows deep", "open"),
    ("green", "red"),
    ("blue", "yellow"),
    ("dull", "colourful"),
)
"""By correction axis: what a tile is with too little and with too much of it."""


def tile_count(area_mm: Pair) -> int:
    """How many tiles suit a size: 4 below 10 x 15 cm, 6 to about 15 x 20 cm, then 8.

    >>> [tile_count(size) for size in ((90, 130), (150, 100), (127, 178), (210, 297))]
    [4, 6, 6, 8]
    """
    square_cm = area_mm[0] * area_mm[1] / 100
    return 4 if square_cm < 140 else 6 if square_cm < 300 else 8


def sheet_layout(
    sheet_mm: Pair,
    *,
    tiles: int | None = None,
    mode: Mode = "tiles",
    slot: int | None = None,
    ppi: float = 360.0,
    picture_shape: float = 1.5,
) -> SheetLayout:
    """Where everything lies on a sheet of this size.

    tiles: 4 to 8, by the size when None; without meaning for 'whole' and 'prints', which hold one
    picture each. slot: 1 to 4, the quarter of a large sheet to use, in reading order. picture_shape:
    width over height of the picture, for one whole picture. Raises InputError when it does not fit.
    """
    area = _area(sheet_mm, slot)
    if min(area[2:]) < SMALLEST_MM[0] or max(area[2:]) < SMALLEST_MM[1]:
        raise InputError(
            "sheet_too_small",
            f"A test sheet of {area[2]:.0f} x {area[3]:.0f} mm is too small to teach anything.",
            "Use 9 x 13 cm or larger." if slot is None else "Use quarters only on A4 or larger.",
            where="--sheet",
        )
    if tiles is not None and not 4 <= tiles <= 8:
        raise InputError("tiles_unclear", f"A sheet holds 4 to 8 tiles, not {tiles}.", "Say 4 to 8.", where="--tiles")
    foot = _foot(area, mode, slot)
    count = (tiles or tile_count((area[2], area[3]))) if mode == "tiles" else 1
    places = _tiles(area, count, foot.top_mm, foot.first_mm, picture_shape if mode != "tiles" else None)
    own = _tile_feet(places) if mode == "tiles" else ((), ())
    x, y, width, height = area
    angle, inset = CORNER_MM, EDGE_MM
    left, right, low = x + inset, x + width - inset - angle, y + height - inset - angle
    return SheetLayout(
        sheet_mm=(float(sheet_mm[0]), float(sheet_mm[1])),
        ppi=float(ppi),
        mode=mode,
        tiles=places,
        strip_mm=foot.strip_mm,
        neutrals=foot.neutrals,
        colours=foot.colours,
        mark_mm=foot.mark_mm,
        corners_mm=(
            (left, y + inset, angle, angle),
            (right, y + inset, angle, angle),
            (right, low, angle, angle),
            (left, low, angle, angle),
        ),
        corner_stroke_mm=CORNER_STROKE_MM,
        bar_mm=foot.bar_mm,
        ticks=(*own[0], *foot.ticks),
        tick_stroke_mm=TICK_STROKE_MM,
        labels=(*own[1], *foot.labels),
        notes_mm=foot.notes_mm,
        notes_turned=True,
        slot=None if slot is None else SlotPlace(slot, SLOTS, area, foot.arrow_mm),
    )


@dataclass(frozen=True, slots=True)
class _Foot:
    """All but the tiles. first_mm and top_mm: where the tiles may begin and must end."""

    first_mm: float
    top_mm: float
    strip_mm: BoxMm | None
    neutrals: tuple[NeutralStep, ...]
    colours: tuple[ColourPatch, ...]
    mark_mm: BoxMm
    bar_mm: BoxMm
    ticks: tuple[TickBox, ...]
    labels: tuple[Label, ...]
    notes_mm: tuple[BoxMm, BoxMm]
    arrow_mm: BoxMm


def _area(sheet_mm: Pair, slot: int | None) -> BoxMm:
    width, height = float(sheet_mm[0]), float(sheet_mm[1])
    if slot is None:
        return 0.0, 0.0, width, height
    if not 1 <= slot <= SLOTS:
        raise InputError(
            "slot_unclear", f"A sheet has quarters 1 to {SLOTS}, not {slot}.", "Say one of them.", where="--slot"
        )
    row, column = divmod(slot - 1, 2)
    return column * width / 2, row * height / 2, width / 2, height / 2


def _foot(area: BoxMm, mode: Mode, slot: int | None) -> _Foot:
    x, y, width, height = area
    left, across, bottom = x + SIDE_MM, width - 2 * SIDE_MM, y + height - EDGE_MM
    beside = across - MARK_MM - 2.5
    wide = beside >= BAR_MM
    # From the bottom upwards: the wedge on its bar, the words, the strip; the mark at their right.
    words_left = left
    if wide:
        block_bottom = bottom
        words_across = beside
        columns, _row = 3, 0
    else:
        columns = 3 if across >= 105 else 2
        rows = 1 + math.ceil(len(PAIRS) / columns)
        block_bottom = bottom - rows * ROW_MM - 0.6
        words_across = across
    strip_height = STRIP_MM * max(1.0, min(height, width) / 100) if mode == "tiles" else 0.0
    wedge_top = block_bottom - WEDGE_MM - BAR_TICK_MM
    neutrals, colours = _patches(left, min(beside, BAR_MM), wedge_top)
    if wide:
        words_top = wedge_top - 2 * ROW_MM - 0.6
        ticks, labels = _words_beside(words_left, words_top, words_across, mode)
        strip_bottom = words_top - 0.7
    else:
        ticks, labels = _words_below(words_left, block_bottom + 1.0, words_across, columns, mode)
        strip_bottom = wedge_top - 1.2
        strip_height = max(strip_height, MARK_MM - WEDGE_MM - BAR_TICK_MM - 1.2) if mode == "tiles" else 0.0
    strip_top = strip_bottom - strip_height
    mark = (x + width - SIDE_MM - MARK_MM, block_bottom - MARK_MM, MARK_MM, MARK_MM)
    strip = (left, strip_top, beside, strip_height) if mode == "tiles" else None
    bar, bar_label, first = _bar(area, left, block_bottom, wide)
    notes, arrow = _margins(area, bar, slot)
    top = min(strip_top - 0.7, mark[1] + 0.4) - FOOT_MM
    return _Foot(first, top, strip, neutrals, colours, mark, bar, ticks, (*labels, *bar_label), notes, arrow)


def _patches(left: float, length: float, top: float) -> tuple[tuple[NeutralStep, ...], tuple[ColourPatch, ...]]:
    """The wedge and the six colours in one row `length` long, a gap between them."""
    gap = 3.0 if length > 60 else 2.0
    unit = (length - gap) / (len(NEUTRAL_LSTAR) + 1.25 * len(COLOURS))
    grey = unit * len(NEUTRAL_LSTAR)
    neutrals = tuple(
        NeutralStep((start, top, size, WEDGE_MM), lstar)
        for (start, size), lstar in zip(evenly(left, grey, len(NEUTRAL_LSTAR)), NEUTRAL_LSTAR, strict=True)
    )
    colours = tuple(
        ColourPatch(name, (start, top, size, WEDGE_MM), lab)
        for (start, size), (name, lab) in zip(
            evenly(left + grey + gap, length - gap - grey, len(COLOURS)), COLOURS, strict=True
        )
    )
    return neutrals, colours


def _bar(area: BoxMm, left: float, bottom: float, wide: bool) -> tuple[BoxMm, tuple[Label, ...], float]:
    """The 100 mm bar under the wedge, else along the top, else up the left margin; and where tiles may begin."""
    x, y, width, height = area
    first = y + TOP_MM
    if wide:
        label = Label("100 mm", (left + BAR_MM + 1.0, bottom - SMALL_CAPITAL_MM, 8.0, SMALL_CAPITAL_MM))
        return (left, bottom - BAR_TICK_MM, BAR_MM, BAR_TICK_MM), (label,), first
    if width >= BAR_MM + 2 * (EDGE_MM + CORNER_MM + 1):
        return (x + (width - BAR_MM) / 2, y + EDGE_MM, BAR_MM, BAR_TICK_MM), (), first + 2.0
    return (x + EDGE_MM, y + (height - BAR_MM) / 2, BAR_TICK_MM, BAR_MM), (), first


def _margins(area: BoxMm, bar: BoxMm, slot: int | None) -> tuple[tuple[BoxMm, BoxMm], BoxMm]:
    """The two notes, turned, in the side margins, and the arrow to the feed edge."""
    x, y, width, height = area
    corner = EDGE_MM + CORNER_MM + 1.5
    upright = bar[3] > bar[2]
    arrow_room = 9.0 if slot is not None else 0.0
    tall = height - 2 * corner
    left = (x + EDGE_MM + (BAR_TICK_MM + 0.7 if upright else 0.4), y + corner, CAPITAL_MM, tall)
    right = (x + width - EDGE_MM - CAPITAL_MM - 0.4, y + corner + arrow_room, CAPITAL_MM, tall - arrow_room)
    arrow = (right[0] - 0.3, y + corner, CAPITAL_MM + 0.6, 8.0)
    return (left, right), arrow


def _tiles(area: BoxMm, count: int, last: float, first: float, shape: float | None) -> tuple[TilePlace, ...]:
    """The grid whose tiles come nearest to their shape; one picture keeps its own proportions."""
    x, _, width, _ = area
    left, across, tall = x + SIDE_MM, width - 2 * SIDE_MM, last - first
    if shape is not None:
        wide = min(across, tall * shape)
        size = (wide, wide / shape)
        box = (left + (across - size[0]) / 2, first + (tall - size[1]) / 2, *size)
        return (TilePlace("A1", box),)
    best: tuple[float, int, int] | None = None
    for columns in range(1, count + 1):
        rows = math.ceil(count / columns)
        tile = (across - GAP_ACROSS_MM * (columns - 1)) / columns, (tall - GAP_DOWN_MM * (rows - 1)) / rows
        if min(tile) <= 0:
            continue
        empty = columns * rows - count
        cost = abs(math.log(tile[0] / tile[1] / TILE_SHAPE)) + 0.5 * empty
        if best is None or cost < best[0]:
            best = cost, columns, rows
    assert best is not None
    _, columns, rows = best
    wide = (across - GAP_ACROSS_MM * (columns - 1)) / columns
    high = (tall - GAP_DOWN_MM * (rows - 1)) / rows
    places: list[TilePlace] = []
    for place in range(count):
        row, column = divmod(place, columns)
        box = (left + column * (wide + GAP_ACROSS_MM), first + row * (high + GAP_DOWN_MM), wide, high)
        places.append(TilePlace(f"{'ABCDEFGH'[row]}{column + 1}", box))
    return tuple(places)


def _tile_feet(tiles: tuple[TilePlace, ...]) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """Under each tile: its code, then boxes for best and next best."""
    ticks: list[TickBox] = []
    labels: list[Label] = []
    for tile in tiles:
        x, y, width, height = tile.box_mm
        top = y + height + 0.8
        labels.append(Label(tile.code, (x, top, 6.0, CAPITAL_MM), strong=True))
        at, low = x + width - 24.0, top + (CAPITAL_MM - SMALL_CAPITAL_MM)
        for kind, word, wide in (("best", "best", 5.8), ("next", "next", 6.2)):
            labels.append(Label(word, (at, low, wide, SMALL_CAPITAL_MM), "right"))
            box = (at + wide + 0.8, top + CAPITAL_MM - TICK_MM + 0.05, TICK_MM, TICK_MM)
            ticks.append(TickBox("best" if kind == "best" else "next", box, code=tile.code))
            at += wide + 0.8 + TICK_MM + 2.6
    return tuple(ticks), tuple(labels)


def _pair(axis: int, x: float, y: float, width: float) -> tuple[tuple[TickBox, TickBox], tuple[Label, Label]]:
    """A pair of opposites: word, box, box, word, the boxes side by side at 0.62 of the width."""
    less, more = PAIRS[axis]
    name = CORRECTION_AXES[axis]
    middle = x + width * 0.6
    gap = 0.5
    boxes = (middle - gap - TICK_MM, y, TICK_MM, TICK_MM), (middle + gap, y, TICK_MM, TICK_MM)
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    before = (x, low, boxes[0][0] - 0.8 - x, SMALL_CAPITAL_MM)
    behind_x = boxes[1][0] + TICK_MM + 0.8
    behind = (behind_x, low, x + width - behind_x, SMALL_CAPITAL_MM)
    return (
        (TickBox("word", boxes[0], axis=name, sign=-1), TickBox("word", boxes[1], axis=name, sign=1)),
        (Label(less, before, "right"), Label(more, behind)),
    )


def _said(mode: Mode) -> str:
    return "The best is still too" if mode == "tiles" else "It is too"


def _words_beside(x: float, y: float, width: float, mode: Mode) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in two rows of three, behind their opening words."""
    lead = 24.0
    ticks: list[TickBox] = []
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    labels = [Label(_said(mode), (x, low, lead, SMALL_CAPITAL_MM), strong=True)]
    if mode == "tiles":
        box = (x, y + ROW_MM, TICK_MM, TICK_MM)
        ticks.append(TickBox("none_right", box))
        labels.append(Label("none is right", (x + TICK_MM + 0.8, low + ROW_MM, lead, SMALL_CAPITAL_MM)))
    each = (width - lead) / 3
    for axis in range(len(PAIRS)):
        row, column = divmod(axis, 3)
        boxes, words = _pair(axis, x + lead + column * each, y + row * ROW_MM, each)
        ticks.extend(boxes)
        labels.extend(words)
    return tuple(ticks), tuple(labels)


def _words_below(
    x: float, y: float, width: float, columns: int, mode: Mode
) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in rows under everything else, their opening words above them."""
    ticks: list[TickBox] = []
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    labels = [Label(_said(mode), (x, low, 30.0, SMALL_CAPITAL_MM), strong=True)]
    if mode == "tiles":
        ticks.append(TickBox("none_right", (x + width - TICK_MM, y, TICK_MM, TICK_MM)))
        labels.append(Label("none is right", (x + width - TICK_MM - 20.8, low, 20.0, SMALL_CAPITAL_MM), "right"))
    each = width / columns
    for axis in range(len(PAIRS)):
        row, column = divmod(axis, columns)
        boxes, words = _pair(axis, x + column * each, y + (row + 1) * ROW_MM, each)
        ticks.extend(boxes)
        labels.extend(words)
    return tuple(ticks), tuple(labels)
