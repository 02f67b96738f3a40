"""What the straight sheet says: the light of every patch, the ticked boxes, and how striped the print is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from wallworthy.colour.lab import lightness_from_y, xyz_to_lab
from wallworthy.trial.expected import ExpectedSheet, Patch
from wallworthy.trial.layout import TickBox
from wallworthy.trial.scanfile import LIGHT_TO_XYZ
from wallworthy.trial.straighten import StraightSheet

Array = NDArray[np.float64]

PATCH_INSET: Final = 0.22
"""Share of a step or colour left out at each side: blur and the JPEG's coarse colours reach that far."""
TICKED: Final = 0.035
"""Share of light a pencil tick takes from its box, at least; a clean box loses about 0.005."""
FINE_MM: Final = 3.0
"""Stripes wider than this are content or light, not banding."""


@dataclass(frozen=True, slots=True)
class ReadTick:
    """A tick box: whether it is ticked, and how sure that is, 0.5-1."""

    box: TickBox
    ticked: bool
    confidence: float


@dataclass(frozen=True, slots=True, eq=False)
class SheetReading:
    """Light over bare paper of each patch (n, 3), linear, sRGB primaries; ticks; stripes in L*; scale error."""

    light: Array
    ticks: tuple[ReadTick, ...]
    banding_lstar: float | None
    scale_error_pct: float | None

    @property
    def lab(self) -> Array:
        """The light taken as it stands, relative to the paper, (n, 3)."""
        return light_to_lab(self.light)


def light_to_lab(light: Array) -> Array:
    """Linear light over paper (..., 3) to Lab relative to the paper, D50.

    >>> light_to_lab(np.ones(3)).round(6).tolist()
    [100.0, 0.0, 0.0]
    """
    return xyz_to_lab(np.maximum(light, 0.0) @ LIGHT_TO_XYZ.T)


def read_sheet(straight: StraightSheet, expected: ExpectedSheet) -> SheetReading:
    """Measure every patch of the straight sheet."""
    light = np.array([_patch_light(straight, patch) for patch in expected.patches])
    return SheetReading(light, read_ticks(straight, expected), banding(straight, expected), straight.scale_error_pct)


def _patch_light(straight: StraightSheet, patch: Patch) -> Array:
    """Mean light; for even patches the darkest and lightest tenth are left out, specks being what they are."""
    inset = 0.0 if patch.kind == "tile" else PATCH_INSET * min(patch.box_mm[2:])
    part = straight.part(patch.box_mm, inset).reshape(-1, 3).astype(np.float64)
    part = part[np.isfinite(part).all(axis=1)]
    if len(part) == 0:
        return np.full(3, np.nan)
    if patch.kind == "tile" or len(part) < 30:
        return part.mean(axis=0)
    order = np.argsort(part.sum(axis=1))
    cut = len(part) // 10
    return part[order[cut : len(part) - cut]].mean(axis=0)


def read_ticks(straight: StraightSheet, expected: ExpectedSheet) -> tuple[ReadTick, ...]:
    """Every tick box of the layout. A box counts as ticked when its inside lost clearly more light than most."""
    layout = expected.layout
    if not layout.ticks:
        return ()
    inset = layout.tick_stroke_mm + 0.4
    lost = np.array([_lost(straight, tick, inset) for tick in layout.ticks])
    usual = float(np.median(lost))
    spread = 1.4826 * float(np.median(np.abs(lost - usual)))
    threshold = usual + max(TICKED, 5 * spread)
    steep = max(0.25 * (threshold - usual), 0.004)
    sure = 1 / (1 + np.exp(-np.abs(lost - threshold) / steep))
    return tuple(
        ReadTick(tick, bool(value > threshold), float(one))
        for tick, value, one in zip(layout.ticks, lost, sure, strict=True)
    )


def _lost(straight: StraightSheet, tick: TickBox, inset: float) -> float:
    part = straight.part(tick.box_mm, inset)
    return float(1 - np.nan_to_num(part[..., 1], nan=1.0).mean())


def banding(straight: StraightSheet, expected: ExpectedSheet) -> float | None:
    """Stripes across the print, rms in L*; None when the sheet has too few tiles to tell them from the picture.

    Tiles show one picture, so what differs between the fine profiles of tiles that do not lie side
    by side is not the picture. Both directions are looked at; the stronger counts.
    """
    tiles = expected.layout.tiles
    rows = sorted({tile.code[0] for tile in tiles})
    columns = sorted({tile.code[1:] for tile in tiles})
    found: list[float] = []
    for axis, names in ((1, rows), (0, columns)):
        if len(names) < 2:
            continue
        groups = [[t for t in tiles if (t.code[0] if axis == 1 else t.code[1:]) == name] for name in names]
        profiles = [_profile([_lightness(straight, tile.box_mm) for tile in group], axis) for group in groups]
        found += [_difference(profiles[i], profiles[i + 1]) for i in range(len(profiles) - 1)]
    return max(found) if found else None


def _lightness(straight: StraightSheet, box: tuple[float, float, float, float]) -> Array:
    part = np.nan_to_num(straight.part(box, 0.6), nan=1.0)
    return lightness_from_y(np.clip(part @ LIGHT_TO_XYZ[1], 0, 1.2))


def _profile(tiles: list[Array], axis: int) -> Array:
    size = min(tile.shape[1 - axis] for tile in tiles)
    means = [tile.mean(axis=axis)[:size] for tile in tiles]
    line = np.mean(means, axis=0)
    return line - gaussian_filter1d(line, FINE_MM * 8 / 2.5, mode="nearest")


def _difference(one: Array, other: Array) -> float:
    """rms of what is not common to two fine profiles, each shrunk to the other as well as it goes."""
    size = min(len(one), len(other))
    a, b = gaussian_filter1d(one[:size], 1.5), gaussian_filter1d(other[:size], 1.5)
    kept = slice(4, size - 4)
    a, b = a[kept], b[kept]
    common = float(a @ b)
    factor = np.clip(common / max(float(b @ b), 1e-9), 0.5, 2.0) if common > 0 else 0.0
    return float(np.sqrt(np.mean((a - factor * b) ** 2) / (1 + factor**2)))
