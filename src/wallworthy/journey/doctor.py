"""The self-check: the journal, the colour engine and the table engine, and which versions are at work."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Final

import numpy as np

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import to_lab
from wallworthy.icc.lut import apply_lut, nodes_grid
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.journal.health import checks
from wallworthy.journey.answers import CheckFields, DoctorAnswer
from wallworthy.journey.home import home_folder

LIBRARIES: Final = ("wallworthy", "numpy", "scipy", "imagecodecs", "tifffile", "pyvips", "opencolorio", "pillow-heif")

SRGB_RED_LAB: Final = (54.29, 80.81, 69.89)
"""sRGB 1, 0, 0 in the ICC connection space; IEC 61966-2-1 through Bradford, recomputed in the tests."""


def examine(home: Path | None) -> DoctorAnswer:
    """Look at everything that could be wrong; nothing is changed."""
    found = [CheckFields(check.name, check.ok, check.text) for check in checks(home_folder(home))]
    found += [_colour_engine(), _table_engine()]
    ok = all(check.ok for check in found)
    return DoctorAnswer(
        checks=tuple(found),
        versions={name: _version(name) for name in LIBRARIES},
        ok=ok,
        next="Nothing to do." if ok else "See to the lines marked 'look'; 'wallworthy doctor' checks again.",
    )


def _colour_engine() -> CheckFields:
    """A known colour through the colour engine."""
    lab = to_lab(parse_profile(srgb_profile(), "sRGB"), np.array([[1.0, 0.0, 0.0]], np.float32))
    difference = float(ciede2000(lab, [SRGB_RED_LAB])[0])
    return CheckFields("colour engine", difference < 0.1, f"sRGB red lands within {difference:.3f} dE00 of its place.")


def _table_engine() -> CheckFields:
    """A table of the identity, looked up at seeded colours."""
    colours = np.random.default_rng(1).random((64, 64, 3), dtype=np.float32)
    looked_up = apply_lut(nodes_grid(17).astype(np.float32), colours)
    difference = float(np.abs(looked_up - colours).max())
    return CheckFields("table engine", difference < 1e-4, f"The identity as a table is off by {difference:.6f}.")


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "missing"
