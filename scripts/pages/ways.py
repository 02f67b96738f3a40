"""Take docs/ways.jpg, the picture of docs/why/fit.md: two rendered scenes on two papers, by three ways.

    .venv/bin/python scripts/pages/ways.py

From the left: the master as on screen, its print by relative-bpc, by `whole` and by `detail`, white as the screen's.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

import wallworthy as ww
from wallworthy.demo.more_scenes import render_night
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scene import render_scene
from wallworthy.icc.lut import prepared_codes
from wallworthy.icc.standard import working_profile
from wallworthy.journey.seeing import master_nodes
from wallworthy.proof.displays import display_from
from wallworthy.raster.encode import jpeg_bytes
from wallworthy.raster.form import FileForm
from wallworthy.raster.write import write_picture

TARGET = Path(__file__).resolve().parents[2] / "docs" / "ways.jpg"
PLACES = (("gloss", render_night), ("matt", render_scene))
WAYS = ("relative-bpc", "whole", "detail")
SIZE_PX = (1440, 960)
SHOWN_PX = 360

Codes = NDArray[np.uint8]


def main() -> None:
    """Make the picture and write it."""
    with tempfile.TemporaryDirectory() as folder:
        rows = [_row(Path(folder), paper, render(*SIZE_PX)) for paper, render in PLACES]
    display = display_from("sRGB screen", space="srgb")
    TARGET.write_bytes(jpeg_bytes(np.concatenate(rows), display.profile))


def _row(folder: Path, paper: str, scene: NDArray[np.uint16]) -> Codes:
    path, profile = folder / f"{paper}.tif", folder / f"{paper}.icc"
    write_picture(path, [scene], FileForm("tiff", *SIZE_PX, 3, 16, "RGB", 300.0, working_profile()))
    profile.write_bytes(characterised(VirtualPrinter(paper)))
    master, condition = ww.open_master(path), ww.read_condition(profile)
    display = display_from("sRGB screen", space="srgb")
    step = SIZE_PX[0] // SHOWN_PX
    small = scene.reshape(SIZE_PX[1] // step, step, SHOWN_PX, step, 3).mean(axis=(1, 3))
    pictures: list[Codes] = [prepared_codes(master_nodes(display))(np.rint(small).astype(np.uint16))]
    for way in WAYS:
        proof = ww.soft_proof(
            master, condition, size="45x30cm", way=way, display=display, paper_white=False, long_edge_px=SHOWN_PX
        )
        pictures.append(proof.image)
    return np.concatenate(pictures, axis=1)


if __name__ == "__main__":
    main()
