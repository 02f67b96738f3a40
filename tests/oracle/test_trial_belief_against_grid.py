"""The particles' posterior against brute force over a grid of two open axes."""

from __future__ import annotations

import numpy as np
import pytest

from support.trial_sheets import plain_root
from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.belief import Prior, believe
from wallworthy.trial.likelihood import log_likelihood
from wallworthy.trial.verdict import Grade, Verdict, Word

pytestmark = pytest.mark.source("Gelman2013", "section 10.1, evaluation on a grid")

OPEN = (0, 3)
SETTLED = 1e-3


def prior() -> Prior:
    spread = np.where(np.isin(np.arange(6), OPEN), PRIOR_SD, SETTLED * PRIOR_SD)
    return Prior(np.ones(1), np.zeros((1, 6)), np.diag(spread**2)[None])


def sheet(*places: tuple[float, float]) -> np.ndarray:
    tiles = np.zeros((len(places), 6))
    tiles[:, OPEN] = np.array(places) * PRIOR_SD[list(OPEN)]
    return tiles


def brute(verdicts: list[Verdict], root: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
    """Mean and standard deviation of the two axes, and the root mean square distance from the mean."""
    side = np.linspace(-4, 4, 81)
    log_ks = prior().log_k_mean + prior().log_k_sd * np.linspace(-3, 3, 9)
    powers = np.linspace(1.05, 1.95, 7)
    first, second, log_k, power = (a.ravel() for a in np.meshgrid(side, side, log_ks, powers, indexing="ij"))
    wanted = np.zeros((len(first), 6))
    wanted[:, OPEN[0]], wanted[:, OPEN[1]] = first * PRIOR_SD[OPEN[0]], second * PRIOR_SD[OPEN[1]]
    log_post = -0.5 * (first**2 + second**2 + ((log_k - prior().log_k_mean) / prior().log_k_sd) ** 2)
    for verdict in verdicts:
        log_post += log_likelihood(verdict, wanted, log_k, power, root)
    weights = np.exp(log_post - log_post.max())
    weights /= weights.sum()
    mean = weights @ wanted
    variance = weights @ (wanted - mean) ** 2
    distance = np.sqrt(weights @ (((wanted - mean) @ root) ** 2).sum(axis=1))
    return mean[list(OPEN)], np.sqrt(variance[list(OPEN)]), float(distance)


SIX = sheet((0, 0), (1, 1), (-1, 1), (1, -1), (-1, -1), (2, 0))
LATER = sheet((0.8, 0.6), (1.6, 0.2), (0.2, 1.4), (1.2, 1.2))
CASES = {
    "best and next": [Verdict(SIX, 1, 5)],
    "best alone": [Verdict(SIX, 3)],
    "words": [Verdict(SIX, 1, 0, (Word(1, 0, -1, Grade.TOUCH), Word(0, 3, -1, Grade.CLEARLY)))],
    "words alone": [Verdict(SIX[:1], words=(Word(None, 0, 1, Grade.CLEARLY),), whole=0)],
    "between": [Verdict(SIX, between=(0, 1))],
    "right": [Verdict(SIX, 1, 0, right=(1,))],
    "none is right": [Verdict(SIX, none_right=True)],
    "can't tell": [Verdict(SIX, cannot_tell=True)],
    "two sheets": [Verdict(SIX, 1, 0, (Word(1, 0, -1),)), Verdict(LATER, 0, 3, (Word(0, 3, -1, Grade.TOUCH),))],
}


@pytest.mark.parametrize("case", CASES)
def test_mean_spread_and_expected_distance(case: str) -> None:
    root = plain_root()
    mean, sd, distance = brute(CASES[case], root)
    belief = believe(prior(), CASES[case], root)
    scale = PRIOR_SD[list(OPEN)]
    np.testing.assert_allclose(belief.mean[list(OPEN)] / scale, mean / scale, atol=0.06)
    np.testing.assert_allclose(belief.sd[list(OPEN)] / scale, sd / scale, rtol=0.06)
    assert belief.expected_jnd() == pytest.approx(distance, rel=0.06)
