"""The virtual printer's parameter files, read into frozen records.

Put other files beside these (or in a folder of your own) and another printer stands there.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.colour.pchip import pchip
from wallworthy.demo.spectra import DATA, WAVELENGTHS_NM

Array = NDArray[np.float64]

INKS = ("cyan", "magenta", "yellow", "black", "light_cyan", "light_magenta")
"""What the driver separates into, in this order."""
PAPERS = ("gloss", "matt", "lab")
UNITS = ("first", "second")


@dataclass(frozen=True, slots=True, eq=False)
class PaperStock:
    """A paper as the printer sees it. Spectra (36,), 0-1; per-ink values in the inks' order."""

    name: str
    surface: str
    weight_g_m2: float
    reflectance: Array
    yule_nielsen_n: float
    surface_reflection: float
    internal_reflection: float
    ink_strength: Array
    dot_gain: Array
    total_ink: float
    grain: float


@dataclass(frozen=True, slots=True)
class DriverRules:
    """How the driver turns colour amounts into inks (data/printer.toml explains each)."""

    black_start: float
    black_power: float
    black_full: float
    undercolour: float
    light_peak: float
    dark_start: float
    light_left: float


@dataclass(frozen=True, slots=True, eq=False)
class UnitDrift:
    """What sets one machine of the make apart from the one that was characterised."""

    ink_strength: Array
    dot_gain_shift: float
    white_level: float
    white_tilt: float


@dataclass(frozen=True, slots=True)
class Unsteadiness:
    """Standard deviations: the instrument's (gain, band_noise, offset) and the machine's from print to print."""

    gain: float
    band_noise: float
    offset: float
    ink_strength: float
    dot_gain: float


@dataclass(frozen=True, slots=True, eq=False)
class PrinterParameters:
    """Everything the model needs. absorbance: (inks, 36), optical density of one solid film on this paper."""

    printer_name: str
    inks: tuple[str, ...]
    absorbance: Array
    levels: Array
    thinnest: float
    paper: PaperStock
    driver: DriverRules
    unit: UnitDrift
    unsteadiness: Unsteadiness


def load_parameters(paper: str, unit: str = "first", folder: Path | None = None) -> PrinterParameters:
    """Read `printer.toml` and `<paper>.toml` from `folder`, or the ones that come with the demo.

    Raises InputError when a file is missing, is not TOML, or lacks a value.
    """
    home = folder or DATA
    printer, stock = _toml(home / "printer.toml"), _toml(home / f"{paper}.toml")
    try:
        return _assemble(printer, stock, unit)
    except (KeyError, TypeError, ValueError) as error:
        raise InputError(
            "printer_parameters",
            f"The printer's parameter files for '{paper}', unit '{unit}', can't be used: {error}.",
            "Compare them with the files that come with the demo.",
            where=str(home),
        ) from error


def _assemble(printer: Mapping[str, Any], stock: Mapping[str, Any], unit: str) -> PrinterParameters:
    inks = tuple(cast(dict[str, Any], printer["inks"]))
    film, unsteady = printer["film"], {**printer["instrument"]}
    strength = np.array([printer["inks"][ink]["strength"] for ink in inks], dtype=np.float64)
    curves = np.stack([_curve(printer["inks"][ink]["absorbance"]) for ink in inks])
    paper = PaperStock(
        name=stock["name"],
        surface=stock["surface"],
        weight_g_m2=float(stock["weight_g_m2"]),
        reflectance=_share(_curve(stock["reflectance"])),
        yule_nielsen_n=float(stock["yule_nielsen_n"]),
        surface_reflection=float(stock["surface_reflection"]),
        internal_reflection=float(stock["internal_reflection"]),
        ink_strength=_by_ink(stock["ink_strength"], inks),
        dot_gain=_by_ink(stock["dot_gain"], inks),
        total_ink=float(stock["total_ink"]),
        grain=float(stock["grain"]),
    )
    drift = printer["units"][unit]
    drift_gain = float(drift["dot_gain_shift"])
    levels = np.array(film["levels"], dtype=np.float64)
    _check(inks, levels, paper, drift_gain)
    return PrinterParameters(
        printer_name=printer["name"],
        inks=inks,
        absorbance=curves * (strength * paper.ink_strength)[:, None],
        levels=levels,
        thinnest=float(film["thinnest"]),
        paper=paper,
        driver=DriverRules(**printer["driver"]),
        unit=UnitDrift(
            ink_strength=_by_ink(drift["ink_strength"], inks, missing=1.0),
            dot_gain_shift=drift_gain,
            white_level=float(drift["white_level"]),
            white_tilt=float(drift["white_tilt"]),
        ),
        unsteadiness=Unsteadiness(**unsteady, **printer["steadiness"]),
    )


def _check(inks: tuple[str, ...], levels: Array, paper: PaperStock, drift_gain: float) -> None:
    if inks != INKS:
        raise ValueError(f"the driver knows the inks {', '.join(INKS)}, in this order")
    if levels.ndim != 1 or len(levels) < 2 or levels[0] != 0 or levels[-1] != 1 or np.any(np.diff(levels) <= 0):
        raise ValueError("film levels must rise from 0 to 1")
    if np.any(np.abs(paper.dot_gain + drift_gain) > 0.24):
        raise ValueError("a dot gain beyond 0.24 would make dots shrink as ink is added")
    if paper.yule_nielsen_n < 1 or not 0 <= paper.surface_reflection < paper.reflectance.min():
        raise ValueError("n must be 1 or more, and the surface must reflect less than the paper")
    if not 0 <= paper.internal_reflection < 1 or paper.total_ink <= 0:
        raise ValueError("internal reflection must lie between 0 and 1, and some ink must be allowed")


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError as error:
        raise InputError(
            "printer_parameters",
            f"There is no printer parameter file {path.name}.",
            f"The demo's papers are {', '.join(PAPERS)}.",
            where=str(path),
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise InputError(
            "printer_parameters",
            f"{path.name} is not a TOML file: {error}.",
            "Compare it with the files that come with the demo.",
            where=str(path),
        ) from error


def _curve(knots: list[list[float]]) -> Array:
    """A smooth spectrum (36,) through [wavelength, value] knots, never overshooting them."""
    table = np.array(knots, dtype=np.float64)
    if table.ndim != 2 or table.shape[1] != 2 or len(table) < 3 or np.any(np.diff(table[:, 0]) <= 0):
        raise ValueError("a spectrum needs three or more [wavelength, value] pairs, wavelengths rising")
    if table[0, 0] > WAVELENGTHS_NM[0] or table[-1, 0] < WAVELENGTHS_NM[-1]:
        raise ValueError("a spectrum must reach from 380 to 730 nm")
    return pchip(table[:, 0], table[:, 1], WAVELENGTHS_NM)


def _share(spectrum: Array) -> Array:
    if spectrum.min() <= 0 or spectrum.max() > 1:
        raise ValueError("a paper's reflectance must lie between 0 and 1")
    return spectrum


def _by_ink(values: Mapping[str, float], inks: tuple[str, ...], missing: float | None = None) -> Array:
    if missing is None:
        return np.array([float(values[ink]) for ink in inks])
    return np.array([float(values.get(ink, missing)) for ink in inks])
