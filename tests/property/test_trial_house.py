"""The house correction: learned across pictures, its scale and shared fraction too, widened by changes, reset."""

from __future__ import annotations

import json

import numpy as np
import pytest

from support.trial_sheets import picture_root, plain_root, sure_verdict
from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.belief import Belief, Prior, plain_prior, start, update
from wallworthy.trial.design import design
from wallworthy.trial.house import Lesson, as_record, from_record, house_text, learn, lesson

pytestmark = pytest.mark.practice


def certain(wanted: np.ndarray, sd: float = 0.1) -> Lesson:
    """A lesson that leaves hardly a doubt."""
    precision = np.diag((sd * PRIOR_SD) ** -2)
    return Lesson(precision @ wanted, precision, 0.0, 0.09)


def judged(prior: Prior, wanted: np.ndarray, sheets: int = 2) -> Belief:
    belief = start(prior, picture_root())
    for _ in range(sheets):
        belief = update(belief, sure_verdict(wanted, design(belief, 6), belief.root))
    return belief


def household(rng: np.random.Generator, scale: float, fraction: float, pictures: int) -> list[Lesson]:
    shared = rng.normal(0, 1, 6) * PRIOR_SD * scale * np.sqrt(fraction)
    own = rng.normal(0, 1, (pictures, 6)) * PRIOR_SD * scale * np.sqrt(1 - fraction)
    return [certain(shared + each) for each in own]


def test_nothing_learned_is_the_plain_prior() -> None:
    house, plain = learn(()), plain_prior()
    np.testing.assert_allclose(house.prior.mean, 0)
    np.testing.assert_allclose(house.prior.covariance, plain.covariance)
    assert house.correction.is_none
    assert house_text(house).startswith("Nothing has been judged")


@pytest.mark.source("Gelman2013", "section 5.4, normal model with known variances")
def test_two_lessons_against_the_joint_normal() -> None:
    wanted = np.array([[4.0, 0.05, -2.0, 1.0, 0.5, 0.02], [2.0, 0.01, 1.0, 0.5, 1.5, -0.03]])
    noise, fraction = 0.5, 0.7
    house = learn_one_size([certain(each, noise) for each in wanted], fraction)
    total = PRIOR_SD**2
    for axis in range(6):
        shared, own, error = fraction * total[axis], (1 - fraction) * total[axis], noise**2 * total[axis]
        seen = np.full((2, 2), shared) + np.eye(2) * (own + error)
        weights = np.linalg.solve(seen, np.full(2, shared))
        assert house.mean[axis] == pytest.approx(weights @ wanted[:, axis], rel=1e-6)
        assert house.covariance[axis, axis] == pytest.approx(shared + own - weights @ np.full(2, shared), rel=1e-6)


def learn_one_size(lessons: list[Lesson], fraction: float) -> Prior:
    """As `learn`, with one scale and fraction."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("wallworthy.trial.house.SCALES", (1.0,))
        patch.setattr("wallworthy.trial.house.SCALE_WEIGHTS", (1.0,))
        patch.setattr("wallworthy.trial.house.FRACTIONS", (fraction,))
        patch.setattr("wallworthy.trial.house.FRACTION_WEIGHTS", (1.0,))
        return learn(lessons).prior


def test_scale_and_shared_fraction_are_learned() -> None:
    rng = np.random.default_rng(0)
    scales = {scale: np.mean([learn(household(rng, scale, 0.7, 6)).scale for _ in range(8)]) for scale in (0.7, 1, 2)}
    assert scales[0.7] < scales[1] < scales[2]
    assert scales[2] > 1.6
    alike = np.mean([learn(household(rng, 1, 0.85, 8)).fraction for _ in range(8)])
    unlike = np.mean([learn(household(rng, 1, 0.3, 8)).fraction for _ in range(8)])
    assert alike > unlike + 0.15


def test_the_next_picture_starts_where_the_last_ones_left_off() -> None:
    wanted = np.array([5.0, 0, 0, 2.0, 0, 0])
    lessons: list[Lesson] = []
    for _ in range(3):
        lessons.append(lesson(judged(learn(lessons).prior, wanted)))
    house = learn(lessons)
    root = picture_root()
    assert np.linalg.norm((house.prior.mean - wanted) @ root) < 0.5 * np.linalg.norm(wanted @ root)
    assert start(house.prior, root).expected_jnd() < 0.75 * start(plain_prior(), root).expected_jnd()
    text = house_text(house)
    assert text.startswith("Starts where 3 pictures judged on this paper and light left off: ")
    assert "L* lighter" in text
    assert "b* yellower" in text
    assert (house.shared_sd < PRIOR_SD).all()


def test_a_change_widens_and_drops_nothing() -> None:
    lessons = household(np.random.default_rng(1), 1, 0.7, 4)
    same, changed = learn(lessons), learn(lessons, changed=True)
    np.testing.assert_allclose(changed.prior.mean, same.prior.mean)
    assert (changed.shared_sd > 1.2 * same.shared_sd).all()
    assert (changed.shared_sd < PRIOR_SD).all()
    # A change in the past makes the lessons after it count for more.
    moved = np.full(6, 2.0) * PRIOR_SD
    after = Lesson(certain(moved).information, certain(moved).precision, 0, 0.09, changed=True)
    unchanged = Lesson(after.information, after.precision, 0, 0.09)
    by_change = learn([*lessons, after]).prior.mean / PRIOR_SD
    by_none = learn([*lessons, unchanged]).prior.mean / PRIOR_SD
    assert by_change.sum() > by_none.sum()


def test_nothing_said_is_no_lesson() -> None:
    silent = lesson(start(plain_prior(), plain_root()))
    house = learn([silent])
    np.testing.assert_allclose(house.prior.mean / PRIOR_SD, 0, atol=0.05)
    np.testing.assert_allclose(np.sqrt(np.diag(house.prior.covariance)) / PRIOR_SD, 1.06, atol=0.1)


def test_lessons_survive_the_journal() -> None:
    taught = lesson(judged(plain_prior(), np.array([3.0, 0.02, 1, 0, 1, 0.0])), changed=True)
    record = json.loads(json.dumps(as_record(taught)))
    assert all(isinstance(value, float) for value in record.values())
    again = from_record(record)
    np.testing.assert_array_equal(again.precision, taught.precision)
    np.testing.assert_array_equal(again.information, taught.information)
    assert again.changed
    np.testing.assert_array_equal(learn([again]).prior.means, learn([taught]).prior.means)


def test_the_person_s_decidedness_is_kept() -> None:
    taught = [Lesson(np.zeros(6), np.zeros((6, 6)), 0.5, 0.04)]
    assert learn(taught).prior.log_k_mean == 0.5
    assert learn(taught).prior.log_k_sd == pytest.approx(0.2)
    assert learn(()).prior.log_k_mean == pytest.approx(np.log(np.log(3)))
