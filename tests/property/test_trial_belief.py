"""What a belief must do: narrow, widen when contradicted, stay the same for the same verdicts, be quick."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

from support.trial_sheets import picture_root, sure_verdict
from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.belief import Belief, believe, plain_prior, start, update
from wallworthy.trial.design import design
from wallworthy.trial.particles import Proposal, even_normals, log_mixture, weighted_quantile
from wallworthy.trial.verdict import Grade, Verdict, Word

pytestmark = pytest.mark.practice


def wishes(count: int, seed: int = 4) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, 1, (count, 6)) * PRIOR_SD


def walk(wanted: np.ndarray, sheets: int) -> list[Belief]:
    beliefs = [start(plain_prior(), picture_root())]
    for number in range(sheets):
        tiles = design(beliefs[-1], 6, fixed=None if number else np.zeros(6))
        beliefs.append(update(beliefs[-1], sure_verdict(wanted, tiles, beliefs[-1].root)))
    return beliefs


def opposite(belief: Belief, wanted: np.ndarray) -> Verdict:
    """All tiles are said to err clearly to the side where the person wanted more before."""
    root = belief.root
    axis = int(np.argmax(np.abs(belief.mean) * np.sqrt(np.diag(root @ root.T))))
    sign = 1 if wanted[axis] > 0 else -1
    tiles = design(belief, 6)
    return Verdict(tiles, words=tuple(Word(tile, axis, sign, Grade.CLEARLY) for tile in range(6)))


def test_consistent_verdicts_narrow_every_axis_and_come_nearer() -> None:
    far, near = [], []
    for wanted in wishes(12):
        first, second, third = walk(wanted, 2)
        assert (third.sd <= second.sd).all()
        assert (second.sd / PRIOR_SD).sum() < (first.sd / PRIOR_SD).sum()
        assert third.expected_jnd() < second.expected_jnd() < first.expected_jnd()
        far.append(np.linalg.norm(wanted @ first.root))
        near.append(np.linalg.norm((wanted - third.mean) @ third.root))
    assert np.mean(near) < 0.5 * np.mean(far)


def test_a_contradiction_widens_every_axis_and_is_told() -> None:
    noticed = 0
    for wanted in wishes(12, seed=5):
        wanted = wanted + np.sign(wanted[0]) * np.array([4.0, 0, 0, 0, 0, 0])
        before = walk(wanted, 1)[-1]
        after = update(before, opposite(before, wanted))
        noticed += after.contradicts
        if after.contradicts:
            assert (after.sd > before.sd).all()
            assert after.trust == (0.5, 0.5)
    assert noticed >= 10


def test_honest_verdicts_are_hardly_ever_taken_for_contradictions() -> None:
    told = [belief.contradicts for wanted in wishes(15, seed=6) for belief in walk(wanted, 3)]
    assert sum(told) <= 2


def test_after_a_contradiction_new_verdicts_narrow_again() -> None:
    wanted = np.array([6.0, 0, 0, 0, 0, 0])
    before = walk(wanted, 1)[-1]
    torn = update(before, opposite(before, wanted))
    assert torn.contradicts
    # What is said now agrees with the middle that two contradicting sheets leave.
    healed = update(torn, sure_verdict(torn.mean, design(torn, 6), torn.root))
    assert not healed.contradicts
    assert (healed.sd < torn.sd).all()


def test_the_same_verdicts_give_the_same_belief() -> None:
    root = picture_root()
    first = walk(wishes(1)[0], 2)[-1]
    again = believe(plain_prior(), first.verdicts, root)
    np.testing.assert_array_equal(again.wanted, first.wanted)
    np.testing.assert_array_equal(again.weights, first.weights)
    assert again.sheets == 2
    other = believe(plain_prior(), first.verdicts, root, seed=1)
    np.testing.assert_allclose(other.mean / PRIOR_SD, first.mean / PRIOR_SD, atol=0.12)


def test_a_verdict_without_content_teaches_nothing() -> None:
    before = start(plain_prior(), picture_root())
    after = update(before, Verdict(np.zeros((6, 6))))
    np.testing.assert_allclose(after.sd, before.sd, rtol=0.05)
    np.testing.assert_allclose(after.mean / PRIOR_SD, 0, atol=0.05)


@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("axis", range(6))
def test_words_alone_move_their_axis_the_right_way(axis: int, sign: int) -> None:
    root = picture_root()
    tiles = np.zeros((1, 6))
    said = Verdict(tiles, words=(Word(None, axis, 1 if sign > 0 else -1, Grade.CLEARLY),), whole=0)
    moved = update(start(plain_prior(), root), said).mean / PRIOR_SD
    assert -sign * moved[axis] > 0.25
    touched = replace(said, words=(replace(said.words[0], grade=Grade.TOUCH),))
    assert abs(update(start(plain_prior(), root), touched).mean[axis] / PRIOR_SD[axis]) < abs(moved[axis])


def test_update_and_design_take_less_than_a_tenth_of_a_second() -> None:
    taken = []
    belief = walk(wishes(1)[0], 1)[-1]
    for _ in range(7):
        begun = time.process_time()
        after = update(belief, belief.verdicts[0])
        design(after, 6)
        taken.append(time.process_time() - begun)
    assert np.median(taken) < 0.1


def test_intervals_and_bounds_follow_the_weights() -> None:
    belief = start(plain_prior((1.0,), (1.0,)), picture_root())
    low, high = belief.interval(0)
    assert low == pytest.approx(-1.645 * PRIOR_SD[0], rel=0.03)
    assert high == pytest.approx(1.645 * PRIOR_SD[0], rel=0.03)
    assert belief.expected_jnd() < belief.bound_jnd() < 2.2 * belief.expected_jnd()
    assert weighted_quantile(np.array([3.0, 1.0, 2.0]), np.array([0.25, 0.5, 0.25]), 0.5) == pytest.approx(5 / 3)


@pytest.mark.source("Cappe2004", "section 3, deterministic mixture")
def test_draws_from_a_mixture_weigh_up_to_one() -> None:
    rng = np.random.default_rng(0)
    wide, narrow = Proposal(np.zeros(3), np.eye(3) * 4), Proposal(np.ones(3), np.eye(3) * 0.5, 7.0)
    draws = np.concatenate([wide.draw(rng, 3000), narrow.draw(rng, 3000)])
    target = Proposal(np.full(3, 0.5), np.eye(3))
    weights = np.exp(target.log_density(draws) - log_mixture(draws, [(wide, 3000), (narrow, 3000)]))
    assert weights.mean() == pytest.approx(1, abs=0.02)
    np.testing.assert_allclose(weights @ draws / weights.sum(), 0.5, atol=0.03)


@pytest.mark.source("CranleyPatterson1976", "random shift")
def test_even_draws_are_normal_and_more_even_than_chance() -> None:
    draws = even_normals(np.random.default_rng(1), 2000, 7)
    np.testing.assert_allclose(draws.mean(axis=0), 0, atol=0.01)
    np.testing.assert_allclose(draws.std(axis=0), 1, atol=0.02)
    np.testing.assert_allclose(np.corrcoef(draws.T), np.eye(7), atol=0.06)
