"""Which parts of the picture the tiles show: the whole of it small, and beside it the places that reveal most.

All tiles of a sheet show the same, so that only the correction differs. Tone and colour balance are
judged on the whole picture; what a small picture hides (drawing in the dark, drawing in the light,
strong colour, greys, skin-like tones) is shown larger in panels, which fill the rest of the tile.
A picture too long for that shows the part that reveals most instead.
Sharpness can't be judged on tiles: the strip shows a busy place at the print's own scale.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import uniform_filter

from wallworthy.base.records import Box, Pair
from wallworthy.trial.layout import BoxMm, SheetLayout

Kind = Literal["whole", "part", "dark", "light", "saturated", "neutral", "skin", "detail"]
Plane = NDArray[np.float64]

PANEL_GAP_MM: Final = 0.6
LEAST_BAND: Final = 0.15
"""The panels take at least this share of a tile."""
LONGEST: Final = 2.4
"""A picture longer than this would be too thin as a whole."""
ENLARGED: Final = 2.0
"""How much larger than the main picture the panels show their places."""
PANEL_SHAPE: Final = 1.6
ALWAYS: Final = ("dark", "light")
HELD: Final = 0.15
"""Mean score of a place above which the picture is said to hold a kind."""

REASONS: Final[dict[Kind, str]] = {
    "whole": "the whole picture, for its tone and colour balance",
    "part": "the part that shows most kinds of tone and colour, since the whole would be too thin",
    "dark": "the darkest tones that still hold drawing",
    "light": "the lightest tones that still hold drawing",
    "saturated": "the strongest colour",
    "neutral": "the nearest to grey in the middle tones",
    "skin": "tones of the colour of skin",
    "detail": "a busy place, at the print's own scale and sharpening",
}


@dataclass(frozen=True, slots=True)
class Crop:
    """A part of the master and where a tile shows it (mm from the tile's upper left; the strip's from its own)."""

    kind: Kind
    box_px: Box
    place_mm: BoxMm
    reason: str


@dataclass(frozen=True, slots=True)
class SheetCrops:
    """What every tile of a sheet shows, and what its strip does."""

    main: Crop
    panels: tuple[Crop, ...]
    strip: Crop | None

    @property
    def of_tile(self) -> tuple[Crop, ...]:
        """The main picture and the panels."""
        return self.main, *self.panels


def choose_crops(picture_lab: ArrayLike, shown_px: Box, layout: SheetLayout, final_mm: Pair) -> SheetCrops:
    """Choose what the tiles and the strip show.

    picture_lab: the part of the master that is printed, small, (H, W, 3), media-relative Lab; 500 to
    1000 px along its longer edge. shown_px: that part in master pixels (row, column, height, width).
    final_mm: the print's picture area. Deterministic.
    """
    lab: Plane = np.asarray(picture_lab, dtype=np.float64)
    tile = layout.tiles[0].box_mm
    if layout.mode != "tiles":
        whole = Crop("whole", shown_px, (0.0, 0.0, tile[2], tile[3]), REASONS["whole"])
        return SheetCrops(whole, (), None)
    revealing = _revealing(lab)
    main, band = _main(revealing, shown_px, (tile[2], tile[3]))
    panels = _panels(revealing, shown_px, main, band)
    strip = None if layout.strip_mm is None else _strip(lab, shown_px, layout.strip_mm, final_mm)
    return SheetCrops(main, panels, strip)


def _revealing(lab: Plane) -> dict[Kind, Plane]:
    """How much each place shows of each kind, (H, W) each, 0-1 or so, before averaging over a window."""
    planes: list[Plane] = [lab[..., channel] for channel in range(3)]
    lightness, a, b = planes
    chroma, hue = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    size = max(3, round(max(lab.shape[:2]) / 100))
    mean = uniform_filter(lightness, size, mode="nearest")
    spread = np.sqrt(np.maximum(uniform_filter(lightness**2, size, mode="nearest") - mean**2, 0))
    drawing = spread / (spread + 1.5)
    return {
        "dark": _bell(lightness, 14, 9) * (0.25 + 0.75 * drawing) * _bell(chroma, 0, 50),
        "light": _bell(lightness, 92, 6) * (0.25 + 0.75 * drawing) * (lightness < 99.5) * _bell(chroma, 0, 40),
        "saturated": np.clip((chroma - 25) / 60, 0, 1.5),
        "neutral": _bell(lightness, 55, 18) * _bell(chroma, 0, 5),
        "skin": _bell(lightness, 65, 16) * _bell(chroma, 24, 10) * _bell(hue, 52, 18),
    }


def _bell(values: Plane, centre: float, width: float) -> Plane:
    return np.exp(-(((values - centre) / width) ** 2))


def _main(revealing: dict[Kind, Plane], shown: Box, tile_mm: Pair) -> tuple[Crop, BoxMm]:
    """The main picture, and the band of the tile that is left for panels: below it, or at its right."""
    width, height = tile_mm
    shape = shown[3] / shown[2]
    under, beside = (width, height * (1 - LEAST_BAND)), (width * (1 - LEAST_BAND), height)
    below = min(under[0], under[1] * shape) >= min(beside[0], beside[1] * shape)
    room = under if below else beside
    if 1 / LONGEST <= shape <= LONGEST:
        wide = min(room[0], room[1] * shape)
        size = (wide, wide / shape)
        main = Crop("whole", shown, (0.0, 0.0, *size), REASONS["whole"])
    else:
        size = room
        box = _best_window(sum(revealing.values(), np.zeros(1)), shown, room[0] / room[1])
        main = Crop("part", box, (0.0, 0.0, *size), REASONS["part"])
    if below:
        return main, (0.0, size[1] + PANEL_GAP_MM, size[0], height - size[1] - PANEL_GAP_MM)
    return main, (size[0] + PANEL_GAP_MM, 0.0, width - size[0] - PANEL_GAP_MM, size[1])


def _panels(revealing: dict[Kind, Plane], shown: Box, main: Crop, band: BoxMm) -> tuple[Crop, ...]:
    """Panels of one size that fill the band: dark and light always, of the other kinds what the picture holds."""
    held: dict[Kind, Plane] = {kind: one for kind, one in revealing.items() if _holds(kind, one, shown, main)}
    columns, rows = _panel_grid(band, len(held))
    wide = (band[2] - PANEL_GAP_MM * (columns - 1)) / columns
    high = (band[3] - PANEL_GAP_MM * (rows - 1)) / rows
    scale = main.box_px[3] / main.place_mm[2] / ENLARGED
    window = (min(high * scale, shown[2]), min(wide * scale, shown[3]))
    found: list[tuple[float, Kind, Box]] = []
    for kind, plane in held.items():
        score, box = _scored_window(plane, shown, window, tuple(taken for _, _, taken in found))
        found.append((score, kind, box))
    telling = sorted(found, key=lambda one: (one[1] not in ALWAYS, -one[0]))[: columns * rows]
    crops: list[Crop] = []
    for place, (_, kind, box) in enumerate(one for one in found if one in telling):
        row, column = divmod(place, columns)
        at = (band[0] + column * (wide + PANEL_GAP_MM), band[1] + row * (high + PANEL_GAP_MM), wide, high)
        crops.append(Crop(kind, box, at, f"{REASONS[kind]}, {_whereabouts(box, shown)}"))
    return tuple(crops)


def _holds(kind: Kind, plane: Plane, shown: Box, main: Crop) -> bool:
    """Whether the picture holds enough of a kind for a panel a tenth of its size."""
    if kind in ALWAYS:
        return True
    edge = min(0.1 * math.sqrt(main.box_px[2] * main.box_px[3]), shown[2], shown[3])
    return _scored_window(plane, shown, (edge, edge), ())[0] >= HELD


def _panel_grid(band: BoxMm, most: int) -> tuple[int, int]:
    """Columns and rows of panels, 2 to 5 of them, that come nearest to a pleasant shape."""
    grids = ((2, 1), (3, 1), (4, 1), (5, 1), (1, 2), (1, 3), (1, 4), (1, 5), (2, 2))

    def cost(grid: tuple[int, int]) -> float:
        wide = (band[2] - PANEL_GAP_MM * (grid[0] - 1)) / grid[0]
        high = (band[3] - PANEL_GAP_MM * (grid[1] - 1)) / grid[1]
        if min(wide, high) <= 0 or grid[0] * grid[1] > most:
            return math.inf
        return abs(math.log(wide / high / PANEL_SHAPE)) + 0.3 * max(0, 4 - grid[0] * grid[1])

    return min(grids, key=cost)


def _strip(lab: Plane, shown: Box, strip_mm: BoxMm, final_mm: Pair) -> Crop:
    """The busiest stretch of the picture that the strip's size on the print takes."""
    width, height = min(strip_mm[2], final_mm[0]), min(strip_mm[3], final_mm[1])
    window = (shown[2] * height / final_mm[1], shown[3] * width / final_mm[0])
    slope = np.hypot(*(_slope(lab[..., 0], axis) for axis in (0, 1)))
    _, box = _scored_window(slope / (slope + 4), shown, window, ())
    return Crop("detail", box, (0.0, 0.0, width, height), f"{REASONS['detail']}, {_whereabouts(box, shown)}")


def _slope(plane: Plane, axis: int) -> Plane:
    """How a plane rises along an axis; nowhere, where it is one pixel thin."""
    return np.gradient(plane, axis=axis) if plane.shape[axis] > 1 else np.zeros_like(plane)


def _best_window(plane: Plane, shown: Box, shape: float) -> Box:
    """The best window of a shape (width over height), as large as fits."""
    height = min(shown[2], shown[3] / shape)
    return _scored_window(plane, shown, (height, height * shape), ())[1]


def _scored_window(
    plane: Plane, shown: Box, window_px: tuple[float, float], taken: tuple[Box, ...]
) -> tuple[float, Box]:
    """The mean of a plane in the best window (height, width in master pixels), and the window in master pixels.

    Windows that overlap one already taken by more than a third are avoided when there are others.
    """
    scale = plane.shape[0] / shown[2], plane.shape[1] / shown[3]
    high = max(1, min(plane.shape[0], round(window_px[0] * scale[0])))
    wide = max(1, min(plane.shape[1], round(window_px[1] * scale[1])))
    total = np.pad(plane.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    means = (total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]) / (high * wide)
    allowed = np.ones(means.shape, dtype=bool)
    for box in taken:
        row, column = (box[0] - shown[0]) * scale[0], (box[1] - shown[1]) * scale[1]
        rows = np.abs(np.arange(means.shape[0]) - row) < high * 0.67
        columns = np.abs(np.arange(means.shape[1]) - column) < wide * 0.67
        allowed &= ~(rows[:, None] & columns[None, :])
    judged = np.where(allowed, means, -1.0) if allowed.any() else means
    row, column = np.unravel_index(int(np.argmax(judged)), judged.shape)
    height, width = max(1, min(shown[2], round(window_px[0]))), max(1, min(shown[3], round(window_px[1])))
    top = min(round(int(row) / scale[0]), shown[2] - height)
    left = min(round(int(column) / scale[1]), shown[3] - width)
    return float(judged[row, column]), (shown[0] + top, shown[1] + left, height, width)


def _whereabouts(box: Box, shown: Box) -> str:
    """Where a box lies, in words.

    >>> _whereabouts((0, 0, 10, 10), (0, 0, 100, 100))
    'at the upper left'
    """
    down = (box[0] + box[2] / 2 - shown[0]) / shown[2]
    across = (box[1] + box[3] / 2 - shown[1]) / shown[3]
    row = "upper" if down < 1 / 3 else "lower" if down > 2 / 3 else ""
    column = "left" if across < 1 / 3 else "right" if across > 2 / 3 else ""
    if row and column:
        return f"at the {row} {column}"
    if row:
        return "at the top" if row == "upper" else "at the bottom"
    return f"at the {column}" if column else "in the middle"
