"""Baking a conversion of working RGB into the smallest table that keeps the promised accuracy, measured."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import LutFigures
from wallworthy.colour.float32 import ciede2000_32, planes_of
from wallworthy.colour.probes import probe_colours
from wallworthy.icc.engine import in_slices
from wallworthy.icc.lut import Nodes, nodes_grid
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile
from wallworthy.icc.tetrahedra import Corners, between, corners, looked_up, node_colours

Floats = NDArray[np.float32]
Chain = Callable[[NDArray[Any]], Floats]
"""Working RGB (..., 3), 0-1, to device values (..., K), 0-1."""

SIZES: Final = (49, 65, 81, 97, 129)
"""Tried in this order; 33 passed for no profile and way measured, so it is not tried."""

SPARSE: Final = 12
"""Every so manieth probe is tried first, on the nodes around it alone."""
CLEARLY: Final = 1.15
"""These few miss a limit by this factor: the size is not measured further."""

PIECE: Final = 8192
"""Colours worked at a time, so that all of their numbers stay in the processor's cache."""

NO_TABLE: Final = LutFigures(None, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Baked:
    """A table that passed, its figures and what it prints of the probes, Lab (250000, 3); None and zeros for none."""

    nodes: Nodes | None
    figures: LutFigures
    probes_lab: Floats | None = None


def baked(chain: Chain, output: Profile, sizes: tuple[int, ...] | None = None) -> Baked:
    """The smallest table for a chain into `output` that passes.

    Measured over 250,000 seeded colours (`colour.probes`), as dE00 through A2B1 of `output`;
    `LutFigures.passes` holds the limits. sizes: what to try, by default `SIZES`.
    """
    probes = probe_colours()
    some = probes[::SPARSE]
    some_lab = print_lab(output, chain(some))
    whole_lab: Floats | None = None
    for size in SIZES if sizes is None else sizes:
        node, share = corners(size, some)
        around = chain(node_colours(size, node))
        if not _figures(size, de00_between(print_lab(output, between(around, share)), some_lab)).passes(CLEARLY):
            continue
        if whole_lab is None:
            whole_lab = print_lab(output, chain(probes))
        nodes = chain(nodes_grid(size, np.float32))
        printed = print_lab(output, looked_up(nodes, _probe_places(size)))
        figures = _figures(size, de00_between(printed, whole_lab))
        if figures.passes():
            return Baked(nodes, figures, printed)
    return Baked(None, NO_TABLE)


def strays(nodes: Nodes, chain: Chain, output: Profile) -> LutFigures:
    """How far a table lies from a chain that has no outside measure: not held to limits."""
    some = probe_colours()[::SPARSE]
    size = len(nodes)
    errors = de00_between(print_lab(output, looked_up(nodes, corners(size, some))), print_lab(output, chain(some)))
    return _figures(size, errors)


def baked_print(nodes: Nodes, output: Profile, probes_lab: Floats | None = None) -> Baked:
    """What a table of device values prints, as a table of its own: media-relative Lab (A2B1) at the same nodes.

    Measured like `baked`, against the device table's own print (probes_lab, where that is known).
    """
    lab, places = print_lab(output, nodes), _probe_places(len(nodes))
    straight = print_lab(output, looked_up(nodes, places)) if probes_lab is None else probes_lab
    figures = _figures(len(nodes), de00_between(looked_up(lab, places), straight))
    return Baked(lab, figures) if figures.passes() else Baked(None, NO_TABLE)


@lru_cache(maxsize=1)
def _probe_places(size: int) -> Corners:
    return corners(size, probe_colours())


def de00_between(one: Floats, other: Floats) -> Floats:
    """dE00 (n,) between Lab (n, 3), on two threads."""
    errors = np.empty(len(one), dtype=np.float32)

    def work(part: slice) -> None:
        for start in range(part.start, part.stop, PIECE):
            piece = slice(start, min(start + PIECE, part.stop))
            errors[piece] = ciede2000_32(planes_of(one[piece]), planes_of(other[piece]))

    in_slices(len(one), work)
    return errors


def _figures(size: int, errors: Floats) -> LutFigures:
    return LutFigures(
        size, float(errors.mean(dtype=np.float64)), float(np.quantile(errors, 0.999)), float(errors.max())
    )
