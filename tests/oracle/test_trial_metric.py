"""The quadratic form of distances against finite colour differences of corrected pictures."""

from __future__ import annotations

import numpy as np
import pytest

from support.trial_sheets import picture_lab
from wallworthy.base.records import Correction
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import correct
from wallworthy.trial.axes import PRIOR_SD, correction_of, vector, vectors
from wallworthy.trial.metric import DE00_PER_JND, metric, root_of

pytestmark = pytest.mark.source("Sharma2005", "equations 2-22")


def darker_paper(lab: np.ndarray) -> np.ndarray:
    """A paper whose black is at L* 15 and that keeps nine tenths of the chroma."""
    return lab * [0.85, 0.9, 0.9] + [15, 0, 0]


def rms_jnd(lab: np.ndarray, one: np.ndarray, other: np.ndarray) -> float:
    prints = [darker_paper(correct(lab, correction_of(offset, 9))) for offset in (one, other)]
    return float(np.sqrt((ciede2000(*prints) ** 2).mean())) / DE00_PER_JND


@pytest.mark.parametrize("direction", range(12))
def test_small_gaps_have_the_length_of_the_colour_difference(direction: int) -> None:
    lab = picture_lab()
    gap = np.random.default_rng(direction).normal(0, 1, 6) if direction >= 6 else np.eye(6)[direction]
    gap = 0.2 * gap * PRIOR_SD
    root = root_of(metric(lab, darker_paper))
    assert np.linalg.norm(gap @ root) == pytest.approx(rms_jnd(lab, gap / 2, -gap / 2), rel=0.03)


def test_gaps_as_large_as_wishes_stay_near_the_colour_difference() -> None:
    lab = picture_lab()
    root = root_of(metric(lab, darker_paper))
    rng = np.random.default_rng(8)
    ratios = []
    for _ in range(12):
        one, other = 0.7 * rng.normal(0, 1, (2, 6)) * PRIOR_SD
        ratios.append(np.linalg.norm((one - other) @ root) / rms_jnd(lab, one, other))
    assert min(ratios) > 0.85
    assert max(ratios) < 1.2


def test_a_low_key_picture_feels_its_shadows_and_a_grey_one_no_chroma() -> None:
    rng = np.random.default_rng(0)
    grey = np.column_stack([rng.uniform(5, 95, 500), np.zeros(500), np.zeros(500)])
    dark = picture_lab() * [0.4, 1, 1]
    light = picture_lab() * [0.4, 1, 1] + [60, 0, 0]

    def per_axis(lab: np.ndarray) -> np.ndarray:
        return np.sqrt(np.diag(metric(lab, darker_paper))) * PRIOR_SD

    assert per_axis(dark)[2] > 5 * per_axis(light)[2]
    assert per_axis(grey)[5] < 0.01
    assert per_axis(grey)[3] > 0.3


def test_corrections_and_offsets_are_the_same_thing() -> None:
    correction = Correction(2.0, 1.04, -1.0, 0.5, -0.25, 0.9)
    assert correction_of(vector(correction)) == correction
    assert vectors([Correction(), correction]).shape == (2, 6)
    assert not vector(Correction()).any()
