"""From a scanner's light to colour: by the sheet's own patches (relative) or by a card of known colours (absolute)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.trial.reading import light_to_lab
from wallworthy.trial.scanfile import XYZ_TO_LIGHT

Array = NDArray[np.float64]

TONE_SD: Final = 0.15
CROSS_SD: Final = 0.05
"""How far a scanner's tone (in cube roots of light) and its channel mixing usually are from sRGB. Common practice."""


@dataclass(frozen=True, slots=True, eq=False)
class Calibration:
    """light over paper (..., 3) to Lab (..., 3); error_de00: mean left-out error on the patches it was made from."""

    to_lab: Callable[[Array], Array]
    error_de00: float
    absolute: bool


def plain_calibration(error_de00: float) -> Calibration:
    """The scanner's numbers taken as they stand."""
    return Calibration(light_to_lab, error_de00, absolute=False)


def own_calibration(light: Array, lab: Array, neutral: NDArray[np.bool_]) -> Calibration:
    """Through the sheet's own neutral steps (tone of each channel) and six colours (mixing of channels).

    light: (n, 3) of steps and colours over paper; lab: (n, 3) what they should be; neutral: which are steps.
    """
    whole = _fit(light, lab, neutral)
    left_out: list[float] = []
    for i in range(len(light)):
        kept = np.arange(len(light)) != i
        fitted = _fit(light[kept], lab[kept], neutral[kept])
        left_out.append(float(ciede2000(fitted(light[i : i + 1]), lab[i : i + 1])[0]))
    return Calibration(whole, float(np.mean(left_out)), absolute=False)


def _fit(light: Array, lab: Array, neutral: NDArray[np.bool_]) -> Callable[[Array], Array]:
    meant = np.maximum(lab_to_xyz(lab) @ XYZ_TO_LIGHT.T, 0.0)
    tone = _tone(light[neutral], meant[neutral])
    mixing = _mixing(_through(light, tone), lab, neutral)
    return lambda values: light_to_lab(_through(values, tone) @ mixing.T)


def _tone(light: Array, meant: Array) -> Array:
    """Per channel, what to add to cube roots of light: (1 - u) (a + b u + c u^2), (3, 3); nothing at paper white."""
    factors = np.zeros((3, 3))
    for channel in range(3):
        u, v = np.cbrt(np.maximum(light[:, channel], 0)), np.cbrt(meant[:, channel])
        design = (1 - u)[:, None] * np.stack([np.ones_like(u), u, u * u], axis=-1)
        ridge = 0.004 / TONE_SD * np.eye(3)
        factors[channel] = np.linalg.lstsq(
            np.concatenate([design, ridge]), np.concatenate([v - u, np.zeros(3)]), rcond=None
        )[0]
    return factors


def _through(light: Array, tone: Array) -> Array:
    u = np.cbrt(np.maximum(light, 0.0))
    added = (1 - u) * (tone[:, 0] + u * (tone[:, 1] + u * tone[:, 2]))
    return np.maximum(u + added, 0.0) ** 3


def _mixing(light: Array, lab: Array, neutral: NDArray[np.bool_]) -> Array:
    """Channel mixing (3, 3) with rows of sum 1, so that neutrals stay: Gauss-Newton on Lab, held near none."""
    weight = np.where(neutral, 0.5, 1.0)[:, None] / 1.0
    cross = np.zeros(6)

    def seen(values: Array) -> Array:
        return ((light_to_lab(light @ mixing_of(values).T) - lab) * weight).ravel()

    for _ in range(4):
        cross = _nearer(cross, seen)
    return mixing_of(cross)


def _nearer(cross: Array, seen: Callable[[Array], Array]) -> Array:
    """The six terms one Gauss-Newton step on; seen: what is left to explain with such terms."""
    at = seen(cross)
    jacobian = np.stack([(seen(cross + 1e-4 * one) - at) / 1e-4 for one in np.eye(6)], axis=-1)
    left = np.concatenate([jacobian, np.eye(6) / CROSS_SD])
    right = np.concatenate([-at, -cross / CROSS_SD])
    return cross + np.linalg.lstsq(left, right, rcond=None)[0]


def mixing_of(cross: Array) -> Array:
    """The mixing matrix (3, 3), rows of sum 1, of its six off-diagonal terms."""
    mixing = np.eye(3)
    mixing[~np.eye(3, dtype=bool)] = cross
    return mixing - np.diag(mixing.sum(axis=1) - 1)


TERMS: Final = {3: "matrix", 6: "matrix and squares", 9: "matrix, squares and products"}


def card_calibration(light: Array, lab: Array) -> Calibration:
    """From a card of known colours: light (n, 3) as scanned, lab (n, 3) absolute as measured.

    A polynomial in cube roots of light (matrix; with squares; with products), the one whose
    left-out error is least; that error is stated. Raises InputError for fewer than 10 usable patches.
    """
    usable = np.isfinite(light).all(axis=1)
    if usable.sum() < 10:
        raise InputError(
            "card_small",
            f"The reference card shows only {int(usable.sum())} patches that can be used.",
            "Use a card with ten patches or more, all of them in the picture.",
            where="--reference",
        )
    light, lab = light[usable], lab[usable]
    best: tuple[float, int] | None = None
    for terms in TERMS:
        if len(light) < 2 * (terms + 1):
            continue
        error = _left_out(light, lab, terms)
        if best is None or error < 0.95 * best[0]:
            best = error, terms
    error, terms = best or (_left_out(light, lab, 3), 3)
    factors = _card_fit(light, lab, terms)
    return Calibration(lambda values: _card_lab(values, factors, terms), error, absolute=True)


def _card_terms(light: Array, terms: int) -> Array:
    u = np.cbrt(np.maximum(light, 0.0))
    pieces = [np.ones((*u.shape[:-1], 1)), u]
    if terms >= 6:
        pieces.append(u * u)
    if terms >= 9:
        pieces.append(u * np.roll(u, 1, axis=-1))
    return np.concatenate(pieces, axis=-1)


def _card_fit(light: Array, lab: Array, terms: int) -> Array:
    design = _card_terms(light, terms)
    meant = np.cbrt(np.maximum(lab_to_xyz(lab) @ XYZ_TO_LIGHT.T, 0.0))
    ridge = 1e-3 * np.eye(design.shape[1])
    solved = np.linalg.lstsq(
        np.concatenate([design, ridge]), np.concatenate([meant, np.zeros((len(ridge), 3))]), rcond=None
    )[0]
    return np.asarray(solved, dtype=np.float64)


def _card_lab(light: Array, factors: Array, terms: int) -> Array:
    meant = np.maximum(_card_terms(light, terms) @ factors, 0.0) ** 3
    return xyz_to_lab(meant @ np.linalg.inv(XYZ_TO_LIGHT).T)


def _left_out(light: Array, lab: Array, terms: int) -> float:
    errors: list[float] = []
    for i in range(len(light)):
        kept = np.arange(len(light)) != i
        guess = _card_lab(light[i : i + 1], _card_fit(light[kept], lab[kept], terms), terms)
        errors.append(float(ciede2000(guess, lab[i : i + 1])[0]))
    return float(np.mean(errors))
