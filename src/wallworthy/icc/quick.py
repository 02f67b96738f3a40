"""The colour engine's answers for whole pictures: a profile's table of three inputs by wide registers.

A table is taken apart, set up in OpenColorIO with the same curves, nodes and tetrahedra, and used only
when it gives the engine's own answers on a few thousand colours; else the engine itself is asked. The
engine is the measure throughout: it works in whole numbers of 16 bits, and nothing but that rounding
lies between the two. Some ten times as quick.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any, Final, Literal

import numpy as np
import PyOpenColorIO
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.icc.curves import IDENTITY, Curve, TableCurve
from wallworthy.icc.engine import Device, Intent, Lab, from_lab, in_slices, to_lab
from wallworthy.icc.luts import Clut, Curves, Encoding, LutTag
from wallworthy.icc.read import Profile, read_lut

ocio: Any = PyOpenColorIO
Floats = NDArray[np.float32]
Evaluate = Callable[[Floats], Floats]

NUMBERS: Final[dict[Intent, str]] = {"perceptual": "0", "relative": "1", "saturation": "2"}
LARGEST_EDGE: Final = 129
"""OpenColorIO's limit of nodes per edge."""
FINE_CURVE: Final = 1 << 14
"""Samples that stand for a curve given as a formula."""
PIECE: Final = 1 << 14

TRIED: Final = 4096
SEED: Final = 18619
NEAR_LAB: Final = (0.004, 0.02)
NEAR_DEVICE: Final = (5e-5, 1e-3)
"""Mean and largest difference from the engine that count as its rounding to 16 bits between the steps."""

LAB_SCALE: Final = {
    Encoding.LAB: ((1 / 100, 1 / 255, 1 / 255), (0.0, 128 / 255, 128 / 255)),
    Encoding.LAB_LEGACY: ((652.8 / 65535, 256 / 65535, 256 / 65535), (0.0, 32768 / 65535, 32768 / 65535)),
}
"""Lab to 0-1 as factors and offsets: ICC.1:2022 section 6.3.4.2 and 10.10."""


def print_lab(profile: Profile, device: ArrayLike, intent: Intent = "relative") -> Lab:
    """As `engine.to_lab`, for whole pictures."""
    values = np.asarray(device, dtype=np.float32)
    table = _table(profile, "A2B", intent)
    return to_lab(profile, values, intent) if table is None else table(values)


def print_device(profile: Profile, lab: ArrayLike, intent: Intent = "relative") -> Device:
    """As `engine.from_lab`, for whole pictures."""
    values = np.asarray(lab, dtype=np.float32)
    table = _table(profile, "B2A", intent)
    return from_lab(profile, values, intent) if table is None else table(values)


def is_quick(profile: Profile, direction: Literal["A2B", "B2A"], intent: Intent = "relative") -> bool:
    """Whether the engine itself is spared in that direction."""
    return _table(profile, direction, intent) is not None


def forget() -> None:
    """Set tables up and try them anew."""
    _tried.cache_clear()


def _table(profile: Profile, direction: str, intent: Intent) -> Evaluate | None:
    if intent not in NUMBERS or (direction == "A2B" and profile.channels != 3):
        return None
    return _tried(_Key(profile), direction, intent)


class _Key:
    """A profile by its bytes: what the last few tables are remembered by."""

    def __init__(self, profile: Profile) -> None:
        self.profile = profile

    def __hash__(self) -> int:
        return hash(self.profile.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and self.profile.sha256 == other.profile.sha256


@functools.lru_cache(maxsize=8)
def _tried(key: _Key, direction: str, intent: Intent) -> Evaluate | None:
    """The table set up, or None when it can't be or does not give the engine's answers."""
    profile = key.profile
    try:
        tag = read_lut(profile, direction + NUMBERS[intent])
    except InputError:
        return None
    evaluate = _set_up(tag)
    if evaluate is None:
        return None
    dice = np.random.default_rng(SEED)
    if direction == "A2B":
        colours = dice.uniform(0, 1, (TRIED, 3)).astype(np.float32)
        colours[:8] = [[n & 1, n >> 1 & 1, n >> 2] for n in range(8)]
        off, near = np.abs(evaluate(colours) - to_lab(profile, colours, intent)), NEAR_LAB
    else:
        colours = dice.uniform([-2, -140, -140], [102, 140, 140], (TRIED, 3)).astype(np.float32)
        colours[:2] = [[100, 0, 0], [0, 0, 0]]
        off, near = np.abs(evaluate(colours) - from_lab(profile, colours, intent)), NEAR_DEVICE
    return evaluate if off.mean() <= near[0] and off.max() <= near[1] else None


def _set_up(tag: LutTag) -> Evaluate | None:
    """Curves, one grid of three inputs, curves; None for anything else."""
    cluts = [stage for stage in tag.stages if isinstance(stage, Clut)]
    if tag.inputs != 3 or len(cluts) != 1 or not all(isinstance(stage, Clut | Curves) for stage in tag.stages):
        return None
    nodes = cluts[0].nodes
    if len(set(nodes.shape[:3])) != 1 or nodes.shape[0] > LARGEST_EDGE:
        return None
    if not {tag.input_encoding, tag.output_encoding} <= {Encoding.DEVICE, *LAB_SCALE}:
        return None
    groups = [slice(first, min(first + 3, tag.outputs)) for first in range(0, tag.outputs, 3)]
    lookups = [(part, _processor(tag, part)) for part in groups]

    def evaluate(values: Floats) -> Floats:
        flat = np.ascontiguousarray(values.reshape(-1, 3), dtype=np.float32)
        out = np.empty((len(flat), tag.outputs), dtype=np.float32)

        def work(slab: slice) -> None:
            for start in range(slab.start, slab.stop, PIECE):
                piece = slice(start, min(start + PIECE, slab.stop))
                _apply(lookups, flat[piece], out[piece])

        if len(flat):
            in_slices(len(flat), work)
        return out.reshape(*values.shape[:-1], tag.outputs)

    return evaluate


def _apply(lookups: list[tuple[slice, Any]], values: Floats, out: Floats) -> None:
    count = len(values)
    source = ocio.PackedImageDesc(values, count, 1, 3)
    if out.shape[1] == 3:
        lookups[0][1].apply(source, ocio.PackedImageDesc(out, count, 1, 3))
        return
    three = np.empty((count, 3), dtype=np.float32)
    into = ocio.PackedImageDesc(three, count, 1, 3)
    for part, lookup in lookups:
        lookup.apply(source, into)
        out[:, part] = three[:, : part.stop - part.start]


def _processor(tag: LutTag, part: slice) -> Any:
    """All steps of a table for up to three of its outputs, Lab in its own units at either end."""
    steps = ocio.GroupTransform()
    if tag.input_encoding in LAB_SCALE:
        steps.appendTransform(_scaling(*LAB_SCALE[tag.input_encoding]))
    after_grid = False
    for stage in tag.stages:
        if isinstance(stage, Clut):
            steps.appendTransform(_grid(stage.nodes[..., part], from_lab_units=tag.input_encoding in LAB_SCALE))
            after_grid = True
        elif isinstance(stage, Curves):
            curves = stage.curves[part] if after_grid else stage.curves
            if any(curve != IDENTITY for curve in curves):
                steps.appendTransform(_curves(curves))
    if tag.output_encoding in LAB_SCALE:
        factors, offsets = LAB_SCALE[tag.output_encoding]
        back = tuple(1 / factor for factor in factors)
        steps.appendTransform(_scaling(back, tuple(-o * b for o, b in zip(offsets, back, strict=True))))
    processor = ocio.Config.CreateRaw().getProcessor(steps)
    return processor.getOptimizedCPUProcessor(ocio.BIT_DEPTH_F32, ocio.BIT_DEPTH_F32, ocio.OPTIMIZATION_NONE)


def _scaling(factors: tuple[float, ...], offsets: tuple[float, ...]) -> Any:
    step = ocio.MatrixTransform()
    step.setMatrix(np.diag([*factors, 1.0]).ravel().tolist())
    step.setOffset([*offsets, 0.0])
    return step


def _grid(nodes: NDArray[np.float64], *, from_lab_units: bool) -> Any:
    """A grid as the engine reads it: by its eight corners where it starts from Lab, else by tetrahedra."""
    three = np.zeros((*nodes.shape[:3], 3), dtype=np.float32)
    three[..., : nodes.shape[-1]] = nodes
    step = ocio.Lut3DTransform(nodes.shape[0])
    step.setInterpolation(ocio.INTERP_LINEAR if from_lab_units else ocio.INTERP_TETRAHEDRAL)
    step.setData(three.ravel())
    return step


def _curves(curves: tuple[Curve, ...]) -> Any:
    """Up to three curves as samples; straight lines between them, as in the profile."""
    lengths = {len(curve.values) if isinstance(curve, TableCurve) else FINE_CURVE for curve in curves}
    count = lengths.pop() if len(lengths) == 1 else FINE_CURVE
    samples = np.zeros((count, 3), dtype=np.float32)
    for channel, curve in enumerate(curves):
        samples[:, channel] = curve(np.linspace(0, 1, count))
    step = ocio.Lut1DTransform(count, False)
    step.setInterpolation(ocio.INTERP_LINEAR)
    step.setData(samples.ravel())
    return step
