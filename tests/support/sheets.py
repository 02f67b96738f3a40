"""A small test sheet composed through the real chain, for tests."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np

from support.made_once import made
from wallworthy.base.records import Box, Correction, Way
from wallworthy.characterise.generic import generic_profile
from wallworthy.colour.working import working_to_lab
from wallworthy.demo.scene import render_scene
from wallworthy.fit.compose import direct
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.raster.scale import scaled_picture
from wallworthy.trial.arrange import sheet_layout
from wallworthy.trial.crops import SheetCrops, choose_crops
from wallworthy.trial.drawing import plain_inks
from wallworthy.trial.layout import SheetLayout
from wallworthy.trial.marks import mark_text
from wallworthy.trial.sheet import Engine, compose_sheet

NOTES = ("T27, sheet 1, bright gloss", "Judge it dry, from 21:40, in this light: hall")
MARK = mark_text("T27", 1)


@dataclass(frozen=True)
class PictureSource:
    """Working pixels as a source of strips."""

    pixels: np.ndarray

    @property
    def width_px(self) -> int:
        return self.pixels.shape[1]

    @property
    def height_px(self) -> int:
        return self.pixels.shape[0]

    def strips(self, rows: int) -> Iterator[np.ndarray]:
        for top in range(0, self.height_px, rows):
            yield self.pixels[top : top + rows]


@cache
def scene() -> np.ndarray:
    pixels = made(("scene", 450, 300), lambda: render_scene(450, 300).tobytes())
    return np.frombuffer(pixels, np.uint16).reshape(300, 450, 3)


@cache
def paper(surface: str = "gloss") -> Profile:
    return parse_profile(generic_profile(surface), surface)


def engine(output: Profile, picture: np.ndarray) -> Engine:
    source = source_of(None)

    def working_of(box: Box, width: int, height: int) -> np.ndarray:
        row, column, tall, wide = box
        part = np.ascontiguousarray(picture[row : row + tall, column : column + wide])
        return scaled_picture(PictureSource(part), width, height)

    return Engine(
        working_of=working_of,
        device_of=lambda correction: direct(output, Way.RELATIVE_BPC, correction, source),
        patches=lab_to_device(output, Way.RELATIVE_BPC, source),
        inks=plain_inks(output.space, output.channels),
    )


def corrections_for(layout: SheetLayout) -> dict[str, Correction]:
    steps = [Correction(), Correction(lightness=4), Correction(green_red=-2), Correction(chroma=0.8)]
    return {tile.code: steps[place % len(steps)] for place, tile in enumerate(layout.tiles)}


def crops_for(layout: SheetLayout, picture: np.ndarray) -> SheetCrops:
    lab = working_to_lab(picture.astype(np.float64) / 65535)
    return choose_crops(lab, (0, 0, *picture.shape[:2]), layout, (300.0, 200.0))


def composed(layout: SheetLayout, output: Profile, picture: np.ndarray | None = None) -> np.ndarray:
    picture = scene() if picture is None else picture
    return compose_sheet(
        layout,
        crops_for(layout, picture),
        corrections_for(layout),
        engine(output, picture),
        mark_text=MARK,
        notes=NOTES,
    )


@cache
def gloss_sheet(ppi: float = 200.0) -> tuple[SheetLayout, np.ndarray]:
    """The 10 x 15 cm sheet on generic gloss paper: its layout and device values."""
    layout = sheet_layout((150, 100), ppi=ppi)
    return layout, composed(layout, paper())
