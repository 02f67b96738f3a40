"""The whole chain composed once: working RGB -> Lab -> correction -> way -> device, baked into a measured table."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Fitted, LutFigures, Way
from wallworthy.colour.bradford import bradford_matrix
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import correct, tone_knots
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.colour.working import lab_to_working, rgb_to_xyz_matrix, working_to_lab
from wallworthy.fit.ways import Source, asked_to_device, lab_in_condition
from wallworthy.icc.engine import Device, in_slices, to_lab
from wallworthy.icc.lut import apply_lut, nodes_grid
from wallworthy.icc.read import Profile

Array = NDArray[np.float64]
Chain = Callable[[ArrayLike], Device]

SIZES: Final = (49, 65, 81, 97, 129)
"""Tried in this order; 33 passed for no profile and way measured, so it is not tried."""

PROBES: Final = 200_000
FIRST_PROBES: Final = 20_000
MEAN_DE00: Final = 0.1
P999_DE00: Final = 0.5
MAX_DE00: Final = 1.5
SEED: Final = 18619

PIECE: Final = 8192
"""Colours worked at a time, so that all of their numbers stay in the processor's cache."""

CLEARLY: Final = 1.15
"""A tenth of the probes misses a limit by this factor: the size is not measured further."""
FASTEST_GAIN: Final = 1.6
"""The p99.9 error fell no faster than with this power of the size; larger sizes that can't pass are skipped."""

# IEC 61966-2-1 (sRGB): primaries, white and transfer curve; only a cloud of probe colours depends on them.
SRGB_PRIMARIES_XY: Final = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
D65_XYZ: Final = np.array([0.3127 / 0.3290, 1.0, (1 - 0.3127 - 0.3290) / 0.3290])


def direct(output: Profile, way: Way, correction: Correction, source: Source) -> Chain:
    """The chain without a table: a function from working RGB (..., 3), 0-1, to device values (..., K) float32, 0-1.

    Raises InputError when the correction's tones do not rise.
    """
    tone_knots(correction)
    in_condition = lab_in_condition(output, way, source)

    def chain(rgb: ArrayLike) -> Device:
        rgb = np.asarray(rgb)
        if rgb.dtype == np.uint16:
            rgb = rgb / 65535.0
        flat = rgb.reshape(-1, 3)
        asked = np.empty((len(flat), 3), dtype=np.float32)

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                asked[piece] = in_condition(correct(working_to_lab(flat[piece]), correction))

        in_slices(len(flat), work)
        return asked_to_device(output, way, asked).reshape(*rgb.shape[:-1], output.channels)

    return chain


def compose(output: Profile, way: Way, correction: Correction, source: Source) -> Fitted:
    """Bake the chain into the smallest table that keeps the promised accuracy against `direct`.

    Measured over 200,000 seeded colours, half uniform in the working cube and half in sRGB's
    gamut, as dE00 of the predicted print (A2B1): mean <= 0.1, 99.9 % <= 0.5, largest <= 1.5.
    When no table of at most 129 nodes an edge keeps that, `nodes` is None and the direct path is to be used.
    """
    chain = direct(output, way, correction, source)
    nodes, figures = baked(chain, output)
    return Fitted(
        way=way,
        correction=correction,
        condition_sha256=output.sha256,
        device_space=output.space,
        nodes=nodes,
        figures=figures,
    )


def baked(chain: Chain, output: Profile) -> tuple[NDArray[np.float32] | None, LutFigures]:
    """The smallest table for a chain into `output` that passes, and its figures; None and zeros when none does."""
    probes = probe_colours()
    first = slice(0, FIRST_PROBES)
    first_lab = to_lab(output, chain(probes[first]))
    whole_lab: NDArray[np.float32] | None = None
    hopeless_below = 0.0
    for size in SIZES:
        if size < hopeless_below:
            continue
        nodes = chain(nodes_grid(size))
        figures = _figures(size, _errors(nodes, probes[first], first_lab, output))
        if _passes(figures, CLEARLY):
            if whole_lab is None:
                whole_lab = to_lab(output, chain(probes))
            figures = _figures(size, _errors(nodes, probes, whole_lab, output))
            if _passes(figures):
                return nodes, figures
        hopeless_below = size * (figures.p999_de00 / (P999_DE00 * CLEARLY)) ** (1 / FASTEST_GAIN)
    return None, LutFigures(None, 0.0, 0.0, 0.0)


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


@lru_cache(maxsize=1)
def probe_colours() -> NDArray[np.float32]:
    """The seeded colours tables are measured with, working RGB (200000, 3), read-only.

    Cube and sRGB colours alternate, so that any first part is half of each.
    """
    dice = np.random.default_rng(SEED)
    probes = np.empty((PROBES, 3), dtype=np.float32)
    probes[0::2] = dice.uniform(0, 1, (PROBES // 2, 3))
    encoded = dice.uniform(0, 1, (PROBES // 2, 3))
    light = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    to_xyz = bradford_matrix(D65_XYZ, PCS_WHITE) @ rgb_to_xyz_matrix(SRGB_PRIMARIES_XY, D65_XYZ)
    probes[1::2] = np.clip(lab_to_working(xyz_to_lab(light @ to_xyz.T)), 0, 1)
    probes.flags.writeable = False
    return probes


def _errors(
    nodes: NDArray[np.float32], probes: NDArray[np.float32], expected_lab: NDArray[np.float32], output: Profile
) -> Array:
    printed = to_lab(output, apply_lut(nodes, probes[None])[0])
    errors = np.empty(len(probes))

    def work(part: slice) -> None:
        for start in range(part.start, part.stop, PIECE):
            piece = slice(start, min(start + PIECE, part.stop))
            errors[piece] = ciede2000(printed[piece], expected_lab[piece])

    in_slices(len(probes), work)
    return errors


def _figures(size: int, errors: Array) -> LutFigures:
    return LutFigures(size, float(errors.mean()), float(np.quantile(errors, 0.999)), float(errors.max()))


def _passes(figures: LutFigures, slack: float = 1.0) -> bool:
    return (
        figures.mean_de00 <= MEAN_DE00 * slack
        and figures.p999_de00 <= P999_DE00 * slack
        and figures.max_de00 <= MAX_DE00 * slack
    )
