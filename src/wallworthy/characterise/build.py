"""From measured patches to an ICC output profile."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from wallworthy.characterise.measurements import Measurements


@dataclass(frozen=True, slots=True)
class BuildOptions:
    """What can be chosen when a profile is built; the defaults suit a photo printer.

    total_ink_pct: CMYK only, the sum of inks never exceeded by B2A. black_start_lstar: CMYK only, the
    lightness (relative to the paper) below which black ink begins on neutrals.
    """

    description: str = "Own printing condition"
    copyright: str = "No copyright, use freely"
    total_ink_pct: float = 300.0
    black_start_lstar: float = 75.0
    embed_measurements: bool = False
    black_amount: Literal["light", "medium", "heavy"] = "medium"


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


def build_profile(measurements: Measurements, options: BuildOptions | None = None) -> bytes:
    """An ICC v2 output profile (class prtr, PCS Lab) from the measurements: see `build_with_report`."""
    return build_with_report(measurements, options)[0]


def build_with_report(measurements: Measurements, options: BuildOptions | None = None) -> tuple[bytes, BuildReport]:
    """The profile's bytes and the report. Same measurements and options, same bytes."""
    raise NotImplementedError
