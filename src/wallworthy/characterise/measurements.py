"""Measured patches: device values and the colours they printed."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.characterise.cgats import CgatsTable, format_cgats, parse_cgats, read_cgats
from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab

Array = NDArray[np.float64]
DeviceSpace = Literal["RGB", "CMYK"]

DEVICE_FIELDS: Final[dict[DeviceSpace, tuple[str, ...]]] = {
    "RGB": ("RGB_R", "RGB_G", "RGB_B"),
    "CMYK": ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"),
}
LAB_FIELDS: Final = ("LAB_L", "LAB_A", "LAB_B")
XYZ_FIELDS: Final = ("XYZ_X", "XYZ_Y", "XYZ_Z")
SPECTRAL: Final = re.compile(r"^(?:SPEC_|SPECTRAL_NM_?|NM_?|R_)(\d{3})(?:\.0+)?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True, eq=False)
class Measurements:
    """Patches of one condition. `lab` is ICC-absolute (not relative to the paper), D50, 2 degree observer.

    device: (N, K) 0-1 (RGB: 1 is light; CMYK: 1 is full ink). lab: (N, 3).
    spectra: (N, B) reflectance 0-1 at wavelengths_nm (B,), when the file has them.
    """

    device: Array = field(repr=False)
    space: DeviceSpace
    lab: Array = field(repr=False)
    spectra: Array | None = field(default=None, repr=False)
    wavelengths_nm: Array | None = field(default=None, repr=False)
    ids: tuple[str, ...] = field(default=(), repr=False)
    keywords: Mapping[str, str] = field(default_factory=dict[str, str])

    def __post_init__(self) -> None:
        device, lab = np.asarray(self.device, dtype=np.float64), np.asarray(self.lab, dtype=np.float64)
        inks = len(DEVICE_FIELDS[self.space])
        if device.ndim != 2 or device.shape[1] != inks or lab.shape != (len(device), 3) or len(device) == 0:
            raise _unusable(f"Measurements need {inks} device values and three of Lab for each patch.")
        if not (np.isfinite(device).all() and np.isfinite(lab).all()):
            raise _unusable("Some device values or colours are not numbers.")
        if device.min() < -1e-6 or device.max() > 1 + 1e-6:
            raise _unusable("Some device values lie outside their range.")
        if lab[:, 0].min() < -5 or lab[:, 0].max() > 130 or np.abs(lab[:, 1:]).max() > 250:
            raise _unusable("Some measured colours lie far outside anything a paper can show.")
        object.__setattr__(self, "device", np.clip(device, 0.0, 1.0))
        object.__setattr__(self, "lab", lab)

    def __len__(self) -> int:
        return len(self.device)

    @property
    def xyz(self) -> Array:
        """(N, 3) tristimulus values, Y 0-1, D50, from `lab`."""
        return lab_to_xyz(self.lab)

    def subset(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> Measurements:
        """The chosen patches only (a mask or indices)."""
        indices = np.arange(len(self))[chosen]
        return Measurements(
            device=self.device[indices],
            space=self.space,
            lab=self.lab[indices],
            spectra=None if self.spectra is None else self.spectra[indices],
            wavelengths_nm=self.wavelengths_nm,
            ids=tuple(self.ids[i] for i in indices) if self.ids else (),
            keywords=self.keywords,
        )


def read_measurements(path: Path) -> Measurements:
    """Measurements from a CGATS file. Raises InputError when no table in it has device values and colours."""
    return measurements_of(read_cgats(path), path.name)


def parse_measurements(data: bytes, origin: str = "the file") -> Measurements:
    """Measurements from CGATS text in memory; errors as `read_measurements`."""
    return measurements_of(parse_cgats(data, origin), origin)


def measurements_of(tables: Sequence[CgatsTable], origin: str = "the file") -> Measurements:
    """The first table that has device values and Lab or XYZ. Lab is preferred where both stand.

    CMYK and RGB are percent, unless RGB exceeds 100 (then 0-255) or a whole table stays within 0-1
    with fractions in it (then 0-1). XYZ has white at Y 100.
    """
    for table in tables:
        space = _space_of(table)
        if space is None or not table.rows:
            continue
        if set(LAB_FIELDS) <= set(table.fields):
            lab = _numbers(table, LAB_FIELDS, origin)
        elif set(XYZ_FIELDS) <= set(table.fields):
            lab = xyz_to_lab(_numbers(table, XYZ_FIELDS, origin) / 100)
        else:
            continue
        device = _numbers(table, DEVICE_FIELDS[space], origin)
        spectra, wavelengths = _spectra(table, origin)
        ids = _column(table, "SAMPLE_ID") or _column(table, "SAMPLE_NAME") or ()
        scaled = device / _device_scale(device, space)
        return Measurements(scaled, space, lab, spectra, wavelengths, ids, dict(table.keywords))
    raise _unusable(f"{origin} has no table with RGB or CMYK device values and Lab or XYZ.", origin)


def format_measurements(measurements: Measurements) -> bytes:
    """The measurements as CGATS.17 text: device values in percent, Lab and XYZ (white at Y 100), spectra as 0-1."""
    device, lab, xyz = measurements.device * 100, measurements.lab, measurements.xyz * 100
    fields = ("SAMPLE_ID", *DEVICE_FIELDS[measurements.space], *LAB_FIELDS, *XYZ_FIELDS)
    columns = [device, lab, xyz]
    if measurements.spectra is not None and measurements.wavelengths_nm is not None:
        fields += tuple(f"SPEC_{round(float(nm)):03d}" for nm in measurements.wavelengths_nm)
        columns.append(measurements.spectra)
    values = np.concatenate(columns, axis=1)
    ids = measurements.ids or tuple(str(i + 1) for i in range(len(measurements)))
    rows = tuple((name, *(f"{v:.4f}" for v in row)) for name, row in zip(ids, values.tolist(), strict=True))
    return format_cgats(CgatsTable("CGATS.17", dict(measurements.keywords), fields, rows))


def average_measurements(sets: Sequence[Measurements], *, outlier_factor: float = 5.0) -> tuple[Measurements, int]:
    """The mean of several measurements of one chart, and how many single readings were left out.

    All sets hold the same patches in the same order. With three or more sets a reading further from the
    patch's median than `outlier_factor` times the robust spread of all readings (and than 1 dE*ab) is left out.
    Raises InputError when the sets differ.
    """
    if not sets:
        raise _unusable("There are no measurements to average.")
    first = sets[0]
    for other in sets[1:]:
        if other.space != first.space or other.device.shape != first.device.shape:
            raise _unusable("The measurements are not of the same chart.")
        if np.abs(other.device - first.device).max() > 0.005:
            raise _unusable("The measurements are not of the same chart in the same order.")
    labs = np.stack([one.lab for one in sets])
    keep = np.ones(labs.shape[:2], dtype=bool)
    if len(sets) >= 3:
        distance = np.linalg.norm(labs - np.median(labs, axis=0), axis=2)
        spread = np.median(distance[distance > 0]) if (distance > 0).any() else 0.0
        keep = distance <= max(outlier_factor * float(spread), 1.0)
        keep |= ~keep.any(axis=0)
    weight = keep / keep.sum(axis=0)
    lab = np.einsum("sn,snk->nk", weight, labs)
    spectra = None
    if all(one.spectra is not None and one.spectra.shape == _shape(first.spectra) for one in sets):
        spectra = np.einsum("sn,snk->nk", weight, np.stack([one.spectra for one in sets if one.spectra is not None]))
    left_out = int((~keep).sum())
    mean = Measurements(
        first.device, first.space, lab, spectra, first.wavelengths_nm if spectra is not None else None,
        first.ids, first.keywords,
    )  # fmt: skip
    return mean, left_out


def unique_patches(measurements: Measurements) -> tuple[Array, Array, NDArray[np.intp]]:
    """Equal device values merged: (device (M, K), mean lab (M, 3), readings per patch (M,)), sorted by device."""
    keys = np.round(measurements.device * 1e5).astype(np.int64)
    _, first, inverse, counts = np.unique(keys, axis=0, return_index=True, return_inverse=True, return_counts=True)
    lab = np.zeros((len(first), 3))
    np.add.at(lab, inverse.reshape(-1), measurements.lab)
    return measurements.device[first], lab / counts[:, None], counts


def _space_of(table: CgatsTable) -> DeviceSpace | None:
    for space, names in DEVICE_FIELDS.items():
        if set(names) <= set(table.fields):
            return space
    return None


def _shape(array: Array | None) -> tuple[int, ...]:
    return () if array is None else array.shape


def _column(table: CgatsTable, name: str) -> tuple[str, ...] | None:
    if name not in table.fields:
        return None
    i = table.fields.index(name)
    return tuple(row[i] for row in table.rows)


def _numbers(table: CgatsTable, names: Sequence[str], origin: str) -> Array:
    indices = [table.fields.index(name) for name in names]
    try:
        return np.array([[float(row[i].replace(",", ".")) for i in indices] for row in table.rows])
    except ValueError as error:
        raise _unusable(f"{origin} has a value under {names[0]} that is not a number.", origin) from error


def _spectra(table: CgatsTable, origin: str) -> tuple[Array | None, Array | None]:
    bands = [(float(m.group(1)), name) for name in table.fields if (m := SPECTRAL.match(name))]
    if len(bands) < 3:
        return None, None
    bands.sort()
    values = _numbers(table, [name for _, name in bands], origin)
    if not np.isfinite(values).all():
        return None, None
    return values / (100.0 if values.max() > 3 else 1.0), np.array([nm for nm, _ in bands])


def _device_scale(device: Array, space: DeviceSpace) -> float:
    largest = float(np.nanmax(device)) if np.isfinite(device).any() else 100.0
    if space == "RGB" and largest > 100.5:
        return 255.0
    if largest <= 1.0 and (device != np.round(device)).any():
        return 1.0
    return 100.0


def _unusable(text: str, origin: str | None = None) -> InputError:
    return InputError(
        "measurements_unusable",
        text,
        "Measure again, or export with device values and Lab or XYZ for D50.",
        where=origin,
    )
