"""Carrying the fitted picture back to a standard space, so that the lab's own conversion lands on it again.

Device values go through the paper's A2B1 to media-relative Lab, the paper's black is stretched
down to zero (black point compensation backwards, ISO 18619:2015), and the standard space encodes
that. A relative conversion with black point compensation, as labs do it, undoes these steps.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import LutFigures
from wallworthy.colour.ciede2000 import ciede2000
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

MEASURED_POINTS: Final = 20_000
MEAN_LIMIT_DE00: Final = 0.1
P999_LIMIT_DE00: Final = 0.5
MAX_LIMIT_DE00: Final = 1.5


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

    The table is measured against the steps at 20,000 seeded places of the cube: mean 0.1, 99.9 % 0.5,
    max 1.5 dE00 or better, else it is not used.
    """
    path = device_path(nodes, device_of)
    carry = carrier(paper, standard)

    def steps(strip: Floats) -> Floats:
        return carry(path(strip))[0]

    def beyond(strip: Floats) -> Floats:
        return carry(path(strip))[1]

    if nodes is None:
        return Carriage(steps, beyond, None)
    table = prepared_lut(carry(nodes)[0])
    points = np.random.default_rng(20000).random((1, MEASURED_POINTS, 3), dtype=np.float32)
    found = ciede2000(to_lab(standard, table(points)), to_lab(standard, steps(points)))
    figures = LutFigures(nodes.shape[0], float(found.mean()), float(np.quantile(found, 0.999)), float(found.max()))
    if figures.mean_de00 > MEAN_LIMIT_DE00 or figures.p999_de00 > P999_LIMIT_DE00 or figures.max_de00 > MAX_LIMIT_DE00:
        return Carriage(steps, beyond, LutFigures(None, 0.0, 0.0, 0.0))
    return Carriage(table, beyond, figures)


def carrier(paper: Profile, standard: Profile) -> Callable[[Floats], tuple[Floats, Floats]]:
    """Device values (..., K) to the standard space's (..., C), 0-1, and the dE00 lost there (...).

    Source: ISO 18619:2015, applied from the paper's black to zero.
    """
    black = destination_black(paper, "relative")

    def carry(device: Floats) -> tuple[Floats, Floats]:
        lab = compensate(to_lab(paper, device, "relative"), black, NO_BLACK)
        held: NDArray[Any] = np.clip(from_lab(standard, lab, "relative"), 0.0, 1.0).astype(np.float32)
        return held, ciede2000(lab, to_lab(standard, held, "relative")).astype(np.float32)

    return carry


def sampled(strip: Floats, first_row: int) -> Floats:
    """Every fourth pixel each way, by its place in the picture."""
    return np.ascontiguousarray(strip[-first_row % SAMPLED_EVERY :: SAMPLED_EVERY, ::SAMPLED_EVERY])
