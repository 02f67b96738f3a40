"""The probability of a choice between two against its published form."""

from __future__ import annotations

import numpy as np
import pytest

from wallworthy.trial.belief import plain_prior
from wallworthy.trial.likelihood import choice_probabilities, distances, utilities


@pytest.mark.source("BradleyTerry1952", "model: pi_i / (pi_i + pi_j)")
def test_thirty_to_ten_is_ln_3() -> None:
    pair = choice_probabilities(np.array([[0.0, -1.098612]]), blunder=0.0)[0]
    assert pair[0, 1] == pytest.approx(0.75, abs=5e-7)


@pytest.mark.source("BradleyTerry1952", "model: pi_i / (pi_i + pi_j)")
def test_one_just_noticeable_difference_is_told_three_times_in_four() -> None:
    usual = np.array([plain_prior().log_k_mean])
    distance = distances(np.zeros((1, 6)), np.array([np.zeros(6), [1.0, 0, 0, 0, 0, 0]]))
    for power in (1.0, 1.5, 2.0):
        pair = choice_probabilities(utilities(distance, usual, np.array([power])), blunder=0.0)[0]
        assert pair[0, 1] == pytest.approx(0.75, abs=1e-5)


@pytest.mark.source("Luce1959", "choice axiom")
def test_what_else_is_on_the_sheet_does_not_change_the_odds_of_two_tiles() -> None:
    utility = np.array([0.3, -0.4, 1.1, -2.0])
    small, large = (choice_probabilities(u[None], blunder=0.0)[0].sum(axis=1) for u in (utility[:2], utility))
    assert small[0] / small[1] == pytest.approx(large[0] / large[1], rel=1e-12)
