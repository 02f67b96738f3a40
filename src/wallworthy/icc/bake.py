"""Baking a conversion of working RGB into the smallest table that keeps the promised accuracy, measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import TABLE_P999_DE00, LutFigures
from wallworthy.colour.float32 import ciede2000_32, planes_of
from wallworthy.colour.probes import probe_colours
from wallworthy.icc.engine import in_slices
from wallworthy.icc.lut import Nodes, nodes_grid, prepared_lut
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile

Floats = NDArray[np.float32]
Chain = Callable[[NDArray[Any]], Floats]
"""Working RGB (..., 3), 0-1, to device values (..., K), 0-1."""

SIZES: Final = (49, 65, 81, 97, 129)
"""Tried in this order; 33 passed for no profile and way measured, so it is not tried."""

FIRST_PROBES: Final = 20_000
CLEARLY: Final = 1.15
"""A tenth of the probes misses a limit by this factor: the size is not measured further."""
FASTEST_GAIN: Final = 1.6
"""The p99.9 error fell no faster than with this power of the size; larger sizes that can't pass are skipped."""

PIECE: Final = 8192
"""Colours worked at a time, so that all of their numbers stay in the processor's cache."""

NO_TABLE: Final = LutFigures(None, 0.0, 0.0, 0.0)


def baked(chain: Chain, output: Profile, sizes: tuple[int, ...] | None = None) -> tuple[Nodes | None, LutFigures]:
    """The smallest table for a chain into `output` that passes, and its figures; None and zeros when none does.

    Measured over 250,000 seeded colours (`colour.probes`), as dE00 through A2B1 of `output`;
    `LutFigures.passes` holds the limits. sizes: what to try, by default `SIZES`.
    """
    probes = probe_colours()
    first = slice(0, FIRST_PROBES)
    first_lab = print_lab(output, chain(probes[first]))
    whole_lab: Floats | None = None
    hopeless_below = 0.0
    for size in SIZES if sizes is None else sizes:
        if size < hopeless_below:
            continue
        nodes = chain(nodes_grid(size))
        look_up = prepared_lut(nodes)
        figures = _figures(size, de00_between(print_lab(output, look_up(probes[first])), first_lab))
        if figures.passes(CLEARLY):
            if whole_lab is None:
                whole_lab = print_lab(output, chain(probes))
            figures = _figures(size, de00_between(print_lab(output, look_up(probes)), whole_lab))
            if figures.passes():
                return nodes, figures
        hopeless_below = size * (figures.p999_de00 / (TABLE_P999_DE00 * CLEARLY)) ** (1 / FASTEST_GAIN)
    return None, NO_TABLE


def baked_print(nodes: Nodes, output: Profile) -> tuple[Nodes | None, LutFigures]:
    """What a table of device values prints, as a table of its own: media-relative Lab (A2B1) at the same nodes.

    Measured like `baked`, against the device table's own print; None and zeros when it does not pass.
    """
    probes = probe_colours()
    lab = print_lab(output, nodes)
    straight = print_lab(output, prepared_lut(nodes)(probes))
    figures = _figures(len(nodes), de00_between(prepared_lut(lab)(probes), straight))
    return (lab, figures) if figures.passes() else (None, NO_TABLE)


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
