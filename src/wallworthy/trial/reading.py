"""What the straight sheet says: the light of every patch, the ticked boxes, and how striped the print is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from wallworthy.colour.lab import lightness_from_y, xyz_to_lab
from wallworthy.trial.expected import PROFILE_INSET_MM, ExpectedSheet, Patch
from wallworthy.trial.layout import BoxMm, TickBox
from wallworthy.trial.scanfile import LIGHT_TO_XYZ
from wallworthy.trial.straighten import PER_MM, StraightSheet

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


@dataclass(frozen=True, slots=True)
class Stripes:
    """Fine stripes across the print, rms in L*.

    between: what the fine profiles of tiles that do not lie side by side do not share. They show one
    picture, so it is not the picture; but stripes that repeat with the tiles stay hidden. None with one tile.
    against: what the tiles' profiles do not share with those expected. Faults of colour show in it too.
    """

    between: float | None = None
    against: float | None = None

    @property
    def lstar(self) -> float | None:
        """The figure to tell a person."""
        return self.between if self.against is None else self.against


@dataclass(frozen=True, slots=True, eq=False)
class SheetReading:
    """Light over bare paper of each patch (n, 3), linear, sRGB primaries; ticks; stripes; scale error."""

    light: Array
    ticks: tuple[ReadTick, ...]
    stripes: Stripes
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
    return SheetReading(
        light, read_ticks(straight, expected), read_stripes(straight, expected), straight.scale_error_pct
    )


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


def read_stripes(straight: StraightSheet, expected: ExpectedSheet) -> Stripes:
    """Stripes along either direction of the tiles, the stronger."""
    between: list[float] = []
    against: list[float] = []
    for place, axis in ((0, 1), (1, 0)):
        groups = _groups(expected, place)
        lines = [_profile([_lightness(straight, box) for _, box in group], axis) for group in groups]
        between += [_difference(lines[i], lines[i + 1]) for i in range(len(lines) - 1)]
        if expected.profiles:
            meant = [np.mean([expected.profiles[code][place] for code, _ in group], axis=0) for group in groups]
            off = [_unlike(line, other)[0] ** 2 for line, other in zip(lines, meant, strict=True)]
            against.append(float(np.sqrt(np.mean(off))))
    return Stripes(max(between) if between else None, max(against) if against else None)


def _groups(expected: ExpectedSheet, place: int) -> list[list[tuple[str, BoxMm]]]:
    """The tiles (code, box) by row (place 0) or by column (place 1) of their codes."""
    names = sorted({tile.code[place] for tile in expected.layout.tiles})
    return [[(t.code, t.box_mm) for t in expected.layout.tiles if t.code[place] == name] for name in names]


def _lightness(straight: StraightSheet, box: BoxMm) -> Array:
    part = np.nan_to_num(straight.part(box, PROFILE_INSET_MM), nan=1.0)
    return lightness_from_y(np.clip(part @ LIGHT_TO_XYZ[1], 0, 1.2))


def _profile(tiles: list[Array], axis: int) -> Array:
    """Mean lightness along one direction of tiles that lie side by side."""
    size = min(tile.shape[1 - axis] for tile in tiles)
    return np.mean([tile.mean(axis=axis)[:size] for tile in tiles], axis=0)


def _difference(one: Array, other: Array) -> float:
    """Stripes of two profiles of one picture, rms in L*: half of what they do not share is of each."""
    left, factor = _unlike(one, other)
    return left / float(np.hypot(1, factor))


def _unlike(one: Array, other: Array) -> tuple[float, float]:
    """rms of what the fine part of a profile does not share with another's, in L*, and their common factor.

    The picture in them is the same but for a correction and a fraction of a pixel: its fine part may be scaled
    by a factor that goes with the tone, moved, stretched and blurred a little.
    """
    size = min(len(one), len(other))
    a, b = gaussian_filter1d(one[:size], 1.5), gaussian_filter1d(other[:size], 1.5)
    wide = FINE_MM * PER_MM / 2.5
    tone_a, tone_b = gaussian_filter1d(a, wide, mode="nearest"), gaussian_filter1d(b, wide, mode="nearest")
    fine_a, fine_b = a - tone_a, b - tone_b
    kept = slice(6, size - 6)
    slope = np.gradient(b)
    bow, along, tone = np.gradient(slope), np.linspace(-1, 1, size), (tone_b - tone_b.mean()) / 30
    shared = [fine_b, fine_b * tone, fine_b * tone**2, fine_b * along, slope, slope * along, slope * tone, bow]
    shares = np.stack(shared, axis=-1)
    factors = np.linalg.lstsq(shares[kept], fine_a[kept], rcond=None)[0]
    left = fine_a[kept] - shares[kept] @ factors
    return float(np.sqrt(np.mean(left**2))), float(factors[0])
