"""From the colour asked for to inks, closer than the condition's own inversion.

A profile's B2A1 is a grid of some 33 nodes; between them it misses the colour by a dE00 or more
where inks begin or end. A few Newton steps on A2B1, from where the B2A1 leads, take most of that
away. Steps are the shortest that help, black ink moves least, and the total of ink never grows
beyond what the profile itself lays.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.fit.grey_axis import GreyLead, grey_lead
from wallworthy.icc.blackpoint import destination_black
from wallworthy.icc.engine import Device, in_slices
from wallworthy.icc.quick import print_device, print_lab
from wallworthy.icc.read import Profile, parse_profile

Floats = NDArray[np.float32]

ROUNDS: Final = 2
PROBE: Final = 1 / 128
"""Step for slopes; a few cells of a profile's finest curves."""
DAMPING: Final = 80.0
LARGEST_STEP: Final = 0.12
NEAR_ENOUGH: Final = 0.1
"""Distance in Lab at which a colour is left as it is; from twice that the steps count in full."""
REACHABLE: Final = 4.5
FAR: Final = 8.0
"""Distances in Lab from which the steps count less, and no longer at all."""
BLACK_SHARE: Final = 0.3
SWEEPS: Final = 8
"""Rounds over the inks when one of them is at its end."""
PIECE: Final = 16384
LIMIT_GRID: Final = 17


def nearest_device(profile: Profile, lab: Floats) -> Device:
    """Device values (n, C), 0-1, whose print (A2B1) is nearest to media-relative Lab (n, 3).

    A smooth function of colour, as far as the profile's tables are; grey devices take B2A1's answer.
    Greys, and what lies beside them, are led by the row of greys (`fit.grey_axis`).
    """
    if profile.channels < 3:
        return np.clip(print_device(profile, lab), 0.0, 1.0)
    out = _stepped(profile, lab)
    return _allowed(profile, out + _lead(profile.data).of(lab))


@lru_cache(maxsize=8)
def _lead(data: bytes) -> GreyLead:
    profile = parse_profile(data)
    black = float(destination_black(profile, "relative")[0])
    return grey_lead(profile, black, lambda lab: _stepped(profile, lab), _slopes, _allowed)


def _stepped(profile: Profile, lab: Floats) -> Device:
    """From where B2A1 leads, a few steps."""
    start = np.clip(print_device(profile, lab), 0.0, 1.0)
    out = start

    def work(part: slice) -> None:
        for first in range(part.start, part.stop, PIECE):
            piece = slice(first, min(first + PIECE, part.stop))
            out[piece] = _closer(profile, lab[piece], start[piece])

    in_slices(len(lab), work)
    return out


def _closer(profile: Profile, lab: Floats, start: Floats) -> Floats:
    now = print_lab(profile, start)
    missed = np.sqrt(((now - lab) ** 2).sum(axis=1))
    # a colour that is far away can't be printed: chasing it would only make neighbours part
    share = np.clip((FAR - missed) / (FAR - REACHABLE), 0, 1) * np.clip(missed / NEAR_ENOUGH - 1, 0, 1)
    moved = np.flatnonzero(share > 0)
    if not len(moved):
        return start
    values, goal, now = start[moved], lab[moved], now[moved]
    slopes = _slopes(profile, values, now)
    weight = np.ones(profile.channels, np.float32)
    if profile.space == "CMYK":
        weight[3] = BLACK_SHARE
    goal = now + share[moved, None] * (goal - now)
    for step_number in range(ROUNDS):
        step = _step(slopes, goal - now, weight, -values, 1 - values)
        values = _allowed(profile, (values + np.clip(step, -LARGEST_STEP, LARGEST_STEP)).astype(np.float32))
        if step_number < ROUNDS - 1:
            now = print_lab(profile, values)
    out = start.copy()
    out[moved] = values
    return out


def _step(slopes: Floats, missing: Floats, weight: Floats, least: Floats, most: Floats) -> Floats:
    """The shortest step (n, C) that brings Lab (n, 3) nearer, inks counted by weight (C,), within bounds (n, C).

    Bounds are met ink by ink, over and over: where one is at its end the others do the rest.
    """
    across = slopes * weight
    square = across @ across.transpose(0, 2, 1) + DAMPING * np.eye(3, dtype=np.float32)
    found = (across.transpose(0, 2, 1) @ np.linalg.solve(square, missing[..., None]))[..., 0] * weight
    step = np.asarray(found, dtype=np.float32)
    bound = np.flatnonzero(((step < least) | (step > most)).any(axis=1))
    if not len(bound):
        return step
    slopes, least, most = slopes[bound], least[bound], most[bound]
    pull = (slopes.transpose(0, 2, 1) @ missing[bound, :, None])[..., 0]
    bend = slopes.transpose(0, 2, 1) @ slopes + np.diag(DAMPING / weight**2).astype(np.float32)
    some = np.clip(step[bound], least, most)
    for _ in range(SWEEPS):
        for ink in range(len(weight)):
            rest = pull[:, ink] - (bend[:, ink] * some).sum(axis=1) + bend[:, ink, ink] * some[:, ink]
            some[:, ink] = np.clip(rest / bend[:, ink, ink], least[:, ink], most[:, ink])
    step[bound] = some
    return step


def _slopes(profile: Profile, values: Floats, now: Floats) -> Floats:
    """dLab / d device, (n, 3, C)."""
    slopes = np.empty((len(values), 3, profile.channels), np.float32)
    for channel in range(profile.channels):
        moved = values.copy()
        step = np.where(values[:, channel] > 1 - PROBE, -PROBE, PROBE).astype(np.float32)
        moved[:, channel] += step
        slopes[:, :, channel] = (print_lab(profile, moved) - now) / step[:, None]
    return slopes


def _allowed(profile: Profile, values: Floats) -> Floats:
    values = np.clip(values, 0.0, 1.0).astype(np.float32)
    if profile.space in ("RGB", "LAB"):
        return values
    total = values.sum(axis=1, keepdims=True)
    return np.where(total > (limit := ink_limit(profile)), values * (limit / np.maximum(total, 1e-6)), values)


def ink_limit(profile: Profile) -> float:
    """The largest total of ink that B2A1 lays anywhere, 1 for each full ink."""
    return _ink_limit(profile.data)


@lru_cache(maxsize=8)
def _ink_limit(data: bytes) -> float:
    axes = [np.linspace(low, high, LIMIT_GRID) for low, high in ((0, 100), (-100, 100), (-100, 100))]
    lab = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3).astype(np.float32)
    return float(print_device(parse_profile(data), lab).sum(axis=1).max())
