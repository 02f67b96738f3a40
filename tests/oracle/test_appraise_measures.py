"""Measures of the appraisal against closed forms and other libraries: edges, noise, compression, gamut."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy.stats import chi2
from skimage.restoration import estimate_sigma

from support.appraised import corners, edge_field, looked_at, photo_of
from support.colour_science import colour
from wallworthy.appraise.edges import GRID, crossing, find_edges, pooled_transfer
from wallworthy.appraise.eye import Seeing
from wallworthy.appraise.finding import OnPaper
from wallworthy.appraise.jpeg import find_compression
from wallworthy.appraise.noise import (
    ToneNoise,
    blocks_of,
    noise_by_tone,
    octave_shares,
    quantile_of_noise,
    visibility_of,
)
from wallworthy.appraise.resolution import Tile, ink_spread, measure_resolution
from wallworthy.appraise.tones import wide_gamut_ratio
from wallworthy.colour.barten1999 import contrast_sensitivity


@pytest.mark.source("ISO12233", "the slanted edge of a Gaussian: MTF50 = 0.187391 / sigma cycles per pixel")
@pytest.mark.parametrize("sigma", [0.7, 1.0, 1.5, 2.0, 3.0])
@pytest.mark.parametrize("degrees", [5.0, 40.0, 82.0])
def test_an_edge_of_known_blur_has_its_analytic_mtf50(sigma: float, degrees: float) -> None:
    field = edge_field(sigma, degrees).astype(np.float32)
    transfer = pooled_transfer(find_edges(field))
    assert crossing(transfer, 0.5) == pytest.approx(0.187391 / sigma, rel=0.03)
    np.testing.assert_allclose(transfer, np.exp(-2 * (math.pi * sigma * GRID) ** 2), atol=0.035)


@pytest.mark.source("ISO12233", "the same edge under noise")
@pytest.mark.parametrize("noise", [0.01, 0.03])
def test_noise_does_not_make_an_edge_sharper(noise: float) -> None:
    field = edge_field(1.5, 12) + np.random.default_rng(3).normal(0, noise, (192, 192))
    edges = find_edges(field.astype(np.float32), sigma=noise)
    assert len(edges) >= 6
    assert crossing(pooled_transfer(edges), 0.5) == pytest.approx(0.187391 / 1.5, rel=0.12)


@pytest.mark.source("ISO12233", "edges found in a scene of known blur")
@pytest.mark.parametrize(("sigma", "slack"), [(1.0, 0.25), (1.5, 0.25), (2.0, 0.25)])
def test_a_scenes_resolution_is_that_of_its_blur(sigma: float, slack: float) -> None:
    field = corners(sigma).astype(np.float32)
    found = measure_resolution([Tile(0, 0, field)], per_tile=60)
    true = crossing(np.sinc(GRID) * np.exp(-2 * (math.pi * sigma * GRID) ** 2), 0.15) / 0.5
    assert found.fraction == pytest.approx(true**2, rel=slack)
    assert found.confidence > 0.5


@pytest.mark.source("ISO12233", "a printed edge of known spread, scanned at 47 pixels a mm")
def test_ink_spread_is_measured_from_a_printed_edge() -> None:
    mtf50, px_per_mm = 6.0, 1200 / 25.4
    sigma_px = 0.187391 / (mtf50 / px_per_mm)
    assert ink_spread(edge_field(sigma_px, 8).astype(np.float32), px_per_mm) == pytest.approx(mtf50, rel=0.03)
    assert ink_spread(np.full((200, 200), 0.5, np.float32), px_per_mm) is None


@pytest.mark.source("ISO12233", "printed edges of known spread, scanned much finer than they are sharp")
@pytest.mark.parametrize("mtf50", [2.0, 3.0, 6.0])
@pytest.mark.parametrize("ppi", [2400, 4800])
def test_a_fine_scan_tells_the_same_ink_spread(mtf50: float, ppi: int) -> None:
    """Its edges are wider than what is looked at of an edge."""
    px_per_mm = ppi / 25.4
    field = edge_field(0.187391 / (mtf50 / px_per_mm), 8, size=700).astype(np.float32)
    assert ink_spread(field, px_per_mm) == pytest.approx(mtf50, rel=0.04)


@pytest.mark.source("ScikitImage", "estimate_sigma, and the deviation that was put in")
@pytest.mark.parametrize("sigma", [0.004, 0.01, 0.03])
def test_noise_is_what_was_put_in(sigma: float) -> None:
    """On a slope of tones: every tone within a tenth; on a flat field another library agrees too."""
    random = np.random.default_rng(8)
    slope = np.linspace(0.1, 0.9, 800)[None, :] * np.ones((400, 1))
    noisy = (slope + random.normal(0, sigma, slope.shape)).astype(np.float32)
    working = np.repeat(np.rint(np.clip(noisy, 0, 1) * 65535).astype(np.uint16)[..., None], 3, axis=2)
    tones = noise_by_tone(blocks_of(noisy, working, 1))
    assert len(tones) >= 8
    for tone in tones:
        assert tone.sigma_lstar == pytest.approx(100 * sigma, rel=0.1)
        assert tone.channels[1] == pytest.approx(100 * sigma, rel=0.1)
        assert tone.neighbours < 0.05
    flat = (0.5 + random.normal(0, sigma, (400, 400))).astype(np.float32)
    theirs = float(estimate_sigma(flat))
    level = np.repeat(np.rint(np.clip(flat, 0, 1) * 65535).astype(np.uint16)[..., None], 3, axis=2)
    [ours] = [tone for tone in noise_by_tone(blocks_of(flat, level, 1)) if tone.share > 0.3][:1]
    assert ours.sigma_lstar == pytest.approx(100 * theirs, rel=0.05)


@pytest.mark.practice
def test_even_texture_beside_a_calm_sky_is_not_called_noise() -> None:
    """A sensor's noise is nowhere many times what another tone's lets expect; alone, the texture could be noise."""
    random = np.random.default_rng(9)
    sky, roof = 0.76 + random.normal(0, 0.004, (400, 400)), 0.4 + random.normal(0, 0.1, (400, 400)).clip(-0.3, 0.3)

    def told(field: NDArray[np.float64]) -> list[float]:
        tone = field.astype(np.float32)
        working = np.repeat(np.rint(tone.clip(0, 1) * 65535).astype(np.uint16)[..., None], 3, axis=2)
        return [round(one.sigma_lstar, 1) for one in noise_by_tone(blocks_of(tone, working, 1)) if one.share > 0.05]

    assert told(roof)[0] > 8
    assert told(np.concatenate([sky, roof])) == [0.4]


@pytest.mark.source("WilsonHilferty1931", "the cube formula, 61 degrees of freedom, beside chi2.ppf of another library")
@pytest.mark.parametrize("share", [0.02, 0.05, 0.25, 0.5, 0.9])
def test_quantiles_of_pure_noise_are_those_of_chi_squared(share: float) -> None:
    """The formula is near enough with so many degrees of freedom."""
    assert quantile_of_noise(share) == pytest.approx(float(chi2.ppf(share, 61)) / 61, rel=3e-4)


@pytest.mark.source("Barten1999", "noise in an octave against the threshold, written out for one tone")
def test_visible_noise_is_contrast_over_threshold() -> None:
    model, ppi, distance = Seeing(), 400.0, 500.0
    noise = ToneNoise(50.0, 2.0, (2.0, 2.0, 2.0), 0.0, 1.0)
    u = np.geomspace(0.5, 40, 4000)
    mm = u / (distance * math.tan(math.radians(1)))
    px = mm * 25.4 / ppi
    paper = 2 ** -((mm / model.paper_mtf50_per_mm) ** 2) * (mm < model.output_ppi / 50.8)
    contrast = math.sqrt(2) * 2.0 * 3 / 66 * np.sqrt(octave_shares(px, 0.0)) * paper
    expected = math.sqrt(float((contrast * contrast_sensitivity(u, 30, 12)).max()))
    assert visibility_of(noise, ppi, distance, model) == pytest.approx(expected, rel=0.02)


@pytest.mark.source("Barten1999", "a grating at threshold is seen as 1")
def test_a_difference_at_threshold_counts_as_one() -> None:
    paper = OnPaper(300, 500, Seeing(paper_mtf50_per_mm=1e6))
    period_px = 40.0
    cpd = 500 * math.tan(math.radians(1)) / paper.mm(period_px)
    threshold = 1 / float(contrast_sensitivity(cpd, 30, 12))
    depth = 2 * threshold * 66 / 3
    assert paper.visibility(depth, 50, period_px) == pytest.approx(1, rel=1e-6)
    assert paper.visibility(4 * depth, 50, period_px) == pytest.approx(2, rel=1e-6)


@pytest.mark.source("T81", "blocks of 8 x 8 and steps of their coefficients, as Pillow writes them")
@pytest.mark.parametrize("quality", [50, 75, 85])
@pytest.mark.parametrize("offset", [(0, 0), (3, 5)])
def test_compression_is_found_with_its_grid_and_quality(quality: int, offset: tuple[int, int]) -> None:
    random = np.random.default_rng(2)
    field = corners(0.6, 320) + random.normal(0, 0.02, (320, 320))
    memory = io.BytesIO()
    Image.fromarray(photo_of(field)).save(memory, "JPEG", quality=quality)
    decoded = np.asarray(Image.open(memory).convert("RGB"))[offset[0] :, offset[1] :]
    found = find_compression(looked_at(decoded).patches)
    assert found is not None
    assert found.offset_px == ((8 - offset[0]) % 8, (8 - offset[1]) % 8)
    assert found.quality == pytest.approx(quality, abs=6)
    assert find_compression(looked_at(photo_of(field)).patches) is None


@pytest.mark.source("CIE15", "areas in u', v' by colour-science")
def test_the_width_of_a_space_is_its_area() -> None:
    def area(name: str) -> float:
        u, v = colour.xy_to_Luv_uv(colour.RGB_COLOURSPACES[name].primaries).T
        return abs((u[1] - u[0]) * (v[2] - v[0]) - (u[2] - u[0]) * (v[1] - v[0]))

    for name in ("ProPhoto RGB", "Display P3"):
        expected = area(name) / area("sRGB")
        assert wide_gamut_ratio(colour.RGB_COLOURSPACES[name].primaries) == pytest.approx(expected, rel=1e-6)
