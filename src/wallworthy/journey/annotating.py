"""The picture with what was found outlined and numbered: 'show me where' as a file."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.finding import Finding
from wallworthy.appraise.look import Look
from wallworthy.base.ticket import WrittenFile
from wallworthy.colour.float32 import pixels_of, planes_of, working_to_lab32
from wallworthy.icc.engine import from_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.home import written
from wallworthy.raster.drawing import outline, resized_bytes
from wallworthy.raster.form import FileForm
from wallworthy.raster.write import write_picture

SHOWN_EDGE_PX: Final = 1600
MOST_OUTLINED: Final = 30


def annotated(look: Look, findings: tuple[Finding, ...], origin: tuple[int, int]) -> NDArray[np.uint8]:
    """The picture, sRGB (H, W, 3), each finding that has a place outlined and numbered as in the list.

    origin: row and column of the looked-at part within the master.
    """
    small, factor = look.small, look.plan.factor
    lab = pixels_of(working_to_lab32(planes_of(small)))
    device = np.clip(from_lab(parse_profile(srgb_profile()), lab), 0, 1)
    picture = np.rint(device * 255).astype(np.uint8).reshape(small.shape)
    height, width = small.shape[0], small.shape[1]
    scale = min(SHOWN_EDGE_PX / max(height, width), 4.0)
    shown = np.ascontiguousarray(resized_bytes(picture, max(1, round(width * scale)), max(1, round(height * scale))))
    places = [(number, one.box_px) for number, one in enumerate(findings, 1) if one.box_px is not None]
    for number, (row, column, tall, wide) in reversed(places[:MOST_OUTLINED]):
        edges = (row - origin[0], column - origin[1], tall, wide)
        top, left, rows, columns = (round(edge / factor * scale) for edge in edges)
        outline(shown, (top, left, rows, columns), str(number))
    return shown


def write_annotated(
    look: Look,
    findings: tuple[Finding, ...],
    origin: tuple[int, int],
    ppi: float,
    target: Path,
    *,
    overwrite: bool = False,
) -> WrittenFile:
    """Write the annotated picture as PNG. Raises InputError or TroubleError; the file is whole or absent.

    ppi: the picture's own pixels to the inch on paper.
    """
    shown = annotated(look, findings, origin)
    height, width = shown.shape[:2]
    form = FileForm("png", width, height, 3, 8, "RGB", width / look.plan.width_px * ppi, srgb_profile())
    write_picture(target, [shown], form, overwrite=overwrite)
    return written("appraisal", target)
