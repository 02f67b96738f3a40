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
    TickKind,
    TilePlace,
    evenly,
)
from wallworthy.trial.lettering import text_width_mm

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
BETWEEN_TICKS_MM: Final = 0.9
BESIDE_TICK_MM: Final = 0.8
CAPITAL_MM: Final = 2.7
"""Height of capitals of codes: 11 pt type."""
NOTE_CAPITAL_MM: Final = 2.4
"""Height of capitals of the notes; their small letters are as high as those of 11 pt type."""
SMALL_CAPITAL_MM: Final = 1.8
"""Height of capitals of the words beside boxes: 7.5 pt type."""
ROW_MM: Final = 3.2
WEDGE_MM: Final = 3.5
STRIP_MM: Final = 4.9
BAR_TICK_MM: Final = 1.1
SMALLEST_MM: Final = (85.0, 125.0)
SLOTS: Final = 4
PICTURE_SHARE: Final = 0.85
"""Of a tile's height (of its width, for an upright picture); the rest is for details."""
LEAST_TILE_MM: Final = (26.0, 18.0)
FEED: Final = "feed this edge first"
LAB_REQUEST: Final = "Please print without automatic correction."

PAIRS: Final[tuple[tuple[str, str], ...]] = (
    ("dark", "light"),
    ("soft", "strong"),
    ("shadows deep", "open"),
    ("green", "red"),
    ("blue", "yellow"),
    ("dull", "garish"),
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
    code: str = "A1",
) -> SheetLayout:
    """Where everything lies on a sheet of this size.

    tiles: 4 to 8, by the size when None; without meaning for 'whole' and 'prints', which hold one
    picture each, whose code is `code`. slot: 1 to 4, the quarter of a large sheet to use, in reading
    order. picture_shape: width over height of the picture. Raises InputError when it does not fit.
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
    places = _tiles(
        area, count, foot.top_mm, foot.first_mm, min(max(picture_shape, 0.25), 4.0), None if mode == "tiles" else code
    )
    own = _tile_feet(places, mode)
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
    feed = () if slot is None else (_feed_label(arrow),)
    top = min(strip_top - 0.7, mark[1] + 0.4) - FOOT_MM
    return _Foot(first, top, strip, neutrals, colours, mark, bar, ticks, (*labels, *bar_label, *feed), notes, arrow)


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
        label = Label("100 mm", (left + BAR_MM + 1.2, bottom - SMALL_CAPITAL_MM, 9.2, SMALL_CAPITAL_MM))
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
    right = (x + width - EDGE_MM - NOTE_CAPITAL_MM - 0.4, y + corner + arrow_room, NOTE_CAPITAL_MM, tall - arrow_room)
    arrow = (right[0] - 0.3, y + corner, NOTE_CAPITAL_MM + 0.6, 8.0)
    return (left, right), arrow


def _feed_label(arrow: BoxMm) -> Label:
    run = text_width_mm(FEED, SMALL_CAPITAL_MM) + 0.1
    left = arrow[0] + (arrow[2] - SMALL_CAPITAL_MM) / 2
    return Label(FEED, (left, arrow[1] + arrow[3] + 1.0, SMALL_CAPITAL_MM, run), "right", turned=True)


def _tiles(area: BoxMm, count: int, last: float, first: float, shape: float, code: str | None) -> tuple[TilePlace, ...]:
    """The grid whose tiles come nearest to their shape; one picture keeps its own proportions."""
    x, _, width, _ = area
    left, across, tall = x + SIDE_MM, width - 2 * SIDE_MM, last - first
    if code is not None:
        wide = min(across, tall * shape)
        size = (wide, wide / shape)
        box = (left + (across - size[0]) / 2, first + (tall - size[1]) / 2, *size)
        return (TilePlace(code, box),)
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
        box = (left + column * (wide + GAP_ACROSS_MM), first + row * (high + GAP_DOWN_MM), wide, high)
        places.append(TilePlace(f"{'ABCDEFGH'[row]}{column + 1}", box))
    return tuple(places)


def _tile_feet(tiles: tuple[TilePlace, ...], mode: Mode) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """Under each tile: its code, then boxes for best and next best; under a single picture whether it is right."""
    ticks: list[TickBox] = []
    labels: list[Label] = []
    for tile in tiles:
        x, y, width, height = tile.box_mm
        top = y + height + 0.8
        low, right = top + (CAPITAL_MM - SMALL_CAPITAL_MM), x + width
        if mode != "whole":
            labels.append(Label(tile.code, (x + 0.2, top, 6.0, CAPITAL_MM), strong=True))
        if mode == "prints":
            labels.append(Label(LAB_REQUEST, (x + 9.0, low, width - 36.0, SMALL_CAPITAL_MM)))
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


def _said(mode: Mode) -> str:
    return "The best is still too" if mode == "tiles" else "It is too"


def _words_beside(x: float, y: float, width: float, mode: Mode) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in two rows of three, behind their opening words."""
    lead = 28.0
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    ticks, labels = _pairs(x + lead, y, width - lead, 3)
    said = Label(_said(mode), (x + 0.2, low, lead, SMALL_CAPITAL_MM), strong=True)
    if mode != "tiles":
        return ticks, (said, *labels)
    none = TickBox("none_right", (x, y + ROW_MM, TICK_MM, TICK_MM))
    word = Label("none is right", (x + TICK_MM + BESIDE_TICK_MM, low + ROW_MM, lead, SMALL_CAPITAL_MM))
    return (none, *ticks), (said, word, *labels)


def _words_below(
    x: float, y: float, width: float, columns: int, mode: Mode
) -> tuple[tuple[TickBox, ...], tuple[Label, ...]]:
    """The six pairs in rows under everything else, their opening words above them."""
    low = y + (TICK_MM - SMALL_CAPITAL_MM) / 2 + 0.1
    ticks, labels = _pairs(x, y + ROW_MM, width, columns)
    said = Label(_said(mode), (x + 0.2, low, 30.0, SMALL_CAPITAL_MM), strong=True)
    if mode != "tiles":
        return ticks, (said, *labels)
    none = TickBox("none_right", (x + width - TICK_MM, y, TICK_MM, TICK_MM))
    word = Label("none is right", (none.box_mm[0] - BESIDE_TICK_MM - 20.0, low, 20.0, SMALL_CAPITAL_MM), "right")
    return (none, *ticks), (said, word, *labels)


def print_codes(count: int) -> tuple[str, ...]:
    """Codes of separate prints, three to a letter as on a sheet.

    >>> print_codes(4)
    ('A1', 'A2', 'A3', 'B1')
    """
    return tuple(f"{'ABCDEFGH'[place // 3]}{place % 3 + 1}" for place in range(count))
