"""Lamps as spectra, distinct greys and prints as they look in a light, against colour-science."""

from __future__ import annotations

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.base.records import Light
from wallworthy.colour.ciecam16 import luminance_level
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.gsdf import distinct_greys
from wallworthy.colour.illuminants import (
    black_body_spectrum,
    daylight_spectrum,
    known_spectra,
    spectrum_of,
    wavelengths_nm,
)
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz
from wallworthy.proof.lights import light_from, light_xy, nominal_xy
from wallworthy.proof.seen import as_seen, colourfulness_share, eye_under, seen_table

SHAPE = colour.SpectralShape(380, 780, 5)


@pytest.mark.source("CIE15", "fluorescent and LED lamps, illuminant A, daylights")
@pytest.mark.source("ColourScience", "SDS_ILLUMINANTS")
@pytest.mark.parametrize("name", [*known_spectra(), "A", "D50", "D55", "D65", "D75"])
def test_every_value_of_a_lamp(name: str) -> None:
    theirs = colour.SDS_ILLUMINANTS[name].copy().align(SHAPE).values
    power = spectrum_of(name)
    assert power is not None
    printed = 5e-3 if name.startswith("D") or name == "A" else 5e-4  # 560 nm is 100 of the one, anything of the other
    ours = power * theirs[36]
    assert ours == pytest.approx(theirs, abs=printed * max(1.0, theirs[36] / 100))


@pytest.mark.source("CIE15", "daylight from its components, black bodies by Planck's law")
@pytest.mark.source("ColourScience", "sd_CIE_illuminant_D_series, sd_blackbody")
def test_daylights_and_black_bodies_of_any_temperature() -> None:
    for cct in (4300.0, 5600.0, 9000.0):
        xy = colour.temperature.CCT_to_xy_CIE_D(cct)
        theirs = colour.sd_CIE_illuminant_D_series(xy).copy().align(SHAPE).values
        assert daylight_spectrum(cct) == pytest.approx(theirs / theirs[36], abs=1e-3)
    glow = colour.sd_blackbody(2700, SHAPE).values
    assert black_body_spectrum(2700) == pytest.approx(glow / glow[36], rel=3e-4)


@pytest.mark.source("CIE15", "chromaticity from a spectrum or from the daylight locus")
@pytest.mark.source("ColourScience", "CCS_ILLUMINANTS")
def test_the_chromaticity_of_lights() -> None:
    named = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    for name in ("FL2", "FL11", "LED-B1", "LED-B5", "A", "D65"):
        light = light_from("lamp", lux=100, spectrum=name)
        assert light_xy(light) == pytest.approx(tuple(named[name]), abs=2e-4)
        assert len(light.spectrum) == len(wavelengths_nm())
    assert nominal_xy(6500) == pytest.approx(tuple(named["D65"]), abs=2e-4)
    assert light_xy(light_from("noon", lux=100, cct_k=5500)) == pytest.approx(tuple(named["D55"]), abs=2e-4)


@pytest.mark.source("DICOMPS314", "index of just noticeable differences")
@pytest.mark.source("ColourScience", "eotf_inverse_DICOMGSDF")
def test_distinct_greys() -> None:
    luminance = np.geomspace(0.05, 3999, 40)
    theirs = colour.models.eotf_inverse_DICOMGSDF(luminance) * 1023
    assert distinct_greys(luminance) == pytest.approx(theirs, abs=1e-6)
    assert distinct_greys([1e-6, 1e6]).round().tolist() == [1, 1023]


def theirs_seen(lab: np.ndarray, light: Light, paper_y: float, display_cd_m2: float) -> np.ndarray:
    """The same look, by colour-science: J, M and h of the print, in Lab at the display."""
    x, y = light_xy(light)
    white = np.array([x / y, 1, (1 - x - y) / y])
    xyz = colour.adaptation.chromatic_adaptation_VonKries(lab_to_xyz(lab), PCS_WHITE, white, transform="CAT16")
    surround = {name: colour.VIEWING_CONDITIONS_CIECAM16[name.capitalize()] for name in ("average", "dim", "dark")}
    luminance = paper_y * light.illuminance_lx / np.pi
    seen = colour.XYZ_to_CIECAM16(xyz * 100, white * 100, luminance / 5, 20, surround[light.surround])
    at_display = colour.CAM_Specification_CIECAM16(J=seen.J, M=seen.M, h=seen.h)
    back = colour.CIECAM16_to_XYZ(at_display, PCS_WHITE * 100, display_cd_m2 / 5, 20, surround["average"])
    return np.asarray(colour.XYZ_to_Lab(back / 100, colour.XYZ_to_xy(PCS_WHITE)))


LIGHTS = [
    light_from("evening room"),
    light_from("gallery", lux=200, spectrum="LED-B2", surround="dim"),
    light_from("dark corner", lux=20, cct_k=2700, surround="dark"),
    light_from("north window"),
]


@pytest.mark.source("Li2017", "CIECAM16 forward and back")
@pytest.mark.source("CIE248", "CIECAM16")
@pytest.mark.source("ColourScience", "XYZ_to_CIECAM16, CIECAM16_to_XYZ")
@pytest.mark.parametrize("light", LIGHTS, ids=[light.name for light in LIGHTS])
def test_a_print_as_it_looks_in_its_light(light: Light) -> None:
    rng = np.random.default_rng(7)
    lab = np.concatenate([rng.uniform((20, -50, -50), (90, 50, 50), (200, 3)), [[95, 0, -2], [50, 0, 0], [20, 0, 0]]])
    eye = eye_under(light, 0.88, 120.0)
    assert as_seen(lab, eye) == pytest.approx(theirs_seen(lab, light, 0.88, 120.0), abs=2e-3)
    off = ciede2000(seen_table(eye)(lab.astype(np.float32)).astype(np.float64), as_seen(lab, eye))
    assert off.mean() < 0.05
    assert off.max() < 1.0


@pytest.mark.source("Li2017", "colourfulness goes by the fourth root of the luminance level")
@pytest.mark.source("CIE248", "luminance level")
@pytest.mark.source("ColourScience", "XYZ_to_CIECAM16")
def test_colours_are_duller_in_a_dim_room() -> None:
    def colourful(lux: float) -> float:
        seen = colour.XYZ_to_CIECAM16([30, 20, 10], PCS_WHITE * 100, 0.85 * lux / np.pi / 5, 20)
        return float(seen.M / seen.C)

    room = light_from("room", lux=80)
    assert colourfulness_share(room, 0.85) == pytest.approx(colourful(80) / colourful(500), rel=1e-6)
    assert luminance_level(318.31) == pytest.approx(1.16754, abs=1e-5)
