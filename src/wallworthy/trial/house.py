"""The house correction: what verdicts on some pictures teach about the next one on the same paper and light.

Every picture's wish is taken as a part shared by the condition, light and display, and a part of its
own. The prior's scale and the shared fraction are learned with it (empirical Bayes over a small grid,
averaged, not chosen: Gelman2013 chapter 5).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Correction
from wallworthy.base.saying import seen_correction_words
from wallworthy.trial.axes import PRIOR_SD, correction_of
from wallworthy.trial.belief import SCALE_WEIGHTS, SCALES, Belief, Prior, plain_prior
from wallworthy.trial.particles import Proposal, normalised

Array = NDArray[np.float64]

FRACTIONS: Final = (0.3, 0.5, 0.7, 0.85)
FRACTION_WEIGHTS: Final = (0.1, 0.25, 0.45, 0.2)
DRIFT: Final = 0.4
"""A change of profile, ink or paper lot gives the shared part this share of its first variance back."""

_SIZE: Final = len(PRIOR_SD)
_UPPER: Final = np.triu_indices(_SIZE)


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """What one picture's verdicts said, with its prior taken out.

    information: precision @ estimate, (6,); precision: (6, 6), zero where nothing was said.
    log_k: mean and variance of the person's decidedness. changed: profile, ink or paper lot changed
    between the lesson before and this one.
    """

    information: Array
    precision: Array
    log_k_mean: float
    log_k_variance: float
    changed: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class House:
    """What has been learned, to be looked at.

    shared: mean (6,) and sd (6,) of the part that belongs to condition, light and display.
    scale: learned size of wishes over the usual; fraction: learned share common to all pictures.
    """

    prior: Prior
    shared_mean: Array
    shared_sd: Array
    scale: float
    fraction: float
    pictures: int

    @property
    def correction(self) -> Correction:
        """Where the next picture starts."""
        return correction_of(self.prior.mean)


def lesson(belief: Belief, *, changed: bool = False) -> Lesson:
    """The picture's own evidence: the posterior's precision less the prior's."""
    prior = belief.prior
    log_prior = prior.log_density(belief.wanted, belief.log_k)
    single = Proposal(prior.mean, prior.covariance)
    # Weights as if the prior had been one Gaussian, which can be taken out again.
    by_k = -0.5 * ((belief.log_k - prior.log_k_mean) / prior.log_k_sd) ** 2
    weights = normalised(np.log(belief.weights + 1e-300) + single.log_density(belief.wanted) + by_k - log_prior)
    mean = weights @ belief.wanted
    gap = belief.wanted - mean
    after = np.linalg.inv((gap * weights[:, None]).T @ gap + np.diag((1e-3 * PRIOR_SD) ** 2))
    before = np.linalg.inv(single.covariance)
    scaled = (after - before) * np.outer(PRIOR_SD, PRIOR_SD)
    values, axes = np.linalg.eigh((scaled + scaled.T) / 2)
    kept = values > 1e-3
    gained = (axes[:, kept] * values[kept]) @ axes[:, kept].T / np.outer(PRIOR_SD, PRIOR_SD)
    gained = (gained + gained.T) / 2
    # What was said, seen in the directions of which something was said.
    onto = (axes[:, kept] @ axes[:, kept].T) / PRIOR_SD[:, None] * PRIOR_SD[None, :]
    information = onto @ (after @ mean - before @ single.mean)
    log_k = float(belief.weights @ belief.log_k)
    variance = float(belief.weights @ (belief.log_k - log_k) ** 2)
    return Lesson(information, gained, log_k, variance, changed)


def as_record(item: Lesson) -> dict[str, float]:
    """A lesson as plain numbers for the journal; `from_record` gives it back."""
    record = {f"information_{i}": float(item.information[i]) for i in range(_SIZE)}
    record |= {f"precision_{i}{j}": float(item.precision[i, j]) for i, j in zip(*_UPPER, strict=True)}
    return record | {
        "log_k_mean": item.log_k_mean,
        "log_k_variance": item.log_k_variance,
        "changed": float(item.changed),
    }


def from_record(record: Mapping[str, float]) -> Lesson:
    """The lesson of `as_record`."""
    precision = np.zeros((_SIZE, _SIZE))
    for i, j in zip(*_UPPER, strict=True):
        precision[i, j] = precision[j, i] = record[f"precision_{i}{j}"]
    information = np.array([record[f"information_{i}"] for i in range(_SIZE)])
    return Lesson(
        information, precision, record["log_k_mean"], record["log_k_variance"], bool(record.get("changed", 0))
    )


def learn(lessons: Sequence[Lesson], *, changed: bool = False) -> House:
    """All lessons of one condition, light and display, oldest first; none of them: the plain prior.

    changed: profile, ink or paper lot changed since the last lesson.
    """
    grid = [(scale, fraction) for scale in SCALES for fraction in FRACTIONS]
    guess = np.log(np.outer(SCALE_WEIGHTS, FRACTION_WEIGHTS).ravel())
    found = [_shared(lessons, scale, fraction, changed) for scale, fraction in grid]
    logs = guess + np.array([evidence for evidence, _, _ in found])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    means = np.array([mean for _, mean, _ in found])
    shared = np.array([covariance for *_, covariance in found])
    own = np.array([np.diag((PRIOR_SD * scale) ** 2 * (1 - fraction)) for scale, fraction in grid])
    rows = weights.reshape(len(SCALES), -1)
    parts = [
        _moments(row / row.sum(), means[place], (shared + own)[place])
        for row, place in zip(rows, np.arange(len(grid)).reshape(rows.shape), strict=True)
    ]
    log_k_mean, log_k_sd = _decidedness(lessons)
    mean, covariance = _moments(weights, means, shared)
    return House(
        Prior(
            rows.sum(axis=1),
            np.array([one for one, _ in parts]),
            np.array([one for _, one in parts]),
            log_k_mean,
            log_k_sd,
        ),
        mean,
        np.sqrt(np.diag(covariance)),
        float(weights @ [scale for scale, _ in grid]),
        float(weights @ [fraction for _, fraction in grid]),
        len(lessons),
    )


def _moments(weights: Array, means: Array, covariances: Array) -> tuple[Array, Array]:
    """Mean and covariance of a mixture."""
    mean = weights @ means
    gap = means - mean
    return mean, np.tensordot(weights, covariances, 1) + (gap * weights[:, None]).T @ gap


def house_text(house: House) -> str:
    """Where the next picture starts, in a sentence."""
    if not house.pictures:
        return "Nothing has been judged on this paper and light yet: the picture starts as the fit leaves it."
    pictures = "1 picture" if house.pictures == 1 else f"{house.pictures} pictures"
    start = seen_correction_words(house.correction.as_dict())
    return f"Starts where {pictures} judged on this paper and light left off: {start}."


def _shared(lessons: Sequence[Lesson], scale: float, fraction: float, changed: bool) -> tuple[float, Array, Array]:
    """Log evidence, and mean and covariance of the shared part, for one scale and fraction."""
    total = np.diag((PRIOR_SD * scale) ** 2)
    own = total * (1 - fraction)
    drift = DRIFT * fraction * total
    mean, covariance = np.zeros(_SIZE), total * fraction
    evidence = 0.0
    for item in lessons:
        if item.changed:
            covariance = covariance + drift
        evidence += _log_marginal(item, mean, covariance + own)
        mean, covariance = _learnt(item, own, mean, covariance)
    if changed:
        covariance = covariance + drift
    return evidence, mean, covariance


def _learnt(item: Lesson, own: Array, mean: Array, covariance: Array) -> tuple[Array, Array]:
    """Mean and covariance of the shared part after a lesson, its picture's own part integrated out of what was said."""
    # in information form
    spread = np.linalg.inv(np.eye(_SIZE) + own @ item.precision)
    gained = item.precision @ spread
    before = np.linalg.inv(covariance)
    after = np.asarray(np.linalg.inv(before + (gained + gained.T) / 2), dtype=np.float64)
    return after @ (before @ mean + spread.T @ item.information), after


def _log_marginal(item: Lesson, mean: Array, covariance: Array) -> float:
    """Log of the integral of exp(-x'Px/2 + x'i) over N(mean, covariance), up to a constant of the lesson."""
    inverse = np.linalg.inv(covariance)
    both = item.precision + inverse
    shift = item.information + inverse @ mean
    _, logdet = np.linalg.slogdet(np.eye(_SIZE) + covariance @ item.precision)
    return float(0.5 * shift @ np.linalg.solve(both, shift) - 0.5 * mean @ inverse @ mean - 0.5 * logdet)


def _decidedness(lessons: Sequence[Lesson]) -> tuple[float, float]:
    """Mean and spread of log k after the lessons; the person keeps it from picture to picture."""
    if not lessons:
        usual = plain_prior()
        return usual.log_k_mean, usual.log_k_sd
    last = lessons[-1]
    return last.log_k_mean, max(0.2, float(np.sqrt(last.log_k_variance)))


__all__ = ["House", "Lesson", "as_record", "from_record", "house_text", "learn", "lesson"]
