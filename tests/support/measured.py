"""A printer to characterise in tests: the generic gloss paper's own model, read with an instrument's noise."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from wallworthy.characterise.chart import rgb_chart
from wallworthy.characterise.generic import GenericPaper, generic_paper
from wallworthy.characterise.measurements import Measurements
from wallworthy.colour.lab import relative_to_absolute

NOISE_LAB = 0.25


def paper_model() -> GenericPaper:
    return generic_paper("gloss")


def true_lab(paper: GenericPaper, device: NDArray[np.float64]) -> NDArray[np.float64]:
    """ICC-absolute Lab of device RGB, without noise."""
    return relative_to_absolute(paper(device), paper.white_xyz)


def noisy_measurements(patches: int = 900, sets: int = 3, noise: float = NOISE_LAB) -> list[Measurements]:
    """The same chart read several times, each Lab value with independent noise, seeded."""
    paper, chart, rng = paper_model(), rgb_chart(patches), np.random.default_rng(5)
    lab = true_lab(paper, chart)
    return [Measurements(chart, "RGB", lab + rng.normal(scale=noise, size=lab.shape)) for _ in range(sets)]
