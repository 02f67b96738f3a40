"""Known colours of a master in Lab: the formulas of the sRGB standard and of CIELAB, evaluated here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.pictures import png
from support.printed import printed_rows
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.standard import srgb_profile
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source

IEC_MATRIX = np.array(
    [[float(row[ink]) for ink in "rgb"] for row in printed_rows(Path(__file__).with_name("IEC61966_rgb_to_xyz.csv"))]
)
D50 = np.array([0.9642, 1.0, 0.8249])
CODES = np.array(
    [[255, 255, 255], [255, 0, 0], [0, 255, 0], [0, 0, 255], [0, 0, 0], [119, 119, 119], [200, 120, 40], [3, 5, 9]],
    dtype=np.uint8,
)


def standard_lab(signal: np.ndarray) -> np.ndarray:
    """IEC 61966-2-1 signal (..., 3), 0-1, to Lab D50, with the digits the standard prints."""
    linear = np.where(signal <= 0.04045, signal / 12.92, ((signal + 0.055) / 1.055) ** 2.4)
    xyz = linear @ (bradford_matrix(IEC_MATRIX.sum(axis=1), D50) @ IEC_MATRIX).T / D50
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=-1)


def as_lab(path: Path) -> np.ndarray:
    master = open_master(path)
    return working_to_lab(np.concatenate(list(working_source(master).strips(3))) / 65535).reshape(-1, 3)


@pytest.mark.source("IEC61966", "sections 4 and 5")
@pytest.mark.parametrize("kind", ["untagged", "said", "tagged", "16 bit", "float"])
def test_srgb_patches(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "a.tif"
    rows = b"".join(b"\0" + row.tobytes() for row in CODES[:, None])
    options: dict[str, Any] = {"photometric": "rgb", "iccprofile": srgb_profile()}
    if kind == "untagged":
        tifffile.imwrite(path, CODES[:, None], photometric="rgb")
    elif kind == "said":
        path.write_bytes(png(1, len(CODES), 8, 2, rows, (b"sRGB", b"\0")))
    elif kind == "tagged":
        tifffile.imwrite(path, CODES[:, None], **options)
    elif kind == "16 bit":
        tifffile.imwrite(path, CODES[:, None].astype(np.uint16) * 257, **options)
    else:
        tifffile.imwrite(path, CODES[:, None].astype(np.float32) / 255, **options)
    # half a digit of the printed matrix moves a saturated blue by 0.06 in b*
    assert as_lab(path) == pytest.approx(standard_lab(CODES / 255), abs=0.06)


@pytest.mark.source("IEC61966", "section 5, white")
def test_srgb_white_is_paper_white_and_neutrals_are_neutral(tmp_path: Path) -> None:
    codes = np.repeat(np.arange(256, dtype=np.uint8)[:, None, None], 3, axis=2)
    tifffile.imwrite(tmp_path / "a.tif", codes, photometric="rgb")
    lab = as_lab(tmp_path / "a.tif")
    assert lab[255] == pytest.approx([100, 0, 0], abs=0.01)
    assert lab[0] == pytest.approx([0, 0, 0], abs=0.002)
    assert np.abs(lab[:, 1:]).max() < 0.02


@pytest.mark.source("TIFF6", "section 23, CIE L*a*b* images")
def test_lab_arrives_as_it_was_written(tmp_path: Path) -> None:
    lab = np.array([[[100, 0, 0], [50, 20, -30], [8, 2, 1], [70, -40, 55], [0, 0, 0]]], dtype=np.float32)
    tifffile.imwrite(tmp_path / "a.tif", lab, photometric="cielab")
    assert as_lab(tmp_path / "a.tif") == pytest.approx(lab[0], abs=0.02)
