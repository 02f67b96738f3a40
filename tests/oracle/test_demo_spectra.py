"""The demo's light and its spectra-to-colour sums against colour-science."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from support.colour_science import colour
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.demo.inkjet import demichel_weights, paper_spectrum
from wallworthy.demo.parameters import PAPERS, load_parameters
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.spectra import D50_POWER, WAVELENGTHS_NM, spectra_to_xyz, xyz_weights

D50 = colour.SDS_ILLUMINANTS["D50"]


def their_xyz(spectrum: np.ndarray) -> np.ndarray:
    """XYZ by colour-science's ASTM E308, scaled to the profile connection space's white."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        xyz = colour.sd_to_XYZ(colour.SpectralDistribution(spectrum, WAVELENGTHS_NM), illuminant=D50) / 100
        white = colour.sd_to_XYZ(colour.SpectralDistribution(np.ones(36), WAVELENGTHS_NM), illuminant=D50) / 100
    return xyz / white * PCS_WHITE


@pytest.mark.source("CIE15", "illuminant D50")
@pytest.mark.source("ColourScience", "SDS_ILLUMINANTS")
def test_every_value_of_d50() -> None:
    theirs = D50.copy().align(colour.SpectralShape(380, 780, 10)).values
    # Ours are given to two decimals.
    assert pytest.approx(theirs, abs=0.0051) == D50_POWER


@pytest.mark.source("ASTME308", "method")
@pytest.mark.source("CIE15", "values at 5 nm")
@pytest.mark.source("ColourScience", "sd_to_XYZ")
def test_colours_of_spectra() -> None:
    spectra = VirtualPrinter("gloss").spectra(np.random.default_rng(4).random((40, 3)))
    assert np.array_equal(spectra_to_xyz(spectra), spectra @ xyz_weights())
    ours = xyz_to_lab(spectra_to_xyz(spectra))
    theirs = xyz_to_lab(np.stack([their_xyz(spectrum) for spectrum in spectra]))
    difference = ciede2000(ours, theirs)
    assert difference.mean() < 0.005
    assert difference.max() < 0.02


@pytest.mark.source("ColourScience", "sd_to_XYZ")
@pytest.mark.parametrize("paper", PAPERS)
def test_the_papers_white(paper: str) -> None:
    spectrum = paper_spectrum(load_parameters(paper))
    assert VirtualPrinter(paper).white_xyz == pytest.approx(their_xyz(spectrum), abs=1e-4)


@pytest.mark.source("Demichel1924", "chances of independent dots")
@pytest.mark.source("Neugebauer1937", "the primaries weighted so")
def test_demichel_weights_are_the_chances_of_independent_dots() -> None:
    coverage = np.array([0.3, 0.8, 0.45])
    dots = np.random.default_rng(8).random((400_000, 3)) < coverage
    counted = np.bincount(dots @ np.array([1, 2, 4]), minlength=8) / len(dots)
    assert demichel_weights(coverage) == pytest.approx(counted, abs=0.003)
