"""Inks for greys: the row from black to white solved at once, so that each is neutral and all lie on one smooth path.

Near a press's black the coloured inks hardly move a colour any more: there a few steps from where a profile's table
leads end half way, and greys keep a tint. Solved together, neighbours hold each other, and the path
may leave the table's: it lays more of the inks that are missing, never beyond what the profile itself lays.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.fit.bounded import least_within
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile

Floats = NDArray[np.float32]
Array = NDArray[np.float64]
Slopes = Callable[[Profile, Floats, Floats], Floats]
Allowed = Callable[[Profile, Floats], Floats]

STEP_LSTAR: Final = 1.0
ROUNDS: Final = 8
LARGEST_STEP: Final = 0.12
LEAVES: Final = 0.3
"""dE00 that leaving the table's inks by one full ink counts for."""
BENDS: Final = 2.0
"""dE00 that a change of slope, in full inks for each STEP_LSTAR, counts for: no ink jumps from grey to grey."""
NEAR_GREY: Final = 12.0
"""C*ab by which colours no longer follow the greys."""


@dataclass(frozen=True, slots=True)
class GreyLead:
    """What greys lay of each ink beyond the ordinary inversion."""

    lightness: Array = field(repr=False)
    """(n,) L* of the greys, rising."""
    more: Array = field(repr=False)
    """(n, C) of device values, 0-1."""

    def of(self, lab: Floats) -> Floats:
        """What colours (n, 3) lay more, (n, C): all of it on the grey axis, fading smoothly with chroma."""
        away = (lab[:, 1] ** 2 + lab[:, 2] ** 2) / np.float32(NEAR_GREY**2)
        near = np.flatnonzero(away < 1)
        out = np.zeros((len(lab), self.more.shape[1]), np.float32)
        share = (1 - away[near]) ** 2
        for ink in range(self.more.shape[1]):
            out[near, ink] = share * np.interp(lab[near, 0], self.lightness, self.more[:, ink])
        return out


def grey_lead(
    profile: Profile, black_lstar: float, ordinary: Callable[[Floats], Floats], slopes: Slopes, allowed: Allowed
) -> GreyLead:
    """Solve the row of greys from the profile's black to white, in dE00 of the print (A2B1).

    ordinary: the inversion that greys start from, Lab (n, 3) to device (n, C); slopes: dLab / d device (n, 3, C) at
    device values whose print is given; allowed: device values within what the profile lays.
    """
    lightness = np.arange(black_lstar, 100.0, STEP_LSTAR)
    wanted = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1)
    first = ordinary(wanted.astype(np.float32)).astype(np.float64)
    count, inks = first.shape
    # CIEDE2000 beside the grey axis: lightness by its own weight, a* half as much again
    off = (lightness - 50) ** 2
    weight = np.stack([1 / (1 + 0.015 * off / np.sqrt(20 + off)), 0 * off + 1.5, 0 * off + 1], axis=-1)
    second = np.diff(np.eye(count), 2, axis=0)
    calm = np.kron(BENDS**2 * second.T @ second + LEAVES**2 * np.eye(count), np.eye(inks))
    now = first
    for _ in range(ROUNDS):
        printed = print_lab(profile, now.astype(np.float32))
        slope = slopes(profile, now.astype(np.float32), printed) * weight[:, :, None]
        missing = (wanted - printed) * weight
        square, pull = calm.copy(), -calm @ (now - first).ravel()
        for n in range(count):
            own = slice(n * inks, (n + 1) * inks)
            square[own, own] += slope[n].T @ slope[n]
            pull[own] += slope[n].T @ missing[n]
        least, most = np.maximum(-now, -LARGEST_STEP).ravel(), np.minimum(1 - now, LARGEST_STEP).ravel()
        step = least_within(square, pull, least, most)
        now = allowed(profile, (now + step.reshape(now.shape)).astype(np.float32)).astype(np.float64)
    # white stays the bare paper
    return GreyLead(np.append(lightness, 100.0), np.append(now - first, np.zeros((1, inks)), axis=0))
