"""A print as it looks in the light it hangs in: carried by CIECAM16 to the display in front of the person.

The print's colours are carried to the light's white as if the eye were settled to it (CAT16), then seen in the
room: by the luminance of its paper, rho E / pi, the surround, and only as much adaptation as so much light gives.
The display shows what has the same lightness, colourfulness and hue there. Lightness is relative to
each white, since the eye settles to either; how bright the screen's white must be is told in words.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Light, Triple
from wallworthy.colour.ciecam16 import CAT16, Viewing, appearance, luminance_level, stimulus
from wallworthy.colour.gsdf import distinct_greys
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.icc.lut import nodes_grid, prepared_lut
from wallworthy.proof.lights import light_xy, paper_white_cd_m2, xy_to_xyz

Array = NDArray[np.float64]
Float = NDArray[np.float32]

ADAPTING: Final = 0.2
"""The field the eye adapts to has a fifth of the white's luminance (CIE248)."""
SRGB_WHITE_CD_M2: Final = 80.0
"""A display whose luminance is not known is taken to be as IEC61966-2-1 has it."""
REFERENCE_LX: Final = 500.0
"""Practical appraisal, ISO3664 P2: the light against which a room wants more or less."""
MIDDLE_LSTAR: Final = 50.0
LEAST_OFFER_LSTAR: Final = 1.0
MOST_OFFER_LSTAR: Final = 8.0
NODES: Final = 65
REACH: Final = 128.0


@dataclass(frozen=True, slots=True)
class Eye:
    """The two ways of looking that are matched: at the print in its light, and at the display."""

    white: Triple
    """XYZ of the light, Y 1."""
    at_print: Viewing
    at_display: Viewing


def eye_under(light: Light, paper_y: float, display_white_cd_m2: float | None = None) -> Eye:
    """The eye that looks at a paper of white Y (0-1) in a light, and at a display of that luminance."""
    x, y, z = (float(part) for part in xy_to_xyz(light_xy(light)))
    paper = paper_white_cd_m2(light.illuminance_lx, paper_y)
    d50 = (float(PCS_WHITE[0]), float(PCS_WHITE[1]), float(PCS_WHITE[2]))
    return Eye(
        (x, y, z),
        Viewing((x, y, z), paper * ADAPTING, surround=light.surround),
        Viewing(d50, (display_white_cd_m2 or SRGB_WHITE_CD_M2) * ADAPTING),
    )


def as_seen(lab: Array, eye: Eye) -> Array:
    """Media-absolute Lab (..., 3), D50, of a print to Lab relative to the display's white that looks like it.

    Source: Li2017, CIE248.
    """
    cones = CAT16 @ np.asarray(eye.white) / (CAT16 @ PCS_WHITE)
    under_light = np.linalg.inv(CAT16) @ np.diag(cones) @ CAT16
    seen = appearance(lab_to_xyz(lab) @ under_light.T, eye.at_print)
    chroma = seen.colourfulness / luminance_level(eye.at_display.adapting_cd_m2) ** 0.25
    return xyz_to_lab(stimulus(seen.lightness, chroma, seen.hue_deg, eye.at_display))


@lru_cache(maxsize=8)
def seen_table(eye: Eye, size: int = NODES) -> Callable[[Float], Float]:
    """`as_seen` for whole pictures (n, 3), by a table over Lab; colours beyond a* or b* of 128 are held there.

    size: nodes an edge; fewer are quicker and do for small pictures.
    """
    corner, span = np.array([0.0, -REACH, -REACH]), np.array([100.0, 2 * REACH, 2 * REACH])
    nodes = as_seen(nodes_grid(size) * span + corner, eye)
    look_up = prepared_lut(nodes.astype(np.float32))
    low, wide = corner.astype(np.float32), span.astype(np.float32)
    return lambda lab: look_up((np.asarray(lab, dtype=np.float32) - low) / wide)


def colourfulness_share(light: Light, paper_y: float) -> float:
    """How colourful the print looks beside itself under 500 lux: colourfulness goes by the fourth root of the level.

    Source: Li2017, CIE248.
    """
    here, there = (
        luminance_level(ADAPTING * paper_white_cd_m2(lux, paper_y)) for lux in (light.illuminance_lx, REFERENCE_LX)
    )
    return (here / there) ** 0.25


def wanted_lightness(light: Light, paper_y: float, black_y: float) -> float:
    """The lightness correction (L*) that a room of this brightness wants; 0 when less than 1 would do.

    Of all greys an eye can tell apart between the paper's black and its white, a certain share lies below
    middle grey at 500 lux. In a dim room dark greys merge first: the correction moves the middle until that share
    is the same again. paper_y, black_y: Y of the paper's white and black, 0-1. Held at 8 L* either way.
    Source: DICOMPS314 for what an eye can tell apart; the rule is this project's.
    """

    def share(middle_lstar: float, lux: float) -> float:
        middle_y = float(lab_to_xyz([middle_lstar, 0.0, 0.0])[1]) * paper_y
        black, here, white = distinct_greys(np.array([black_y, middle_y, paper_y]) * lux / math.pi)
        return float((here - black) / max(white - black, 1e-9))

    asked = share(MIDDLE_LSTAR, REFERENCE_LX)
    tried = np.linspace(-MOST_OFFER_LSTAR, MOST_OFFER_LSTAR, 161)
    off = [abs(share(MIDDLE_LSTAR + step, light.illuminance_lx) - asked) for step in tried]
    wanted = round(2 * float(tried[int(np.argmin(off))])) / 2
    return wanted if abs(wanted) >= LEAST_OFFER_LSTAR else 0.0
