"""An evaluation of parsed lookup tables in plain numpy, sharing nothing with the colour engine.

Curves, matrix, grid and encodings as ICC.1:2022 sections 6.3.4 and 10.10 to 10.13 state them. The
standard leaves the interpolation between grid points open, so both usual ones are here.
"""

from __future__ import annotations

from itertools import product
from typing import Literal

import numpy as np

from wallworthy.icc.curves import Curve, GammaCurve, TableCurve
from wallworthy.icc.luts import Clut, Curves, Encoding, LutTag

Interpolation = Literal["linear", "tetrahedral"]

WHITE = np.array([0.9642, 1.0, 0.8249])
LAB_SHIFT = np.array([0.0, 128.0, 128.0])


def evaluate(table: LutTag, values: np.ndarray, interpolation: Interpolation) -> np.ndarray:
    """Values at one end of a table to values at the other: device 0-1, or Lab units at a Lab end, XYZ at an XYZ end.

    values: (N, inputs). 'tetrahedral' is Kasson's six tetrahedra over the last three inputs and
    straight lines over any before them; 'linear' is straight lines over all.
    """
    x = np.clip(encode(values, table.input_encoding), 0, 1)
    for stage in table.stages:
        if isinstance(stage, Curves):
            x = np.stack([curve_at(curve, x[:, n]) for n, curve in enumerate(stage.curves)], axis=1)
        elif isinstance(stage, Clut):
            x = np.clip(x, 0, 1)
            x = linear(stage.nodes, x) if interpolation == "linear" else tetrahedral(stage.nodes, x)
        else:
            x = np.clip(x @ stage.matrix.T + stage.offset, 0, 1)
    return decode(x, table.output_encoding)


def to_lab(table: LutTag, device: np.ndarray, interpolation: Interpolation) -> np.ndarray:
    """An A2B table's result as Lab, whatever its PCS."""
    out = evaluate(table, device, interpolation)
    return xyz_to_lab(out) if table.output_encoding == Encoding.XYZ else out


def from_lab(table: LutTag, lab: np.ndarray, interpolation: Interpolation) -> np.ndarray:
    """A B2A table's device values for Lab, whatever its PCS."""
    return evaluate(table, lab_to_xyz(lab) if table.input_encoding == Encoding.XYZ else lab, interpolation)


def decode(v: np.ndarray, encoding: Encoding) -> np.ndarray:
    if encoding == Encoding.LAB:
        return v * [100, 255, 255] - LAB_SHIFT
    if encoding == Encoding.LAB_LEGACY:
        return v * 65535 / [652.8, 256, 256] - LAB_SHIFT
    return v * 65535 / 32768 if encoding == Encoding.XYZ else v


def encode(values: np.ndarray, encoding: Encoding) -> np.ndarray:
    values = np.asarray(values, dtype=np.float64)
    if encoding == Encoding.LAB:
        return (values + LAB_SHIFT) / [100, 255, 255]
    if encoding == Encoding.LAB_LEGACY:
        return (values + LAB_SHIFT) * [652.8, 256, 256] / 65535
    return values * 32768 / 65535 if encoding == Encoding.XYZ else values


def curve_at(curve: Curve, x: np.ndarray) -> np.ndarray:
    x = np.clip(x, 0, 1)
    if isinstance(curve, GammaCurve):
        return x**curve.gamma
    if isinstance(curve, TableCurve):
        low, share = _cell(x, len(curve.values))
        return curve.values[low] * (1 - share) + curve.values[low + 1] * share
    return np.array([_parametric(curve.kind, curve.parameters, value) for value in x])


def _parametric(kind: int, p: tuple[float, ...], x: float) -> float:
    """One value of a 'para' curve, ICC.1:2022 table 68, written out type by type."""
    g = p[0]
    if kind == 0:
        y = x**g
    elif kind == 1:
        y = (p[1] * x + p[2]) ** g if x >= -p[2] / p[1] else 0.0
    elif kind == 2:
        y = (p[1] * x + p[2]) ** g + p[3] if x >= -p[2] / p[1] else p[3]
    elif kind == 3:
        y = (p[1] * x + p[2]) ** g if x >= p[4] else p[3] * x
    else:
        y = (p[1] * x + p[2]) ** g + p[5] if x >= p[4] else p[3] * x + p[6]
    return min(max(y, 0.0), 1.0)


def _cell(x: np.ndarray, points: int) -> tuple[np.ndarray, np.ndarray]:
    place = x * (points - 1)
    low = np.minimum(place.astype(int), points - 2)
    return low, place - low


def linear(nodes: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Multilinear interpolation over all the 2**n corners of a cell."""
    cells = [_cell(x[:, n], nodes.shape[n]) for n in range(x.shape[1])]
    out = np.zeros((len(x), nodes.shape[-1]))
    for corner in product((0, 1), repeat=x.shape[1]):
        weight = np.prod([share if c else 1 - share for c, (_, share) in zip(corner, cells, strict=True)], axis=0)
        place = tuple(low + c for c, (low, _) in zip(corner, cells, strict=True))
        out += weight[:, None] * nodes[place]
    return out


def tetrahedral(nodes: np.ndarray, x: np.ndarray) -> np.ndarray:
    """Six tetrahedra over the last three inputs; straight lines over the inputs before them."""
    if x.shape[1] < 3:
        return linear(nodes, x)
    if x.shape[1] == 3:
        return _six(nodes, x, ())
    extra = x.shape[1] - 3
    cells = [_cell(x[:, n], nodes.shape[n]) for n in range(extra)]
    out = np.zeros((len(x), nodes.shape[-1]))
    for corner in product((0, 1), repeat=extra):
        weight = np.prod([share if c else 1 - share for c, (_, share) in zip(corner, cells, strict=True)], axis=0)
        place = tuple(low + c for c, (low, _) in zip(corner, cells, strict=True))
        out += weight[:, None] * _six(nodes, x[:, extra:], place)
    return out


def _six(nodes: np.ndarray, x: np.ndarray, before: tuple[np.ndarray, ...]) -> np.ndarray:
    """From the cell's first corner to its last along the axes in falling order of their shares."""
    skip = len(before)
    cells = [_cell(x[:, n], nodes.shape[skip + n]) for n in range(3)]
    corner = np.stack([low for low, _ in cells])
    shares = np.stack([share for _, share in cells])
    order = np.argsort(-shares, axis=0, kind="stable")
    at = nodes[(*before, *corner)]
    out = at.copy()
    everyone = np.arange(len(x))
    for step in range(3):
        axis = order[step]
        corner[axis, everyone] += 1
        following = nodes[(*before, *corner)]
        out += shares[axis, everyone][:, None] * (following - at)
        at = following
    return out


def xyz_to_lab(xyz: np.ndarray) -> np.ndarray:
    """ISO/CIE 11664-4, ICC D50."""
    t = xyz / WHITE
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.stack([116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1)


def lab_to_xyz(lab: np.ndarray) -> np.ndarray:
    fy = (lab[:, 0] + 16) / 116
    f = np.stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200], axis=1)
    return WHITE * np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29))
