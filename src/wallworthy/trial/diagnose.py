"""Which fault explains a print: each is played through, its free numbers and the scanner's fitted, all weighed.

Evidence is Laplace's approximation to the marginal likelihood (MacKay1992): the best fit's
likelihood times the share of the prior that fits as well. Residuals have heavy tails; patches of one
print are not independent, so the likelihood is tempered.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.expected import ExpectedSheet
from wallworthy.trial.faults import PRIOR, Fault, FaultKind
from wallworthy.trial.mishaps import Model, Printing, models_of
from wallworthy.trial.reading import Stripes, light_to_lab
from wallworthy.trial.scanner import mixing_of
from wallworthy.trial.telling import told

Array = NDArray[np.float64]
Route = Literal["scanner", "spectro"]

NOISE_LAB: Final = 0.7
TEMPER: Final = 0.2
"""Power of the likelihood: about one patch in five tells something new."""
TAILS: Final = 5.0
"""Degrees of freedom of Student's t for the residuals."""
PRUNE: Final = 25.0
BETWEEN_FLATBED: Final = (0.105, 0.18)
BETWEEN_PHOTO: Final = (0.13, 0.28)
AGAINST_GOOD: Final = (0.18, 0.2)
AGAINST_FAULTY: Final = (0.35, 0.5)
STRIPED: Final = (0.7, 0.5)
"""rms L* of stripes, and the spread of its logarithm: between tiles on a flatbed and in a photo; against what was
expected on prints of the right colours and on others; on striped prints, either way."""
HIDDEN: Final = 0.1
"""How often stripes repeat with the tiles."""
REACH: Final = 2.2
"""Standard deviations a fault's free numbers may go from what is usual: a weak ink is not a missing one."""
GUESSED_SPLIT: Final = 0.4
"""Power of the odds between a missing and a weak ink where a printer's separation is a guess. All patches then err
together, which their likelihoods, each for itself, do not know; settled on prints other than those reported."""
SCALE_SD_PCT: Final = 0.4
WRONG_SCALE_SD_PCT: Final = 5.0

DRIFT_SD: Final = np.array([0.035, 0.035, 0.035, 0.04])
"""Densities of the three channels and dot gain, from unit to unit and day to day."""
SCANNER_SD: Final = np.array([0.05, 0.012, 0.012, *([0.022] * 6), 0.004])
"""Tone (logarithm of gamma; red and blue apart from green), mixing of channels, flare."""
SPECTRO_SD: Final = np.array([0.003, 0.002, 0.002, *([0.002] * 6), 0.0005])


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """All explanations of one sheet, played through once; used for every reading of it.

    inks_guessed: how the printer separates into inks is not known.
    """

    expected: ExpectedSheet
    models: tuple[Model, ...] = field(repr=False)
    as_expected: Array = field(repr=False)
    inks_guessed: bool


def open_book(expected: ExpectedSheet, printing: Printing) -> Book:
    """Play every fault through for a sheet and a condition."""
    models = models_of(expected, printing)
    return Book(expected, models, models[0].predict(np.zeros(0)), printing.space == "RGB")


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """How well a model explains the print (log), the numbers that fit best, and its prediction (n, 3)."""

    model: Model
    log: float
    free: Array
    nuisance: Array


def diagnose(
    book: Book,
    light: Array,
    *,
    route: Route = "scanner",
    stripes: Stripes | None = None,
    scale_error_pct: float | None = None,
    use_colour: bool = True,
) -> tuple[Fault, ...]:
    """The faults by falling probability, summing to 1, as_expected always among them.

    light: (n, 3) over paper of the sheet's patches, linear, sRGB primaries; NaN where not measured.
    """
    seen = np.asarray(np.isfinite(light).all(axis=1))
    weights = _weights(book, seen, use_colour)
    measured = light_to_lab(np.where(np.isfinite(light), light, 1.0))
    sd = np.concatenate([DRIFT_SD, SCANNER_SD if route == "scanner" else SPECTRO_SD])
    quick_look = [
        max((_explain(model, start, measured, weights, sd, book.as_expected, 1) for start in model.starts), key=_log)
        for model in book.models
    ]
    best = max(one.log for one in quick_look)
    known = [
        _explain(one.model, one.free, measured, weights, sd, book.as_expected, 4) if one.log > best - PRUNE else one
        for one in quick_look
    ]
    stripes = stripes or Stripes()
    by_kind = _by_kind(known, stripes, scale_error_pct)
    if book.inks_guessed:
        by_kind = _less_sure_of_inks(by_kind)
    read = np.where(seen[:, None], measured, np.nan)
    return told(book.expected, read, book.as_expected, by_kind, stripes.lstar, scale_error_pct)


def _log(evidence: Evidence) -> float:
    return evidence.log


def _weights(book: Book, seen: NDArray[np.bool_], use_colour: bool) -> Array:
    """How much each coordinate counts, (n, 3): steps and colours more than a tile's cell; chroma as the eye has it."""
    lab = book.expected.lab
    chroma = 1 / (1 + 0.035 * np.hypot(lab[:, 1], lab[:, 2]))
    single = np.array([1.0 if patch.kind == "tile" else 1.3 for patch in book.expected.patches])
    coloured = single * chroma * use_colour
    return np.stack([single, coloured, coloured], axis=-1) * seen[:, None]


def seen_light(light: Array, nuisance: Array) -> Array:
    """Light (..., n, 3) of a print that drifted, through a scanner that is off by `nuisance` (..., 14)."""
    drift, gamma, cross, flare = nuisance[..., :4], nuisance[..., 4:7], nuisance[..., 7:13], nuisance[..., 13]
    density = -np.log(np.clip(light, 1e-3, 2.0))
    rounder = density * np.clip(1 - density / 5, 0, 1)
    density = density * (1 + drift[..., None, :3]) + drift[..., None, 3:4] * rounder
    powers = np.exp(np.stack([gamma[..., 0] + gamma[..., 1], gamma[..., 0], gamma[..., 0] + gamma[..., 2]], axis=-1))
    toned = np.exp(-density * powers[..., None, :])
    mixing = mixing_of(cross).T if cross.ndim == 1 else np.stack([mixing_of(one).T for one in cross])
    toned = toned @ mixing
    return toned * (1 - flare[..., None, None]) + flare[..., None, None]


def _explain(
    model: Model, start: Array, measured: Array, weights: Array, nuisance_sd: Array, expected: Array, rounds: int
) -> Evidence:
    """Fit a model's free numbers and the nuisances; return its evidence."""
    free, nuisance = start.copy(), np.zeros(len(nuisance_sd))
    light = model.predict(free)
    fixed = None if model.reference is None else model.predict(model.reference)
    scale = _patch_scale(model, light if fixed is None else fixed, expected, weights)
    residual = _residual(measured, light, nuisance, scale)
    for _ in range(rounds):
        jacobian = _jacobian(model, free, light, measured, nuisance, scale, residual)
        free, nuisance = _moved(model, free, nuisance, jacobian, residual, nuisance_sd)
        light = model.predict(free) if len(free) else light
        if fixed is None:
            scale = _patch_scale(model, light, expected, weights)
        residual = _residual(measured, light, nuisance, scale)
    jacobian = _jacobian(model, free, light, measured, nuisance, scale, residual)
    sd = np.concatenate([model.sd, nuisance_sd])
    away = np.concatenate([free - model.mean, nuisance])
    return Evidence(model, _log_evidence(jacobian, residual, away, sd, scale.ravel()), free, nuisance)


def _weighted(jacobian: Array, residual: Array) -> tuple[Array, Array]:
    """The slopes times the root of each residual's weight, and the roots: far residuals count less."""
    root = np.sqrt(TEMPER * (TAILS + 1) / (TAILS + residual**2))
    return jacobian * root[:, None], root


def _moved(
    model: Model, free: Array, nuisance: Array, jacobian: Array, residual: Array, nuisance_sd: Array
) -> tuple[Array, Array]:
    """All numbers one least-squares step on, drawn towards what is usual and kept within reach of it."""
    k = len(free)
    slopes, root = _weighted(jacobian, residual)
    sd = np.concatenate([model.sd, nuisance_sd])
    away = np.concatenate([free - model.mean, nuisance])
    left = np.concatenate([slopes, np.diag(1 / sd)])
    right = np.concatenate([residual * root, -away / sd])
    step = np.linalg.lstsq(left, right, rcond=None)[0]
    free = np.clip(free + step[:k], model.mean - REACH * model.sd, model.mean + REACH * model.sd)
    return free, np.clip(nuisance + step[k:], -2.5 * nuisance_sd, 2.5 * nuisance_sd)


def _log_evidence(jacobian: Array, residual: Array, away: Array, sd: Array, scale: Array) -> float:
    """Laplace: the likelihood at the best fit, the prior there, and the prior's share that fits as well."""
    slopes, _ = _weighted(jacobian, residual)
    curvature = (slopes * sd[None, :]).T @ (slopes * sd[None, :])
    fit = TEMPER * (-0.5 * (TAILS + 1) * np.log1p(residual**2 / TAILS) + np.log(np.maximum(scale, 1e-9)))
    log = float(fit[scale > 0].sum() - 0.5 * ((away / sd) ** 2).sum())
    return log - 0.5 * float(np.linalg.slogdet(np.eye(len(sd)) + curvature)[1])


def _patch_scale(model: Model, light: Array, expected: Array, weights: Array) -> Array:
    """One over the standard deviation of each coordinate (n, 3): noise, and slack where the fault changes much."""
    change = np.linalg.norm(light_to_lab(light) - light_to_lab(expected), axis=1)
    return weights / np.sqrt(NOISE_LAB**2 + (model.slack * change) ** 2)[:, None]


def _residual(measured: Array, light: Array, nuisance: Array, scale: Array) -> Array:
    return ((measured - light_to_lab(seen_light(light, nuisance))) * scale).ravel()


def _slopes(light: Array, nuisance: Array, scale: Array) -> Array:
    steps = np.full(len(nuisance), 1e-4)
    moved = nuisance + np.diag(steps)
    base = light_to_lab(seen_light(light, nuisance))
    slopes = (light_to_lab(seen_light(light[None], moved)) - base) / 1e-4 * scale
    return slopes.reshape(len(nuisance), -1).T


def _jacobian(
    model: Model, free: Array, light: Array, measured: Array, nuisance: Array, scale: Array, residual: Array
) -> Array:
    """Slopes (3n, k + 14) of what is seen: by the fault's free numbers, then by the nuisances."""
    of_free = _free_slopes(model, free, light, measured, nuisance, scale, residual)
    return np.concatenate([of_free, _slopes(light, nuisance, scale)], axis=1)


def _free_slopes(
    model: Model, free: Array, light: Array, measured: Array, nuisance: Array, scale: Array, residual: Array
) -> Array:
    columns: list[Array] = []
    for i in range(len(free)):
        moved = free.copy()
        moved[i] += 0.01
        columns.append((residual - _residual(measured, model.predict(moved), nuisance, scale)) / 0.01)
    return np.stack(columns, axis=-1) if columns else np.zeros((len(residual), 0))


def _by_kind(
    known: list[Evidence], stripes: Stripes, scale_error: float | None
) -> Mapping[FaultKind, tuple[float, Evidence]]:
    """Posterior log of each kind and its best model. Banding and size are as expected in colour."""
    logs: dict[FaultKind, tuple[float, Evidence]] = {}
    for kind in {one.model.kind for one in known}:
        group = [one for one in known if one.model.kind is kind]
        best = max(group, key=_log)
        total = best.log + float(np.log(np.mean([np.exp(one.log - best.log) for one in group])))
        logs[kind] = (total, best)
    good = logs[FaultKind.AS_EXPECTED]
    logs[FaultKind.BANDING] = good
    logs[FaultKind.WRONG_SIZE] = good
    between = BETWEEN_PHOTO if scale_error is None else BETWEEN_FLATBED
    unstriped = _stripes_log(stripes.between, between)
    hidden = np.logaddexp(np.log(1 - HIDDEN) + _stripes_log(stripes.between, STRIPED), np.log(HIDDEN) + unstriped)
    right_size = _scale_log(scale_error, SCALE_SD_PCT)
    extra = dict.fromkeys(logs, unstriped + _stripes_log(stripes.against, AGAINST_FAULTY) + right_size)
    usual = unstriped + _stripes_log(stripes.against, AGAINST_GOOD)
    extra[FaultKind.AS_EXPECTED] = usual + right_size
    extra[FaultKind.BANDING] = float(hidden) + _stripes_log(stripes.against, STRIPED) + right_size
    extra[FaultKind.WRONG_SIZE] = usual + _scale_log(scale_error, WRONG_SCALE_SD_PCT)
    return {kind: (log + extra[kind] + float(np.log(PRIOR[kind])), best) for kind, (log, best) in logs.items()}


def _less_sure_of_inks(
    by_kind: Mapping[FaultKind, tuple[float, Evidence]],
) -> Mapping[FaultKind, tuple[float, Evidence]]:
    """Missing and weak together as likely as before; the odds between them drawn towards even."""
    pair = (FaultKind.INK_MISSING, FaultKind.INK_WEAK)
    logs = np.array([by_kind[kind][0] for kind in pair])
    drawn = GUESSED_SPLIT * logs
    drawn += np.logaddexp(*logs) - np.logaddexp(*drawn)
    return {**by_kind, **{kind: (float(log), by_kind[kind][1]) for kind, log in zip(pair, drawn, strict=True)}}


def _stripes_log(lstar: float | None, usual: tuple[float, float]) -> float:
    """Log density of the stripes' logarithm, with heavy tails: pictures differ."""
    if lstar is None:
        return 0.0
    centre, spread = usual
    off = (np.log(max(lstar, 0.02)) - np.log(centre)) / spread
    return float(-4.5 * np.log1p(off**2 / 8) - np.log(spread))


def _scale_log(error: float | None, sd_pct: float) -> float:
    if error is None:
        return 0.0
    return float(-2.5 * np.log1p((error / sd_pct) ** 2 / 4) - np.log(sd_pct))
