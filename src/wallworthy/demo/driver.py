"""The virtual printer's driver: RGB to six inks, as a consumer driver with its colour management off.

Amounts of cyan, magenta and yellow follow factory curves that make the grey scale neutral and even
in L*; black takes over the grey component; light inks carry the light tones; a soft limit keeps the
total ink within what the paper holds. All invented, all smooth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.colour.pchip import pchip
from wallworthy.demo.inkjet import InkModel
from wallworthy.demo.parameters import PrinterParameters
from wallworthy.demo.spectra import spectra_to_xyz

Array = NDArray[np.float64]

SOFT_MINIMUM_POWER = 6.0
KNOTS = 13
SMOOTHNESS = 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Driver:
    """Turns device RGB into ink amounts. `curves`: (knots, 3), colour amount by 1 - RGB."""

    parameters: PrinterParameters
    curves: Array

    def inks(self, device: ArrayLike) -> Array:
        """Device RGB (n, 3), 0-1, to ink amounts (n, inks), 0-1; white lays no ink at all."""
        device = np.clip(np.asarray(device, dtype=np.float64), 0, 1)
        at = np.linspace(0, 1, len(self.curves))
        asked = np.stack([pchip(at, self.curves[:, i], 1 - device[..., i]) for i in range(3)], axis=-1)
        return separate(np.clip(asked, 0, None), self.parameters)


def separate(asked: Array, parameters: PrinterParameters) -> Array:
    """Colour amounts (n, 3) to ink amounts (n, 6): black generation, undercolour removal, light inks, ink limit."""
    rules = parameters.driver
    grey = soft_minimum(asked)
    late = np.clip((grey - rules.black_start) / (1 - rules.black_start), 0, None)
    black = np.clip(rules.black_full * late**rules.black_power, 0, 1)
    colour = asked - rules.undercolour * black[:, None] * grey[:, None]
    cyan, light_cyan = split_light(np.clip(colour[:, 0], 0, 1), rules.dark_start, rules.light_peak, rules.light_left)
    magenta, light_magenta = split_light(
        np.clip(colour[:, 1], 0, 1), rules.dark_start, rules.light_peak, rules.light_left
    )
    amounts = np.stack([cyan, magenta, np.clip(colour[:, 2], 0, 1), black, light_cyan, light_magenta], axis=-1)
    return limit_total(amounts, parameters.paper.total_ink)


def soft_minimum(asked: Array) -> Array:
    """A smooth minimum over the last axis: equal values give themselves, one zero gives zero."""
    safe = np.maximum(asked, 1e-9)
    return np.mean(safe**-SOFT_MINIMUM_POWER, axis=-1) ** (-1 / SOFT_MINIMUM_POWER)


def split_light(amount: Array, start: float, peak: float, left: float) -> tuple[Array, Array]:
    """Share a colour between its dark and its light ink; both change smoothly with the amount."""
    late = np.clip((amount - start) / (1 - start), 0, 1)
    dark = late**1.35 * (1 - 0.15 * (1 - late))
    rise = 1 - (1 - np.clip(amount / (start + 0.28), 0, 1)) ** 2
    fall = 1 - (1 - left / peak) * late**3
    return dark, peak * rise * fall


def limit_total(amounts: Array, limit: float) -> Array:
    """Hold the sum of inks under the paper's limit: colour inks give way, black stays; soft from 80 %."""
    total = amounts.sum(axis=-1)
    knee = 0.8 * limit
    over = np.clip(total - knee, 0, None)
    room = limit - knee
    held = np.where(total > knee, knee + room * over / (over + room), total)
    colour = total - amounts[:, 3]
    scale = np.where(colour > 0, np.clip((held - amounts[:, 3]) / np.maximum(colour, 1e-12), 0, 1), 1.0)
    limited = amounts * scale[:, None]
    limited[:, 3] = amounts[:, 3]
    return limited


def calibrate_driver(parameters: PrinterParameters, model: InkModel) -> Driver:
    """The factory's curves: colour amounts that print a neutral, even grey scale on this paper.

    Gauss-Newton on the inner knots, held smooth by a penalty on their bends, so a few L* of
    unevenness stay where black takes over, as in real drivers.
    """
    goal = np.linspace(0, 1, KNOTS)
    target = _grey_target(parameters, model, goal)
    curves = np.repeat((goal**1.25)[:, None], 3, axis=1)
    bends = np.diff(np.eye(KNOTS), 2, axis=0)[:, 1:-1]
    weight = np.array([1.0, 1.5, 1.5])
    for _ in range(25):
        lab = _lab(parameters, model, curves[1:-1])
        count = KNOTS - 2
        jacobian = np.zeros((count, 3, count, 3))
        at = np.arange(count)
        for i in range(3):
            nudged = curves[1:-1].copy()
            nudged[:, i] += 0.004
            jacobian[at, :, at, i] = (_lab(parameters, model, nudged) - lab) / 0.004 * weight
        error = (target[1:-1] - lab) * weight
        smooth = np.kron(bends, np.eye(3)) * SMOOTHNESS
        left = np.concatenate([jacobian.reshape(3 * count, -1), smooth, 4.0 * np.eye(3 * count)])
        pull = -SMOOTHNESS * np.diff(curves, 2, axis=0).ravel()
        right = np.concatenate([error.ravel(), pull, np.zeros(3 * count)])
        step = np.linalg.lstsq(left, right, rcond=None)[0].reshape(count, 3)
        curves[1:-1] = np.clip(curves[1:-1] + np.clip(step, -0.1, 0.1), 0, 1)
    return Driver(parameters, np.maximum.accumulate(curves, axis=0))


def _grey_target(parameters: PrinterParameters, model: InkModel, goal: Array) -> Array:
    """Lab from bare paper to full black, even in L*, with the paper's tint fading into black's."""
    paper, black = (_lab(parameters, model, np.full((1, 3), asked))[0] for asked in (0.0, 1.0))
    target = paper + (black - paper) * goal[:, None]
    tint = xyz_to_lab(lab_to_xyz(paper) * (target[:, :1] / paper[0]) ** 3)[:, 1:]
    fade = np.clip((1 - goal) / 0.25, 0, 1)[:, None]
    target[:, 1:] = fade * tint + (1 - fade) * target[:, 1:]
    return target


def _lab(parameters: PrinterParameters, model: InkModel, asked: Array) -> Array:
    return xyz_to_lab(spectra_to_xyz(model.spectra(separate(asked, parameters))))
