"""What a condition can't hold of a picture, and how wide the picture's own space is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise import words as say
from wallworthy.appraise.finding import Finding, OnPaper
from wallworthy.appraise.tones import wide_gamut_ratio
from wallworthy.base.records import Box, Condition, Master
from wallworthy.colour.float32 import pixels_of, planes_of, working_to_lab32
from wallworthy.colour.lab import lab_to_xyz, y_from_lightness
from wallworthy.colour.working import WORKING_TO_XYZ
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.raster.filters import patches

Floats = NDArray[np.float32]
Flags = NDArray[np.bool_]

SAMPLES: Final = 6000
"""Colours of the picture held against the condition's range."""

LINEAR_SAMPLES: Final = 100_000
LEAST_PCT: Final = 0.5
LEAST_ENDED_PCT: Final = 0.1
AT_END: Final = 0.5 / 255
COLOURFUL: Final = 8.0
"""Chroma from which what lies outside the range is told as colour, not as tone."""


def gamut_ratio_of(master: Master) -> float | None:
    """How wide the file's RGB space is beside sRGB; None for other kinds of file."""
    if master.space != "RGB" or master.profile is None:
        return None
    ours, theirs = (_primaries_xy(profile) for profile in (srgb_profile(), master.profile))
    return None if theirs is None or ours is None else wide_gamut_ratio(theirs) / wide_gamut_ratio(ours)


def _primaries_xy(profile: bytes) -> NDArray[np.float64] | None:
    xyz = lab_to_xyz(to_lab(parse_profile(profile), np.eye(3, dtype=np.float32)))
    total = xyz.sum(axis=1, keepdims=True)
    return None if float(total.min()) <= 1e-6 else (xyz / total)[:, :2]


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """A coarse grid over the picture: which places the condition can't hold, and which are darker than its black."""

    step: int
    """Master pixels from one place to the next."""
    beyond: Flags
    dark: Flags
    away_de00: float
    """How far outside the colours lie, on average; 0 when it was not measured."""
    ended: dict[str, float]
    """Of an RGB condition, or of sRGB: the share of places, per cent, where each channel would stand at its end
    because of what lies outside, nothing squeezed."""


def on_condition(small: Floats, factor: int, condition: Condition | None, paper: OnPaper) -> tuple[Finding, ...]:
    """What the condition can't hold, before anything is squeezed; without one, what leaves sRGB by linear maths.

    small: the reduced picture, working values (rows, columns, 3) 0-1, `factor` master pixels to one of its.
    """
    held = _beyond_srgb(small, factor) if condition is None else _beyond_condition(small, factor, condition)
    where = "sRGB, in which files usually leave," if condition is None else condition.name
    share, dark = 100 * float(held.beyond.mean()), 100 * float(held.dark.mean())
    found: list[Finding] = []
    if share >= LEAST_PCT:
        box = _largest(held.beyond, held.step)
        seen = math.sqrt(held.away_de00) if condition is not None else min(6.0, math.sqrt(share))
        size = None if box is None else paper.size(box)
        place = None if box is None else paper.box(box)
        text = say.beyond(share, where, {name: part for name, part in held.ended.items() if part >= LEAST_ENDED_PCT})
        found.append(Finding("out_of_range", place, size, seen, 0.5 if condition is None else 0.9, text))
    if dark >= LEAST_PCT:
        box = _largest(held.dark, held.step)
        size = None if box is None else paper.size(box)
        place = None if box is None else paper.box(box)
        text = say.below_black(dark, where)
        found.append(Finding("below_black", place, size, min(4.0, math.sqrt(dark)), 0.8, text))
    return tuple(found)


def _largest(flags: Flags, step: int) -> Box | None:
    found = patches(flags)
    if not found:
        return None
    row, column, height, width, _ = max(found, key=lambda patch: patch[4])
    return row * step, column * step, height * step, width * step


def _grid(small: Floats, most: int) -> tuple[Floats, int]:
    """Every n-th place of the reduced picture, at most about so many, and n."""
    step = max(1, math.ceil(math.sqrt(small.shape[0] * small.shape[1] / most)))
    return np.ascontiguousarray(small[::step, ::step]), step


def _beyond_condition(small: Floats, factor: int, condition: Condition) -> Held:
    some, step = _grid(small, SAMPLES)
    lab = pixels_of(working_to_lab32(planes_of(some)))
    away = surface(parse_profile(condition.profile, condition.name)).signed_de00(lab)
    beyond = (away > 1 + condition.facts.roundtrip_p95_de00) & (np.hypot(lab[:, 1], lab[:, 2]) > COLOURFUL)
    dark = (lab[:, 0] < condition.facts.black_lab[0] - 1) & ~beyond
    far = float(away[beyond].mean()) if beyond.any() else 0.0
    shape = some.shape[:2]
    return Held(step * factor, beyond.reshape(shape), dark.reshape(shape), far, _ended(condition, lab, beyond))


def _ended(condition: Condition, lab: Floats, beyond: Flags) -> dict[str, float]:
    """Per cent of these colours that lie outside and leave a channel of the device at its end, RGB only.

    Inks have no ends that say so: limits on their sum come first.
    """
    if condition.facts.device_space != "RGB":
        return {}
    device = from_lab(parse_profile(condition.profile, condition.name), lab)
    at_end = np.logical_or(device <= AT_END, device >= 1 - AT_END)
    return dict(zip(say.CHANNELS["RGB"], _shares(at_end & beyond[:, None]), strict=True))


def _shares(flags: Flags) -> list[float]:
    return [100 * float(flags[..., i].mean()) for i in range(flags.shape[-1])]


def _beyond_srgb(small: Floats, factor: int) -> Held:
    """By the linear matrix from the working space, nothing clamped."""
    some, step = _grid(small, LINEAR_SAMPLES)
    primaries = lab_to_xyz(to_lab(parse_profile(srgb_profile()), np.eye(3, dtype=np.float32))).T
    linear = y_from_lightness(some * 100.0) @ (np.linalg.inv(primaries) @ WORKING_TO_XYZ).T
    outside = np.logical_or(linear < -0.002, linear > 1.002)
    beyond: Flags = np.logical_or.reduce(outside, axis=-1)
    ended = dict(zip(say.CHANNELS["RGB"], _shares(outside), strict=True))
    return Held(step * factor, beyond, np.zeros_like(beyond), 0.0, ended)
