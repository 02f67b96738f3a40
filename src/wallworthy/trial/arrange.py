"""Arranging a test sheet: the tiles large, everything else at its foot and in its margins.

Measures of the 10 x 15 cm sheet: tiles 40 x 31.25 mm, 4 mm apart across and 5 mm down, codes under them.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Pair
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
from wallworthy.trial.lettering import TAIL, text_width_mm
from wallworthy.trial.ticks import (
    PAIRS,
    ROW_MM,
    SMALL_CAPITAL_MM,
    TICK_STROKE_MM,
    tile_feet,
    words_beside,
    words_under,
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
NOTE_CAPITAL_MM: Final = 2.4
"""Height of capitals of the notes; their small letters are as high as those of 11 pt type."""
WEDGE_MM: Final = 3.5
THREE_PAIRS_MM: Final = 83.0
"""Three pairs of opposites side by side need this much."""
STRIP_MM: Final = 4.9
BAR_LABEL_MM: Final = 6.4
BAR_TICK_MM: Final = 1.1
SMALLEST_MM: Final = (85.0, 125.0)
SLOTS: Final = 4
LEAST_PPI: Final = 72.0
MOST_PPI: Final = 2880.0
PICTURE_SHARE: Final = 0.85
"""Of a tile's height (of its width, for an upright picture); the rest is for details."""
LEAST_TILE_MM: Final = (26.0, 18.0)
FEED: Final = "feed this edge first"


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
    code: str = "A1",
) -> SheetLayout:
    """Where everything lies on a sheet of this size.

    tiles: 4 to 8, by the size when None; without meaning for 'whole' and 'prints', which hold one
    picture each, whose code is `code`. slot: 1 to 4, the quarter of a large sheet to use, in reading
    order. picture_shape: width over height of the picture. Raises InputError when it does not fit.
    """
    area = _area(sheet_mm, slot)
    _refuse(area, tiles, slot, ppi)
    foot = _foot(area, mode, slot)
    count = (tiles or tile_count((area[2], area[3]))) if mode == "tiles" else 1
    room = (area[0] + SIDE_MM, foot.first_mm, area[2] - 2 * SIDE_MM, foot.last_mm - foot.first_mm)
    shape = min(max(picture_shape, 0.25), 4.0)
    places = _one(room, shape, code) if mode != "tiles" else _grid(room, count, shape)
    own = tile_feet(places, mode)
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


def _refuse(area: BoxMm, tiles: int | None, slot: int | None, ppi: float) -> None:
    """What can't make a sheet. Raises InputError."""
    if min(area[2:]) < SMALLEST_MM[0] or max(area[2:]) < SMALLEST_MM[1]:
        raise InputError(
            "sheet_too_small",
            f"A test sheet of {area[2]:.0f} x {area[3]:.0f} mm is too small to teach anything.",
            "Use 9 x 13 cm or larger." if slot is None else "Use quarters only on A4 or larger.",
            where="--sheet",
        )
    if tiles is not None and not 4 <= tiles <= 8:
        raise InputError("tiles_unclear", f"A sheet holds 4 to 8 tiles, not {tiles}.", "Say 4 to 8.", where="--tiles")
    if not LEAST_PPI <= ppi <= MOST_PPI:
        raise InputError(
            "sheet_ppi",
            f"A test sheet can't be drawn at {ppi:g} pixels per inch.",
            f"Give {LEAST_PPI:.0f} to {MOST_PPI:.0f}; 300 or 360 is usual.",
            where="--ppi",
        )


def turned(sheet_mm: Pair, picture_shape: float, *, tiles: int | None = None, mode: Mode = "tiles") -> Pair:
    """The sheet the way round that shows the picture larger; lying when both are alike.

    >>> turned((100, 150), 1.5), turned((100, 150), 1.5, mode="whole")
    ((150, 100), (150, 100))
    """
    long, short = max(sheet_mm), min(sheet_mm)

    def shown(size: Pair) -> float:
        width, height = sheet_layout(size, tiles=tiles, mode=mode, picture_shape=picture_shape).tiles[0].box_mm[2:]
        return min(width, height * picture_shape) ** 2 / picture_shape

    return (long, short) if shown((long, short)) >= shown((short, long)) else (short, long)


@dataclass(frozen=True, slots=True)
class _Foot:
    """All but the tiles. first_mm and last_mm: where the tiles may begin and must end."""

    first_mm: float
    last_mm: float
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
    wide, narrow = beside >= BAR_MM + BAR_LABEL_MM, beside < THREE_PAIRS_MM
    # From the bottom upwards: the wedge (on its bar, if there is room for it), the words, the strip; the
    # mark at their right. On a narrow sheet the words lie under all that.
    block_bottom = bottom - (1 + len(PAIRS) // 2) * ROW_MM - 0.8 if narrow else bottom
    wedge_top = block_bottom - WEDGE_MM - (BAR_TICK_MM if wide else 0.0)
    neutrals, colours = _patches(left, min(beside, BAR_MM), wedge_top)
    strip_height = STRIP_MM * max(1.0, min(height, width) / 100)
    if wide:
        words_top = wedge_top - 2 * ROW_MM - 0.6
        ticks, labels = words_beside(left, words_top, beside, mode)
    elif narrow:
        words_top = wedge_top - 0.5
        ticks, labels = words_under(left, block_bottom + 1.0, across, 2, mode)
        strip_height = max(strip_height, MARK_MM - WEDGE_MM - 1.2)
    else:
        words_top = wedge_top - 3 * ROW_MM - 0.6
        ticks, labels = words_under(left, words_top, beside, 3, mode)
    strip_bottom = words_top - 0.7
    strip = (left, strip_bottom - strip_height, beside, strip_height) if mode == "tiles" else None
    mark = (x + width - SIDE_MM - MARK_MM, block_bottom - MARK_MM, MARK_MM, MARK_MM)
    bar, bar_label, first = _bar(area, left, block_bottom, wide)
    notes, arrow = _margins(area, bar, slot)
    feed = () if slot is None else (_feed_label(arrow),)
    last = min((strip[1] if strip else words_top) - 0.7, mark[1]) - FOOT_MM
    return _Foot(first, last, strip, neutrals, colours, mark, bar, ticks, (*labels, *bar_label, *feed), notes, arrow)


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
        start = left + BAR_MM + 1.0
        room = x + width - SIDE_MM - MARK_MM - start
        said = "100 mm" if text_width_mm("100 mm", SMALL_CAPITAL_MM) <= room else "10 cm"
        label = Label(said, (start, bottom - SMALL_CAPITAL_MM, min(room, 9.0), SMALL_CAPITAL_MM))
        return (left, bottom - BAR_TICK_MM, BAR_MM, BAR_TICK_MM), (label,), first
    if width >= BAR_MM + 2 * (EDGE_MM + CORNER_MM + 1):
        return (x + (width - BAR_MM) / 2, y + EDGE_MM, BAR_MM, BAR_TICK_MM), (), first + 2.0
    return (x + EDGE_MM, y + (height - BAR_MM) / 2, BAR_TICK_MM, BAR_MM), (), first


def _margins(area: BoxMm, bar: BoxMm, slot: int | None) -> tuple[tuple[BoxMm, BoxMm], BoxMm]:
    """The two notes, turned, in the side margins, and the arrow to the feed edge."""
    x, y, width, height = area
    corner = EDGE_MM + CORNER_MM + 1.5
    upright = bar[3] > bar[2]
    arrow_room = 9.0 + text_width_mm(FEED, SMALL_CAPITAL_MM) + 3.0 if slot is not None else 0.0
    tall = height - 2 * corner
    left = (x + EDGE_MM + (BAR_TICK_MM + 0.7 if upright else 0.4), y + corner, NOTE_CAPITAL_MM, tall)
    # Turned letters hang to the right: their tails keep clear of the edge too.
    outer = x + width - EDGE_MM - NOTE_CAPITAL_MM * (1 + TAIL)
    right = (outer, y + corner + arrow_room, NOTE_CAPITAL_MM, tall - arrow_room)
    arrow = (right[0] - 0.3, y + corner, NOTE_CAPITAL_MM + 0.6, 8.0)
    return (left, right), arrow


def _feed_label(arrow: BoxMm) -> Label:
    run = text_width_mm(FEED, SMALL_CAPITAL_MM) + 0.1
    left = arrow[0] + (arrow[2] - SMALL_CAPITAL_MM) / 2
    return Label(FEED, (left, arrow[1] + arrow[3] + 1.0, SMALL_CAPITAL_MM, run), "right", turned=True)


def _one(room: BoxMm, shape: float, code: str) -> tuple[TilePlace, ...]:
    """One picture in its own proportions, in the middle of the room."""
    x, y, across, tall = room
    wide = min(across, tall * shape)
    high = wide / shape
    return (TilePlace(code, (x + (across - wide) / 2, y + (tall - high) / 2, wide, high)),)


def _grid(room: BoxMm, count: int, shape: float) -> tuple[TilePlace, ...]:
    """The grid whose tiles suit the picture's shape best."""
    x, y, across, tall = room
    best: tuple[float, int, int] | None = None
    wanted = shape * PICTURE_SHARE if shape >= 1 else shape / PICTURE_SHARE
    for columns in range(1, count + 1):
        rows = math.ceil(count / columns)
        tile = (across - GAP_ACROSS_MM * (columns - 1)) / columns, (tall - GAP_DOWN_MM * (rows - 1)) / rows
        if tile[0] < LEAST_TILE_MM[0] or tile[1] < LEAST_TILE_MM[1]:
            continue
        empty = columns * rows - count
        cost = abs(math.log(tile[0] / tile[1] / wanted)) + 0.5 * empty
        if best is None or cost < best[0]:
            best = cost, columns, rows
    if best is None:
        raise InputError(
            "tiles_too_many",
            f"{count} tiles on a sheet of this size would be too small to judge.",
            "Ask for fewer tiles or a larger sheet.",
            where="--tiles",
        )
    _, columns, rows = best
    wide = (across - GAP_ACROSS_MM * (columns - 1)) / columns
    high = (tall - GAP_DOWN_MM * (rows - 1)) / rows
    places: list[TilePlace] = []
    for place in range(count):
        row, column = divmod(place, columns)
        box = (x + column * (wide + GAP_ACROSS_MM), y + row * (high + GAP_DOWN_MM), wide, high)
        places.append(TilePlace(f"{'ABCDEFGH'[row]}{column + 1}", box))
    return tuple(places)


def free_slot(used: Collection[int]) -> int | None:
    """The next quarter of a large sheet, in reading order; None when all are used.

    >>> free_slot([1, 2]), free_slot([1, 2, 3, 4])
    (3, None)
    """
    return next((slot for slot in range(1, SLOTS + 1) if slot not in used), None)


def print_codes(count: int) -> tuple[str, ...]:
    """Codes of separate prints, three to a letter as on a sheet.

    >>> print_codes(4)
    ('A1', 'A2', 'A3', 'B1')
    """
    return tuple(f"{'ABCDEFGH'[place // 3]}{place % 3 + 1}" for place in range(count))
