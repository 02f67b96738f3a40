"""The belief about a wanted correction and the person's own noise: weighted particles.

Drawn anew after every verdict by adaptive importance sampling round a Gaussian, with a share of
prior draws kept in, so that a surprising verdict finds hypotheses to land on (Cappe2004).
A verdict contradicts the earlier ones when no hypothesis fits both nearly as well as each can be fitted
alone (the goodness-of-fit tension of Raveri2019): everything said is then believed less, and the belief widens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.likelihood import log_likelihood
from wallworthy.trial.particles import (
    Proposal,
    effective,
    even_uniforms,
    log_mixture,
    normalised,
    tempered,
    weighted_quantile,
)
from wallworthy.trial.verdict import Verdict

Array = NDArray[np.float64]

FIRST_DRAWS: Final = 2000
DRAWS: Final = 900
"""New draws of each round after a verdict."""
ROUNDS: Final = 3
"""At most; a third is made when fewer draws than `ENOUGH` effectively count."""
WIDE_DRAWS: Final = 250
"""Draws as wide as the prior, kept in so that a surprise finds hypotheses."""
ENOUGH: Final = 150
WIDER: Final = 1.5
"""Variance of the proposal over the estimate it is drawn round."""
FREEDOM: Final = 7.0
"""Degrees of freedom of the proposal's tails."""
CONTRADICTS: Final = 4.5
"""Tension from which a second verdict contradicts the first: the best common fit is e^4.5 times less likely."""
CONTRADICTS_MORE: Final = 0.5
"""Added for every further sheet: honest verdicts that leave less and less open strain more against each other."""
LESS_TRUST: Final = 0.5
"""What is left of every verdict's weight when one contradicts."""
WIDENED: Final = 1.1
"""A contradiction leaves no axis less wide than this, relative to what it was."""
SCALES: Final = (0.7, 1.0, 1.4, 2.0)
"""Sizes that a person's wishes may have, relative to the usual (`axes.PRIOR_SD`)."""
SCALE_WEIGHTS: Final = (0.18, 0.6, 0.17, 0.05)
NARROWED: Final = 0.999
"""A verdict that agrees with earlier ones leaves no axis wider than this, relative to what it was."""


@dataclass(frozen=True, slots=True, eq=False)
class Prior:
    """Where a picture starts: what offset may be wanted, and the person's decidedness.

    A mixture of Gaussians, one for each size that wishes may have: weights (m,), means (m, 6),
    covariances (m, 6, 6) in the axes' own units; log_k: mean and spread of the natural logarithm
    of the utility's factor, ln 3 meaning that three of four choose right at one JND.
    """

    weights: Array
    means: Array
    covariances: Array
    log_k_mean: float = float(np.log(np.log(3)))
    log_k_sd: float = 0.4

    @property
    def mean(self) -> Array:
        """(6,)."""
        return self.weights @ self.means

    @property
    def covariance(self) -> Array:
        """(6, 6), of the whole mixture."""
        gap = self.means - self.mean
        return np.tensordot(self.weights, self.covariances, 1) + (gap * self.weights[:, None]).T @ gap

    def moved_to(self, mean: Array) -> Prior:
        """The same spread about another mean (6,)."""
        return replace(self, means=self.means + (mean - self.mean))

    def log_density(self, wanted: Array, log_k: Array) -> Array:
        """Natural log of the density, (n,), at offsets (n, 6) and log k (n,)."""
        parts = np.stack(
            [
                Proposal(mean, covariance).log_density(wanted) + np.log(weight)
                for weight, mean, covariance in zip(self.weights, self.means, self.covariances, strict=True)
            ]
        )
        top = parts.max(axis=0)
        return top + np.log(np.exp(parts - top).sum(axis=0)) - 0.5 * ((log_k - self.log_k_mean) / self.log_k_sd) ** 2


def plain_prior(scales: Sequence[float] = SCALES, weights: Sequence[float] = SCALE_WEIGHTS) -> Prior:
    """The prior of a first picture, when the size of the person's wishes is not known yet."""
    size = len(PRIOR_SD)
    covariances = np.array([np.diag((PRIOR_SD * scale) ** 2) for scale in scales])
    return Prior(np.array(weights), np.zeros((len(scales), size)), covariances)


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Weighted hypotheses after some verdicts. `root` makes distances JND (see `trial.metric`)."""

    prior: Prior = field(repr=False)
    root: Array = field(repr=False)
    wanted: Array = field(repr=False)
    """(n, 6) offsets from the plain fit."""
    log_k: Array = field(repr=False)
    power: Array = field(repr=False)
    weights: Array = field(repr=False)
    verdicts: tuple[Verdict, ...] = field(default=(), repr=False)
    trust: tuple[float, ...] = ()
    """Power of each verdict's likelihood: 1 unless a later one contradicted."""
    said: Array | None = field(default=None, repr=False)
    """(n,), log likelihood of all verdicts, each with its trust."""
    tension: float = 0.0
    """Natural log of what the likelihood of the last verdict and the earlier ones loses when one hypothesis must fit
    both."""

    @property
    def sheets(self) -> int:
        return len(self.verdicts)

    @property
    def contradicts(self) -> bool:
        """The last verdict contradicts what was known before it; the belief was widened."""
        return _contradicts(self.tension, len(self.verdicts))

    @property
    def mean(self) -> Array:
        """(6,), the correction with the least expected squared loss."""
        return self.weights @ self.wanted

    @property
    def covariance(self) -> Array:
        """(6, 6)."""
        gap = self.wanted - self.mean
        return (gap * self.weights[:, None]).T @ gap

    @property
    def sd(self) -> Array:
        """(6,), standard deviation by axis."""
        return np.sqrt(self.weights @ (self.wanted - self.mean) ** 2)

    def distances_jnd(self, offset: Array | None = None) -> Array:
        """(n,), distance of every hypothesis from an offset (6,), the mean unless given."""
        centre = self.mean if offset is None else offset
        return np.linalg.norm((self.wanted - centre) @ self.root, axis=1)

    def expected_jnd(self, offset: Array | None = None) -> float:
        """Expected distance left when printing at an offset, the mean unless given: root mean square over the belief,
        as dE00 is over the picture."""
        return float(np.sqrt(self.weights @ self.distances_jnd(offset) ** 2))

    def bound_jnd(self, share: float = 0.9, offset: Array | None = None) -> float:
        """Distance left that is not exceeded with this probability."""
        return weighted_quantile(self.distances_jnd(offset), self.weights, share)

    def interval(self, axis: int, share: float = 0.9) -> tuple[float, float]:
        """The central interval of one axis."""
        low = weighted_quantile(self.wanted[:, axis], self.weights, (1 - share) / 2)
        high = weighted_quantile(self.wanted[:, axis], self.weights, (1 + share) / 2)
        return low, high


def start(prior: Prior, root: Array, seed: int = 0) -> Belief:
    """The belief before any sheet."""
    rng = np.random.default_rng((seed, 0))
    proposal = _joint(prior)
    draws = proposal.draw(rng, FIRST_DRAWS)
    weights = normalised(prior.log_density(draws[:, :-1], draws[:, -1]) - proposal.log_density(draws))
    return Belief(prior, root, draws[:, :-1], draws[:, -1], 1 + even_uniforms(rng, FIRST_DRAWS, 1)[:, 0], weights)


def believe(prior: Prior, verdicts: Sequence[Verdict], root: Array, seed: int = 0) -> Belief:
    """The belief after verdicts on one picture, in their order; the prior when there are none. Deterministic."""
    belief = start(prior, root, seed)
    for verdict in verdicts:
        belief = update(belief, verdict, seed)
    return belief


def update(before: Belief, verdict: Verdict, seed: int = 0) -> Belief:
    """The belief after one more verdict.

    A consistent verdict narrows it; one that contradicts the earlier ones (`Belief.contradicts`)
    lowers the trust in all of them, and no axis is then narrower than before.
    """
    rng = np.random.default_rng((seed, before.sheets + 1))
    fresh = _log_likelihood(verdict, before)
    verdicts, trust = (*before.verdicts, verdict), (*before.trust, 1.0)
    sample = _sample(rng, before, verdicts, trust, fresh)
    tension = _tension(before, verdict, fresh, sample)
    contradicts = _contradicts(tension, len(verdicts))
    if contradicts:
        trust = tuple(LESS_TRUST * power for power in trust)
        sample = _sample(rng, before, verdicts, trust, LESS_TRUST * fresh)
    wanted = sample.draws[:, :-1]
    mean, known = sample.weights @ wanted, before.sd
    sd = np.sqrt(sample.weights @ (wanted - mean) ** 2)
    if contradicts:
        wanted = mean + (wanted - mean) * np.maximum(1.0, WIDENED * known / sd)
    elif before.sheets:
        wanted = mean + (wanted - mean) * np.minimum(1.0, NARROWED * known / sd)
    return Belief(
        before.prior,
        before.root,
        wanted,
        sample.draws[:, -1],
        sample.power,
        sample.weights,
        verdicts,
        trust,
        sample.earlier + trust[-1] * sample.last,
        tension,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Sample:
    """Draws (n, 7) with their utility powers and weights, log likelihoods of earlier verdicts and of the last."""

    draws: Array
    power: Array
    weights: Array
    earlier: Array
    last: Array


def _sample(
    rng: np.random.Generator, before: Belief, verdicts: Sequence[Verdict], trust: Sequence[float], fresh: Array
) -> _Sample:
    """Rounds of draws until enough of them count."""
    wide = _joint(before.prior)
    known = np.column_stack([before.wanted, before.log_k])
    about = _about(known, tempered(np.log(before.weights + 1e-300) + fresh, 80.0), wide)
    proposals: list[tuple[Proposal, int]] = []
    sample: _Sample | None = None
    coming = [(wide, WIDE_DRAWS), (about, DRAWS)]
    rows = np.zeros((0, 11))
    for _ in range(ROUNDS):
        rows = np.vstack([rows, _drawn(rng, coming, before, verdicts, trust)])
        proposals += coming
        log_weight = rows[:, 8] + rows[:, 9] + trust[-1] * rows[:, 10] - log_mixture(rows[:, :7], proposals)
        sample = _Sample(rows[:, :7], rows[:, 7], normalised(log_weight), rows[:, 9], rows[:, 10])
        if len(proposals) > 2 and effective(sample.weights) >= ENOUGH:
            break
        coming = [(_about(sample.draws, tempered(log_weight, 120.0), wide), DRAWS)]
    assert sample is not None
    return sample


def _drawn(
    rng: np.random.Generator,
    proposals: Sequence[tuple[Proposal, int]],
    before: Belief,
    verdicts: Sequence[Verdict],
    trust: Sequence[float],
) -> Array:
    """So many draws of each proposal, a row (11,) each.

    Its numbers and log k (7), its power, its log density beforehand, log likelihoods of earlier verdicts and the last.
    """
    drawn = np.concatenate([one.draw(rng, count) for one, count in proposals])
    power = 1 + even_uniforms(rng, len(drawn), 1)[:, 0]
    wanted, log_k = drawn[:, :-1], drawn[:, -1]
    likely = [log_likelihood(verdict, wanted, log_k, power, before.root) for verdict in verdicts]
    earlier = sum((share * one for share, one in zip(trust, likely[:-1], strict=False)), np.zeros(len(drawn)))
    density = before.prior.log_density(wanted, log_k)
    return np.column_stack([drawn, power, density, earlier, likely[-1]])


def _log_likelihood(verdict: Verdict, belief: Belief) -> Array:
    return log_likelihood(verdict, belief.wanted, belief.log_k, belief.power, belief.root)


def _contradicts(tension: float, sheets: int) -> bool:
    return tension > CONTRADICTS + CONTRADICTS_MORE * (sheets - 2)


def _tension(before: Belief, verdict: Verdict, fresh: Array, sample: _Sample) -> float:
    """Best log likelihoods of the earlier verdicts and of the last, each alone, less the best of both together."""
    if before.said is None:
        return 0.0
    anybody = start(plain_prior((2.0,), (1.0,)), before.root, seed=20)
    last = max(float(_log_likelihood(verdict, anybody).max()), float(sample.last.max()), float(fresh.max()))
    earlier = max(float(before.said.max()), float(sample.earlier.max()))
    both = max(float((sample.earlier + sample.last).max()), float((before.said + fresh).max()))
    return max(0.0, last + earlier - both)


def _joint(prior: Prior) -> Proposal:
    """One Gaussian as wide as the prior, over the six axes and log k."""
    size = len(prior.mean)
    covariance = np.zeros((size + 1, size + 1))
    covariance[:size, :size] = prior.covariance
    covariance[size, size] = prior.log_k_sd**2
    return Proposal(np.append(prior.mean, prior.log_k_mean), covariance)


def _about(draws: Array, weights: Array, wide: Proposal) -> Proposal:
    """The next proposal: as the weighted draws, somewhat wider."""
    centre = weights @ draws
    gap = draws - centre
    return Proposal(centre, WIDER * (gap * weights[:, None]).T @ gap + 0.002 * wide.covariance, FREEDOM)
