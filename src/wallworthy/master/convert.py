"""From a master's own samples to the working encoding, each kind by its quickest exact route.

Everything goes through what the colour engine says of the profile (`icc.engine.to_lab`):
grey and matrix profiles through tables filled by it once, all others pixel by pixel.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache, lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Way
from wallworthy.colour.lab import EPSILON, KAPPA, PCS_WHITE, lab_to_xyz, lightness_from_y
from wallworthy.colour.working import XYZ_TO_WORKING
from wallworthy.icc.engine import Intent, in_slices, to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.raster.filters import looked_up

Samples = NDArray[Any]
Floats = NDArray[np.float32]
Working = NDArray[np.uint16]
Route = Callable[[Samples], tuple[Working, int]]
"""Samples (..., channels) to working RGB (..., 3) and the number of pixels the cube could not hold."""

CURVE_STEPS: Final = 1 << 18
"""Entries of the linear-to-working table; a step is at most 2.3 of 65535, 0.0035 L*, at black."""

FLOAT_STEPS: Final = 1 << 16
"""Intervals of a curve table for float samples."""

CLAMP_TOLERANCE: Final = 5e-4
"""Working units (0.05 L*): less than this beyond the cube is rounding in profiles, not a lost colour."""

SLICE: Final = 1 << 15
"""Pixels handled at a time, so that the intermediate arrays stay in the cache."""

LOWEST_LINEAR: Final = -CLAMP_TOLERANCE * 100 / KAPPA
HIGHEST_LINEAR: Final = 1 + CLAMP_TOLERANCE * 3 / 1.16

PROFILE_ROUNDING: Final = 1.5e-4
"""Linear: a matrix of 16-bit fractions may miss the cube's own primaries by so much (ICC2022, s15Fixed16Number)."""

SAME_CURVE: Final = 6e-7
"""Curves that differ by less are one curve: the engine's single-precision noise."""

SUM_TOLERANCE_LAB: Final = 0.02
"""A profile counts as curves and matrix when the channels' tables add up to what the engine says within this."""

LAB_TO_WORKING: Final = (PCS_WHITE[:, None] * XYZ_TO_WORKING.T).astype(np.float32)
"""From XYZ over the white to linear working RGB."""


def route_of(profile: Profile | None, dtype: np.dtype[Any], way: Way) -> Route:
    """The conversion for samples of that kind; a profile of None means samples in Lab units.

    Media-relative; the profile's A2B0 when the way is perceptual, as the CMM does.
    """
    if profile is None:
        return lab_route
    intent: Intent = "relative" if profile.is_matrix else way.table_intent
    if profile.space == "GRAY" and dtype.kind != "f":
        return _grey_route(profile, dtype, intent)
    if profile.space == "RGB" and profile.is_matrix:
        route = _matrix_route(profile, dtype)
        if route is not None:
            return route
    if dtype.kind == "f":
        return _float_route(profile, intent)
    top = np.float32(np.iinfo(dtype).max)
    return lambda samples: lab_route(to_lab(profile, samples.astype(np.float32) / top, intent))


def lab_route(lab: Samples, lost: NDArray[np.bool_] | None = None) -> tuple[Working, int]:
    """Media-relative Lab (..., 3), L* 0-100, to working RGB; pixels already `lost` count as clamped too."""
    flat = np.ascontiguousarray(lab, dtype=np.float32).reshape(-1, 3)
    return _filled(lambda part: _linear_of_lab(flat[part]), lab.shape, None if lost is None else lost.reshape(-1))


def _float_route(profile: Profile, intent: Intent) -> Route:
    """Floats beyond 0-1 that the engine cuts off itself (tables do, formulas go on) count as clamped."""
    ones, half = np.ones(profile.channels, dtype=np.float32), np.full(profile.channels, 0.5, dtype=np.float32)
    dark, below = half.copy(), half.copy()
    dark[0], below[0] = 0, -0.25
    white, above, at_zero, under = to_lab(profile, np.stack([ones, ones * 1.25, dark, below]), intent)
    cuts_high, cuts_low = np.allclose(white, above, atol=0.01), np.allclose(at_zero, under, atol=0.01)

    def convert(samples: Samples) -> tuple[Working, int]:
        lost: NDArray[np.bool_] | None = None
        if cuts_high and samples.max(initial=0) > 1 + CLAMP_TOLERANCE:
            lost = np.any(samples > 1 + CLAMP_TOLERANCE, axis=-1, keepdims=True)[..., 0]
        if cuts_low and samples.min(initial=0) < -CLAMP_TOLERANCE:
            under_zero = np.any(samples < -CLAMP_TOLERANCE, axis=-1, keepdims=True)[..., 0]
            lost = under_zero if lost is None else np.logical_or(lost, under_zero)
        return lab_route(to_lab(profile, samples, intent), lost)

    return convert


def _grey_route(profile: Profile, dtype: np.dtype[Any], intent: Intent) -> Route:
    """One table entry for every code, each through the engine."""
    table, beyond = lab_route(to_lab(profile, _ramp(dtype)[:, None], intent))
    if beyond:
        return lambda samples: lab_route(to_lab(profile, samples / np.float32(np.iinfo(dtype).max), intent))
    return lambda samples: (table[samples[..., 0]], 0)


@dataclass(frozen=True, slots=True)
class Summed:
    """A profile as three curves over all codes (or FLOAT_STEPS + 1 points) and a matrix to linear working RGB."""

    curves: tuple[Floats, Floats, Floats] = field(repr=False)
    matrix: Floats
    floating: bool
    _table: Floats = field(init=False, repr=False)
    """The curves as `looked_up` wants them: one where all are the same."""

    def __post_init__(self) -> None:
        first = self.curves[0]
        same = all(np.abs(curve - first).max() <= SAME_CURVE for curve in self.curves[1:])
        object.__setattr__(self, "_table", first if same else np.stack(self.curves, axis=-1))

    @property
    def holds_all(self) -> bool:
        """Whether no sample lands outside the working cube: the corners of a cube are its farthest points."""
        corners = np.stack(np.meshgrid(*[[0.0, 1.0]] * 3), axis=-1).reshape(-1, 3) @ self.matrix
        return bool(corners.min() >= -PROFILE_ROUNDING and corners.max() <= HIGHEST_LINEAR)

    def light(self, samples: Samples) -> Floats:
        """Samples (..., 3) to linear light 0-1 in the profile's own primaries."""
        if not self.floating:
            return looked_up(self._table, samples)
        light = np.empty(samples.shape, dtype=np.float32)
        for channel, curve in enumerate(self.curves):
            light[..., channel] = _between(curve, samples[..., channel])
        return light

    def linear(self, samples: Samples) -> Floats:
        """Samples (n, 3) to linear working RGB."""
        return self.light(samples) @ self.matrix


def light_route(profile: Profile | None, dtype: np.dtype[Any]) -> Summed | None:
    """Curves and matrix of whole-number samples that all fit the working cube; None for anything else."""
    if profile is None or dtype.kind != "u" or profile.space != "RGB" or not profile.is_matrix:
        return None
    found = _summed(profile.data, dtype.str)
    return found if found is not None and found.holds_all else None


@lru_cache(maxsize=8)
def _summed(data: bytes, kind: str) -> Summed | None:
    """A matrix profile's sum for one kind of sample; None when the engine's answer is no such sum."""
    profile, dtype = parse_profile(data), np.dtype(kind)
    floating = dtype.kind == "f"
    ramp = np.linspace(0, 1, FLOAT_STEPS + 1, dtype=np.float32) if floating else _ramp(dtype)
    found = _curves_and_matrix(profile, ramp)
    if found is None:
        return None
    summed = Summed((found[0][0], found[0][1], found[0][2]), found[1], floating)
    return summed if _adds_up(profile, dtype, summed.linear) else None


def _matrix_route(profile: Profile, dtype: np.dtype[Any]) -> Route | None:
    """Three curves and a matrix, as the engine applies them; None when the engine's answer is no such sum."""
    found = _summed(profile.data, dtype.str)
    if found is None:
        return None
    linear_of, floating = found.linear, dtype.kind == "f"

    def convert(samples: Samples) -> tuple[Working, int]:
        flat = samples.reshape(-1, 3)
        return _filled(lambda part: linear_of(flat[part]), samples.shape)

    return _with_strays(convert, _float_route(profile, "relative")) if floating else convert


def _curves_and_matrix(profile: Profile, ramp: Floats) -> tuple[list[Floats], Floats] | None:
    """Each channel's curve over the ramp and the matrix (3, 3) to linear working RGB, asked of the engine."""
    curves: list[Floats] = []
    columns: list[NDArray[np.float64]] = []
    for channel in range(3):
        device = np.zeros((len(ramp), 3), dtype=np.float32)
        device[:, channel] = ramp
        linear = lab_to_xyz(to_lab(profile, device)) @ XYZ_TO_WORKING.T
        leading = int(np.argmax(np.abs(linear[-1])))
        if linear[-1, leading] <= 0:
            return None
        curves.append((linear[:, leading] / linear[-1, leading]).astype(np.float32))
        columns.append(linear[-1])
    return curves, np.stack(columns).astype(np.float32)


def _between(curve: Floats, values: Floats) -> Floats:
    """The curve at values 0-1, straight between its FLOAT_STEPS + 1 points."""
    place = values * np.float32(FLOAT_STEPS)
    index = np.minimum(place.astype(np.int32), FLOAT_STEPS - 1)
    place -= index
    low = curve[index]
    place *= curve[1:][index] - low
    place += low
    return place


def _with_strays(inside: Route, anywhere: Route) -> Route:
    """Float pixels within 0-1 by the quick route, the others by the engine."""

    def convert(samples: Samples) -> tuple[Working, int]:
        if samples.min(initial=0) >= 0 and samples.max(initial=0) <= 1:
            return inside(samples)
        strays = np.any((samples < 0) | (samples > 1), axis=-1, keepdims=True)[..., 0]
        working, beyond = inside(np.where(strays[..., None], np.float32(0), samples))
        working[strays], more = anywhere(samples[strays])
        return working, beyond + more

    return convert


def _adds_up(profile: Profile, dtype: np.dtype[Any], linear_of: Callable[[Samples], Floats]) -> bool:
    top = 1 if dtype.kind == "f" else int(np.iinfo(dtype).max)
    shares = np.random.default_rng(20).random((2048, 3))
    shares[:2], shares[2:512] = [[0], [1]], shares[2:512] ** 4
    codes = (shares * top).astype(dtype)
    expected = lab_to_xyz(to_lab(profile, codes / np.float32(top))) @ XYZ_TO_WORKING.T
    error = lightness_from_y(linear_of(codes)) - lightness_from_y(expected)
    return bool(np.abs(error).max() <= SUM_TOLERANCE_LAB)


def _ramp(dtype: np.dtype[Any]) -> Floats:
    top = int(np.iinfo(dtype).max)
    return np.arange(top + 1, dtype=np.float32) / np.float32(top)


def _linear_of_lab(lab: Floats) -> Floats:
    """Lab to linear working RGB, (N, 3) float32."""
    f = np.empty_like(lab)
    f[:, 1] = (lab[:, 0] + np.float32(16)) / np.float32(116)
    f[:, 0] = f[:, 1] + lab[:, 1] / np.float32(500)
    f[:, 2] = f[:, 1] - lab[:, 2] / np.float32(200)
    cube = f * f * f
    ratio = np.where(cube > np.float32(EPSILON), cube, (np.float32(116) * f - np.float32(16)) / np.float32(KAPPA))
    return ratio @ LAB_TO_WORKING


def _filled(
    linear_of: Callable[[slice], Floats], shape: tuple[int, ...], lost: NDArray[np.bool_] | None = None
) -> tuple[Working, int]:
    """Working codes of linear working RGB, slice by slice on two threads, and how many pixels were clamped."""
    count = int(np.prod(shape[:-1], dtype=np.int64))
    out = np.empty((count, 3), dtype=np.uint16)
    beyond: list[int] = []
    table = _curve_table()

    def work(part: slice) -> None:
        for start in range(part.start, part.stop, SLICE):
            piece = slice(start, min(start + SLICE, part.stop))
            linear = linear_of(piece)
            low, high = linear.min(initial=0), linear.max(initial=0)
            if low < LOWEST_LINEAR or high > HIGHEST_LINEAR or lost is not None:
                outside = ((linear < LOWEST_LINEAR) | (linear > HIGHEST_LINEAR)).any(axis=1)
                beyond.append(int(np.count_nonzero(outside if lost is None else outside | lost[piece])))
            if low < 0 or high > 1:
                np.clip(linear, 0, 1, out=linear)
            linear *= np.float32(CURVE_STEPS - 1)
            linear += np.float32(0.5)
            out[piece] = table[linear.astype(np.int32)]

    in_slices(count, work)
    return out.reshape(*shape[:-1], 3), sum(beyond)


@cache
def _curve_table() -> Working:
    """Linear 0-1 in CURVE_STEPS steps to working codes."""
    lightness = lightness_from_y(np.linspace(0, 1, CURVE_STEPS)) / 100
    return np.rint(lightness * 65535).astype(np.uint16)
