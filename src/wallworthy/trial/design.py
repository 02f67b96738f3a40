"""Which tiles to print: those whose best and next best teach most, never repeating a settled question."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES
from wallworthy.trial.axes import NEUTRAL
from wallworthy.trial.belief import Belief
from wallworthy.trial.likelihood import choice_probabilities, distances, utilities

Array = NDArray[np.float64]

VISIBLE_JND: Final = 0.8
"""No two tiles lie closer than this."""
SETTLED_JND: Final = 0.3
"""A direction known to this is not asked about again, nor is a tile shown again within it."""
CANDIDATES: Final = 15
EXCHANGES: Final = 24
HYPOTHESES: Final = 200
SPREADS: Final = (0.8, 1.1, 1.4)
"""Half range of the Latin levels over 1.6 standard deviations."""
MOST_TILES: Final = 12

_AXIS: Final = {name: place for place, name in enumerate(CORRECTION_AXES)}


def design(belief: Belief, tiles: int, *, fixed: Array | None = None, seed: int = 0) -> Array:
    """Offsets of the tiles, (tiles, 6), all legal corrections (`legal`).

    Latin draws along the belief's own principal directions, improved by exchange, judged by the
    variance (JND squared) expected to be left after best and next best.
    The first tile is the belief's mean, so that the sheet shows what would be printed. fixed: (m, 6)
    tiles that must be there come before it (on sheet 1 the picture as it stands: the plain fit, or where the
    house correction starts); the mean is left out when it
    can't be told from one of them. Deterministic for a seed. Raises InputError for less than one
    tile or more than 12.
    """
    if not 1 <= tiles <= MOST_TILES:
        raise InputError(
            "tile_count", f"A sheet can't have {tiles} tiles.", f"Ask for 1 to {MOST_TILES}.", where="--tiles"
        )
    rng = np.random.default_rng((seed, tiles))
    kept = _always(belief, fixed)[:tiles]
    if len(kept) == tiles:
        return kept
    directions, mean = principal(belief), belief.mean
    shown = np.concatenate([verdict.tiles for verdict in belief.verdicts]) if belief.verdicts else np.zeros((0, 6))
    places = _Places(belief, shown @ belief.root)
    best, least = None, np.inf
    for number in range(CANDIDATES):
        spread = SPREADS[number % len(SPREADS)]
        drawn = _latin(rng, mean, directions, tiles, spread)[len(kept) :]
        candidate = places.apart(rng, np.vstack([kept, legal(drawn, mean)]), len(kept))
        left = places.variance_left(candidate)
        if left < least:
            best, least = candidate, left
    assert best is not None
    for _ in range(EXCHANGES):
        candidate = best.copy()
        moved = mean + directions.T @ rng.normal(0, 1.1, len(directions))
        candidate[int(rng.integers(len(kept), tiles))] = legal(moved, mean)
        if places.closest(candidate, len(kept)) < 0:
            continue
        left = places.variance_left(candidate)
        if left < least:
            best, least = candidate, left
    return best


def principal(belief: Belief) -> Array:
    """Directions (m, 6), each one standard deviation long, of what is not settled yet; at least one."""
    spread = belief.root.T @ belief.covariance @ belief.root
    values, axes = np.linalg.eigh(spread)
    unsettled = values > max(SETTLED_JND**2, values[-1] * 0.02)
    unsettled[-1] = True
    long = (axes[:, unsettled] * np.sqrt(values[unsettled])).T[::-1]
    return np.asarray(long @ np.linalg.inv(belief.root), dtype=np.float64)


def variance_left(tiles_jnd: Array, wanted_jnd: Array, log_k: Array, power: Array) -> float:
    """Expected variance (JND squared) after best and next best, by hypotheses of equal weight."""
    outcome = choice_probabilities(utilities(distances(wanted_jnd, tiles_jnd), log_k, power)).reshape(len(log_k), -1)
    share = np.maximum(outcome.mean(axis=0), 1e-300)
    means = outcome.T @ wanted_jnd / len(wanted_jnd) / share[:, None]
    return float((wanted_jnd**2).sum(axis=1).mean() - share @ (means**2).sum(axis=1))


def legal(offsets: Array, towards: Array) -> Array:
    """The offsets (..., 6), each drawn towards another point, then towards the plain fit, until its tones rise."""
    flat = np.atleast_2d(offsets)
    out = flat.copy()
    pending = np.logical_not(is_legal(flat))
    for centre in (towards, np.zeros(flat.shape[-1])):
        for share in (0.8, 0.6, 0.4, 0.2, 0.0):
            if not pending.any():
                return out.reshape(offsets.shape)
            out[pending] = centre + share * (flat[pending] - centre)
            pending = np.logical_not(is_legal(out))
    return out.reshape(offsets.shape)


def is_legal(offsets: Array) -> NDArray[np.bool_]:
    """Whether each offset (..., 6) is a correction that `colour.correction` accepts, rounded as tiles are."""
    values = (NEUTRAL + offsets).round(3)
    light, shadow = values[..., _AXIS["lightness"]], values[..., _AXIS["shadow"]]
    bend = 30 * (values[..., _AXIS["contrast"]] - 1)
    low, middle, high = 20 + shadow + 0.64 * light - bend, 50 + light, 80 + 0.64 * light + bend
    chroma = values[..., _AXIS["chroma"]]
    rising = (low > 0) & (middle > low) & (high > middle) & (high < 100)
    return np.asarray(rising & (chroma >= 0) & (chroma <= 4) & np.isfinite(values).all(axis=-1))


def _always(belief: Belief, fixed: Array | None) -> Array:
    mean = legal(belief.mean, np.zeros(len(NEUTRAL)))
    if fixed is None:
        return mean[None]
    fixed = np.atleast_2d(fixed)
    gap = distances(mean[None] @ belief.root, fixed @ belief.root).min()
    return fixed if gap < VISIBLE_JND else np.vstack([fixed, mean])


def _latin(rng: np.random.Generator, mean: Array, directions: Array, tiles: int, spread: float) -> Array:
    """Every direction at evenly spaced levels, their order shuffled, (tiles, 6)."""
    levels = np.linspace(-1.6, 1.6, tiles) * spread
    orders = np.stack([rng.permutation(levels) for _ in range(len(directions))], axis=1)
    return mean + orders @ directions


class _Places:
    """Where tiles lie to the eye, and what choosing among them would teach."""

    def __init__(self, belief: Belief, shown_jnd: Array) -> None:
        chosen = np.searchsorted(np.cumsum(belief.weights), (np.arange(HYPOTHESES) + 0.5) / HYPOTHESES)
        chosen = np.minimum(chosen, len(belief.weights) - 1)
        self.root = belief.root
        self.mean = belief.mean
        self.back = np.linalg.inv(belief.root)
        self.shown_jnd = shown_jnd
        self.sample = (belief.wanted[chosen] @ belief.root, belief.log_k[chosen], belief.power[chosen])

    def variance_left(self, tiles: Array) -> float:
        return variance_left(tiles @ self.root, *self.sample)

    def closest(self, tiles: Array, kept: int) -> float:
        """What the closest pair keeps beyond its due distance, negative when too close; kept tiles stay."""
        placed = tiles @ self.root
        gaps = distances(placed, placed) + np.eye(len(tiles)) * 99
        least = float((gaps[kept:] - VISIBLE_JND).min())
        if len(self.shown_jnd):
            least = min(least, float((distances(placed[kept:], self.shown_jnd) - SETTLED_JND).min()))
        return least

    def apart(self, rng: np.random.Generator, tiles: Array, kept: int) -> Array:
        """Move tiles that lie too close to another or to one shown before until every pair can be told apart."""
        for attempt in range(12):
            placed = tiles @ self.root
            due = np.concatenate([np.full(len(tiles), VISIBLE_JND), np.full(len(self.shown_jnd), SETTLED_JND)])
            others = np.vstack([placed, self.shown_jnd])
            gaps = distances(placed, others) - due
            gaps[np.arange(len(tiles)), np.arange(len(tiles))] = 99.0
            gaps[:kept] = 99.0
            which, other = np.unravel_index(int(gaps.argmin()), gaps.shape)
            if gaps[which, other] >= 0:
                break
            away = placed[which] - others[other] + rng.normal(0, 0.1 + 0.1 * attempt, len(self.mean))
            away *= due[other] * (1.1 + 0.15 * attempt) / max(float(np.linalg.norm(away)), 1e-6)
            tiles[which] = legal((others[other] + away) @ self.back, self.mean)
        return tiles


def codes(count: int, columns: int = 3) -> tuple[str, ...]:
    """Codes of tiles row by row: A1 A2 A3 B1 B2 B3."""
    return tuple(f"{chr(ord('A') + place // columns)}{place % columns + 1}" for place in range(count))


__all__: Sequence[str] = ["codes", "design", "is_legal", "legal", "principal", "variance_left"]
