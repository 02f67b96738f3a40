"""A scan or photo of a sheet as light: any picture file, turned upright, made linear, brought to a workable size."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Notice
from wallworthy.colour.float32 import lab_to_xyz_ratio32, planes_of
from wallworthy.colour.lab import PCS_WHITE
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.read import inspect, read_strips
from wallworthy.raster.vision import FoundMark

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

MOST_PX: Final = 3600
"""Longer scans are averaged down by a whole factor to at most this side."""
ROWS: Final = 256
LEAST_TRUSTED_PPI: Final = 100.0
"""Cameras and screen pictures say 72 or 96 without meaning it."""

SRGB_TO_XYZ: Final = np.array(
    [[0.4360747, 0.3850649, 0.1430804], [0.2225045, 0.7168786, 0.0606169], [0.0139322, 0.0971045, 0.7141733]]
)
"""Linear sRGB to XYZ under D50 (IEC 61966-2-1, Bradford adapted); rows are scaled to D50 exactly below."""
LIGHT_TO_XYZ: Final = SRGB_TO_XYZ * (PCS_WHITE / SRGB_TO_XYZ.sum(axis=1))[:, None]
XYZ_TO_LIGHT: Final = np.linalg.inv(LIGHT_TO_XYZ)


@dataclass(frozen=True, slots=True, eq=False)
class Scan:
    """A picture as linear light with sRGB primaries, (H, W, 3) float32, white 1, D50.

    ppi: pixels an inch of `light`, when the file's resolution can be trusted (a flatbed's), else None.
    """

    light: Floats
    ppi: float | None
    name: str
    notices: tuple[Notice, ...] = ()
    factor: int = 1
    """The file's pixels in one of `light`, along a side."""
    colour: bool = True
    marks: dict[bool, tuple[FoundMark, ...]] = field(default_factory=dict[bool, tuple[FoundMark, ...]], repr=False)
    """What was found when one mark was looked for (False) and when all were (True)."""


def read_scan(path: str | Path) -> Scan:
    """Read any picture file as a scan. Untagged files are taken as sRGB, and a notice says so.

    Raises InputError when it is no picture, is damaged, or holds inks without a profile.
    """
    facts = inspect(path)
    profile, notices = _profile_of(facts)
    factor = -(-max(facts.width_px, facts.height_px) // MOST_PX)
    rows = max(factor, ROWS // factor * factor)
    pieces = [_reduced(_light(strip, facts, profile), factor) for strip in read_strips(facts, rows)]
    light = np.concatenate([piece for piece in pieces if len(piece)])
    if facts.space == "GRAY":
        notices += (Notice("scan_grey", f"{facts.path.name} holds no colour, so only lightness can be read from it."),)
    ppi = _trusted_ppi(facts)
    return Scan(light, None if ppi is None else ppi / factor, facts.path.name, notices, factor, facts.space != "GRAY")


def _profile_of(facts: RasterFacts) -> tuple[Profile | None, tuple[Notice, ...]]:
    """The profile to read colours by; None stands for sRGB, whose curve is known."""
    if facts.space == "LAB":
        return None, ()
    if facts.icc is not None:
        profile = parse_profile(facts.icc, facts.path.name)
        return (None if facts.icc == srgb_profile() else profile), ()
    if facts.said_space == "display-p3":
        return parse_profile(display_p3_profile()), ()
    if facts.space == "CMYK":
        raise InputError(
            "scan_inks",
            f"{facts.path.name} holds inks without a profile, so its colours are anybody's guess.",
            "Scan in RGB.",
            where=str(facts.path),
        )
    if facts.said_space == "srgb":
        return None, ()
    return None, (
        Notice("scan_untagged", f"{facts.path.name} does not say what its numbers mean; it was taken as sRGB."),
    )


def _light(strip: NDArray[Any], facts: RasterFacts, profile: Profile | None) -> Floats:
    if facts.space == "LAB":
        return _from_lab(strip.astype(np.float32))
    if profile is not None:
        top = 1.0 if strip.dtype.kind == "f" else float(np.iinfo(strip.dtype).max)
        return _from_lab(to_lab(profile, strip.astype(np.float32) / np.float32(top)))
    if strip.dtype.kind == "f":
        light = srgb_light(strip.astype(np.float32))
    else:
        top = int(np.iinfo(strip.dtype).max)
        light = srgb_light(np.arange(top + 1, dtype=np.float32) / np.float32(top)).take(strip)
    return np.repeat(light, 3, axis=2) if light.shape[2] == 1 else light


def _from_lab(lab: Floats) -> Floats:
    ratio = lab_to_xyz_ratio32(planes_of(lab))
    mixing = (XYZ_TO_LIGHT * PCS_WHITE[None, :]).astype(np.float32)
    return np.ascontiguousarray((mixing @ ratio).T).reshape(lab.shape)


def srgb_light(values: Floats) -> Floats:
    """sRGB signals 0-1 to linear light, float32. Source: IEC61966.

    >>> srgb_light(np.array([0.0, 0.5, 1.0], np.float32)).round(4).tolist()
    [0.0, 0.21400000154972076, 1.0]
    """
    bright = (np.maximum(values, 0.0) + np.float32(0.055)) / np.float32(1.055)
    return np.where(values <= 0.04045, values / np.float32(12.92), bright ** np.float32(2.4)).astype(np.float32)


def _reduced(light: Floats, factor: int) -> Floats:
    """Means over squares of `factor` pixels; what does not fill a square at the right and bottom is left out."""
    if factor == 1:
        return light
    height, width = light.shape[0] // factor, light.shape[1] // factor
    kept = light[: height * factor, : width * factor]
    return kept.reshape(height, factor, width, factor, 3).mean(axis=(1, 3), dtype=np.float32)


def _trusted_ppi(facts: RasterFacts) -> float | None:
    """The file's resolution when a flatbed wrote it: not a camera's, not a screen's."""
    if any(fact in facts.capture for fact in ("exposure", "aperture", "focal_length", "iso")):
        return None
    said = facts.capture.get("resolution", "").removesuffix(" ppi")
    try:
        ppi = float(said)
    except ValueError:
        return None
    return ppi if ppi >= LEAST_TRUSTED_PPI else None
