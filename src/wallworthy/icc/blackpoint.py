"""Black point compensation, ISO 18619:2015: the black points by our own computation, and the map between them.

Only the profile's tables are asked (through the engine); the CMM's own detection is never used.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Triple
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.icc.engine import Intent, from_lab, to_lab
from wallworthy.icc.read import Profile

Array = NDArray[np.float64]
Black = float | Triple
"""L* of a neutral black point, or its Lab."""


def triple(values: ArrayLike) -> Triple:
    """Three numbers of an array as a tuple of floats."""
    one, two, three = (float(v) for v in np.ravel(values))
    return one, two, three


REFERENCE_BLACK_XYZ: Final = np.array([0.00336, 0.0034731, 0.00287])
"""ICC.1:2022, black of the perceptual reference medium: L* 3.1373 and a hair off neutral."""

NO_BLACK: Final[Triple] = (0.0, 0.0, 0.0)
REFERENCE_BLACK: Final[Triple] = triple(xyz_to_lab(REFERENCE_BLACK_XYZ))
DARKEST: Final = {"RGB": 0.0, "GRAY": 0.0, "CMYK": 1.0, "CMY": 1.0}
"""The darkest colorant by device space; of other spaces (many inks among them) the CMM knows none."""

DARKEST_CEILING_LSTAR: Final = 50.0
PAPER_BRIGHT_LSTAR: Final = 95.0
RAMP_STEPS: Final = 256
RAMP_TINT_LIMIT: Final = 50.0
STRAIGHT_WITHIN_LSTAR: Final = 4.0
FEWEST_SHADOWS: Final = 3


def source_black(profile: Profile, intent: Intent) -> Triple:
    """The black point of a profile colours come from, media-relative Lab, L* 0-50.

    (0, 0, 0) when the intent is absolute or the profile is a link, an abstract or a named-colour one.
    Neutral by the output rule for CMYK; by the darkest-colorant rule it keeps the tint it has.
    Source: ISO 18619:2015, 4.2.3 and 4.2.4.
    """
    if profile.device_class in ("link", "abst", "nmcl") or intent == "absolute":
        return NO_BLACK
    if _has_fixed_black(profile, intent):
        return _reference_black(profile)
    if intent == "relative" and profile.device_class == "prtr" and profile.space == "CMYK":
        return _darkest_printed(profile)
    return _darkest_colorant(profile, intent)


def destination_black(profile: Profile, intent: Intent) -> Triple:
    """The black point of a profile colours go to, media-relative Lab, L* 0-50.

    Profiles without a B2A table of the intent, and spaces other than grey, RGB and CMYK, fall
    back to the source rule. Source: ISO 18619:2015, 4.2.5 to 4.2.7, with a ramp of 256 steps.
    The last few answers are remembered: a live proof asks at every change.
    """
    asked = _Asked(profile.sha256, profile.version, profile.device_class, profile.space, profile.intents, profile)
    return _destination_black(asked, intent)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What decides a profile's black, and the profile itself, which does not count when two are compared."""

    sha256: str
    version: tuple[int, int]
    device_class: str
    space: str
    intents: tuple[str, ...]
    profile: Profile = field(compare=False, hash=False, repr=False)


@lru_cache(maxsize=16)
def _destination_black(asked_of: _Asked, intent: Intent) -> Triple:
    profile = asked_of.profile
    if profile.device_class in ("link", "abst", "nmcl") or intent == "absolute":
        return NO_BLACK
    if _has_fixed_black(profile, intent):
        return _reference_black(profile)
    if not _has_table(profile, "B2A", intent) or profile.space not in ("GRAY", "RGB", "CMYK"):
        return source_black(profile, intent)
    first_guess = source_black(profile, intent) if intent == "relative" else NO_BLACK
    tint = np.clip(first_guess[1:], -RAMP_TINT_LIMIT, RAMP_TINT_LIMIT)
    ramp = np.linspace(0.0, 100.0, RAMP_STEPS)
    asked = np.column_stack([ramp, np.broadcast_to(tint, (RAMP_STEPS, 2))])
    printed = to_lab(profile, from_lab(profile, asked, intent), "relative")[:, 0]
    lightness = black_of_ramp(ramp, printed, first_guess[0], relative=intent == "relative")
    return NO_BLACK if lightness is None else (lightness, first_guess[1], first_guess[2])


def black_of_ramp(ramp: ArrayLike, printed: ArrayLike, first_guess: float, *, relative: bool) -> float | None:
    """The black point's L*, 0-50, that a ramp of tones and what becomes of it show; None when they show none.

    ramp, printed: (n,) L*, ramp rising. `first_guess` is the answer when the middle of a
    media-relative ramp comes back straight; else a parabola is fitted to the shadows and its
    rising zero taken. Source: ISO 18619:2015, 4.2.5 to 4.2.7.
    """
    ramp = np.asarray(ramp, dtype=np.float64)
    printed = np.asarray(printed, dtype=np.float64).copy()
    # From the top down no tone may lie above the next; the darkest keeps its own value.
    printed[1:] = np.minimum.accumulate(printed[:0:-1])[::-1]
    lowest, highest = float(printed[0]), float(printed[-1])
    if not lowest < highest:
        return None
    if relative:
        middle = ramp > lowest + 0.2 * (highest - lowest)
        if np.all(np.abs(ramp - printed)[middle] < STRAIGHT_WITHIN_LSTAR):
            return first_guess
    share = (printed - lowest) / (highest - lowest)
    low, high = (0.1, 0.5) if relative else (0.03, 0.25)
    shadows = (share >= low) & (share < high)
    if np.count_nonzero(shadows) < FEWEST_SHADOWS:
        return None
    return _parabola_zero(ramp[shadows], share[shadows])


def compensation(source: Black, destination: Black) -> tuple[Array, Array]:
    """The factors A and B (each (3,)) of XYZ' = A XYZ + B, white fixed, black to black.

    Blacks are media-relative: L* of a neutral, or Lab. Source: ISO 18619:2015, 4.3.
    """
    black_in, black_out = _black_xyz(source), _black_xyz(destination)
    a = (black_out - PCS_WHITE) / (black_in - PCS_WHITE)
    b = -PCS_WHITE * (black_out - black_in) / (black_in - PCS_WHITE)
    return a, b


def compensate(lab: ArrayLike, source: Black, destination: Black) -> Array:
    """Media-relative Lab (..., 3) with the source's black point moved to the destination's, white kept.

    >>> compensate([[0.0, 0, 0], [100, 0, 0]], 0.0, 12.9381)[:, 0].round(3).tolist()
    [12.938, 100.0]
    """
    if source == destination:
        return np.asarray(lab, dtype=np.float64)
    a, b = compensation(source, destination)
    return xyz_to_lab(a * lab_to_xyz(lab) + b)


def _black_xyz(black: Black) -> Array:
    return lab_to_xyz(black if isinstance(black, tuple) else (black, 0.0, 0.0))


def _has_fixed_black(profile: Profile, intent: Intent) -> bool:
    return profile.version[0] >= 4 and intent in ("perceptual", "saturation")


def _reference_black(profile: Profile) -> Triple:
    """The version 4 black of perceptual and saturation: by definition for tables, measured for matrices."""
    return _darkest_colorant(profile, "relative") if profile.is_matrix else REFERENCE_BLACK


def _darkest_printed(profile: Profile) -> Triple:
    """What Lab 0, 0, 0 becomes through B2A0 and A2B1: the ink limit discounted, and neutral."""
    if not _has_table(profile, "A2B", "perceptual"):
        return NO_BLACK
    asked: ArrayLike = [NO_BLACK]
    if profile.version[0] >= 4:
        asked = compensate(asked, NO_BLACK, _reference_black(profile))
    lightness = float(to_lab(profile, from_lab(profile, asked, "perceptual"), "relative")[0, 0])
    return (min(DARKEST_CEILING_LSTAR, max(0.0, lightness)), 0.0, 0.0)


def _darkest_colorant(profile: Profile, intent: Intent) -> Triple:
    """No light (RGB, grey) or all inks at 100 %, tint kept, L* at most 50."""
    usable = profile.is_matrix or _has_table(profile, "A2B", intent)
    if not usable or profile.space not in DARKEST:
        return NO_BLACK
    darkest = np.full((1, profile.channels), DARKEST[profile.space])
    lightness, a, b = (float(v) for v in to_lab(profile, darkest, intent)[0])
    if lightness > PAPER_BRIGHT_LSTAR:
        return NO_BLACK
    return (min(DARKEST_CEILING_LSTAR, max(0.0, lightness)), a, b)


def _has_table(profile: Profile, direction: str, intent: Intent) -> bool:
    number = {"perceptual": 0, "relative": 1, "saturation": 2, "absolute": 1}[intent]
    return f"{direction}{number}" in profile.tags


def _parabola_zero(x: Array, y: Array) -> float:
    """The rising zero of the least-squares parabola through the points; 0 where there is none."""
    if len(x) < 4:
        return 0.0
    powers = np.stack([np.ones_like(x), x, x * x], axis=-1)
    c, u, t = np.linalg.solve(powers.T @ powers, powers.T @ y)
    discriminant = u * u - 4 * t * c
    if abs(t) < 1e-10 or discriminant <= 0:
        return 0.0
    return float(np.clip((-u + np.sqrt(discriminant)) / (2 * t), 0.0, 50.0))
