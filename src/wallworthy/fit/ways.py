"""The ways from media-relative Lab to a condition's device values: four standard ones and what is chosen for a picture.

Each standard way equals littleCMS's unoptimised conversion from the master's profile to the output
profile, though the master arrives as Lab: compensation and white scaling are done here, in
the PCS, so that the correction can stand between.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Triple, Way
from wallworthy.colour.float32 import Planes, planes_of, shift_xyz32
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.fit.inverse import nearest_device
from wallworthy.icc.blackpoint import NO_BLACK, compensation, destination_black, source_black
from wallworthy.icc.engine import Device, Intent, from_lab
from wallworthy.icc.read import Profile

if TYPE_CHECKING:  # what it needs takes half the time that a command takes to start
    from wallworthy.fit.greys import Greys
    from wallworthy.fit.whole import Whole

Array = NDArray[np.float64]

LARGEST_PCS_XYZ: Final = 1 + 32767 / 32768
"""The largest number the 16-bit XYZ encoding holds (ICC.1:2022, u1Fixed15); the CMM works in shares of it."""

D50: Final[Triple] = (float(PCS_WHITE[0]), float(PCS_WHITE[1]), float(PCS_WHITE[2]))


@dataclass(frozen=True, slots=True)
class Source:
    """What the ways need to know of where colours come from: its black by intent, its white."""

    black_lab: Mapping[Intent, Triple] = field(hash=False)
    """Media-relative Lab of the black point, for 'perceptual' and 'relative'."""
    white_xyz: Triple
    """The media white as the CMM reads it, Y 0-1."""
    chosen: Whole | None = None
    """For the way `whole`: the map chosen for this picture and this paper."""
    greys: Greys | None = None
    """For black and white: the tone on this paper. Colours are taken by their lightness alone."""

    def map_for(self, way: Way) -> Whole | None:
        """The chosen map, for a way that needs one. Raises ValueError when it is missing."""
        if not way.is_chosen:
            return None
        if self.chosen is None:
            raise ValueError(f"the way {way} is chosen for a picture, and nothing was chosen yet")
        return self.chosen


def source_of(profile: Profile | None) -> Source:
    """The source facts of a master's profile; None is a master already in Lab (black 0, white D50)."""
    if profile is None:
        return Source(MappingProxyType({"perceptual": NO_BLACK, "relative": NO_BLACK}), D50)
    blacks: dict[Intent, Triple] = {
        "perceptual": source_black(profile, "perceptual"),
        "relative": source_black(profile, "relative"),
    }
    return Source(MappingProxyType(blacks), profile.white_xyz)


def lab_in_condition(output: Profile, way: Way, source: Source) -> Callable[[ArrayLike], Array]:
    """The step in the PCS: Lab relative to the master's white (..., 3) to the Lab asked of B2A (..., 3).

    Compensation for `relative-bpc` and, because the CMM forces it, for `perceptual` into a
    version 4 profile; scaling by the media whites for `absolute`; nothing for the others, and
    nothing where the CMM leaves a step out because it would hardly move anything. Greys of a tone get it
    last; that they are grey is their source's business (`fit.greys`).
    """
    if source.greys is not None:
        planes = lab_in_condition32(output, way, source)
        return lambda lab: _through(planes, np.asarray(lab, dtype=np.float64))
    if (chosen := source.map_for(way)) is not None:
        return lambda lab: chosen.lab(np.asarray(lab, dtype=np.float64))
    step = _xyz_step(output, way, source)
    if step is None:
        return lambda lab: np.asarray(lab, dtype=np.float64)
    factors, offsets = step
    return lambda lab: xyz_to_lab(factors * lab_to_xyz(lab) + offsets)


def lab_in_condition32(output: Profile, way: Way, source: Source) -> Callable[[Planes], Planes]:
    """`lab_in_condition` for planes (3, n) float32, for whole pictures."""
    if (greys := source.greys) is not None:
        toneless = lab_in_condition32(output, way, replace(source, greys=None))
        return lambda lab: greys.asked(toneless(lab))
    if (chosen := source.map_for(way)) is not None:
        return lambda lab: chosen.lab(lab.T.astype(np.float64)).T.astype(np.float32)
    step = _xyz_step(output, way, source)
    if step is None:
        return lambda lab: lab
    factors, offsets = step
    return lambda lab: shift_xyz32(lab, factors, offsets / PCS_WHITE)


def white_and_black(output: Profile, way: Way, source: Source) -> tuple[Array, Array] | None:
    """Factors and offsets (3,) of X/Xn, Y/Yn, Z/Zn, where they are all that a way does to colours; else None."""
    if source.greys is not None or source.map_for(way) is not None:
        return None
    step = _xyz_step(output, way, source)
    return (np.ones(3), np.zeros(3)) if step is None else (step[0], step[1] / PCS_WHITE)


def _through(planes: Callable[[Planes], Planes], lab: Array) -> Array:
    out = planes(planes_of(lab))
    return out.T.reshape(lab.shape).astype(np.float64)


def _xyz_step(output: Profile, way: Way, source: Source) -> tuple[Array, Array] | None:
    """The factors and offsets (each (3,)) that XYZ goes through; None when nothing is to be done."""
    if way is Way.ABSOLUTE:
        scale = np.asarray(source.white_xyz) / np.asarray(output.white_xyz)
        if not _negligible(scale, np.zeros(3)):
            return scale, np.zeros(3)
    forced = way is Way.PERCEPTUAL and output.version[0] >= 4
    if way is Way.RELATIVE_BPC or forced:
        intent: Intent = "perceptual" if forced else "relative"
        step = compensation(source.black_lab[intent], destination_black(output, intent))
        if not _negligible(*step):
            return step
    return None


def _negligible(factors: Array, offsets: Array) -> bool:
    """Whether the CMM would skip this step: coefficients within 0.002 of doing nothing, summed."""
    return float(np.abs(factors - 1).sum() + np.abs(offsets).sum() / LARGEST_PCS_XYZ) < 0.002


def asked_to_device(output: Profile, way: Way, asked_lab: ArrayLike, *, closely: bool = False) -> Device:
    """The last step: the Lab asked of B2A (..., 3), as `lab_in_condition` gives it, to device values (..., C), 0-1.

    closely: by our own inversion, as ways chosen for the picture go, and greys of a tone.
    """
    if way.is_chosen or closely:
        asked = np.asarray(asked_lab, dtype=np.float32)
        device = nearest_device(output, asked.reshape(-1, 3))
        return device.reshape(*asked.shape[:-1], output.channels)
    return np.clip(from_lab(output, asked_lab, way.table_intent), 0.0, 1.0)


def lab_to_device(output: Profile, way: Way, source: Source) -> Callable[[ArrayLike], Device]:
    """The whole step: Lab relative to the master's white (..., 3) to device values (..., C) float32, 0-1."""
    in_condition = lab_in_condition(output, way, source)
    return lambda lab: asked_to_device(output, way, in_condition(lab), closely=source.greys is not None)
