"""What would show: one finding with its place, its size on paper, how visible and how sure; worst first."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from wallworthy.appraise.eye import Seeing
from wallworthy.base.records import Box, Pair
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.barten1999 import contrast_sensitivity

FOLD: Final = 20
"""More findings of one kind than this are told as one."""

SURELY: Final = 0.8
"""Confidence from which a finding is told without 'perhaps'."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that would show in the print (CONTRACT, `appraise`).

    visibility_jnd: below 1 it is not seen from the distance. confidence: 0 to 1. size_mm: on paper.
    """

    kind: str
    box_px: Box | None
    size_mm: Pair | None
    visibility_jnd: float
    confidence: float
    text: str
    count: int = 1
    """How many like it are told of at once."""


@dataclass(frozen=True, slots=True)
class OnPaper:
    """How the looked-at picture lies on paper and is seen."""

    ppi: float
    distance_mm: float
    model: Seeing
    origin_px: tuple[int, int] = (0, 0)
    """Row and column of the looked-at part within the master."""

    def mm(self, px: float) -> float:
        """So many of the picture's pixels, in mm on paper."""
        return px / self.ppi * MM_PER_INCH

    def box(self, box: Box) -> Box:
        """A box of the looked-at part in the master's pixels."""
        return (box[0] + self.origin_px[0], box[1] + self.origin_px[1], box[2], box[3])

    def size(self, box: Box) -> Pair:
        """Width and height of a box on paper, mm."""
        return round(self.mm(box[3]), 2), round(self.mm(box[2]), 2)

    def visibility(self, depth_lstar: float, tone_lstar: float, period_px: float) -> float:
        """How visible a difference of L* is that repeats, or would, every `period_px` pixels; JND, 1 at threshold."""
        slope = 3 / (tone_lstar + 16) if tone_lstar > 8 else 1 / max(tone_lstar, 2.0)
        modulation = min(abs(depth_lstar) * slope / 2, 1.0)
        per_mm = 1 / max(self.mm(period_px), 1e-6)
        cpd = per_mm * self.distance_mm * math.tan(math.radians(1))
        # what is wider than half a degree is seen by its border
        cpd = max(cpd, 1.0)
        if cpd > 60:
            return 0.0
        paper = 2 ** -((per_mm / self.model.paper_mtf50_per_mm) ** 2)
        sensitivity = float(contrast_sensitivity(cpd, self.model.mean_cd_m2, 12.0, self.model.k))
        return math.sqrt(modulation * paper * sensitivity)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By how visible and how sure they are."""
    return tuple(sorted(findings, key=lambda one: (-one.visibility_jnd * one.confidence, one.kind, one.box_px or ())))


def fold(findings: list[Finding], many: str) -> list[Finding]:
    """A list of one kind, the worst FOLD of it and one more that tells of the rest in words; `many` with '{count}'."""
    if len(findings) <= FOLD:
        return findings
    ordered = list(worst_first(findings))
    rest = ordered[FOLD:]
    top, left = min(f.box_px[0] for f in rest if f.box_px), min(f.box_px[1] for f in rest if f.box_px)
    bottom = max(f.box_px[0] + f.box_px[2] for f in rest if f.box_px)
    right = max(f.box_px[1] + f.box_px[3] for f in rest if f.box_px)
    told = Finding(
        kind=rest[0].kind,
        box_px=(top, left, bottom - top, right - left),
        size_mm=None,
        visibility_jnd=rest[0].visibility_jnd,
        confidence=rest[0].confidence,
        text=many.format(count=len(rest)),
        count=len(rest),
    )
    return [*ordered[:FOLD], told]
