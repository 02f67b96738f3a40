"""The door to the colour engine: the public FOGRA39 data against the public FOGRA39 profile."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import relative_to_absolute
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile


def measured(path: Path) -> tuple[np.ndarray, np.ndarray]:
    """CMYK 0-1 and Lab of every patch in the file's data block."""
    lines = path.read_text("latin-1").splitlines()
    fields = lines[lines.index("BEGIN_DATA_FORMAT") + 1].split()
    rows = [line.split() for line in lines[lines.index("BEGIN_DATA") + 1 : lines.index("END_DATA")]]
    table = np.array([[float(v) for v in row[1:]] for row in rows])
    columns = {name: table[:, at - 1] for at, name in enumerate(fields) if at}
    inks = np.column_stack([columns[f"CMYK_{ink}"] for ink in "CMYK"]) / 100
    return inks, np.column_stack([columns[f"LAB_{axis}"] for axis in "LAB"])


@pytest.mark.source("FOGRA39L", "1617 patches")
def test_the_profile_says_what_was_measured(
    published_profile: Callable[[str], bytes], published_data: Callable[[str], Path]
) -> None:
    profile = parse_profile(published_profile("fogra39"))
    inks, lab = measured(published_data("FOGRA39L.ti3"))
    assert len(inks) == 1617
    errors = ciede2000(relative_to_absolute(to_lab(profile, inks), profile.white_xyz), lab)
    assert errors.mean() <= 0.05
    assert np.quantile(errors, 0.95) <= 0.1
    assert errors.max() <= 0.5
    assert to_lab(profile, inks, "absolute") == pytest.approx(
        relative_to_absolute(to_lab(profile, inks), profile.white_xyz), abs=0.01
    )
