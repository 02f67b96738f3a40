"""Verdicts as the model expects them, and what another sheet would bring by their measure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.belief import Belief
from wallworthy.trial.likelihood import (
    BLUNDER,
    WRONG_SIGN,
    axis_probabilities,
    clearly_probability,
    distances,
    log_likelihood,
    right_probability,
    utilities,
)
from wallworthy.trial.particles import normalised
from wallworthy.trial.verdict import Grade, Verdict, Word

Array = NDArray[np.float64]

TRUTHS: Final = 48
HYPOTHESES: Final = 500


@dataclass(frozen=True, slots=True, eq=False)
class Eye:
    """One hypothesis of a person: wanted offset (6,), and how they choose."""

    wanted: Array
    log_k: float
    power: float
    root: Array


def speak(eye: Eye, tiles: Array, rng: np.random.Generator, words: int = 2) -> Verdict:
    """What such a person would say of a sheet: best, next, and of these `words` tiles what is wrong, or 'right'."""
    gaps = eye.wanted - tiles
    distance = distances(eye.wanted[None] @ eye.root, tiles @ eye.root)
    utility = utilities(distance, np.array([eye.log_k]), np.array([eye.power]))[0]
    order = np.argsort(-(utility + rng.gumbel(size=len(tiles))))
    if rng.random() < BLUNDER:
        order = rng.permutation(len(tiles))
    scale = np.sqrt(np.diag(eye.root @ eye.root.T))
    said: list[Word] = []
    right: list[int] = []
    for tile in (int(place) for place in order[:words]):
        if rng.random() < right_probability(distance[0, tile]):
            right.append(tile)
            continue
        missing = gaps[tile] * scale
        named = axis_probabilities(missing[None])[0]
        axis = int(rng.choice(len(named), p=named / named.sum()))
        sign = -1 if (missing[axis] > 0) != (rng.random() < WRONG_SIGN) else 1
        much = rng.random() < clearly_probability(np.abs(missing[axis : axis + 1]))[0]
        said.append(Word(tile, axis, sign, Grade.CLEARLY if much else Grade.TOUCH))
    alone = len(tiles) == 1
    best, second = (None, None) if alone else (int(order[0]), int(order[1]))
    return Verdict(tiles, best, second, tuple(said), right=tuple(right), whole=0 if alone else None)


def after_another_jnd(belief: Belief, tiles: Array, *, words: int = 2, seed: int = 0) -> float:
    """Expected distance left after a sheet with these tiles (n, 6), as `Belief.expected_jnd`; deterministic."""
    return float(np.sqrt(np.mean(np.square(left_after_another_jnd(belief, tiles, words=words, seed=seed)))))


def left_after_another_jnd(belief: Belief, tiles: Array, *, words: int = 2, seed: int = 0) -> Array:
    """Distances (TRUTHS,) left after a sheet with these tiles (n, 6), one for each simulated person; deterministic.

    By simulated verdicts: truths are drawn from the belief, each speaks, and the belief reweighted by what it said is
    measured by the truth itself, which had no part in it.
    """
    rng = np.random.default_rng((seed, belief.sheets, 7))
    places = (np.arange(HYPOTHESES) + rng.random()) / HYPOTHESES
    shuffled = rng.permutation(len(belief.weights))
    reached = np.cumsum(belief.weights[shuffled])
    chosen = shuffled[np.minimum(np.searchsorted(reached, places * reached[-1]), len(shuffled) - 1)]
    wanted, log_k, power = belief.wanted[chosen], belief.log_k[chosen], belief.power[chosen]
    left: list[float] = []
    for truth in rng.choice(HYPOTHESES, TRUTHS, replace=False):
        eye = Eye(wanted[truth], float(log_k[truth]), float(power[truth]), belief.root)
        evidence = log_likelihood(speak(eye, tiles, rng, words), wanted, log_k, power, belief.root)
        evidence[(wanted == wanted[truth]).all(axis=1)] = -np.inf
        mean = normalised(evidence) @ wanted
        left.append(float(np.linalg.norm((eye.wanted - mean) @ belief.root)))
    return np.array(left)
