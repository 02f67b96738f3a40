"""Observer, lamps' distances from D50 and colour temperatures against colour-science."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.colour.chromaticity import D50_XY
from wallworthy.colour.observer import emission_xyz, observer_2_degree
from wallworthy.proof.lights import distance_from_d50, light_from, nearest_cct_k


def uv_distance(one: np.ndarray, other: np.ndarray) -> float:

    return float(np.hypot(*(colour.xy_to_Luv_uv(one) - colour.xy_to_Luv_uv(other))))


@pytest.mark.source("ColourScience", "CIE 1931 2 Degree Standard Observer")
def test_every_value_of_the_observer() -> None:

    table = observer_2_degree()
    theirs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(colour.SpectralShape(380, 780, 5))
    assert table[:, 0].tolist() == theirs.wavelengths.tolist()
    assert table[:, 1:] == pytest.approx(theirs.values, abs=0.5e-6 + 1e-12)


@pytest.mark.source("CIE15", "sums at 5 nm")
@pytest.mark.source("ColourScience", "SDS_ILLUMINANTS")
@pytest.mark.parametrize(("name", "limit"), [("D50", 2e-4), ("D65", 2e-4), ("A", 2e-4), ("FL2", 2e-4)])
def test_lamps_from_their_spectra(name: str, limit: float) -> None:

    lamp = colour.SDS_ILLUMINANTS[name]
    xyz = emission_xyz(lamp.wavelengths, lamp.values)
    expected = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]
    assert xyz[:2] / xyz.sum() == pytest.approx(expected, abs=limit)


@pytest.mark.source("CIE15", "daylight locus")
@pytest.mark.source("ColourScience", "CCT_to_xy_CIE_D")
@pytest.mark.parametrize(("cct_k", "printed"), [(5300, 0.0054), (5500, 0.0087), (5600, 0.0103), (6500, 0.0227)])
def test_daylight_is_not_d50(cct_k: float, printed: float) -> None:
    """Illuminants D53, D55, D56, D65 by their nominal temperatures."""

    expected = uv_distance(colour.temperature.CCT_to_xy_CIE_D(cct_k * 1.4388 / 1.4380), np.array(D50_XY))
    assert expected == pytest.approx(printed, abs=0.5e-4)
    assert distance_from_d50(cct_k) == pytest.approx(expected, abs=1e-6)


@pytest.mark.source("ColourScience", "sd_blackbody, Planck's law")
@pytest.mark.parametrize("cct_k", [2200, 2700, 3000, 3500, 3999])
def test_warm_lamps_are_black_bodies(cct_k: float) -> None:

    body = colour.sd_blackbody(cct_k, colour.SpectralShape(380, 780, 5))
    xyz = emission_xyz(body.wavelengths, body.values)
    assert distance_from_d50(cct_k) == pytest.approx(uv_distance(xyz[:2] / xyz.sum(), np.array(D50_XY)), abs=6e-4)


@pytest.mark.source("ColourScience", "SDS_ILLUMINANTS")
def test_a_light_from_a_spectrum_file(tmp_path: Path) -> None:

    lamp = colour.SDS_ILLUMINANTS["A"]
    path = tmp_path / "lamp.csv"
    lines = [f"{nm:g},{power:.6f}" for nm, power in zip(lamp.wavelengths, lamp.values, strict=True)]
    path.write_text("# a lamp\nwavelength,power\n" + "\n".join(lines) + "\n")
    light = light_from("lamp", lux=300, spectrum=path)
    assert light.cct_k == pytest.approx(2856, abs=20)
    a_xy = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["A"]
    assert light.duv_from_d50 == pytest.approx(uv_distance(a_xy, np.array(D50_XY)), abs=3e-4)


@pytest.mark.source("CIE15", "correlated colour temperature, nearest in CIE 1960 u, v")
@pytest.mark.source("ColourScience", "uv_to_CCT Ohno 2013")
@pytest.mark.parametrize("name", ["D50", "D65", "FL2", "FL11", "A"])
def test_colour_temperature(name: str) -> None:

    xy = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"][name]
    expected = colour.temperature.uv_to_CCT_Ohno2013(colour.UCS_to_uv(colour.XYZ_to_UCS(colour.xy_to_XYZ(xy))))[0]
    assert nearest_cct_k((float(xy[0]), float(xy[1]))) == pytest.approx(expected, rel=0.006)
