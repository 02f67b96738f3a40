"""Where everything lies on a test sheet: a pure function of the sheet's size, its tiles, mode and slot.

The record goes into the journal as plain values, so that read-back rebuilds the sheet it looks at.
Boxes are (x, y, width, height) in mm from the sheet's upper left corner.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any, Final, Literal

from wallworthy.base.records import Pair, Triple

BoxMm = tuple[float, float, float, float]
Mode = Literal["tiles", "whole", "prints"]
TickKind = Literal["best", "next", "word", "none_right", "right"]

RECORD: Final = 1
"""Version of the dictionary form."""

NEUTRAL_LSTAR: Final = (0.0, 3.0, 6.0, 10.0, 15.0, 21.0, 29.0, 39.0, 50.0, 61.0, 71.0, 79.0, 85.0, 90.0, 94.0, 97.0)
"""Asked L* of the neutral steps, dense at both ends, dark to light; relative to the master's white and black."""

COLOURS: Final[tuple[tuple[str, Triple], ...]] = (
    ("cyan", (58.0, -27.0, -36.0)),
    ("magenta", (52.0, 53.0, -2.0)),
    ("yellow", (86.0, -4.0, 66.0)),
    ("red", (50.0, 49.0, 34.0)),
    ("green", (54.0, -45.0, 19.0)),
    ("blue", (34.0, 15.0, -33.0)),
)
"""Asked Lab of the six colours: hues of the inks and of their overprints on coated paper (Fogra39
characterisation data), at about 0.72 of their chroma, which matt papers still reach."""

BAR_MM: Final = 100.0


@dataclass(frozen=True, slots=True)
class TilePlace:
    """A tile: its code (letter by row, digit by column) and where it lies."""

    code: str
    box_mm: BoxMm


@dataclass(frozen=True, slots=True)
class NeutralStep:
    """A neutral patch and the L* asked of it."""

    box_mm: BoxMm
    lstar: float


@dataclass(frozen=True, slots=True)
class ColourPatch:
    """A coloured patch and the Lab asked of it."""

    name: str
    box_mm: BoxMm
    lab: Triple


@dataclass(frozen=True, slots=True)
class TickBox:
    """A box to tick in pencil: its outer edge. Words are about the best tile ('still too dark').

    code: the tile of 'best', 'next' and 'right'. axis and sign: of 'word', +1 meaning that the tile has
    too much of the axis.
    """

    kind: TickKind
    box_mm: BoxMm
    code: str | None = None
    axis: str | None = None
    sign: int | None = None


@dataclass(frozen=True, slots=True)
class Label:
    """Words printed on every sheet alike; the box is one line high, its height that of capitals.

    align: which end of the box the text keeps to. turned: reads from bottom to top.
    """

    text: str
    box_mm: BoxMm
    align: Literal["left", "right", "centre"] = "left"
    turned: bool = False
    strong: bool = False


@dataclass(frozen=True, slots=True)
class SlotPlace:
    """The part of a large sheet that this print takes, and the arrow to the edge that goes in first."""

    number: int
    of: int
    box_mm: BoxMm
    arrow_mm: BoxMm


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """Everything that lies on a sheet. Boxes are (x, y, width, height) in mm from the upper left."""

    sheet_mm: Pair
    ppi: float
    mode: Mode
    tiles: tuple[TilePlace, ...]
    strip_mm: BoxMm | None
    """The strip of the picture at its final scale."""
    neutrals: tuple[NeutralStep, ...]
    colours: tuple[ColourPatch, ...]
    mark_mm: BoxMm
    """The machine-readable mark with its quiet zone."""
    corners_mm: tuple[BoxMm, BoxMm, BoxMm, BoxMm]
    """The corner angles, clockwise from the upper left; each angle's elbow is the box's outer corner."""
    corner_stroke_mm: float
    bar_mm: BoxMm
    """The 100 mm bar: from the outer edge of one end tick to the outer edge of the other along its longer side."""
    ticks: tuple[TickBox, ...]
    tick_stroke_mm: float
    labels: tuple[Label, ...]
    notes_mm: tuple[BoxMm, BoxMm]
    """The two lines that tell ticket, sheet, paper, light and time; height is that of capitals (width when turned)."""
    notes_turned: bool
    slot: SlotPlace | None = None

    @property
    def area_mm(self) -> BoxMm:
        """The part of the sheet this print may touch."""
        return self.slot.box_mm if self.slot else (0.0, 0.0, *self.sheet_mm)

    def tile(self, code: str) -> TilePlace:
        """The tile of a code. Raises KeyError."""
        for place in self.tiles:
            if place.code == code:
                return place
        raise KeyError(code)


def as_record(layout: SheetLayout) -> dict[str, Any]:
    """The layout as plain JSON values; `from_record` gives it back unchanged."""
    return {"record": RECORD, **asdict(layout)}


def from_record(record: Mapping[str, Any]) -> SheetLayout:
    """The layout of `as_record`, also after a journey through JSON. Raises ValueError for another version."""
    if record.get("record") != RECORD:
        raise ValueError(f"a sheet layout of version {record.get('record')} can't be read")
    kept = {name: value for name, value in record.items() if name != "record"}
    slot = kept["slot"]
    kept |= {
        "sheet_mm": tuple(kept["sheet_mm"]),
        "tiles": tuple(TilePlace(one["code"], _box(one["box_mm"])) for one in kept["tiles"]),
        "strip_mm": None if kept["strip_mm"] is None else _box(kept["strip_mm"]),
        "neutrals": tuple(NeutralStep(_box(one["box_mm"]), one["lstar"]) for one in kept["neutrals"]),
        "colours": tuple(ColourPatch(one["name"], _box(one["box_mm"]), tuple(one["lab"])) for one in kept["colours"]),
        "mark_mm": _box(kept["mark_mm"]),
        "corners_mm": tuple(_box(one) for one in kept["corners_mm"]),
        "bar_mm": _box(kept["bar_mm"]),
        "ticks": tuple(TickBox(**_with_box(one)) for one in kept["ticks"]),
        "labels": tuple(Label(**_with_box(one)) for one in kept["labels"]),
        "notes_mm": tuple(_box(one) for one in kept["notes_mm"]),
        "slot": None
        if slot is None
        else SlotPlace(slot["number"], slot["of"], _box(slot["box_mm"]), _box(slot["arrow_mm"])),
    }
    return SheetLayout(**kept)


def printed_boxes(layout: SheetLayout) -> Iterator[BoxMm]:
    """Every box that may carry ink, except labels and notes."""
    yield from (tile.box_mm for tile in layout.tiles)
    yield from (step.box_mm for step in layout.neutrals)
    yield from (patch.box_mm for patch in layout.colours)
    yield from (tick.box_mm for tick in layout.ticks)
    yield from layout.corners_mm
    yield layout.mark_mm
    yield layout.bar_mm
    if layout.strip_mm:
        yield layout.strip_mm
    if layout.slot:
        yield layout.slot.arrow_mm


def apart_mm(one: BoxMm, other: BoxMm) -> float:
    """The gap between two boxes; negative when they overlap.

    >>> apart_mm((0, 0, 10, 10), (13, 0, 5, 5))
    3
    """
    x = max(other[0] - one[0] - one[2], one[0] - other[0] - other[2])
    y = max(other[1] - one[1] - one[3], one[1] - other[1] - other[3])
    return max(x, y) if x < 0 or y < 0 else (x * x + y * y) ** 0.5 if x and y else max(x, y)


def evenly(start: float, length: float, count: int) -> list[tuple[float, float]]:
    """`count` neighbouring stretches (start, length) that fill a length without a gap."""
    edges = [start + length * i / count for i in range(count + 1)]
    return [(low, high - low) for low, high in pairwise(edges)]


def _box(values: Any) -> BoxMm:
    x, y, width, height = (float(value) for value in values)
    return x, y, width, height


def _with_box(record: Mapping[str, Any]) -> dict[str, Any]:
    return {**record, "box_mm": _box(record["box_mm"])}
