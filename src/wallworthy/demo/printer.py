"""The virtual printer: device RGB in, colour on paper out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.characterise.measurements import Measurements
from wallworthy.colour.float32 import lab_to_xyz_ratio32, pixels_of, planes_of
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.demo.driver import Driver, calibrate_driver
from wallworthy.demo.inkjet import InkModel, build_model, paper_spectrum, unsteady
from wallworthy.demo.parameters import PrinterParameters, load_parameters
from wallworthy.demo.spectra import WAVELENGTHS_NM, spectra_to_xyz
from wallworthy.icc.lut import apply_lut, nodes_grid

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

TABLE_EDGE = 65
ROWS_AT_ONCE = 512


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """Patches as an instrument read them: lab (n, 3) ICC-absolute D50, xyz (n, 3) Y 0-1, spectra (n, 36) 0-1."""

    lab: Array
    xyz: Array
    spectra: Array


class VirtualPrinter:
    """One machine with one paper in it. Everything about it stands in parameter files (`demo.parameters`).

    `print` is what the paper looks like; `measure` is what an instrument says of patches, with the
    machine's day-to-day unsteadiness and the instrument's noise.
    """

    def __init__(self, paper: str = "gloss", unit: str = "first", folder: Path | None = None) -> None:
        self.parameters: PrinterParameters = load_parameters(paper, unit, folder)
        factory = load_parameters(paper, "first", folder)
        self.model: InkModel = build_model(self.parameters)
        # The driver's curves were made in the factory on the first unit; a drifted unit still uses them.
        self.driver: Driver = calibrate_driver(factory, build_model(factory))

    @property
    def paper_name(self) -> str:
        return self.parameters.paper.name

    @property
    def surface(self) -> str:
        return self.parameters.paper.surface

    @property
    def white_xyz(self) -> Array:
        """XYZ (3,) of the bare paper, Y 0-1, D50."""
        return spectra_to_xyz(paper_spectrum(self.parameters))

    def spectra(self, device: ArrayLike) -> Array:
        """Reflectance (n, 36), 0-1, of device RGB (n, 3), 0-1, computed directly, without any noise."""
        return self.model.spectra(self.driver.inks(device))

    def lab(self, device: ArrayLike) -> Array:
        """ICC-absolute Lab (n, 3), D50, of device RGB (n, 3), computed directly, without any noise."""
        return xyz_to_lab(spectra_to_xyz(self.spectra(device)))

    @cached_property
    def table(self) -> Floats:
        """Lab at the nodes of a cube over device RGB, (65, 65, 65, 3); `print` interpolates in it."""
        grid = nodes_grid(TABLE_EDGE).reshape(-1, 3)
        return self.lab(grid).astype(np.float32).reshape(TABLE_EDGE, TABLE_EDGE, TABLE_EDGE, 3)

    def print(self, device: NDArray[np.float32] | NDArray[np.uint16], *, grain_seed: int | None = None) -> Floats:
        """Print a picture: device RGB (H, W, 3), floats 0-1 or uint16, to ICC-absolute Lab (H, W, 3) float32, D50.

        Interpolated in `table`; the tests hold it against the direct computation (mean 0.02 dE00 or
        less). With `grain_seed` the dots' grain is added, which is off otherwise.
        """
        lab = apply_lut(self.table, device)
        if grain_seed is not None:
            self._grain(lab, np.random.default_rng(grain_seed))
        return lab

    def print_xyz(self, device: NDArray[np.float32] | NDArray[np.uint16]) -> Floats:
        """As `print`, in XYZ, Y 0-1."""
        planes = lab_to_xyz_ratio32(planes_of(self.print(device)))
        return pixels_of(planes * PCS_WHITE.astype(np.float32)[:, None]).reshape(device.shape)

    def measure(self, device: ArrayLike, noise_seed: int | None = 0) -> Reading:
        """Print patches (n, 3) once and read them. The same seed gives the same print and the same readings.

        The noise is about 0.2 dE00 from one print's reading to the next; `noise_seed=None` leaves
        it out. Errors: InputError from the parameter files only.
        """
        if noise_seed is None:
            return _reading(self.spectra(device))
        noise = np.random.default_rng(noise_seed)
        today = build_model(unsteady(self.parameters, noise))
        spectra = today.spectra(self.driver.inks(device))
        sigma, count = self.parameters.unsteadiness, len(spectra)
        gain = 1 + sigma.gain * noise.standard_normal((count, 1))
        bands = sigma.band_noise * _smooth_noise(noise, count)
        offset = sigma.offset * noise.standard_normal((count, 1))
        return _reading(np.clip(spectra * (gain + bands) + offset, 0, 1))

    def _grain(self, lab: Floats, noise: np.random.Generator) -> None:
        """Uneven dots: lightness noise strongest in the middle tones, none on bare paper."""
        white = float(self.table[-1, -1, -1, 0])
        for top in range(0, lab.shape[0], ROWS_AT_ONCE):
            part = lab[top : top + ROWS_AT_ONCE, :, 0]
            tone = np.clip(part / white, 0, 1)
            part += 100 * self.parameters.paper.grain * 4 * tone * (1 - tone) * noise.standard_normal(part.shape, "f4")


def measurements_of(
    printer: VirtualPrinter, chart: ArrayLike, repeats: int = 3, seed: int = 0
) -> tuple[Measurements, ...]:
    """Print and read a chart several times: device RGB (n, 3) to one set of measurements per print.

    `characterise.measurements.average_measurements` takes their mean and leaves out bad readings.
    """
    chart = np.asarray(chart, dtype=np.float64)
    sets: list[Measurements] = []
    for repeat in range(repeats):
        read = printer.measure(chart, noise_seed=seed * 1000 + repeat)
        keywords = {
            "ORIGINATOR": "Wallworthy demo",
            "INSTRUMENTATION": "virtual spectrophotometer",
            "MEASUREMENT_SOURCE": "MeasurementCondition=M1 Illumination=D50 ObserverAngle=2",
            "PRINT_CONDITIONS": f"{printer.parameters.printer_name}, {printer.paper_name}, print {repeat + 1}",
        }
        wavelengths = WAVELENGTHS_NM.astype(np.float64)
        sets.append(Measurements(chart, "RGB", read.lab, read.spectra, wavelengths, keywords=keywords))
    return tuple(sets)


def _reading(spectra: Array) -> Reading:
    xyz = spectra_to_xyz(spectra)
    return Reading(xyz_to_lab(xyz), xyz, spectra)


def _smooth_noise(noise: np.random.Generator, count: int) -> Array:
    """Unit noise (count, 36) that neighbouring bands share, as an instrument's does."""
    rough = noise.standard_normal((count, len(WAVELENGTHS_NM) + 4))
    kernel = np.array([1.0, 4.0, 6.0, 4.0, 1.0]) / np.sqrt(70.0)
    return np.stack([rough[:, i : i + 5] @ kernel for i in range(len(WAVELENGTHS_NM))], axis=-1)
