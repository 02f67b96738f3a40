"""Parsed lookup tables, evaluated in plain numpy, against littleCMS (unoptimised, float) on published profiles.

The format leaves the interpolation between grid points to the engine. littleCMS goes by tetrahedra over the
last three inputs, but by straight lines over all in tables that start from Lab; each is compared with its like, and the
difference between the two kinds is stated beside it.
"""

from __future__ import annotations

import struct
from collections.abc import Callable

import numpy as np
import pytest
from imagecodecs import cms_profile, cms_transform

from support.lut_eval import from_lab, to_lab
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.luts import Encoding
from wallworthy.icc.read import parse_profile, read_lut

CASES = [(name, n) for name in ("fogra39", "gs_cmyk", "vips_cmyk") for n in (0, 1, 2)] + [("gs_ps_cmyk", 0)]
MEAN_DE00, MAX_DE00 = 0.05, 0.5
MEAN_INK, MAX_INK = 1e-4, 1e-3
UNOPTIMISED = 0x0100

Load = Callable[[str], bytes]


def as_version_2(data: bytes) -> bytes:
    """The same bytes called version 2, so that littleCMS adds no black point compensation of its own."""
    return data[:8] + struct.pack(">I", 0x02400000) + data[12:]


def engine(values: np.ndarray, source: bytes, target: bytes, spaces: tuple[str, str], intent: int) -> np.ndarray:
    return cms_transform(
        np.ascontiguousarray(values[None], dtype=np.float32),
        source,
        target,
        colorspace=spaces[0],
        outcolorspace=spaces[1],
        outdtype=np.float32,
        planar=False,
        outplanar=False,
        intent=intent,
        flags=UNOPTIMISED,
    )[0]


LAB = as_version_2(bytes(cms_profile("lab4")))


@pytest.mark.source("littleCMS", "float pipeline without optimisation")
@pytest.mark.parametrize(("name", "intent"), CASES)
def test_device_to_lab(published_profile: Load, name: str, intent: int) -> None:
    data = published_profile(name)
    table = read_lut(parse_profile(data), f"A2B{intent}")
    inks = np.random.default_rng(7).random((4000, 4)).astype(np.float32)
    theirs = engine(inks * 100, as_version_2(data), LAB, ("cmyk", "lab"), intent)
    ours = to_lab(table, inks, "tetrahedral")
    difference = ciede2000(ours, theirs)
    assert difference.mean() <= MEAN_DE00
    assert difference.max() <= MAX_DE00
    # Straight lines over all inputs give another, equally lawful answer: 0.08 to 0.14 dE00 away on
    # average for tables in Lab, 1.8 for the 5-point table in XYZ.
    other = ciede2000(to_lab(table, inks, "linear"), theirs).mean()
    assert difference.mean() < other < 2.5


@pytest.mark.source("littleCMS", "float pipeline without optimisation")
@pytest.mark.parametrize(("name", "intent"), CASES)
def test_lab_to_device(published_profile: Load, name: str, intent: int) -> None:
    data = published_profile(name)
    table = read_lut(parse_profile(data), f"B2A{intent}")
    rng = np.random.default_rng(8)
    lab = (rng.random((4000, 3)) * [100, 160, 160] - [0, 80, 80]).astype(np.float32)
    theirs = engine(lab, LAB, as_version_2(data), ("lab", "cmyk"), intent) / 100
    kinds = ("tetrahedral", "linear") if table.input_encoding == Encoding.XYZ else ("linear", "tetrahedral")
    ours, other = (np.abs(from_lab(table, lab, kind) - theirs) for kind in kinds)
    assert ours.mean() <= MEAN_INK
    assert ours.max() <= MAX_INK
    # The other interpolation differs by up to a fifth of an ink at single points.
    assert ours.mean() < other.mean() < 0.02
