"""Prints that went wrong, by the virtual printer: every fault the diagnosis knows, of chance strength."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import xyz_to_lab
from wallworthy.demo.driver import Driver, calibrate_driver
from wallworthy.demo.inkjet import build_model, unsteady
from wallworthy.demo.parameters import INKS, load_parameters
from wallworthy.demo.spectra import spectra_to_xyz
from wallworthy.icc.lut import apply_lut, nodes_grid
from wallworthy.raster.vision import smoothed, warped
from wallworthy.trial.faults import FaultKind
from wallworthy.trial.mishaps import (
    Printing,
    adjusted,
    balanced,
    black_of,
    srgb_lab,
    srgb_numbers,
    unpressed,
    wide_lab,
    wide_numbers,
)

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

EDGE = 21
PIECE = 1 << 17


@dataclass(frozen=True, slots=True, eq=False)
class Mishap:
    """What is to go wrong. ink: for inks. amounts: the fault's numbers, see `draw_mishap`."""

    kind: FaultKind
    ink: str | None
    amounts: Array
    other: str | None = None
    second_unit: bool = False
    seed: int = 0


def draw_mishap(kind: FaultKind, random: np.random.Generator, others: tuple[str, ...]) -> Mishap:
    """A fault of chance strength, strong enough that a person would mind it."""
    ink, other, amounts = None, None, np.zeros(0)
    sign = float(random.choice([-1, 1]))
    if kind is FaultKind.INK_MISSING:
        ink = str(random.choice(INKS))
    elif kind is FaultKind.INK_WEAK:
        ink, amounts = str(random.choice(INKS[:4])), random.uniform(0.35, 0.65, 1)
    elif kind is FaultKind.WRONG_PROFILE:
        other = str(random.choice(others))
    elif kind in (FaultKind.PROFILE_TWICE, FaultKind.PROFILE_NOT_APPLIED):
        amounts = np.array([float(random.random() < 0.3)])
    elif kind is FaultKind.DRIVER_ADJUSTMENT:
        amounts = np.array([sign * random.uniform(0.25, 0.7), sign * random.uniform(0.15, 0.4), random.normal(0, 0.06)])
    elif kind is FaultKind.LAB_AUTO_CORRECTION:
        amounts = np.array([random.uniform(0.45, 1.0), random.uniform(0, 0.8), random.normal(0, 0.12)])
    elif kind is FaultKind.BANDING:
        amounts = np.array([random.uniform(0.03, 0.09), random.uniform(0.8, 2.4)])
    elif kind is FaultKind.WRONG_SIZE:
        amounts = random.uniform(0.94, 0.97, 1)
    elif kind is FaultKind.WRONG_SIDE:
        amounts = np.array([random.uniform(0.45, 0.65), random.uniform(0.1, 0.35), random.uniform(0.04, 0.14)])
    return Mishap(kind, ink, amounts, other, bool(random.random() < 0.4), int(random.integers(1 << 30)))


class Workshop:
    """A printer with one paper, its driver calibrated once, for many prints."""

    def __init__(self, paper: str) -> None:
        self.paper = paper
        self.first = load_parameters(paper, "first")
        self.second = load_parameters(paper, "second")
        self.driver: Driver = calibrate_driver(self.first, build_model(self.first))
        self.grid = nodes_grid(EDGE).reshape(-1, 3)
        self.inks = self.driver.inks(self.grid)

    def table(self, mishap: Mishap) -> Floats:
        """Lab by device RGB of today's machine, with its inks scaled as the mishap has them."""
        parameters = self.second if mishap.second_unit else self.first
        model = build_model(unsteady(parameters, np.random.default_rng(mishap.seed)))
        share = np.ones(len(INKS))
        if mishap.kind is FaultKind.INK_MISSING and mishap.ink:
            share[INKS.index(mishap.ink)] = 0.0
        if mishap.kind is FaultKind.INK_WEAK and mishap.ink:
            share[INKS.index(mishap.ink)] = 1 - float(mishap.amounts[0])
        lab = xyz_to_lab(spectra_to_xyz(model.spectra(self.inks * share)))
        return lab.astype(np.float32).reshape(EDGE, EDGE, EDGE, 3)

    def effect_de00(self, samples: Floats, mishap: Mishap, own: Printing, others: Mapping[str, Printing]) -> float:
        """How much a mishap of inks or numbers changes device samples (n, 3), mean, on today's machine."""
        good = apply_lut(self.table(replace(mishap, kind=FaultKind.AS_EXPECTED)), samples[None])
        bad = apply_lut(self.table(mishap), _converted(samples[None], mishap, own, others))
        return float(ciede2000(good, bad).mean())

    def print(
        self, device: Floats, mishap: Mishap, own: Printing, others: Mapping[str, Printing], ppi: float
    ) -> Floats:
        """Print a sheet (H, W, 3) with its mishap: ICC-absolute Lab (H, W, 3), D50.

        own, others: conversions by the profiles of this and of the other papers (`trial.mishaps.Printing`).
        """
        sent = _converted(device, mishap, own, others)
        lab = apply_lut(self.table(mishap), sent)
        kind = mishap.kind
        if kind is FaultKind.BANDING:
            lab[..., 0] *= 1 + _stripes(lab.shape[0], mishap, ppi)[:, None] * (1 - lab[..., 0] / 100)
        elif kind is FaultKind.WRONG_SIDE:
            lab = _wrong_side(lab, mishap, ppi)
        elif kind is FaultKind.WRONG_SIZE:
            lab = _resized(lab, float(mishap.amounts[0]))
        return lab


def _converted(device: Floats, mishap: Mishap, own: Printing, others: Mapping[str, Printing]) -> Floats:
    """The numbers that really reach the driver."""
    kind, amounts = mishap.kind, [float(value) for value in mishap.amounts]
    if kind in (FaultKind.PROFILE_TWICE, FaultKind.PROFILE_NOT_APPLIED, FaultKind.WRONG_PROFILE):

        def change(flat: Array) -> Array:
            if kind is FaultKind.PROFILE_TWICE:
                return own.device_of(wide_lab(flat) if amounts[0] else srgb_lab(flat))
            lab = unpressed(own.print_lab(flat), black_of(own, 3))
            if kind is FaultKind.PROFILE_NOT_APPLIED:
                return wide_numbers(lab) if amounts[0] else srgb_numbers(lab)
            return others[mishap.other or ""].device_of(lab)

        return _mapped(device, change)
    if kind is FaultKind.DRIVER_ADJUSTMENT:
        return _mapped(device, lambda flat: adjusted(flat, amounts[0], amounts[1], amounts[2]))
    if kind is FaultKind.LAB_AUTO_CORRECTION:
        inked = device.min(axis=2) < 0.98
        mean = device[inked].mean(axis=0, dtype=np.float64)
        return _mapped(device, lambda flat: balanced(flat, mean, amounts[0], amounts[1], amounts[2]))
    return device


def _mapped(device: Floats, change: Callable[[Array], Array]) -> Floats:
    edge = 33
    nodes = np.asarray(change(nodes_grid(edge).reshape(-1, 3)), dtype=np.float32).reshape(edge, edge, edge, 3)
    return np.clip(apply_lut(nodes, device), 0, 1)


def _stripes(rows: int, mishap: Mishap, ppi: float) -> Array:
    """Lightness by row: a head's passes, each with its own small step, and a wave."""
    random = np.random.default_rng(mishap.seed)
    depth, period_mm = (float(value) for value in mishap.amounts)
    at = np.arange(rows) / ppi * 25.4
    steps = random.normal(0, 0.6, int(at[-1] / period_mm) + 2)
    return depth * (np.sin(2 * np.pi * at / period_mm + random.uniform(0, 6)) + steps[(at / period_mm).astype(int)])


def _wrong_side(lab: Floats, mishap: Mishap, ppi: float) -> Floats:
    """Ink sinks in: lower density, duller, and it bleeds."""
    density, dull, bleed_mm = (float(value) for value in mishap.amounts)
    blurred = smoothed(lab, bleed_mm / 25.4 * ppi)
    white = np.median(lab.reshape(-1, 3)[lab.reshape(-1, 3)[:, 0] >= np.quantile(lab[..., 0], 0.8)], axis=0)
    sunk = white[0] * (blurred[..., 0] / white[0]) ** density
    out = np.empty_like(lab)
    out[..., 0] = np.maximum(sunk, 0.0)
    out[..., 1:] = white[1:] + (blurred[..., 1:] - white[1:]) * density * (1 - dull)
    return out


def _resized(lab: Floats, scale: float) -> Floats:
    """Printed smaller (or larger) on paper of the same size, about its middle."""
    height, width = lab.shape[:2]
    middle = (np.array([width, height]) - 1) / 2
    to_source = np.array(
        [[1 / scale, 0, middle[0] * (1 - 1 / scale)], [0, 1 / scale, middle[1] * (1 - 1 / scale)], [0, 0, 1]]
    )
    seen = warped(lab, to_source, (width, height))
    return np.where(np.isfinite(seen), seen, lab[0, 0])
