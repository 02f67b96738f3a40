"""Version 4 tables with every stage, every curve function, and more inks, against littleCMS."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from support.lut_eval import from_lab, to_lab
from support.small_profiles import hand_made, small_output
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc import engine
from wallworthy.icc.curves import Curve, GammaCurve, ParametricCurve, TableCurve, read_curve
from wallworthy.icc.encode import numbers_element
from wallworthy.icc.luts import Clut, Curves, Matrix
from wallworthy.icc.read import parse_profile, read_lut
from wallworthy.icc.span import Span
from wallworthy.icc.write import grey_profile_of

RNG = np.random.default_rng(11)

FUNCTIONS = [
    ParametricCurve(0, (1.7,)),
    ParametricCurve(1, (2.2, 0.9, 0.1)),
    ParametricCurve(2, (1.8, 0.8, 0.1, 0.05)),
    ParametricCurve(3, (2.4, 0.948, 0.052, 0.0774, 0.0405)),
    ParametricCurve(4, (2.0, 0.9, 0.08, 0.2, 0.1, 0.02, 0.0289)),
]


def padded(element: bytes) -> bytes:
    return element + bytes(-len(element) % 4)


def curve_set(curves: list[Curve]) -> bytes:
    return b"".join(padded(curve.encode()) for curve in curves)


def full_table(kind: bytes, nodes: np.ndarray, width: int) -> bytes:
    """A, grid, M, matrix and B, laid out in that order; three channels at both ends."""
    a_curves = curve_set([FUNCTIONS[0], FUNCTIONS[1], TableCurve(np.linspace(0, 1, 9) ** 1.3)])
    m_curves = curve_set([FUNCTIONS[3], FUNCTIONS[4], GammaCurve(1.5)])
    b_curves = curve_set([GammaCurve(1.0), FUNCTIONS[2], TableCurve(np.linspace(0.02, 0.97, 5))])
    matrix = numbers_element([0.6, 0.2, 0.1, 0.1, 0.7, 0.1, 0.05, 0.1, 0.6, 0.03, 0.02, 0.05])[8:]
    codes = np.round(nodes * (255 if width == 1 else 65535)).astype(">u1" if width == 1 else ">u2").tobytes()
    grid = padded(bytes(nodes.shape[:3]).ljust(16, b"\0") + struct.pack(">B3x", width) + codes)
    places, at = [], 32
    for part in (b_curves, matrix, m_curves, grid, a_curves):
        places.append(at)
        at += len(part)
    head = struct.pack(">4sIBBH5I", kind, 0, 3, 3, 0, *places)
    return head + b_curves + matrix + m_curves + grid + a_curves


def full_profile(pcs: str, width: int) -> bytes:
    nodes = RNG.random((3, 4, 5, 3)) * 0.8 + 0.1
    tags = {"A2B0": full_table(b"mAB ", nodes, width), "B2A0": full_table(b"mBA ", nodes, width)}
    return hand_made("prtr", "RGB", pcs, tags)


@pytest.mark.source("littleCMS", "lutAToBType, float pipeline without optimisation")
@pytest.mark.parametrize("pcs", ["LAB", "XYZ"])
@pytest.mark.parametrize("width", [1, 2])
def test_every_stage_towards_lab(pcs: str, width: int) -> None:
    profile = parse_profile(full_profile(pcs, width))
    table = read_lut(profile, "A2B0")
    assert [type(stage) for stage in table.stages] == [Curves, Clut, Curves, Matrix, Curves]
    device = RNG.random((2000, 3)).astype(np.float32)
    difference = ciede2000(to_lab(table, device, "tetrahedral"), engine.to_lab(profile, device, "perceptual"))
    assert difference.mean() <= 0.01
    assert difference.max() <= 0.1


@pytest.mark.source("littleCMS", "lutBToAType, float pipeline without optimisation")
@pytest.mark.parametrize("pcs", ["LAB", "XYZ"])
def test_every_stage_towards_the_device(pcs: str) -> None:
    profile = parse_profile(full_profile(pcs, 2))
    table = read_lut(profile, "B2A0")
    assert [type(stage) for stage in table.stages] == [Curves, Matrix, Curves, Clut, Curves]
    lab = (RNG.random((2000, 3)) * [90, 60, 60] - [-5, 30, 30]).astype(np.float32)
    theirs = engine.from_lab(profile, lab, "perceptual")
    # From Lab littleCMS goes by straight lines over all inputs, from XYZ by tetrahedra.
    ours = from_lab(table, lab, "linear" if pcs == "LAB" else "tetrahedral")
    assert np.abs(ours - theirs).max() <= 1e-3


@pytest.mark.source("ICC2022", "section 10.18, parametricCurveType")
@pytest.mark.parametrize("curve", [*FUNCTIONS, GammaCurve(1.8), TableCurve(np.linspace(0, 1, 7) ** 2)])
def test_curves_come_back_and_littlecms_agrees(curve: Curve) -> None:
    element = curve.encode()
    again, size = read_curve(Span(element, 0, len(element), "the curve", "the test"))
    assert size == len(element)
    x = np.linspace(0, 1, 201)
    assert again(x) == pytest.approx(curve(x), abs=2e-4)  # u8Fixed8 keeps 1.8 as 1.80078
    profile = parse_profile(grey_profile_of("Grey", "None", curve, version=4))
    lightness = engine.to_lab(profile, x[:, None], "relative")[:, 0]
    y = np.where(lightness > 8, ((lightness + 16) / 116) ** 3, lightness * 27 / 24389)
    assert y == pytest.approx(again(x), abs=5e-5)


@pytest.mark.source("littleCMS", "tables of one, four, five and six inputs")
@pytest.mark.parametrize(("space", "channels"), [("GRAY", 1), ("CMYK", 4), ("5CLR", 5), ("6CLR", 6)])
@pytest.mark.parametrize("version", [2, 4])
def test_more_and_fewer_inks(space: str, channels: int, version: int) -> None:
    profile = parse_profile(small_output(version, space, channels))
    device = RNG.random((500, channels)).astype(np.float32)
    ours = to_lab(read_lut(profile, "A2B1"), device, "tetrahedral")
    assert ciede2000(ours, engine.to_lab(profile, device, "relative")).max() <= 0.02
    lab = (RNG.random((500, 3)) * [100, 100, 100] - [0, 50, 50]).astype(np.float32)
    inks = from_lab(read_lut(profile, "B2A1"), lab, "linear")
    assert np.abs(inks - engine.from_lab(profile, lab, "relative")).max() <= 1e-3
