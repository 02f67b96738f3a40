"""Plans and fitted tables for tests of the final."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Correction, Delivery, Fitted, LutFigures, Way
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.blackpoint import NO_BLACK, compensate, destination_black
from wallworthy.icc.engine import from_lab
from wallworthy.icc.lut import nodes_grid
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.render.delivery import Carriage, DeviceOf, by_standard
from wallworthy.render.final import FinalPlan


def direct_path(profile: Profile) -> Callable[[NDArray[np.float32]], NDArray[np.float32]]:
    """Working values to device values, media-relative with black point compensation."""
    black = destination_black(profile, "relative")

    def device_of(strip: NDArray[np.float32]) -> NDArray[np.float32]:
        lab = compensate(working_to_lab(strip), NO_BLACK, black)
        return np.clip(from_lab(profile, lab, "relative"), 0, 1).astype(np.float32)

    return device_of


@lru_cache(maxsize=4)
def fitted_to(data: bytes, size: int = 33) -> Fitted:
    profile = parse_profile(data)
    nodes = direct_path(profile)(nodes_grid(size).astype(np.float32))
    figures = LutFigures(size, 0.0, 0.0, 0.0)
    return Fitted(Way.RELATIVE_BPC, Correction(), profile.sha256, profile.space, nodes, figures)


_CARRIED: dict[tuple[int, str, str], tuple[NDArray[np.float32], Carriage]] = {}


def carried_once(
    nodes: NDArray[np.float32] | None, device_of: DeviceOf | None, paper: Profile, standard: Profile
) -> Carriage:
    """As `by_standard`, whose table takes seconds, but made once for the same table of `fitted_to`."""
    if nodes is None:
        return by_standard(nodes, device_of, paper, standard)
    key = (id(nodes), paper.sha256, standard.sha256)
    if key not in _CARRIED:
        _CARRIED[key] = nodes, by_standard(nodes, device_of, paper, standard)
    return _CARRIED[key][1]


def without_table(data: bytes) -> Fitted:
    profile = parse_profile(data)
    figures = LutFigures(None, 0.0, 0.0, 0.0)
    return Fitted(Way.RELATIVE_BPC, Correction(), profile.sha256, profile.space, None, figures)


def plan(width_px: int, height_px: int, output: bytes, **changes: Any) -> FinalPlan:
    settings: dict[str, Any] = {
        "border_px": (0, 0, 0, 0),
        "ppi": 300.0,
        "bits": 16,
        "format": "tiff",
        "sharpen": "auto",
        "size_mm": (width_px / 300 * 25.4, height_px / 300 * 25.4),
        "distance_mm": 500.0,
        "delivery": Delivery.NUMBERS,
        "standard_profile": srgb_profile(),
    }
    return FinalPlan(width_px=width_px, height_px=height_px, output_profile=output, **(settings | changes))
