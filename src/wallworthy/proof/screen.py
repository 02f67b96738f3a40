"""From Lab to the display's own values, and which colours the display can't show.

A display profile made of curves and a matrix is asked once, through the colour engine, what its
curves and matrix are; pictures then go through the same sums in numpy, some ten times as fast.
The sums are held against the engine before use; a profile that fails, or works by tables, goes
through the engine pixel by pixel.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.float32 import Planes, ciede2000_32, lab_to_xyz_ratio32, planes_of, xyz_ratio_to_lab32
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.read import Profile, parse_profile

Float = NDArray[np.float32]

RAMP: Final = 4096
TABLE: Final = 16384
AGREEMENT_DE00: Final = 0.02
"""The sums are used only when no probe differs from the engine by more than this."""

VISIBLY_BEYOND_DE00: Final = 1.0
EDGE: Final = 1e-4


@dataclass(frozen=True, slots=True)
class Shaper:
    """A matrix display in numbers: linear = to_linear @ XYZ/white; device = tables[c] at sqrt(linear).

    Light is given as planes (3, n) of X/Xn, Y/Yn, Z/Zn, relative to the display's white.
    """

    to_linear: Float = field(repr=False)
    from_linear: Float = field(repr=False)
    tables: Float = field(repr=False)

    def linear(self, light: Planes) -> Planes:
        """Linear RGB (3, n), unclamped."""
        return self.to_linear @ light

    def encode(self, light: Planes) -> tuple[Planes, int]:
        """Device values (3, n), 0-1, and how many pixels the display misses by more than 1 dE00."""
        wanted = self.linear(light)
        beyond = 0
        if float(wanted.min(initial=0)) < -EDGE or float(wanted.max(initial=1)) > 1 + EDGE:
            outside = np.flatnonzero((wanted.min(axis=0) < -EDGE) | (wanted.max(axis=0) > 1 + EDGE))
            held = xyz_ratio_to_lab32(self.from_linear @ np.clip(wanted[:, outside], 0, 1))
            beyond = int((ciede2000_32(xyz_ratio_to_lab32(light[:, outside]), held) > VISIBLY_BEYOND_DE00).sum())
        np.clip(wanted, 0, 1, out=wanted)
        np.sqrt(wanted, out=wanted)
        wanted *= TABLE - 1
        wanted += 0.5
        place = wanted.astype(np.int32)
        return np.stack([np.take(table, at) for table, at in zip(self.tables, place, strict=True)]), beyond


@dataclass(frozen=True, slots=True)
class Screen:
    """A display ready to be drawn on."""

    profile: Profile
    shaper: Shaper | None

    def encode(self, lab: Float) -> tuple[Float, int]:
        """Lab (n, 3), relative to the display's white, to device (n, 3) 0-1 and the count beyond the display."""
        if self.shaper is not None:
            device, beyond = self.shaper.encode(lab_to_xyz_ratio32(planes_of(lab)))
            return np.ascontiguousarray(device.T), beyond
        device = np.clip(from_lab(self.profile, lab, "relative"), 0, 1).astype(np.float32)
        shown = to_lab(self.profile, device, "relative")
        return device, int((ciede2000_32(planes_of(lab), planes_of(shown)) > VISIBLY_BEYOND_DE00).sum())

    def room_for(self, white_lab: NDArray[np.float64]) -> float:
        """The factor on X, Y and Z, at most 1, that brings a paper's white inside what the display can show."""
        factors = np.linspace(1, 0.5, 501)
        ratio = lab_to_xyz(white_lab) / PCS_WHITE * factors[:, None]
        if self.shaper is not None:
            fits = self.shaper.linear(planes_of(ratio)).max(axis=0) <= 1 + EDGE
        else:
            lab = xyz_ratio_to_lab32(planes_of(ratio)).T
            device = np.clip(from_lab(self.profile, lab, "relative"), 0, 1)
            fits = ciede2000(lab, to_lab(self.profile, device, "relative")) <= VISIBLY_BEYOND_DE00 / 2
        return float(factors[int(fits.argmax())]) if fits.any() else 1.0


@lru_cache(maxsize=8)
def screen_of(profile_data: bytes) -> Screen:
    """Read a display profile and make it ready. Raises InputError for bytes that are no profile."""
    profile = parse_profile(profile_data, "the display's profile")
    return Screen(profile, _shaper_of(profile) if profile.is_matrix else None)


def _shaper_of(profile: Profile) -> Shaper | None:
    """Ask the engine for each channel's ramp; None when curves and a matrix do not explain its answers."""
    steps = np.linspace(0, 1, RAMP)
    ramps = np.zeros((3, RAMP, 3), dtype=np.float32)
    for channel in range(3):
        ramps[channel, :, channel] = steps
    ratio = lab_to_xyz(to_lab(profile, ramps, "relative")) / PCS_WHITE
    columns = ratio[:, -1]
    if abs(np.linalg.det(columns)) < 1e-6:
        return None
    curves = np.einsum("csk,ck->cs", ratio, columns) / (columns**2).sum(axis=1, keepdims=True)
    curves = np.maximum.accumulate(curves, axis=1)
    places = np.linspace(0, 1, TABLE) ** 2
    tables = np.stack([np.interp(places, curve, steps) for curve in curves])
    shaper = Shaper(
        np.linalg.inv(columns.T).astype(np.float32), columns.T.astype(np.float32), tables.astype(np.float32)
    )
    return shaper if _agrees(profile, shaper) else None


def _agrees(profile: Profile, shaper: Shaper) -> bool:
    device = np.random.default_rng(3).random((1024, 3), dtype=np.float32)
    lab = to_lab(profile, device, "relative")
    through, _ = shaper.encode(lab_to_xyz_ratio32(planes_of(lab)))
    back = to_lab(profile, np.ascontiguousarray(through.T), "relative")
    return bool(ciede2000(lab, back).max() <= AGREEMENT_DE00)
