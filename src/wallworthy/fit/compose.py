"""The whole chain composed once: working RGB -> Lab -> correction -> way -> device, baked into a measured table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Fitted, LutFigures, Way
from wallworthy.colour.correction import correct32, tone_knots
from wallworthy.colour.float32 import planes_of, working_to_lab32
from wallworthy.fit.corners import rounded
from wallworthy.fit.inverse import nearest_device
from wallworthy.fit.ways import Source, lab_in_condition32, white_and_black
from wallworthy.icc.bake import NO_TABLE, Baked, baked, baked_print, strays
from wallworthy.icc.engine import Device, in_slices
from wallworthy.icc.lut import apply_lut, nodes_grid, prepared_lut
from wallworthy.icc.quick import print_device, print_lab
from wallworthy.icc.read import Profile

Chain = Callable[[ArrayLike], Device]

OWN_NODES: Final = 65

PIECE: Final = 8192
"""Colours worked at a time, so that all of their numbers stay in the processor's cache."""


def direct(output: Profile, way: Way, correction: Correction, source: Source) -> Chain:
    """The chain without a table: a function from working RGB (..., 3), 0-1, to device values (..., K) float32, 0-1.

    The same steps as `fit.ways.lab_to_device`, in single precision and by `icc.quick`, for whole pictures.
    Raises InputError when the correction's tones do not rise.
    """
    tone_knots(correction)
    in_condition = lab_in_condition32(output, way, source)
    closely = source.greys is not None
    straight = white_and_black(output, way, source) if correction.is_none else None

    def chain(rgb: ArrayLike) -> Device:
        rgb = np.asarray(rgb)
        if rgb.dtype == np.uint16:
            rgb = rgb / np.float32(65535)
        flat = rgb.reshape(-1, 3)
        asked = np.empty((len(flat), 3), dtype=np.float32)

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                planes = planes_of(flat[piece])
                if straight is not None:  # light is scaled before it becomes Lab, rather than back and forth
                    asked[piece] = working_to_lab32(planes, straight).T
                    continue
                planes = working_to_lab32(planes)
                if closely:
                    planes[1:] = 0
                asked[piece] = in_condition(correct32(planes, correction)).T

        in_slices(len(flat), work)
        if way.is_chosen or closely:
            device = nearest_device(output, asked)
        else:
            device = print_device(output, asked, way.table_intent)
        return np.clip(device, 0.0, 1.0, out=device).reshape(*rgb.shape[:-1], output.channels)

    return chain


def compose(output: Profile, way: Way, correction: Correction, source: Source) -> Fitted:
    """Bake the chain into the smallest table that keeps the promised accuracy against `direct`.

    Measured over 250,000 seeded colours of the working cube, of sRGB and of the dark half of sRGB, as
    dE00 of the predicted print (A2B1): mean <= 0.09, 99.9 % <= 0.42, largest <= 1.5 (`LutFigures.passes`).
    When no table of at most 129 nodes an edge keeps that, `nodes` is None and the direct path is to be used.
    A way that is chosen for the picture has nothing outside to agree with: its table of OWN_NODES is the
    way, and the figures only say how far it lies from the function it was made from.
    """
    chain = direct(output, way, correction, source)
    if way.is_chosen:
        nodes = rounded(chain(nodes_grid(OWN_NODES)), chain)
        table = Baked(nodes, strays(nodes, chain, output))
    else:
        table = baked(chain, output)
    return Fitted(
        way=way,
        correction=correction,
        condition_sha256=output.sha256,
        device_space=output.space,
        nodes=table.nodes,
        figures=table.figures,
        probes_lab=table.probes_lab,
    )


def device_of(
    fitted: Fitted, pixels: NDArray[Any], *, output: Profile | None = None, source: Source | None = None
) -> Device:
    """Device values (H, W, K) float32, 0-1, of working pixels (H, W, 3), uint16 or floats 0-1.

    `output` and `source` are needed only when no table was good enough (`fitted.nodes` is None).
    Raises InputError for NaN.
    """
    if pixels.dtype != np.uint16 and np.isnan(pixels).any():
        raise InputError(
            "pixels_nan", "The picture holds samples that are no numbers (NaN).", "Save it again without them."
        )
    if fitted.nodes is not None:
        return apply_lut(fitted.nodes, pixels)
    if output is None or source is None:
        raise ValueError("no table was good enough: the direct path needs the output profile and the source")
    if pixels.dtype != np.uint16:
        pixels = np.clip(pixels, 0.0, 1.0)
    return direct(output, fitted.way, fitted.correction, source)(pixels)


@dataclass(frozen=True, slots=True)
class Predicted:
    """What a fitted chain prints: a function from working pixels (..., 3) to media-relative Lab (..., 3).

    figures: how well a table of Lab stands in for device values through A2B1; its size is None when none does.
    """

    lab_of: Callable[[NDArray[Any]], NDArray[np.float32]]
    figures: LutFigures


def predicted(fitted: Fitted, *, output: Profile, source: Source) -> Predicted:
    """The print of a fitted chain in one step, for proofs: four times as quick as its device values through A2B1.

    Measured over the same colours and held to the same limits as `compose`; if no table passes,
    device values and A2B1 it is.
    """
    nodes = fitted.nodes
    table = Baked(None, NO_TABLE) if nodes is None else baked_print(nodes, output, fitted.probes_lab)
    if table.nodes is not None:
        return Predicted(prepared_lut(table.nodes), table.figures)

    def printed(pixels: NDArray[Any]) -> NDArray[np.float32]:
        return print_lab(output, device_of(fitted, pixels, output=output, source=source))

    return Predicted(printed, table.figures)
