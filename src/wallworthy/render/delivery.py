"""Carrying the fitted picture back to a standard space, so that the lab's own conversion lands on it again.

Device values go through the paper's A2B1 to media-relative Lab, the paper's black is stretched
down to zero (black point compensation backwards, ISO 18619:2015), and the standard space encodes
that. A relative conversion with black point compensation, as labs do it, undoes these steps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import LutFigures
from wallworthy.colour.float32 import ciede2000_32, planes_of
from wallworthy.icc.bake import SIZES, baked
from wallworthy.icc.blackpoint import NO_BLACK, compensate, destination_black
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.lut import prepared_lut
from wallworthy.icc.read import Profile

Floats = NDArray[np.float32]
DeviceOf = Callable[[Floats], Floats]
"""Working values (rows, width, 3) to device values (rows, width, K), 0-1."""

BEYOND_DE00: Final = 1.0
SAMPLED_EVERY: Final = 4
"""What the standard space can't hold is counted on every fourth pixel each way."""


@dataclass(frozen=True, slots=True)
class Carriage:
    """How working values become the file's: the strips' conversion and the count of what is lost.

    `figures` says how well a table stood in for the steps; None when none does.
    """

    to_file: DeviceOf
    beyond_de00: DeviceOf | None
    """Colour difference the standard space leaves, for working values; None for `numbers`."""
    figures: LutFigures | None


def by_numbers(nodes: Floats | None, device_of: DeviceOf | None) -> Carriage:
    """The condition's own device values: through the table, or directly when there is none."""
    return Carriage(device_path(nodes, device_of), None, None)


def device_path(nodes: Floats | None, device_of: DeviceOf | None) -> DeviceOf:
    if nodes is not None:
        return prepared_lut(nodes)
    if device_of is None:
        raise ValueError("without a table the direct path must be handed in")
    return device_of


def by_standard(nodes: Floats | None, device_of: DeviceOf | None, paper: Profile, standard: Profile) -> Carriage:
    """The standard space's values: one table when it is accurate enough, else step by step.

    The table has the fitted table's size or a larger one: it is measured against the steps like
    the fitted table itself (`icc.bake`), over the same colours and within the same limits.
    """
    path = device_path(nodes, device_of)
    carry = carrier(paper, standard)

    def steps(strip: Floats) -> Floats:
        return carry.held(path(strip))

    def beyond(strip: Floats) -> Floats:
        return carry(path(strip))[1]

    if nodes is None:
        return Carriage(steps, beyond, None)
    table = baked(steps, standard, (len(nodes), *(size for size in SIZES if size > len(nodes))))
    return Carriage(steps if table.nodes is None else prepared_lut(table.nodes), beyond, table.figures)


@dataclass(frozen=True, slots=True)
class Carrier:
    """Device values (..., K) carried to the standard space's (..., C), 0-1, and the dE00 lost there (...)."""

    lab_of: DeviceOf
    standard: Profile

    def __call__(self, device: Floats) -> tuple[Floats, Floats]:
        lab = self.lab_of(device)
        held = self._held(lab)
        shown = to_lab(self.standard, held, "relative")
        return held, ciede2000_32(planes_of(lab), planes_of(shown)).reshape(lab.shape[:-1])

    def held(self, device: Floats) -> Floats:
        """The standard space's values alone."""
        return self._held(self.lab_of(device))

    def _held(self, lab: Floats) -> Floats:
        return np.clip(from_lab(self.standard, lab, "relative"), 0.0, 1.0)


def carrier(paper: Profile, standard: Profile) -> Carrier:
    """Device values (..., K) to the standard space's (..., C), 0-1, and the dE00 lost there (...).

    Source: ISO 18619:2015, applied from the paper's black to zero.
    """
    black = destination_black(paper, "relative")

    def lab_of(device: Floats) -> Floats:
        return compensate(to_lab(paper, device, "relative"), black, NO_BLACK).astype(np.float32)

    return Carrier(lab_of, standard)


def sampled(strip: Floats, first_row: int) -> Floats:
    """Every fourth pixel each way, by its place in the picture."""
    return np.ascontiguousarray(strip[-first_row % SAMPLED_EVERY :: SAMPLED_EVERY, ::SAMPLED_EVERY])
