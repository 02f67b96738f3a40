"""What a sheet should look like: each patch and each cell of each tile, as the profile has it.

Made once with the sheet, kept in the journal as plain values, and held against the scan later. A few
device samples of each cell go along, so that a fault can be played through without the sheet's file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Triple
from wallworthy.colour.float32 import lab_to_xyz_ratio32, planes_of
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.trial.layout import BoxMm, SheetLayout, as_record, from_record

Array = NDArray[np.float64]
ToLab = Callable[[NDArray[Any]], NDArray[Any]]
"""Device values (n, K), 0-1, to media-relative Lab (n, 3) of the print."""

PatchKind = Literal["neutral", "colour", "tile"]
RECORD: Final = 1
CELL_MM: Final = 8.0
TILE_INSET_MM: Final = 1.2
PROFILE_INSET_MM: Final = 0.6
PROFILE_PER_MM: Final = 8.0
SAMPLES: Final = 9
"""Device samples kept of a tile's cell, on a grid of 3 x 3."""


@dataclass(frozen=True, slots=True, eq=False)
class Patch:
    """A place to measure. name: a step's L*, a colour's name or a tile's code. lab: media-relative, as expected.

    device: (m, K) samples of what is under it, 0-1.
    """

    kind: PatchKind
    name: str
    box_mm: BoxMm
    lab: Triple
    device: Array = field(repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedSheet:
    """A sheet's layout, its mark, and what each place of it should be."""

    layout: SheetLayout
    mark: str
    patches: tuple[Patch, ...]
    profiles: Mapping[str, tuple[Array, Array]] = field(default_factory=dict[str, tuple[Array, Array]], repr=False)
    """Mean L* of each tile by its rows and by its columns, `PROFILE_PER_MM` a millimetre, `PROFILE_INSET_MM` inside."""

    @property
    def lab(self) -> Array:
        """Expected Lab (n, 3)."""
        return np.array([patch.lab for patch in self.patches])


def expect_sheet(layout: SheetLayout, mark: str, device: NDArray[Any], to_lab: ToLab) -> ExpectedSheet:
    """What a sheet's device values (H, W, K), 0-1, should print as, by the condition's profile."""
    neutrals = [(f"{step.lstar:g}", step.box_mm) for step in layout.neutrals]
    colours = [(patch.name, patch.box_mm) for patch in layout.colours]
    cells = [(tile.code, cell) for tile in layout.tiles for cell in cells_of(tile.box_mm)]
    places: list[tuple[PatchKind, str, BoxMm]] = []
    places.extend(("neutral", name, box) for name, box in neutrals)
    places.extend(("colour", name, box) for name, box in colours)
    places.extend(("tile", name, box) for name, box in cells)
    tiles = {tile.code: _PrintedTile(device, layout.ppi, tile.box_mm, to_lab) for tile in layout.tiles}
    patches: list[Patch] = []
    for kind, name, box in places:
        if kind == "tile":
            values, xyz = tiles[name].cell(box)
        else:
            values = _part(device, layout.ppi, box, 0.6)
            xyz = lab_to_xyz(to_lab(values.reshape(-1, values.shape[-1]))).mean(axis=0)
        lab = tuple(float(value) for value in xyz_to_lab(xyz).round(3))
        patches.append(Patch(kind, name, box, (lab[0], lab[1], lab[2]), _samples(values, kind)))
    return ExpectedSheet(layout, mark, tuple(patches), {code: tile.profiles() for code, tile in tiles.items()})


class _PrintedTile:
    """A tile's device values and what they print as, worked out once for its cells and its profiles."""

    def __init__(self, device: NDArray[Any], ppi: float, box: BoxMm, to_lab: ToLab) -> None:
        self.ppi, self.box = ppi, box
        self.rows, self.columns = _span(ppi, box, 0.0)
        self.device = device[self.rows, self.columns]
        shape = self.device.shape
        lab = np.asarray(to_lab(self.device.reshape(-1, shape[-1])), dtype=np.float32)
        self.lightness = lab[:, 0].reshape(shape[:2])
        self.ratio = lab_to_xyz_ratio32(planes_of(lab)).reshape(3, *shape[:2])

    def cell(self, box: BoxMm) -> tuple[Array, Array]:
        """A cell's device values (h, w, K) and its mean XYZ (3,)."""
        part = self._within(box, 0.0)
        return self.device[part].astype(np.float64), self.ratio[:, *part].mean(
            axis=(1, 2), dtype=np.float64
        ) * PCS_WHITE

    def profiles(self) -> tuple[Array, Array]:
        """Mean L* by rows and by columns."""
        lightness = self.lightness[self._within(self.box, PROFILE_INSET_MM)]
        lines: list[Array] = []
        for axis, length_mm in ((1, self.box[3]), (0, self.box[2])):
            line = lightness.mean(axis=axis, dtype=np.float64)
            count = max(2, round((length_mm - 2 * PROFILE_INSET_MM) * PROFILE_PER_MM))
            at = (np.arange(count) + 0.5) / count * len(line) - 0.5
            lines.append(np.interp(at, np.arange(len(line)), line).round(2))
        return lines[0], lines[1]

    def _within(self, box: BoxMm, inset_mm: float) -> tuple[slice, slice]:
        rows, columns = _span(self.ppi, box, inset_mm)
        top, left = self.rows.start, self.columns.start
        return slice(rows.start - top, rows.stop - top), slice(columns.start - left, columns.stop - left)


def cells_of(tile_mm: BoxMm) -> tuple[BoxMm, ...]:
    """A tile's coarse grid: cells of about 8 mm, a rim left out, row by row."""
    x, y = tile_mm[0] + TILE_INSET_MM, tile_mm[1] + TILE_INSET_MM
    width, height = tile_mm[2] - 2 * TILE_INSET_MM, tile_mm[3] - 2 * TILE_INSET_MM
    columns, rows = max(1, round(width / CELL_MM)), max(1, round(height / CELL_MM))
    wide, high = width / columns, height / rows
    return tuple((x + c * wide, y + r * high, wide, high) for r in range(rows) for c in range(columns))


def _part(device: NDArray[Any], ppi: float, box: BoxMm, inset_mm: float) -> Array:
    return np.asarray(device[_span(ppi, box, inset_mm)], dtype=np.float64)


def _span(ppi: float, box: BoxMm, inset_mm: float) -> tuple[slice, slice]:
    """The rows and columns of a box in mm, at least one pixel of each."""
    low, high = np.array(box[:2]) + inset_mm, np.array(box[:2]) + np.array(box[2:]) - inset_mm
    (left, top), (right, bottom) = np.rint(low / 25.4 * ppi).astype(int), np.rint(high / 25.4 * ppi).astype(int)
    return slice(int(top), int(max(bottom, top + 1))), slice(int(left), int(max(right, left + 1)))


def _samples(values: Array, kind: PatchKind) -> Array:
    if kind != "tile":
        return values.mean(axis=(0, 1))[None].round(4)
    rows = ((np.arange(3) + 0.5) / 3 * values.shape[0]).astype(int)
    columns = ((np.arange(3) + 0.5) / 3 * values.shape[1]).astype(int)
    return values[np.ix_(rows, columns)].reshape(SAMPLES, -1).round(4)


def expected_record(sheet: ExpectedSheet) -> dict[str, Any]:
    """The sheet as plain JSON values; `expected_from` gives it back."""
    patches = [
        {"kind": p.kind, "name": p.name, "box_mm": list(p.box_mm), "lab": list(p.lab), "device": p.device.tolist()}
        for p in sheet.patches
    ]
    profiles = {code: [line.tolist() for line in lines] for code, lines in sheet.profiles.items()}
    layout = as_record(sheet.layout)
    return {"record": RECORD, "layout": layout, "mark": sheet.mark, "patches": patches, "profiles": profiles}


def expected_from(record: Mapping[str, Any]) -> ExpectedSheet:
    """The sheet of `expected_record`, also after a journey through JSON. Raises ValueError for another version."""
    if record.get("record") != RECORD:
        raise ValueError(f"an expected sheet of version {record.get('record')} can't be read")
    patches = tuple(
        Patch(one["kind"], one["name"], tuple(one["box_mm"]), tuple(one["lab"]), np.array(one["device"], dtype=float))
        for one in record["patches"]
    )
    lines = record.get("profiles", {})
    profiles = {code: (np.array(rows, dtype=float), np.array(columns)) for code, (rows, columns) in lines.items()}
    return ExpectedSheet(from_record(record["layout"]), record["mark"], patches, profiles)
