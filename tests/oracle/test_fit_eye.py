"""What reaches the eye: the filters' published constants, and structural similarity against another's."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.metrics import structural_similarity as theirs

from wallworthy.fit.eye import (
    FILTERS,
    OPPONENT_TO_XYZ,
    SCALES,
    XYZ_TO_OPPONENT,
    _bell,
    local_deviation,
    seen_lab,
    similarity,
    structural_similarity,
)


def texture(seed: int = 3, size: tuple[int, int] = (200, 260)) -> np.ndarray:
    y, x = np.mgrid[0 : size[0], 0 : size[1]]
    return 50 + 20 * np.sin(x / 11) * np.cos(y / 17) + np.random.default_rng(seed).normal(0, 3, size)


@pytest.mark.source("Zhang1997", "the authors' code: separable filters and opponent matrix")
def test_the_filters_are_the_published_ones() -> None:
    for parts in FILTERS:
        assert sum(weight for _, weight in parts) == pytest.approx(1, abs=1e-5)
    middle = _bell(0.225, 2000.0)
    half = np.flatnonzero(middle >= middle.max() / 2)
    assert (half[-1] - half[0] + 1) / 2000 == pytest.approx(0.225, abs=1e-3)
    assert len(_bell(7.0, 30.0)) == 31, "one degree wide, whatever the bell"
    assert np.allclose(OPPONENT_TO_XYZ @ XYZ_TO_OPPONENT, np.eye(3))


@pytest.mark.source("Zhang1997", "an even field keeps its colour; a fine pattern is seen as its mean")
def test_even_fields_stay_and_fine_patterns_melt() -> None:
    field = np.full((80, 80, 3), [50.0, 20.0, -30.0])
    assert np.abs(seen_lab(field, 30.0) - field).max() < 1e-6
    y, x = np.mgrid[0:80, 0:80]
    checked = np.stack([50 + 10.0 * ((x + y) % 2 * 2 - 1), 0.0 * x, 0.0 * x], axis=-1)
    inner = seen_lab(checked, 120.0)[30:50, 30:50, 0]
    assert np.ptp(inner) < 0.1 < np.ptp(seen_lab(checked, 8.0)[30:50, 30:50, 0])


@pytest.mark.source("ScikitImage", "structural_similarity, Gaussian weights, 11 pixels, population variance")
@pytest.mark.source("Wang2003", "the single scale")
def test_structural_similarity_is_theirs() -> None:
    first, second = texture(3), 5 + 0.8 * texture(4)
    expected, full = theirs(
        first,
        second,
        data_range=100,
        gaussian_weights=True,
        sigma=1.5,
        use_sample_covariance=False,
        truncate=3.5,
        full=True,
    )
    assert structural_similarity(first, second) == pytest.approx(full[5:-5, 5:-5].mean(), abs=2e-4)
    assert abs(expected - full[5:-5, 5:-5].mean()) < 0.01


@pytest.mark.source(
    "Wang2003", "constants .01 and .03 of the range: .5 against .6 gives .983609; weights of the scales"
)
def test_similarity_by_its_constants() -> None:
    assert structural_similarity(np.full((30, 30), 50.0), np.full((30, 30), 60.0)) == pytest.approx(0.983609, abs=1e-6)
    assert sum(SCALES) == pytest.approx(1, abs=1e-4)
    picture = texture()
    assert similarity(picture, picture) == pytest.approx(1)
    assert similarity(picture, picture * 0.7 + 15) < similarity(picture, picture * 0.9 + 5) < 1


@pytest.mark.practice
def test_local_deviation_of_noise() -> None:
    noise = np.random.default_rng(1).normal(50, 4, (300, 300))
    assert local_deviation(noise, 6.0)[30:-30, 30:-30].mean() == pytest.approx(4, abs=0.15)
