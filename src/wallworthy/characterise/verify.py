"""How far a profile is from what was measured."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from wallworthy.base.errors import InputError
from wallworthy.base.records import Triple
from wallworthy.characterise.measurements import Measurements
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile


@dataclass(frozen=True, slots=True)
class PatchError:
    """One patch: its name and device values, what was measured, what the profile says (ICC-absolute Lab, D50)."""

    name: str
    device: tuple[float, ...]
    measured_lab: Triple
    profile_lab: Triple
    de00: float


@dataclass(frozen=True, slots=True)
class Verification:
    """CIEDE2000 between measured patches and the profile's A2B1, ICC-absolute."""

    patches: int
    mean_de00: float
    p95_de00: float
    max_de00: float
    worst: tuple[PatchError, ...]


def verify_profile(profile: Profile, measurements: Measurements, worst: int = 10) -> Verification:
    """Compare a profile with measurements through the CMM, worst patches first.

    Raises InputError when the profile's device space is not the measurements'.
    """
    if profile.space != measurements.space:
        raise InputError(
            "spaces_differ",
            f"The profile is for {profile.space}, the measurements are of {measurements.space}.",
            "Choose the profile that was built for this printer and paper.",
        )
    lab = np.asarray(to_lab(profile, measurements.device, "absolute"), dtype=np.float64)
    error = ciede2000(measurements.lab, lab)
    names = measurements.ids or tuple(str(i + 1) for i in range(len(measurements)))
    order = np.argsort(-error, kind="stable")[:worst]
    return Verification(
        patches=len(measurements),
        mean_de00=float(error.mean()),
        p95_de00=float(np.percentile(error, 95)),
        max_de00=float(error.max()),
        worst=tuple(
            PatchError(
                name=names[i],
                device=tuple(float(v) for v in measurements.device[i]),
                measured_lab=_triple(measurements.lab[i].tolist()),
                profile_lab=_triple(lab[i].tolist()),
                de00=float(error[i]),
            )
            for i in order.tolist()
        ),
    )


def _triple(values: list[float]) -> Triple:
    first, second, third = values
    return first, second, third
