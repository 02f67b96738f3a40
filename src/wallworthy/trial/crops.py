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
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter

from wallworthy.base.records import Box, Pair
from wallworthy.trial.layout import BoxMm, SheetLayout

Kind = Literal["whole", "part", "dark", "light", "saturated", "neutral", "skin", "detail"]
Lab = NDArray[np.floating]
Plane = NDArray[np.float64]

PANEL_GAP_MM: Final = 0.6
LEAST_BAND: Final = 0.2
"""The panels take at least this share of a tile."""
LONGEST: Final = 2.4
"""A picture longer than this would be too thin as a whole."""
PANEL_SHARE: Final = 0.15
"""Edge of what a panel shows, in the geometric mean of the picture's edges."""
WORTH: Final = 0.12
"""Scores below this reveal nothing worth a panel."""

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


def choose_crops(picture_lab: Lab, shown_px: Box, layout: SheetLayout, final_mm: Pair) -> SheetCrops:
    """Choose what the tiles and the strip show.

    picture_lab: the part of the master that is printed, small, (H, W, 3), media-relative Lab; 500 to
    1000 px along its longer edge. shown_px: that part in master pixels (row, column, height, width).
    final_mm: the print's picture area. Deterministic.
    """
    lab = np.asarray(picture_lab, dtype=np.float64)
    tile = layout.tiles[0].box_mm
    if layout.mode != "tiles":
        whole = Crop("whole", shown_px, (0.0, 0.0, tile[2], tile[3]), REASONS["whole"])
        return SheetCrops(whole, (), None)
    revealing = _revealing(lab)
    main, band = _main(revealing, shown_px, (tile[2], tile[3]))
    panels = _panels(lab, revealing, shown_px, band)
    strip = None if layout.strip_mm is None else _strip(lab, shown_px, layout.strip_mm, final_mm)
    return SheetCrops(main, panels, strip)


def _revealing(lab: Lab) -> dict[Kind, Plane]:
    """How much each place shows of each kind, (H, W) each, 0-1 or so, before averaging over a window."""
    lightness, a, b = lab[..., 0], lab[..., 1], lab[..., 2]
    chroma, hue = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    size = max(3, round(max(lab.shape[:2]) / 100))
    mean = uniform_filter(lightness, size, mode="nearest")
    spread = np.sqrt(np.maximum(uniform_filter(lightness**2, size, mode="nearest") - mean**2, 0))
    drawing = spread / (spread + 1.5)
    return {
        "dark": _bell(lightness, 14, 9) * (0.25 + 0.75 * drawing),
        "light": _bell(lightness, 92, 6) * (0.25 + 0.75 * drawing) * (lightness < 99.5),
        "saturated": np.clip((chroma - 25) / 60, 0, 1.5),
        "neutral": _bell(lightness, 55, 18) * np.exp(-((chroma / 5) ** 2)),
        "skin": _bell(lightness, 65, 16) * _bell(chroma, 24, 10) * _bell(hue, 52, 18),
    }


def _bell(values: Plane, centre: float, width: float) -> Plane:
    return np.exp(-(((values - centre) / width) ** 2))


def _main(revealing: dict[Kind, Plane], shown: Box, tile_mm: Pair) -> tuple[Crop, BoxMm]:
    """The main picture, and the band of the tile that is left for panels."""
    width, height = tile_mm
    shape = shown[3] / shown[2]
    below = shape >= width / height * (1 - LEAST_BAND / 2)
    room = (width, height * (1 - LEAST_BAND)) if below else (width * (1 - LEAST_BAND), height)
    kind: Kind
    if 1 / LONGEST <= shape <= LONGEST:
        kind, box = "whole", shown
        wide = min(room[0], room[1] * shape)
        size = (wide, wide / shape)
    else:
        kind, size = "part", room
        box = _best_window(sum(revealing.values(), np.zeros(1)), shown, room[0] / room[1], 1.0, ())
    if below:
        place = ((width - size[0]) / 2, 0.0, *size)
        band = (0.0, size[1] + PANEL_GAP_MM, width, height - size[1] - PANEL_GAP_MM)
    else:
        place = (0.0, (height - size[1]) / 2, *size)
        band = (size[0] + PANEL_GAP_MM, 0.0, width - size[0] - PANEL_GAP_MM, height)
    return Crop(
        "whole" if kind == "whole" else "part", box, place, REASONS["whole" if kind == "whole" else "part"]
    ), band


def _panels(lab: Lab, revealing: dict[Kind, Plane], shown: Box, band: BoxMm) -> tuple[Crop, ...]:
    """Panels of equal size that fill the band, the most telling first kept, in the order dark to skin."""
    long, short = max(band[2], band[3]), min(band[2], band[3])
    most = max(2, min(len(revealing), math.floor(long / max(short, 5.0) / 0.8)))
    each = (long - (most - 1) * PANEL_GAP_MM) / most
    panel = (each, band[3]) if band[2] >= band[3] else (band[2], each)
    share = PANEL_SHARE * math.sqrt(shown[2] * shown[3])
    scale = share / math.sqrt(panel[0] * panel[1])
    window = (panel[1] * scale, panel[0] * scale)
    found: list[tuple[float, Kind, Box]] = []
    for kind, plane in revealing.items():
        taken = tuple(box for _, _, box in found)
        score, box = _scored_window(plane, shown, window, taken)
        found.append((score, kind, box))
    worth = sorted(found, key=lambda one: -one[0])
    chosen = {kind for score, kind, _ in worth[:most] if score >= WORTH}
    chosen |= {kind for _, kind, _ in worth[: max(2, most - 1)]}
    crops: list[Crop] = []
    kept = [(kind, box) for _, kind, box in found if kind in chosen]
    each = (long - (len(kept) - 1) * PANEL_GAP_MM) / len(kept)
    for place, (kind, box) in enumerate(kept):
        start = place * (each + PANEL_GAP_MM)
        across = band[2] >= band[3]
        at = (band[0] + start, band[1], each, band[3]) if across else (band[0], band[1] + start, band[2], each)
        crops.append(
            Crop(kind, _reshaped(box, shown, at[2] / at[3]), at, f"{REASONS[kind]}, {_whereabouts(box, shown)}")
        )
    return tuple(crops)


def _strip(lab: Lab, shown: Box, strip_mm: BoxMm, final_mm: Pair) -> Crop:
    """The busiest stretch of the picture that the strip's size on the print takes."""
    width, height = min(strip_mm[2], final_mm[0]), min(strip_mm[3], final_mm[1])
    window = (shown[2] * height / final_mm[1], shown[3] * width / final_mm[0])
    lightness = lab[..., 0]
    slope = np.hypot(np.gradient(lightness, axis=0), np.gradient(lightness, axis=1))
    _, box = _scored_window(slope / (slope + 4), shown, window, ())
    return Crop("detail", box, (0.0, 0.0, width, height), f"{REASONS['detail']}, {_whereabouts(box, shown)}")


def _best_window(plane: Plane, shown: Box, shape: float, share: float, taken: tuple[Box, ...]) -> Box:
    """The best window of a shape (width over height), as large as fits times `share`."""
    height = min(shown[2], shown[3] / shape) * share
    return _scored_window(plane, shown, (height, height * shape), taken)[1]


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


def _reshaped(box: Box, shown: Box, shape: float) -> Box:
    """A box of the same area and middle in another shape, kept inside the part shown."""
    area = box[2] * box[3]
    width = min(shown[3], max(1, round(math.sqrt(area * shape))))
    height = min(shown[2], max(1, round(width / shape)))
    width = min(width, max(1, round(height * shape)))
    row = box[0] + (box[2] - height) // 2
    column = box[1] + (box[3] - width) // 2
    row = min(max(row, shown[0]), shown[0] + shown[2] - height)
    column = min(max(column, shown[1]), shown[1] + shown[3] - width)
    return row, column, height, width


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
