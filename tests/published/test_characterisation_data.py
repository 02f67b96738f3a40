"""Reading published characterisation data, and a profile of our own held against patches it never saw."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from wallworthy.characterise.build import BuildOptions, build_with_report
from wallworthy.characterise.measurements import (
    format_measurements,
    parse_measurements,
    read_measurements,
    unique_patches,
)
from wallworthy.characterise.neugebauer import demichel, yule_nielsen
from wallworthy.characterise.verify import verify_profile
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.icc.engine import from_lab
from wallworthy.icc.read import parse_profile


@pytest.mark.source("FOGRA39L", "rows 1 and 9, count")
@pytest.mark.source("ISO12642", "1617 patches, of which 1588 differ")
def test_fogra39_data(published_data: Callable[[str], Path]) -> None:
    data = read_measurements(published_data("FOGRA39L.ti3"))
    assert len(data) == 1617
    assert data.space == "CMYK"
    assert data.lab[0].tolist() == [95.0, 0.0, -2.0]
    assert data.lab[8].tolist() == [48.0, 74.0, -3.0]
    assert data.device[8].tolist() == [0.0, 1.0, 0.0, 0.0]
    assert len(unique_patches(data)[0]) == 1588
    assert data.keywords["DESCRIPTOR"] == "FOGRA39L"
    # printed XYZ has two decimals of percent; its b* rests on a D50 that differs in the fourth digit
    assert data.xyz[0] * 100 == pytest.approx([84.48, 87.62, 74.57], abs=0.03)


@pytest.mark.source("CGATSTR002", "count of IT8.7/3 patches; an accented byte in the text")
def test_newsprint_data(published_data: Callable[[str], Path]) -> None:
    data = read_measurements(published_data("TR002.ti3"))
    assert len(data) == 928
    assert data.keywords["TARGET_TYPE"] == "ANSI IT8.7/3"


@pytest.mark.source("libvips", "the measurements inside its CMYK profile: 2376 patches of 36 bands")
def test_measurements_inside_a_profile(published_profile: Callable[[str], bytes]) -> None:
    raw = published_profile("vips_cmyk")
    offset, size = parse_profile(raw).tags["targ"][:2]
    data = parse_measurements(raw[offset + 8 : offset + size])
    assert len(data) == 2376
    assert data.spectra is not None
    assert data.wavelengths_nm is not None
    assert data.spectra.shape == (2376, 36)
    assert data.wavelengths_nm[[0, -1]].tolist() == [380.0, 730.0]
    assert data.spectra[0, 6] == pytest.approx(0.9911)
    assert data.xyz[0] * 100 == pytest.approx([88.550, 91.595, 76.393], abs=1e-6)


@pytest.mark.source("FOGRA39L", "all rows, written and read again")
def test_what_is_written_is_read_again(published_data: Callable[[str], Path]) -> None:
    data = read_measurements(published_data("FOGRA39L.ti3"))
    again = parse_measurements(format_measurements(data))
    assert np.abs(again.device - data.device).max() < 1e-6
    assert np.abs(again.lab - data.lab).max() < 1e-4


@pytest.mark.source("Demichel1924", "areas of random overlap")
def test_demichel_areas() -> None:
    cover = np.array([[0.2, 0.3, 0.4]])
    share = demichel(cover)[0]
    assert share.sum() == pytest.approx(1)
    assert share[0] == pytest.approx(0.8 * 0.7 * 0.6)
    assert share[0b101] == pytest.approx(0.2 * 0.7 * 0.4)
    assert share[7] == pytest.approx(0.2 * 0.3 * 0.4)


@pytest.mark.source("YuleNielsen1951", "equation; areas computed from a measured black tint, .7634 and .5779")
@pytest.mark.memory
@pytest.mark.parametrize(("n", "area"), [(1.0, 0.7634), (2.0, 0.5779)])
def test_yule_nielsen_on_a_measured_tint(n: float, area: float) -> None:
    paper, solid, tint = 0.917255, 0.017, 0.23
    mixed = yule_nielsen(np.array([[1 - area, area]]), np.array([[paper], [solid]]), n)[0, 0]
    slope = n * mixed ** ((n - 1) / n) * (paper ** (1 / n) - solid ** (1 / n))
    assert abs(mixed - tint) < 0.5e-3 + slope * 0.5e-4  # tint and solid were printed to three decimals


@pytest.mark.source("FOGRA39L", "every tenth patch held out of the build, compared through littleCMS")
def test_own_profile_of_fogra39_against_held_out_patches(published_data: Callable[[str], Path]) -> None:
    data = read_measurements(published_data("FOGRA39L.ti3"))
    solids = np.isin(data.device, (0.0, 1.0)).all(axis=1)
    held = (np.random.default_rng(39).random(len(data)) < 0.1) & ~solids
    kept = ~held
    device = np.round(data.device * 1000).astype(int)
    seen = {tuple(row) for row in device[kept].tolist()}
    held &= np.array([tuple(row) not in seen for row in device.tolist()])
    assert held.sum() > 120

    profile_bytes, report = build_with_report(data.subset(kept), BuildOptions("Held out"))
    profile = parse_profile(profile_bytes)
    unseen = verify_profile(profile, data.subset(held))
    assert unseen.mean_de00 <= 0.2
    assert unseen.p95_de00 <= 0.5
    assert unseen.worst[0].de00 == unseen.max_de00 <= 1.5
    assert report.roundtrip_mean_de00 <= 0.3
    assert report.roundtrip_p95_de00 <= 1.0
    assert report.cross_validation_mean_de00 <= 0.2
    assert report.yule_nielsen_n in (1.5, 2.0, 3.0)

    # the ink limit of 300 % holds everywhere, and bare paper stays bare
    rng = np.random.default_rng(2)
    anywhere = (rng.random((40_000, 3)) * [100, 255, 255] - [0, 128, 128]).astype(np.float32)
    ramp = np.zeros((201, 3), np.float32)
    ramp[:, 0] = np.linspace(0, 100, 201)
    for intent in ("relative", "perceptual", "saturation"):
        for colours in (anywhere, ramp):
            assert from_lab(profile, colours, intent).sum(axis=1).max() <= 3.0
        assert from_lab(profile, [[100.0, 0.0, 0.0]], intent).tolist() == [[0.0, 0.0, 0.0, 0.0]]
    white_xyz = np.array(profile.white_xyz)
    assert white_xyz == pytest.approx(lab_to_xyz([95.0, 0.0, -2.0]), abs=2e-5)
