"""What a condition can't hold of a picture, and how wide the picture's own space is."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise import words as say
from wallworthy.appraise.finding import Finding
from wallworthy.appraise.tones import wide_gamut_ratio
from wallworthy.base.records import Condition, Master
from wallworthy.colour.lab import lab_to_xyz, y_from_lightness
from wallworthy.colour.working import WORKING_TO_XYZ
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile

SAMPLES: Final = 6000
"""Colours of the picture held against the condition's range."""


def gamut_ratio_of(master: Master) -> float | None:
    """How wide the file's RGB space is beside sRGB; None for other kinds of file."""
    if master.space != "RGB" or master.profile is None:
        return None
    xyz = lab_to_xyz(to_lab(parse_profile(master.profile), np.eye(3, dtype=np.float32)))
    total = xyz.sum(axis=1, keepdims=True)
    return None if float(total.min()) <= 1e-6 else wide_gamut_ratio((xyz / total)[:, :2]) / _srgb_at_d50()


def _srgb_at_d50() -> float:

    xyz = lab_to_xyz(to_lab(parse_profile(srgb_profile()), np.eye(3, dtype=np.float32)))
    return wide_gamut_ratio((xyz / xyz.sum(axis=1, keepdims=True))[:, :2])


def on_condition(
    small: NDArray[np.float32], lab: NDArray[np.float32], condition: Condition | None
) -> tuple[Finding, ...]:
    """What the condition can't hold, before anything is squeezed; without one, what leaves sRGB by linear maths."""

    if condition is None:
        share = 100 * beyond_srgb(small)
        seen, where = min(6.0, share**0.5), "sRGB, in which files usually leave,"
        sure = 0.5
        dark = 0.0
    else:
        some = lab[:: max(1, len(lab) // SAMPLES)]
        away = surface(parse_profile(condition.profile, condition.name)).signed_de00(some)
        limit = 1 + condition.facts.roundtrip_p95_de00
        colourful = np.hypot(some[:, 1], some[:, 2]) > 8
        beyond = (away > limit) & colourful
        share = 100 * float(beyond.mean())
        seen = float(np.sqrt(away[beyond].mean())) if beyond.any() else 0.0
        where, sure = condition.name, 0.9
        dark = 100 * float(((some[:, 0] < condition.facts.black_lab[0] - 1) & ~beyond).mean())
    found: list[Finding] = []
    if share >= 0.5:
        found.append(Finding("out_of_range", None, None, seen, sure, say.beyond(share, where)))
    if dark >= 0.5 and condition is not None:
        found.append(Finding("below_black", None, None, min(4.0, dark**0.5), 0.8, say.below_black(dark, where)))
    return tuple(found)


def beyond_srgb(working: NDArray[np.float32]) -> float:
    """The share of working pixels (..., 3), 0-1, that sRGB can't hold: linear maths, nothing clamped."""

    flat = working.reshape(-1, 3)
    flat = flat[:: max(1, len(flat) // 100_000)]
    primaries = lab_to_xyz(to_lab(parse_profile(srgb_profile()), np.eye(3, dtype=np.float32))).T
    linear = y_from_lightness(flat * 100.0) @ (np.linalg.inv(primaries) @ WORKING_TO_XYZ).T
    return float(((linear < -0.002) | (linear > 1.002)).any(axis=1).mean())
