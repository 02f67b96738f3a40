"""How greys shift between two lights, by spectra in a profile, against colour-science."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.characterise.measurements import parse_measurements
from wallworthy.colour.illuminants import spectrum_of
from wallworthy.colour.lab import PCS_WHITE
from wallworthy.colour.observer import reflection_xyz
from wallworthy.icc.read import parse_profile, tag_span
from wallworthy.journey.greyness import GREY_CHROMA, grey_shift
from wallworthy.proof.lights import light_from

SHAPE = colour.SpectralShape(380, 780, 5)
CMFS = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(SHAPE)


def theirs(wavelengths: np.ndarray, spectra: np.ndarray, name: str) -> np.ndarray:
    """XYZ by colour-science's integration, 5 nm, spectra read in straight lines and held at their ends."""
    lamp = colour.SDS_ILLUMINANTS[name].copy().align(SHAPE)
    nm = SHAPE.wavelengths
    patches = [colour.SpectralDistribution(np.interp(nm, wavelengths, row), nm) for row in spectra]
    return np.array([colour.sd_to_XYZ(one, CMFS, lamp, method="Integration") for one in patches]) / 100


@pytest.fixture
def measured(published_profile: Callable[[str], bytes]) -> tuple[np.ndarray, np.ndarray]:
    profile = parse_profile(published_profile("vips_cmyk"))
    span = tag_span(profile, "targ")
    found = parse_measurements(span.bytes(8, span.size - 8).split(b"\0")[0])
    assert found.spectra is not None
    assert found.wavelengths_nm is not None
    return found.wavelengths_nm, found.spectra


@pytest.mark.source("CIE15", "tristimulus values of reflecting patches, sums at 5 nm")
@pytest.mark.source("ColourScience", "sd_to_XYZ")
@pytest.mark.parametrize("name", ["D50", "LED-B2", "FL11", "A"])
def test_patches_under_lamps(measured: tuple[np.ndarray, np.ndarray], name: str) -> None:
    wavelengths, spectra = measured
    power = spectrum_of(name)
    assert power is not None
    assert reflection_xyz(wavelengths, spectra[::200], power) == pytest.approx(
        theirs(wavelengths, spectra[::200], name), abs=2e-4
    )


@pytest.mark.source("ColourScience", "sd_to_XYZ and delta_E of the near-grey patches, relative to the paper")
def test_greys_shift_from_d50_to_a_lamp(
    measured: tuple[np.ndarray, np.ndarray], published_profile: Callable[[str], bytes]
) -> None:
    profile = parse_profile(published_profile("vips_cmyk"))
    shift = grey_shift(profile, light_from("led", lux=200, spectrum="LED-B2"))
    wavelengths, spectra = measured
    labs = []
    for name in ("D50", "LED-B2"):
        xyz = theirs(wavelengths, spectra, name)
        relative = xyz / xyz[int(xyz[:, 1].argmax())] * PCS_WHITE
        labs.append(colour.XYZ_to_Lab(relative, colour.XYZ_to_xy(PCS_WHITE)))
    grey = (np.hypot(labs[0][:, 1], labs[0][:, 2]) < GREY_CHROMA) & (labs[0][:, 0] < 95)
    away = colour.delta_E(labs[0][grey], labs[1][grey], method="CIE 2000")
    assert shift is not None
    assert shift == pytest.approx((away.mean(), away.max()), abs=0.05)
    assert grey_shift(profile, light_from("warm", lux=200, cct_k=2700)) is None
    assert grey_shift(profile, None) is None
    assert grey_shift(parse_profile(published_profile("fogra39")), light_from("led", lux=1, spectrum="LED-B2")) is None
