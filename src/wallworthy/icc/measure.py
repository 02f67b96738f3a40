"""What an output profile says of its printing condition, measured through the CMM."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import ConditionFacts, Pair
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import lab_to_xyz, relative_to_absolute
from wallworthy.icc.blackpoint import triple
from wallworthy.icc.engine import INK_SPACES, from_lab, to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import Profile

PROBES: Final = 20_000
SEED: Final = 18619
LEAST_Y: Final = 1e-6
"""A black of no light at all is counted as this, so that density and range stay finite."""


def measure_condition(profile: Profile) -> ConditionFacts:
    """White, black, tint, density, range, round trip and gamut of an output profile.

    Lab is ICC-absolute D50 but for the tint; about half a second for a CMYK profile.
    """
    white = triple(relative_to_absolute(to_lab(profile, _bare(profile))[0], profile.white_xyz))
    printed_black = to_lab(profile, from_lab(profile, [[0.0, 0.0, 0.0]]))[0]
    black = triple(relative_to_absolute(printed_black, profile.white_xyz))
    mean, p95 = roundtrip(profile)
    white_y, black_y = (max(LEAST_Y, float(lab_to_xyz(lab)[1])) for lab in (white, black))
    return ConditionFacts(
        device_space=profile.space,
        icc_version=profile.version_text,
        profile_description=profile.description,
        intents=profile.intents,
        white_lab=white,
        black_lab=black,
        neutral_tint_ab=neutral_tint(profile),
        density_y=float(-np.log10(black_y)),
        range_stops=float(np.log2(white_y / black_y)),
        roundtrip_mean_de00=mean,
        roundtrip_p95_de00=p95,
        gamut_volume_lab3=surface(profile).volume_lab3,
    )


def roundtrip(profile: Profile) -> Pair:
    """Mean and 95 % dE00 of printable colours sent through B2A1 and A2B1 again.

    Seeded device colours give the printable colours (A2B1); with four inks or more most of these
    would be near black, so there the colours are spread evenly in Lab and kept when inside the gamut.
    """
    dice = np.random.default_rng(SEED)
    if profile.channels > 3:
        colours = _inside(profile, dice)
    else:
        colours = to_lab(profile, dice.uniform(0, 1, (PROBES, profile.channels)))
    again = to_lab(profile, from_lab(profile, colours))
    errors = ciede2000(colours, again)
    return float(errors.mean()), float(np.quantile(errors, 0.95))


def neutral_tint(profile: Profile) -> Pair:
    """Mean media-relative a*, b* of what is printed for neutrals of L* 20 to 80 (B2A1, A2B1)."""
    ramp = np.zeros((61, 3))
    ramp[:, 0] = np.linspace(20, 80, 61)
    tint = to_lab(profile, from_lab(profile, ramp))[:, 1:].mean(axis=0)
    return float(tint[0]), float(tint[1])


def _bare(profile: Profile) -> NDArray[np.float64]:
    inks = profile.space in INK_SPACES or profile.space.endswith("CLR")
    return np.full((1, profile.channels), 0.0 if inks else 1.0)


def _inside(profile: Profile, dice: np.random.Generator) -> NDArray[np.float64]:
    gamut = surface(profile)
    low, high = gamut.points_lab.min(axis=(0, 1, 2)), gamut.points_lab.max(axis=(0, 1, 2))
    spread = dice.uniform(low, high, (PROBES * 3, 3))
    return spread[gamut.inside(spread)][:PROBES]
