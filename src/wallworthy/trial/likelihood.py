"""How likely a verdict is, given the correction a person wants and how surely they choose.

Choices follow Plackett and Luce (Luce1959, Plackett1975): utility -k d^p with d the distance in
image JND. Blunders, confused words and wrong signs are allowed for, so that no single answer is
believed without doubt. The rates are assumptions, named here; docs/why/trial.md weighs them.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.verdict import Grade, Verdict, Word

Array = NDArray[np.float64]

BLUNDER: Final = 0.05
"""Share of answers given at random."""
WRONG_AXIS: Final = 0.10
"""Share of words that name another axis than the worst one, mostly a neighbour."""
NEIGHBOUR_SHARE: Final = 0.8
NEIGHBOURS: Final = ((1, 2), (0, 2), (0, 1), (4, 5), (3, 5), (3, 4))
"""Axes whose words are mistaken for each other: tones for tones, colours for colours."""
WRONG_SIGN: Final = 0.02
WORD_NOISE_JND: Final = 0.15
"""Spread with which the sizes of two faults are compared before one is named."""
GRADE_EDGE_JND: Final = 1.0
"""Where 'a touch' gives way to 'clearly'."""
GRADE_SPREAD: Final = 0.27
"""Spread of that edge, natural logarithm."""
RIGHT_JND: Final = 1.0
"""Where half the people call a tile right: the meaning of a just noticeable difference."""
RIGHT_SPREAD: Final = 0.27
"""Spread of that edge, natural logarithm."""
EVEN_JND: Final = 0.5
"""How equally far two tiles lie that cannot be told apart."""
WORD_POWERS: Final = ((1, 1.0), (2, 0.95), (99, 0.75))
"""Words of one sheet are not independent: their likelihood is tempered by how many there are."""

_LOGISTIC: Final = 1.702
"""The logistic curve this much steeper passes for the normal one (within .01)."""


def log_likelihood(verdict: Verdict, wanted: Array, log_k: Array, power: Array, root: Array) -> Array:
    """Natural log of the probability of a verdict for each of n hypotheses, (n,).

    wanted: (n, 6) offsets; log_k, power: (n,) of the utility; root: (6, 6) with
    root @ root.T the metric in JND squared, so that |(a - b) @ root| is a distance in JND.
    """
    distance = distances(wanted @ root, verdict.tiles @ root)
    total = np.zeros(len(wanted))
    if verdict.between is not None:
        total += _log_between(utilities(distance, log_k, power), distance, *verdict.between)
    elif verdict.best is not None:
        total += _log_choice(utilities(distance, log_k, power), verdict.best, verdict.next)
    if verdict.cannot_tell and distance.shape[1] > 1:
        nearest = np.partition(distance, 1, axis=1)
        total += np.log(_mixed(np.exp(-0.5 * ((nearest[:, 1] - nearest[:, 0]) / EVEN_JND) ** 2)))
    scale = np.sqrt(np.diag(root @ root.T))
    told = {verdict.about(word) for word in verdict.words} | set(verdict.right)
    tempering = next(value for most, value in WORD_POWERS if len(told) <= most)
    for word in verdict.words:
        tile = verdict.about(word)
        if tile is not None:
            missing = (wanted - verdict.tiles[tile]) * scale
            total += tempering * _log_word(word, missing)
    for tile in told - {None} - set(verdict.right):
        total += tempering * np.log(_mixed(1 - right_probability(distance[:, tile])))
    for tile in verdict.right:
        total += tempering * np.log(_mixed(right_probability(distance[:, tile])))
    if verdict.none_right:
        total += np.log(_mixed(1 - right_probability(distance.min(axis=1))))
    return total


def distances(wanted_jnd: Array, tiles_jnd: Array) -> Array:
    """(n, tiles) Euclidean distances between (n, 6) and (tiles, 6)."""
    square = (wanted_jnd**2).sum(axis=1)[:, None] + (tiles_jnd**2).sum(axis=1) - 2 * wanted_jnd @ tiles_jnd.T
    return np.sqrt(np.maximum(square, 1e-12))


def utilities(distance: Array, log_k: Array, power: Array) -> Array:
    """-k d^p, (n, tiles)."""
    return -np.exp(log_k[:, None] + power[:, None] * np.log(distance))


def choice_probabilities(utility: Array, blunder: float = BLUNDER) -> Array:
    """Probability of every ordered pair (best, next), (n, tiles, tiles), zero on the diagonal.

    Source: Plackett1975: the next best is chosen like the best, from what is left.
    """
    tiles = utility.shape[1]
    strength = np.exp(utility - utility.max(axis=1, keepdims=True))
    total = strength.sum(axis=1, keepdims=True)
    rest = np.maximum(total - strength, 1e-300)
    pairs = (strength / total / rest)[:, :, None] * strength[:, None, :]
    pairs *= 1 - blunder
    pairs += blunder / (tiles * max(tiles - 1, 1))
    pairs[:, np.arange(tiles), np.arange(tiles)] = 0.0
    return pairs


def right_probability(distance: Array) -> Array:
    """Share of people who call a tile at this distance (JND) right."""
    return 1 / (1 + (distance / RIGHT_JND) ** (_LOGISTIC / RIGHT_SPREAD))


def axis_probabilities(missing_jnd: Array) -> Array:
    """Probability that each axis is the one named, (n, 6), for what is missing on each."""
    named = _softmax(np.abs(missing_jnd) / WORD_NOISE_JND)
    beside = named @ _CONFUSION
    return (1 - WRONG_AXIS) * named + WRONG_AXIS * beside


def clearly_probability(size_jnd: Array) -> Array:
    """Share of graded words that say 'clearly' of a fault of this size on its axis."""
    return 1 / (1 + (np.maximum(size_jnd, 1e-3) / GRADE_EDGE_JND) ** (-_LOGISTIC / GRADE_SPREAD))


def _confusion() -> Array:
    size = len(NEIGHBOURS)
    matrix = np.full((size, size), (1 - NEIGHBOUR_SHARE) / (size - 1))
    for axis, near in enumerate(NEIGHBOURS):
        matrix[axis, axis] = 0.0
        for other in near:
            matrix[axis, other] += NEIGHBOUR_SHARE / len(near)
    return matrix


_CONFUSION: Final = _confusion()


def _log_choice(utility: Array, best: int, second: int | None) -> Array:
    tiles = utility.shape[1]
    proper = _softmax(utility)[:, best]
    chance = 1 / tiles
    if second is not None:
        rest = np.delete(np.arange(tiles), best)
        place = int(np.nonzero(rest == second)[0][0])
        proper = proper * _softmax(utility[:, rest])[:, place]
        chance /= tiles - 1
    return np.log((1 - BLUNDER) * proper + BLUNDER * chance)


def _log_between(utility: Array, distance: Array, one: int, other: int) -> Array:
    """Both lead the sheet, in either order, and lie about equally far."""
    lead = np.exp(_log_choice(utility, one, other)) + np.exp(_log_choice(utility, other, one))
    even = np.exp(-0.5 * ((distance[:, one] - distance[:, other]) / EVEN_JND) ** 2)
    return np.log(lead * _mixed(even))


def _log_word(word: Word, missing_jnd: Array) -> Array:
    """missing_jnd: (n, 6) what the tile lacks on each axis; 'too light' means it lacks lightness below zero."""
    share = axis_probabilities(missing_jnd)[:, word.axis]
    lacking = -word.sign * missing_jnd[:, word.axis]
    sure = _sigmoid(lacking / (WORD_NOISE_JND / 2))
    share = share * (WRONG_SIGN + (1 - 2 * WRONG_SIGN) * sure)
    if word.grade is not Grade.PLAIN:
        much = clearly_probability(np.abs(lacking))
        share = share * _mixed(much if word.grade is Grade.CLEARLY else 1 - much)
    return np.log(np.maximum(share, 1e-12))


def _mixed(probability: Array) -> Array:
    return (1 - BLUNDER) * probability + BLUNDER / 2


def _sigmoid(x: Array) -> Array:
    return 0.5 * (1 + np.tanh(x / 2))


def _softmax(values: Array) -> Array:
    powers = np.exp(values - values.max(axis=1, keepdims=True))
    return powers / powers.sum(axis=1, keepdims=True)
