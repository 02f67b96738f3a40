"""From measured patches to an ICC output profile."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.progress import Progress, silent, within
from wallworthy.characterise.black import BlackAmount
from wallworthy.characterise.measurements import Measurements, format_measurements
from wallworthy.characterise.model import fit_model
from wallworthy.characterise.tables import TableOptions, output_tables
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.write import output_profile

Array = NDArray[np.float64]

LEAST_INK_PCT: Final = 150.0
MOST_INK_PCT: Final = 400.0
MODEL_SHARE: Final = 0.36
"""How much of the work is done once the model is fitted, as measured."""


@dataclass(frozen=True, slots=True)
class BuildOptions:
    """What can be chosen when a profile is built; the defaults suit a photo printer.

    total_ink_pct: CMYK only, the sum of inks that B2A never exceeds, 150 to 400. black_start_lstar: CMYK
    only, the lightness (relative to the paper) below which black ink begins on neutrals, 20 to 95.
    embed_measurements: keep the measurements in the profile ('targ'). matt: the paper's surface.
    """

    description: str = "Own printing condition"
    copyright: str = "No copyright, use freely"
    total_ink_pct: float = 300.0
    black_start_lstar: float = 75.0
    black_amount: BlackAmount = "medium"
    embed_measurements: bool = False
    matt: bool = False


@dataclass(frozen=True, slots=True)
class BuildReport:
    """How well the model explains the measurements, and how well the tables go there and back (dE00)."""

    patches: int
    patches_left_out: int
    cross_validation_mean_de00: float
    cross_validation_p95_de00: float
    roundtrip_mean_de00: float
    roundtrip_p95_de00: float
    yule_nielsen_n: float | None
    elapsed_s: float


def build_profile(
    measurements: Measurements, options: BuildOptions | None = None, progress: Progress = silent
) -> bytes:
    """An ICC v2 output profile (class prtr, PCS Lab) from the measurements: see `build_with_report`."""
    return build_with_report(measurements, options, progress)[0]


def build_with_report(
    measurements: Measurements, options: BuildOptions | None = None, progress: Progress = silent
) -> tuple[bytes, BuildReport]:
    """The profile's bytes and the report. Same measurements and options, same bytes (on the same kind of machine).

    Raises InputError for measurements that can't carry a profile, or options outside their range.
    """
    began = time.perf_counter()
    options = options or BuildOptions()
    _require_sensible(options)
    progress("learning how it prints", 0.02)
    model = fit_model(measurements)
    text = format_measurements(measurements).decode("utf-8") if options.embed_measurements else None
    tables = output_tables(
        model,
        measurements.space,
        model.white_xyz,
        TableOptions(
            description=options.description,
            copyright=options.copyright,
            total_ink=options.total_ink_pct / 100,
            black_start_lstar=options.black_start_lstar,
            black_amount=options.black_amount,
            matt=options.matt,
            measurements=text,
        ),
        within(progress, MODEL_SHARE, 0.98),
    )
    data = output_profile(tables)
    there_and_back = roundtrip_de00(data, options.total_ink_pct / 100)
    error = model.cross_validation_de00
    return data, BuildReport(
        patches=model.patches,
        patches_left_out=model.patches_left_out,
        cross_validation_mean_de00=float(error.mean()),
        cross_validation_p95_de00=float(np.percentile(error, 95)),
        roundtrip_mean_de00=float(there_and_back.mean()),
        roundtrip_p95_de00=float(np.percentile(there_and_back, 95)),
        yule_nielsen_n=None if model.physical is None else model.physical.n,
        elapsed_s=time.perf_counter() - began,
    )


def roundtrip_de00(data: bytes, total_ink: float = 4.0, samples: int = 5000) -> Array:
    """Device -> Lab -> device -> Lab through the CMM, media-relative: how far the two Lab are apart (M,).

    Seeded device values all over the cube, for inks those within the limit; so all colours are printable.
    """
    profile = parse_profile(data)
    device = np.random.default_rng(11).random((samples, profile.channels))
    if profile.channels > 3:
        device = device[device.sum(axis=1) <= total_ink]
    first = to_lab(profile, device)
    return ciede2000(first, to_lab(profile, from_lab(profile, first)))


def _require_sensible(options: BuildOptions) -> None:
    if not LEAST_INK_PCT <= options.total_ink_pct <= MOST_INK_PCT:
        raise InputError(
            "ink_limit",
            f"A total ink limit of {options.total_ink_pct:g} % is not workable.",
            f"Choose between {LEAST_INK_PCT:g} and {MOST_INK_PCT:g} %.",
        )
    if not 20 <= options.black_start_lstar <= 95:
        raise InputError(
            "black_start",
            f"Black ink can't start at L* {options.black_start_lstar:g}.",
            "Choose a lightness between 20 and 95.",
        )
