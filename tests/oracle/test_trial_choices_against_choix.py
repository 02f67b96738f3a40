"""Choices of best and next best against an independent implementation of Luce's axiom."""

from __future__ import annotations

import choix
import numpy as np
import pytest

from wallworthy.trial.likelihood import choice_probabilities, log_likelihood
from wallworthy.trial.verdict import Verdict

pytestmark = pytest.mark.source("Choix", "probabilities, log_likelihood_top1")


def test_every_pair_of_best_and_next_has_the_probability_of_two_choices_running() -> None:
    rng = np.random.default_rng(1)
    for tiles in (2, 3, 6, 8):
        utility = rng.normal(0, 1.5, tiles)
        ours = choice_probabilities(utility[None], blunder=0.0)[0]
        for best in range(tiles):
            first = choix.probabilities(list(range(tiles)), utility)[best]
            rest = [tile for tile in range(tiles) if tile != best]
            second = choix.probabilities(rest, utility)
            np.testing.assert_allclose(ours[best, rest], first * second, rtol=1e-12)
            assert ours[best, best] == 0
        assert ours.sum() == pytest.approx(1)


@pytest.mark.parametrize("power", [1.0, 1.5, 2.0])
def test_a_verdict_s_likelihood_is_that_of_the_utilities(power: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wallworthy.trial.likelihood.BLUNDER", 0.0)
    rng = np.random.default_rng(2)
    root = np.diag(rng.uniform(0.2, 1, 6))
    tiles, wanted = rng.normal(0, 1, (6, 6)), rng.normal(0, 1, (4, 6))
    log_k = np.log([0.5, 1, 1.5, 2])
    ours = log_likelihood(Verdict(tiles, 3, 1), wanted, log_k, np.full(4, power), root)
    for place in range(4):
        utility = -np.exp(log_k[place]) * np.linalg.norm((wanted[place] - tiles) @ root, axis=1) ** power
        both = [(3, (0, 1, 2, 4, 5)), (1, (0, 2, 4, 5))]
        assert ours[place] == pytest.approx(choix.log_likelihood_top1(both, utility), rel=1e-9)


def test_strengths_are_found_again_from_simulated_choices() -> None:
    utility = np.array([0.0, -0.5, -1.0, -2.0])
    pairs = choice_probabilities(utility[None], blunder=0.0)[0]
    rng = np.random.default_rng(3)
    drawn = rng.choice(16, 1500, p=pairs.ravel() / pairs.sum())
    data = []
    for best, second in (divmod(int(place), 4) for place in drawn):
        rest = tuple(tile for tile in range(4) if tile != best)
        data += [(best, rest), (second, tuple(tile for tile in rest if tile != second))]
    found = choix.opt_top1(4, data)
    np.testing.assert_allclose(found - found[0], utility, atol=0.16)
