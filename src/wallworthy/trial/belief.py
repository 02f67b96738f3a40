"""The belief about a wanted correction and the person's own noise: weighted particles.

Drawn anew after every verdict by adaptive importance sampling round a Gaussian, with a share of
prior draws kept in, so that a surprising verdict finds hypotheses to land on (Cappe2004).
A verdict that the earlier ones made less likely than it was before them contradicts them
(the ratio of evidences of Handley2019): everything said is then believed less, and the belief widens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
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
"""New draws of each of the two rounds after a verdict."""
WIDE_DRAWS: Final = 250
"""Draws as wide as the prior, kept in so that a surprise finds hypotheses."""
ENOUGH: Final = 150
"""A third round is made when fewer draws than this effectively count."""
WIDER: Final = 1.5
"""Variance of the proposal over the estimate it is drawn round."""
FREEDOM: Final = 7.0
"""Degrees of freedom of the proposal's tails."""
CONTRADICTS: Final = -1.0
"""Log of the evidence ratio below which a verdict contradicts the earlier ones."""
LESS_TRUST: Final = 0.5
"""What is left of every verdict's weight when one contradicts."""
WIDENED: Final = 1.1
"""A contradiction leaves no axis less wide than this, relative to what it was."""
SCALES: Final = (0.7, 1.0, 1.4, 2.0)
"""Sizes that a person's wishes may have, relative to the usual (`axes.PRIOR_SD`)."""
SCALE_WEIGHTS: Final = (0.18, 0.6, 0.17, 0.05)
SAMPLING_NOISE: Final = 0.05
"""Growth of a standard deviation up to this is the sampling's own noise, unless verdicts contradict."""


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
    agreement: float = 0.0
    """Natural log of how much likelier what was known before made the last verdict; negative when it contradicts."""

    @property
    def sheets(self) -> int:
        return len(self.verdicts)

    @property
    def contradicts(self) -> bool:
        """The last verdict contradicts what was known before it; the belief was widened."""
        return self.agreement < CONTRADICTS

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
    fresh = log_likelihood(verdict, before.wanted, before.log_k, before.power, before.root)
    agreement = _agreement(before, verdict, fresh)
    contradicts = agreement < CONTRADICTS
    trust = (*before.trust, 1.0)
    if contradicts:
        trust = tuple(LESS_TRUST * power for power in trust)
    verdicts = (*before.verdicts, verdict)
    joint, power, weights = _sample(rng, before, verdicts, trust, fresh)
    wanted = joint[:, :-1]
    mean, known = weights @ wanted, before.sd
    sd = np.sqrt(weights @ (wanted - mean) ** 2)
    if contradicts:
        wanted = mean + (wanted - mean) * np.maximum(1.0, WIDENED * known / sd)
    else:
        noise = (sd > 0.999 * known) & (sd < (1 + SAMPLING_NOISE) * known)
        wanted = mean + (wanted - mean) * np.where(noise, 0.999 * known / sd, 1.0)
    return Belief(before.prior, before.root, wanted, joint[:, -1], power, weights, verdicts, trust, agreement)


def _sample(
    rng: np.random.Generator, before: Belief, verdicts: Sequence[Verdict], trust: Sequence[float], fresh: Array
) -> tuple[Array, Array, Array]:
    """Rounds of draws (n, 7) until enough of them count; their utility powers and weights."""
    wide = _joint(before.prior)
    known = np.column_stack([before.wanted, before.log_k])
    about = _about(known, tempered(np.log(before.weights + 1e-300) + fresh, 80.0), wide)
    parts: list[tuple[Proposal, int]] = []
    draws, power, evidence = np.zeros((0, 7)), np.zeros(0), np.zeros(0)
    log_weight = np.zeros(0)
    for fresh_parts in ([(wide, WIDE_DRAWS), (about, DRAWS)], None, None):
        if fresh_parts is None:
            weights = normalised(log_weight)
            if len(parts) > 2 and effective(weights) >= ENOUGH:
                break
            fresh_parts = [(_about(draws, tempered(log_weight, 120.0), wide), DRAWS)]
        drawn = np.concatenate([one.draw(rng, count) for one, count in fresh_parts])
        chosen = 1 + even_uniforms(rng, len(drawn), 1)[:, 0]
        total = before.prior.log_density(drawn[:, :-1], drawn[:, -1])
        for verdict, share in zip(verdicts, trust, strict=True):
            total += share * log_likelihood(verdict, drawn[:, :-1], drawn[:, -1], chosen, before.root)
        parts += fresh_parts
        draws, power = np.concatenate([draws, drawn]), np.concatenate([power, chosen])
        evidence = np.concatenate([evidence, total])
        log_weight = evidence - log_mixture(draws, parts)
    return draws, power, normalised(log_weight)


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


def _agreement(before: Belief, verdict: Verdict, fresh: Array) -> float:
    """Log of the verdict's probability under what was known, over that under the plain prior."""
    nobody = start(plain_prior(), before.root, seed=20)
    said = log_likelihood(verdict, nobody.wanted, nobody.log_k, nobody.power, nobody.root)
    known, plain = float(before.weights @ np.exp(fresh)), float(nobody.weights @ np.exp(said))
    return float(np.log(max(known, 1e-300)) - np.log(max(plain, 1e-300)))
