"""The test sheet as device values: tiles, strip, patches and marks on bare paper.

Rooms are siblings, so everything that needs the master, the fit or a profile is handed in as a
function (`Engine`); the journey composes them and writes the picture out as it writes finals.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Box, Correction
from wallworthy.trial.crops import SheetCrops
from wallworthy.trial.drawing import Inks, Plate, draw_marks
from wallworthy.trial.layout import BoxMm, SheetLayout

Floats = NDArray[np.float32]
Pixels = NDArray[Any]
ToDevice = Callable[[Pixels], Floats]
"""Working pixels (H, W, 3) to the file's device values (H, W, K), 0-1."""

LARGEST_PX: Final = 120_000_000


@dataclass(frozen=True, slots=True)
class Engine:
    """What the sheet is made with, each the very steps of the final.

    working_of: a box of the master scaled to (width, height) pixels, working encoding (height, width, 3).
    device_of: a correction to the function from working pixels to device values of the ticket's way.
    strip_of: a box of the master at (width, height) pixels as the final has it there: scaled, sharpened,
    in device values; None leaves sharpening out and uses the first two.
    patches: asked Lab (n, 3) to device values (n, K), media-relative with black point compensation, so
    that the darkest steps stay apart on every paper.
    inks: bare paper and pure black in device values.
    """

    working_of: Callable[[Box, int, int], Pixels]
    device_of: Callable[[Correction], ToDevice]
    patches: Callable[[NDArray[np.float64]], NDArray[Any]]
    inks: Inks
    strip_of: Callable[[Box, int, int], Floats] | None = None


def sheet_px(layout: SheetLayout) -> tuple[int, int]:
    """Width and height of the sheet's picture in pixels.

    >>> from wallworthy.trial.arrange import sheet_layout
    >>> sheet_px(sheet_layout((150, 100)))
    (2126, 1417)
    """
    return Plate.size_px(layout)


def compose_sheet(
    layout: SheetLayout,
    crops: SheetCrops,
    corrections: Mapping[str, Correction],
    engine: Engine,
    *,
    mark_text: str,
    notes: tuple[str, str],
    strip_correction: Correction | None = None,
) -> Floats:
    """The whole sheet, float32 (H, W, K) device values 0-1, ready to be dithered and written.

    corrections: by code, one for every tile of the layout. notes: the two lines in the margins
    (ticket, sheet, paper; light to judge in and the time it is dry from); what does not fit is cut.
    Wherever nothing is printed the paper stays bare. Raises InputError when the sheet is too large
    for memory, ValueError when a tile has no correction.
    """
    missing = [tile.code for tile in layout.tiles if tile.code not in corrections]
    if missing:
        raise ValueError(f"no correction was given for {', '.join(missing)}")
    width, height = sheet_px(layout)
    if width * height > LARGEST_PX:
        raise InputError(
            "sheet_too_many_pixels",
            f"A test sheet of {width} x {height} pixels is more than any judging needs.",
            "Use a smaller sheet or fewer pixels with --ppi.",
            where="--sheet",
        )
    plate = Plate.bare(layout, engine.inks)
    _lay_tiles(plate, layout, crops, corrections, engine)
    _lay_strip(plate, layout, crops, engine, strip_correction or Correction())
    _lay_patches(plate, layout, engine)
    draw_marks(plate, layout, mark_text, notes)
    return plate.device


def _lay_tiles(
    plate: Plate, layout: SheetLayout, crops: SheetCrops, corrections: Mapping[str, Correction], engine: Engine
) -> None:
    """Every crop is scaled once; then each tile gets its own correction."""
    parts: list[tuple[BoxMm, Pixels]] = []
    for crop in crops.of_tile:
        wide, high = plate.extent(crop.place_mm)
        parts.append((crop.place_mm, engine.working_of(crop.box_px, wide, high)))
    joined = np.concatenate([pixels.reshape(-1, 3) for _, pixels in parts])[None]
    for tile in layout.tiles:
        device = engine.device_of(corrections[tile.code])(joined)[0]
        start = 0
        for place, pixels in parts:
            count = pixels.shape[0] * pixels.shape[1]
            at = (tile.box_mm[0] + place[0], tile.box_mm[1] + place[1])
            plate.lay(at, device[start : start + count].reshape(*pixels.shape[:2], -1))
            start += count


def _lay_strip(plate: Plate, layout: SheetLayout, crops: SheetCrops, engine: Engine, correction: Correction) -> None:
    if crops.strip is None or layout.strip_mm is None:
        return
    wide, high = plate.extent(crops.strip.place_mm)
    if engine.strip_of is not None:
        device = engine.strip_of(crops.strip.box_px, wide, high)
    else:
        device = engine.device_of(correction)(engine.working_of(crops.strip.box_px, wide, high))
    plate.lay((layout.strip_mm[0], layout.strip_mm[1]), device)


def _lay_patches(plate: Plate, layout: SheetLayout, engine: Engine) -> None:
    boxes = [step.box_mm for step in layout.neutrals] + [patch.box_mm for patch in layout.colours]
    asked = [(step.lstar, 0.0, 0.0) for step in layout.neutrals] + [patch.lab for patch in layout.colours]
    device = np.asarray(engine.patches(np.array(asked)), dtype=np.float32)
    for box, values in zip(boxes, device, strict=True):
        plate.fill(box, values)


def notes_of(ticket: str, sheet_no: int, condition: str, light: str | None, dry_from: str | None) -> tuple[str, str]:
    """The two lines in the margins: what sheet this is, and when and in what light to judge it.

    light: the light's name; None says where it will hang. dry_from: a time such as '21:40'; None says an hour.
    Short, so that the smallest sheet holds it whole.

    >>> notes_of("T27", 1, "warm cotton matt", "hall at evening", "21:40")[1]
    'Dry from 21:40, judge in light: hall at evening'
    """
    when = f"Dry from {dry_from}" if dry_from else "Dry an hour"
    where = f"judge in light: {light}" if light else "judge where it will hang"
    return f"{ticket}, sheet {sheet_no}, {condition}", f"{when}, {where}"
