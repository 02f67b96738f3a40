"""A small test sheet of the demo's bay for a virtual printer, made at once and kept in memory."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box, Correction, Pair, Way
from wallworthy.colour.correction import correct
from wallworthy.colour.working import working_to_lab
from wallworthy.demo.scene import render_scene
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import working_profile
from wallworthy.raster.vision import smoothed, warped
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.crops import choose_crops
from wallworthy.trial.drawing import plain_inks
from wallworthy.trial.layout import SheetLayout
from wallworthy.trial.marks import mark_text
from wallworthy.trial.sheet import Engine, ToDevice, compose_sheet

Floats = NDArray[np.float32]

SIX = (
    Correction(),
    Correction(lightness=5),
    Correction(lightness=-4, contrast=1.06),
    Correction(shadow=4, chroma=1.08),
    Correction(green_red=-2, contrast=0.95),
    Correction(blue_yellow=3, lightness=2),
)


@dataclass(frozen=True, slots=True, eq=False)
class DemoSheet:
    """A sheet as it goes to the printer: device values (H, W, 3) and all that is known of it."""

    layout: SheetLayout
    device: Floats = field(repr=False)
    mark: str
    corrections: Mapping[str, Correction]


def demo_sheet(
    profile: Profile,
    sheet_mm: Pair = (150.0, 100.0),
    *,
    ppi: float = 200.0,
    picture: NDArray[np.uint16] | None = None,
    ticket: str = "T1",
    sheet_no: int = 1,
) -> DemoSheet:
    """A sheet of six tiles for a profile, through the same steps as a real one. `picture`: working encoding, uint16."""
    scene = render_scene(900, 600) if picture is None else picture
    layout = sheet_layout(sheet_mm, ppi=ppi)
    corrections = {tile.code: SIX[i % len(SIX)] for i, tile in enumerate(layout.tiles)}
    small = scene.astype(np.float32) / np.float32(65535)
    crops = choose_crops(working_to_lab(small), (0, 0, *small.shape[:2]), layout, (300.0, 200.0))
    engine = _engine(profile, small)
    mark = mark_text(ticket, sheet_no)
    notes = (f"{ticket}, sheet {sheet_no}, {profile.description}", "Judge it dry, in the light it will hang in.")
    device = compose_sheet(layout, crops, corrections, engine, mark_text=mark, notes=notes)
    return DemoSheet(layout, np.clip(device, 0, 1), mark, corrections)


def _engine(profile: Profile, picture: Floats) -> Engine:
    source = source_of(parse_profile(working_profile()))
    to_device = lab_to_device(profile, Way.RELATIVE_BPC, source)

    def device_of(correction: Correction) -> ToDevice:
        return lambda pixels: np.asarray(to_device(correct(working_to_lab(pixels), correction)), dtype=np.float32)

    def working_of(box: Box, width: int, height: int) -> Floats:
        row, column, tall, wide = box
        part = np.ascontiguousarray(picture[row : row + tall, column : column + wide])
        shrink = np.array([wide / width, tall / height])
        to_part = np.diag([shrink[0], shrink[1], 1.0])
        to_part[:2, 2] = (shrink - 1) / 2
        seen = warped(smoothed(part, 0.4 * max(float(shrink.max()) - 1, 0)), to_part, (width, height))
        return np.where(np.isfinite(seen), seen, part.mean(axis=(0, 1)))

    def patches(lab: NDArray[np.float64]) -> NDArray[np.float32]:
        return np.asarray(to_device(lab), dtype=np.float32)

    return Engine(working_of, device_of, patches, plain_inks(profile.space, profile.channels))
