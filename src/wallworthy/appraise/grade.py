"""Grades in words; how large a print can be, from how near it holds, what another master would bring."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

import numpy as np

from wallworthy.appraise.eye import MEAN_SHARE, PAPERS, RANGES, SHARP, Seeing, Transfer, deficit, deficits
from wallworthy.appraise.eye import parameter_sets as sets_of
from wallworthy.base.records import Light, Pair
from wallworthy.base.units import FARTHEST_MM, LARGEST_MM, MM_PER_INCH

NEAREST_MM: Final = 250.0
"""The near point of the eye; nearer than this one needs a glass."""

INDICATIVE_MM: Final = 100.0
"""Nearer than this a figure is indicative only: the eye is helped by a glass the model knows nothing of."""

SETS: Final = 96
"""Parameter sets an interval is taken from; it covers the middle nine tenths of them."""

MEAN_SHARE_RANGE: Final = (0.14, 0.32)

LADDER_CM: Final[tuple[Pair, ...]] = (
    (10, 15),
    (13, 18),
    (20, 30),
    (30, 45),
    (40, 60),
    (50, 75),
    (60, 90),
    (80, 120),
    (100, 150),
)
"""The usual sizes, short and long edge."""


class Grade(StrEnum):
    """How a print's detail will be judged."""

    AS_GOOD = "as_good"
    FINE = "fine"
    LITTLE_SOFT = "little_soft"
    SOFT = "soft"
    TOO_SOFT = "too_soft"


LIMITS: Final[Mapping[Grade, float]] = {Grade.AS_GOOD: 1.0, Grade.FINE: 3.0, Grade.LITTLE_SOFT: 6.0, Grade.SOFT: 10.0}
"""Deficit in JND below which each grade is given; what lies beyond is too soft."""

GOOD: Final = Grade.FINE
"""The grade 'good size' and 'good distance' are found for."""


def grade_of(deficit_jnd: float) -> Grade:
    """The grade of a deficit.

    >>> [str(grade_of(jnd)) for jnd in (0.4, 1.5, 5, 8, 20)]
    ['as_good', 'fine', 'little_soft', 'soft', 'too_soft']
    """
    return next((grade for grade, limit in LIMITS.items() if deficit_jnd < limit), Grade.TOO_SOFT)


@dataclass(frozen=True, slots=True)
class Setting:
    """Where a print will be looked at: the model's likeliest parameters and their ranges."""

    model: Seeing
    ranges: Mapping[str, Pair]


def setting_of(light: Light | None, surface: str | None, paper_mtf50_per_mm: float | None = None) -> Setting:
    """The parameters for a light, a paper's surface and, if it was measured, what ink and paper leave.

    Unknown things keep their whole named range.
    """
    model, ranges = Seeing(), dict(RANGES)
    if light is not None:
        white = light.paper_white_cd_m2
        low, high = (white * lux / light.illuminance_lx for lux in light.illuminance_interval_lx)
        model = replace(model, mean_cd_m2=white * MEAN_SHARE)
        ranges["mean_cd_m2"] = (low * MEAN_SHARE_RANGE[0], high * MEAN_SHARE_RANGE[1])
    if paper_mtf50_per_mm is not None:
        model = replace(model, paper_mtf50_per_mm=paper_mtf50_per_mm)
        ranges["paper_mtf50_per_mm"] = (0.9 * paper_mtf50_per_mm, 1.1 * paper_mtf50_per_mm)
    elif surface is not None and surface in PAPERS:
        value, low, high = PAPERS[surface]
        model = replace(model, paper_mtf50_per_mm=value)
        ranges["paper_mtf50_per_mm"] = (low, high)
    return Setting(model, ranges)


@dataclass(frozen=True, slots=True)
class File:
    """What counts of a file for detail: its pixels (width, height), what they hold, and how surely that is known."""

    size_px: tuple[int, int]
    transfer: Transfer
    doubt: float = 0.0
    """Relative uncertainty of the frequencies the file holds; 0.1 for a tenth."""

    def ppi(self, size_mm: Pair) -> float:
        return self.size_px[0] / size_mm[0] * MM_PER_INCH

    def size_at(self, long_edge_mm: float) -> Pair:
        scale = long_edge_mm / max(self.size_px)
        return self.size_px[0] * scale, self.size_px[1] * scale


def deficit_at(file: File, size_mm: Pair, distance_mm: float, model: Seeing) -> float:
    """Deficit in JND of a file at a size from a distance."""
    return deficit(file.transfer, file.ppi(size_mm), size_mm, distance_mm, model).deficit_jnd


def interval(file: File, size_mm: Pair, distance_mm: float, setting: Setting) -> Pair:
    """Where the deficit lies: the middle nine tenths over seeded parameter sets and the file's own uncertainty."""
    models, ppi = sets_of(setting.ranges, SETS), file.ppi(size_mm)
    third = SETS // 3
    found = [
        deficits(file.transfer.stretched(factor), ppi, size_mm, distance_mm, part)[0]
        for factor, part in zip(
            (1 - file.doubt, 1.0, 1 + file.doubt),
            (models[:third], models[third : 2 * third], models[2 * third :]),
            strict=True,
        )
    ]
    likely = deficit_at(file, size_mm, distance_mm, setting.model)
    low, high = np.quantile(np.concatenate(found), (0.05, 0.95))
    return min(float(low), likely), max(float(high), likely)


def largest_size(file: File, distance_mm: float, model: Seeing, grade: Grade = GOOD) -> Pair:
    """The largest print of that grade from a distance, width and height in mm, up to 20 m; the smallest is 1 cm."""

    def good(long_edge_mm: float) -> bool:
        return deficit_at(file, file.size_at(long_edge_mm), distance_mm, model) < LIMITS[grade]

    return file.size_at(_edge_of(good, LARGEST_MM, 10.0))


def nearest_distance(file: File, size_mm: Pair, model: Seeing, grade: Grade = GOOD) -> float:
    """The nearest distance in mm from which a print is of that grade; not below the eye's near point, 250 mm."""

    def good(distance_mm: float) -> bool:
        return deficit_at(file, size_mm, distance_mm, model) < LIMITS[grade]

    return _edge_of(good, NEAREST_MM, FARTHEST_MM)


def _edge_of(good: Callable[[float], bool], wanted: float, safe: float) -> float:
    """The value nearest to `wanted` that is still good, going towards `safe`, within half a per cent."""
    if good(wanted):
        return wanted
    bad, fine = math.log(wanted), math.log(safe)
    while abs(bad - fine) > 0.005:
        middle = (bad + fine) / 2
        if good(math.exp(middle)):
            fine = middle
        else:
            bad = middle
    return math.exp(fine)


@dataclass(frozen=True, slots=True)
class Rung:
    """One size of the ladder: its deficit from the print's own diagonal (from the near point of the eye, where that is
    farther), and from how near it is still good."""

    size_mm: Pair
    distance_mm: float
    density_ppi: float
    deficit_jnd: float
    grade: Grade
    nearest_good_distance_mm: float


def ladder(file: File, model: Seeing, sizes_cm: tuple[Pair, ...] = LADDER_CM) -> tuple[Rung, ...]:
    """Sizes (short and long edge), the picture placed inside each and seen from its own diagonal, not from nearer than
    an eye can see clearly."""
    rungs: list[Rung] = []
    for short, long in sizes_cm:
        edges = (long * 10, short * 10) if file.size_px[0] >= file.size_px[1] else (short * 10, long * 10)
        scale = min(edges[0] / file.size_px[0], edges[1] / file.size_px[1])
        size_mm = (file.size_px[0] * scale, file.size_px[1] * scale)
        distance = max(math.hypot(*size_mm), NEAREST_MM)
        lost = deficit_at(file, size_mm, distance, model)
        near = nearest_distance(file, size_mm, model)
        rungs.append(Rung(size_mm, distance, file.ppi(size_mm), lost, grade_of(lost), near))
    return tuple(rungs)


@dataclass(frozen=True, slots=True)
class Another:
    """What a sharp master of so many megapixels would lose at this size and distance, and gain over this one."""

    megapixels: float
    deficit_jnd: float
    gain_jnd: float


def others(file: File, size_mm: Pair, distance_mm: float, model: Seeing) -> tuple[Another, ...]:
    """What sharp masters of the same frame with 12, 24, 45 and 100 megapixels would bring."""
    here, aspect = deficit_at(file, size_mm, distance_mm, model), size_mm[0] / size_mm[1]
    found: list[Another] = []
    for megapixels in (12.0, 24.0, 45.0, 100.0):
        width = math.sqrt(megapixels * 1e6 * aspect)
        there = deficit(SHARP, width / size_mm[0] * MM_PER_INCH, size_mm, distance_mm, model).deficit_jnd
        found.append(Another(megapixels, there, here - there))
    return tuple(found)
