"""The forward model of a condition: device values to media-relative Lab, fitted to measured patches."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.characterise.measurements import DeviceSpace, Measurements, unique_patches
from wallworthy.characterise.neugebauer import Neugebauer, fit_neugebauer
from wallworthy.characterise.spline import Spline, fit_spline
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import absolute_to_relative, lab_to_xyz

Array = NDArray[np.float64]

FEWEST_PATCHES: Final[dict[DeviceSpace, int]] = {"RGB": 60, "CMYK": 150}
MOST_PATCHES: Final = 4000
SOLID_REACH: Final = 0.15
PALEST_BLACK: Final = 70.0
CONTRADICTION_DE00: Final = 8.0
MISREAD_FACTOR: Final = 10.0
MISREAD_DE00: Final = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class PrintModel:
    """Physical part (inks only), spline on what it leaves, and a small shift that makes paper exactly white."""

    space: DeviceSpace
    white_xyz: Array
    """(3,) the paper, D50, Y 0-1."""
    physical: Neugebauer | None
    spline: Spline = field(repr=False)
    white_shift: Array = field(repr=False)
    patches: int
    patches_left_out: int
    cross_validation_de00: Array = field(repr=False)
    """(M,) leave-one-out error of each different patch."""

    def __call__(self, device: Array) -> Array:
        """Media-relative Lab (N, 3) of device values (N, K), 0-1. Bare paper is (100, 0, 0)."""
        lab = self.spline(device)
        if self.physical is not None:
            lab = lab + self.physical(device)
        bare = np.prod(paper_share(device, self.space), axis=1) ** 4
        return lab - bare[:, None] * self.white_shift


def paper_share(device: Array, space: DeviceSpace) -> Array:
    """1 where a channel lays no ink, 0 where it is full."""
    return device if space == "RGB" else 1 - device


def fit_model(measurements: Measurements) -> PrintModel:
    """The model for RGB (behind a driver: spline alone) or CMYK (Yule-Nielsen-Neugebauer, spline on the rest).

    Patches that disagree grossly with all others (misread or misprinted) are left out once.
    Raises InputError when there are too few patches or no bare paper among them.
    """
    device, lab, readings = unique_patches(measurements)
    space = measurements.space
    if not FEWEST_PATCHES[space] <= len(device) <= MOST_PATCHES:
        raise InputError(
            "patch_count",
            f"{len(device)} different patches are too few or too many to build a profile from.",
            f"Measure between {FEWEST_PATCHES[space]} and {MOST_PATCHES}; about 1000 serve well.",
        )
    bare = np.flatnonzero((paper_share(device, space) == 1).all(axis=1))
    if len(bare) == 0 or lab[bare[0], 0] < 40:
        raise InputError(
            "paper_missing",
            "No patch of bare paper is among the measurements, or it is far too dark.",
            "Add the paper itself as a patch and measure again.",
        )
    _require_solids(device)
    white_xyz = lab_to_xyz(lab[bare[0]])
    relative = absolute_to_relative(lab, white_xyz)
    weight = np.minimum(readings, 16).astype(np.float64)

    physical, spline = _fit(device, relative, weight, space)
    error = ciede2000(relative - spline.leave_one_out, relative)
    misread = _misread(error, device)
    if misread.any():
        device, relative, weight = device[~misread], relative[~misread], weight[~misread]
        physical, spline = _fit(device, relative, weight, space)
        error = ciede2000(relative - spline.leave_one_out, relative)
    _require_sense(relative, error)
    paper = np.ones((1, device.shape[1])) if space == "RGB" else np.zeros((1, device.shape[1]))
    shift = spline(paper)[0] - np.array([100.0, 0.0, 0.0])
    if physical is not None:
        shift = shift + physical(paper)[0]
    return PrintModel(space, white_xyz, physical, spline, shift, len(measurements), int(misread.sum()), error)


def _require_sense(relative: Array, error: Array) -> None:
    """Refuse a print without range, and patches that contradict each other."""
    if relative[:, 0].min() > PALEST_BLACK:
        raise InputError(
            "print_too_pale",
            "The darkest patch is hardly darker than the paper.",
            "Check that the chart was printed and that the readings belong to it.",
        )
    if float(np.median(error)) > CONTRADICTION_DE00:
        raise InputError(
            "measurements_contradict",
            f"Neighbouring patches contradict each other by {float(np.median(error)):.0f} dE00 and more.",
            "Most often the readings stand in another order than the chart's patches: check rows and columns.",
        )


def _require_solids(device: Array) -> None:
    """Each channel alone at its full extent must have been measured, or nearly: nothing is guessed that far out."""
    channels = device.shape[1]
    paper_end = np.ones(channels) if channels == 3 else np.zeros(channels)
    for channel in range(channels):
        solid = paper_end.copy()
        solid[channel] = 1 - solid[channel]
        if np.abs(device - solid).max(axis=1).min() > SOLID_REACH:
            raise InputError(
                "solids_missing",
                "The measurements don't reach the full extent of every channel.",
                "Measure a chart that has each ink (or each of R, G and B at 0) alone and in full.",
            )


def _fit(device: Array, lab: Array, weight: Array, space: DeviceSpace) -> tuple[Neugebauer | None, Spline]:
    physical = fit_neugebauer(device, lab) if space == "CMYK" else None
    rest = lab if physical is None else lab - physical(device)
    return physical, fit_spline(device, rest, weight)


def _misread(error: Array, device: Array) -> NDArray[np.bool_]:
    """Gross leave-one-out errors inside the device cube; its surface is extrapolation and not judged."""
    inside = ((device > 0.02) & (device < 0.98)).sum(axis=1) >= device.shape[1] - 1
    return inside & (error > max(MISREAD_FACTOR * float(np.median(error)), MISREAD_DE00))
