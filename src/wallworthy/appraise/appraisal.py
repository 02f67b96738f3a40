"""The appraisal of a looked-at picture: what it can stand at a size, from a distance, and what would show."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise import findings as find
from wallworthy.appraise import words as say
from wallworthy.appraise.eye import SHARP, deficit
from wallworthy.appraise.finding import Finding, OnPaper, worst_first
from wallworthy.appraise.grade import (
    GOOD,
    INDICATIVE_MM,
    LADDER_CM,
    LIMITS,
    NEAREST_MM,
    Another,
    File,
    Grade,
    Rung,
    Setting,
    deficit_at,
    grade_of,
    interval,
    ladder,
    largest_size,
    nearest_distance,
    others,
)
from wallworthy.appraise.look import Look
from wallworthy.appraise.measured import Measured, measured
from wallworthy.appraise.noise import ToneNoise, visibility_of
from wallworthy.appraise.resolution import Resolution, last_seen_in
from wallworthy.appraise.tones import Ends
from wallworthy.base.records import Box, Pair
from wallworthy.base.units import LARGEST_MM

Floats = NDArray[np.float32]

NEVER_TOLD: Final = 0.25
"""Findings whose visibility times confidence is below this are not told."""


@dataclass(frozen=True, slots=True)
class Picture:
    """What is asked: the looked-at part's size on paper and how it is seen; facts of the file that matter."""

    size_mm: Pair
    distance_mm: float
    setting: Setting
    bits: int
    space: str
    gamut_ratio: float | None = None
    """Area of the file's primaries over that of sRGB's, when it has any."""
    origin_px: tuple[int, int] = (0, 0)
    subject: Box | None = None
    """A box of the looked-at part that must be sharp."""
    ladder_cm: tuple[Pair, ...] = LADDER_CM
    """The sizes of the ladder, short and long edge."""


@dataclass(frozen=True, slots=True)
class SeenNoise:
    """Noise at a tone and how visible it is."""

    noise: ToneNoise
    visible_jnd: float


@dataclass(frozen=True, slots=True)
class Appraisal:
    """All that the appraisal says (CONTRACT, `appraise`)."""

    deficit_jnd: float
    overshoot_jnd: float
    interval_jnd: Pair
    grade: Grade
    largest_good_mm: Pair
    nearest_good_mm: float
    density_ppi: float
    resolution: Resolution
    noise: tuple[SeenNoise, ...]
    ends: Ends
    findings: tuple[Finding, ...]
    ladder: tuple[Rung, ...]
    others: tuple[Another, ...]
    sentences: tuple[str, ...]


def appraise(
    look: Look, lab: Floats, picture: Picture, more: tuple[Finding, ...] = (), known: Measured | None = None
) -> Appraisal:
    """Appraise a looked-at picture. lab: (n, 3) some of its colours, D50; more: findings made elsewhere.

    known: what was measured of this look before, for another size or distance.
    """
    seen_in = known or measured(look, lab, picture.bits)
    found, repeats = seen_in.resolution, look.repeats
    size_px = (look.plan.width_px, look.plan.height_px)
    fraction = 1 / repeats**2 if repeats > 1 else found.fraction
    transfer = SHARP.stretched(1 / repeats) if repeats > 1 else (found.transfer or SHARP)
    file = File(size_px, transfer, min(0.3, found.doubt) if found.fraction is not None else 0.25)
    model, size, distance = picture.setting.model, picture.size_mm, picture.distance_mm
    seen = deficit(file.transfer, file.ppi(size), size, distance, model)
    paper = OnPaper(file.ppi(size), distance, model, picture.origin_px)
    megapixels = size_px[0] * size_px[1] / 1e6
    lossy = seen_in.compression is not None
    told = [
        *find.detail_findings(found, seen.deficit_jnd, megapixels, seen_in.top_band, repeats, lossy, paper),
        *find.focus_findings(found, picture.subject, last_seen_in(found.focus, picture.subject), paper),
        *find.noise_findings(seen_in.tones, paper),
        *find.clipping_findings(seen_in.ends, picture.space, look, paper),
        *find.tone_findings(seen_in.gaps, picture.gamut_ratio, picture.bits, seen_in.cast, picture.space, paper),
        *find.blemish_findings(look, seen_in.sigma, seen_in.dust, seen_in.compression, paper),
        *more,
    ]
    grade = grade_of(seen.deficit_jnd)
    large = largest_size(file, distance, model)
    near = nearest_distance(file, size, model)
    masters = others(file, size, distance, model)
    kept = worst_first(one for one in told if one.visibility_jnd * one.confidence >= NEVER_TOLD)
    return Appraisal(
        deficit_jnd=seen.deficit_jnd,
        overshoot_jnd=seen.overshoot_jnd,
        interval_jnd=interval(file, size, distance, picture.setting),
        grade=grade,
        largest_good_mm=large,
        nearest_good_mm=near,
        density_ppi=file.ppi(size),
        resolution=found if repeats == 1 else _with_fraction(found, fraction),
        noise=tuple(SeenNoise(tone, visibility_of(tone, paper.ppi, distance, model)) for tone in seen_in.tones),
        ends=seen_in.ends,
        findings=kept,
        ladder=ladder(file, model, picture.ladder_cm),
        others=masters,
        sentences=_sentences(picture, file, grade, (large, near), fraction, found.motion is not None, masters),
    )


def _with_fraction(found: Resolution, fraction: float | None) -> Resolution:
    return replace(found, fraction=fraction)


def _sentences(
    picture: Picture,
    file: File,
    grade: Grade,
    good: tuple[Pair, float],
    fraction: float | None,
    moved: bool,
    masters: tuple[Another, ...],
) -> tuple[str, ...]:
    """In words; good: the largest good size and the nearest good distance, or the least bad where there is none."""
    (large, near), size, distance, model = good, picture.size_mm, picture.distance_mm, picture.setting.model
    some_size = deficit_at(file, large, distance, model) < LIMITS[GOOD]
    some_distance = deficit_at(file, size, near, model) < LIMITS[GOOD]
    lines = [
        say.headline(size, distance, grade),
        say.how_large(large, distance, max(large) >= 0.99 * LARGEST_MM) if some_size else say.never_large(distance),
        say.how_near(near, NEAREST_MM) if some_distance else say.never_near(near),
        say.detail_held(fraction, file.size_px[0] * file.size_px[1] / 1e6, moved),
    ]
    if picture.distance_mm < INDICATIVE_MM:
        lines.append(say.INDICATIVE)
    gaining = next((one for one in masters if one.gain_jnd >= 1), None)
    if gaining is not None and grade not in (Grade.AS_GOOD, Grade.FINE):
        lines.append(say.another(gaining.megapixels, gaining.gain_jnd))
    return tuple(lines)
