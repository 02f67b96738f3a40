"""What `appraise` answers (CONTRACT): the record behind its JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from wallworthy.base.records import Box, Pair
from wallworthy.journey.answers import Answer


@dataclass(frozen=True, slots=True)
class MasterFields:
    sha256: str
    width_px: int
    height_px: int
    bits: int
    space: str
    profile_description: str | None


@dataclass(frozen=True, slots=True)
class ToneFields:
    l_lstar: float
    sigma_lstar: float
    visible_jnd: float
    channels: tuple[float, float, float]
    """Standard deviation in red, green and blue of the working encoding, times 100."""


@dataclass(frozen=True, slots=True)
class FindingFields:
    kind: str
    box_px: Box | None
    size_mm: Pair | None
    visibility_jnd: float
    """Below 1 it is not seen from the distance."""
    confidence: float
    text: str


@dataclass(frozen=True, slots=True)
class RungFields:
    size_mm: Pair
    distance_mm: float
    """The print's own diagonal, or 250 mm where that is farther."""
    density_ppi: float
    deficit_jnd: float
    grade: str
    nearest_good_distance_mm: float


@dataclass(frozen=True, slots=True)
class OtherFields:
    megapixels: float
    deficit_jnd: float
    gain_jnd: float


@dataclass(frozen=True, slots=True)
class SharpnessFields:
    box_px: Box
    share_pct: float
    """Of the finest detail pixels can hold, by frequency."""
    edges: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AppraiseAnswer(Answer):
    """What an appraisal says: the deficit and its grade, how large and how near, and what would show, worst first."""

    schema_name: ClassVar[str] = "appraise"
    master: MasterFields
    size_mm: Pair
    crop_px: Box | None
    distance_mm: float
    density_ppi: float
    deficit_jnd: float
    deficit_interval_jnd: Pair
    overshoot_jnd: float
    indicative: bool
    """True when it is looked at from so near that the figures are indicative only."""
    grade: str
    largest_good_size_mm: Pair
    """Seen from `distance_mm`; good is 'fine' or better."""
    nearest_good_distance_mm: float
    effective_fraction: float | None
    """Share of the pixel count that carries detail; null when it can't be told."""
    effective_confidence: float
    sharpness: tuple[SharpnessFields, ...]
    """How sharp each part of the picture is where edges tell."""
    noise_tones: tuple[ToneFields, ...]
    clipped_high_pct: tuple[float, ...]
    clipped_low_pct: tuple[float, ...]
    findings: tuple[FindingFields, ...]
    ladder: tuple[RungFields, ...]
    other_masters: tuple[OtherFields, ...]
    condition: str | None
    sentences: tuple[str, ...]
