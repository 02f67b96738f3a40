"""From what was measured to what would show: findings on detail, noise, tones and blemishes."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise import words as say
from wallworthy.appraise.blemishes import Line, Spot
from wallworthy.appraise.enlarged import CUT_OFF, FULL
from wallworthy.appraise.finding import Finding, OnPaper, fold
from wallworthy.appraise.jpeg import Compression
from wallworthy.appraise.look import Look
from wallworthy.appraise.motion import SHORTEST_PX, Motion
from wallworthy.appraise.noise import ToneNoise, visibility_of
from wallworthy.appraise.resolution import SHARP_HERE, Resolution
from wallworthy.appraise.tones import WIDE, Cast, Ends, Gaps
from wallworthy.base.records import Box
from wallworthy.raster.filters import patches

Floats = NDArray[np.float32]

SOFT_FRACTION: Final = 0.6
"""Pictures that hold less than this share of their pixel count are told to be soft or enlarged."""

LEAST_CLIPPED_PCT: Final = 0.1
HALO_PCT: Final = 8.5
"""What 0.6 pixels of Lanczos leave stays below; a mask of 1.5 pixels and 150 % lies at 9 to 40."""
LEAN: Final = 4.0
"""Chroma of the greys from which it is asked about."""


def detail_findings(
    found: Resolution,
    deficit_jnd: float,
    megapixels: float,
    top_band: float | None,
    repeats: int,
    lossy: bool,
    paper: OnPaper,
) -> list[Finding]:
    """Softness, enlargement, motion and halos."""
    findings: list[Finding] = []
    if repeats > 1:
        text = say.repeated(repeats)
        seen = max(deficit_jnd, paper.visibility(10, 50, 2 * repeats))
        findings.append(Finding("enlarged", None, None, seen, 1.0, text))
    elif found.fraction is not None and found.fraction <= SOFT_FRACTION:
        cut = top_band is not None and top_band < CUT_OFF and not lossy
        native = top_band is not None and top_band > FULL
        kind = "soft" if native else "enlarged"
        sure = 0.9 if cut or native else 0.5
        text = say.soft(found.fraction, megapixels) if native else say.enlarged(found.fraction, megapixels, sure > 0.8)
        findings.append(Finding(kind, None, None, deficit_jnd, sure * found.confidence, text))
    if found.motion is not None:
        findings.append(_motion(found.motion, deficit_jnd, paper))
    if found.halo_pct >= HALO_PCT:
        width_px = 4.0
        seen = paper.visibility(found.halo_pct / 100 * 25, 60, 2 * width_px)
        text = say.halos(found.halo_pct, paper.mm(width_px), seen)
        box = found.sharpest
        place = None if box is None else paper.box(box)
        wide = round(paper.mm(width_px), 2)
        findings.append(Finding("halos", place, (wide, wide), seen, 0.5, text))
    return findings


def _motion(motion: Motion, deficit_jnd: float, paper: OnPaper) -> Finding:
    """A motion, seen when lines of ten L* as far apart as it is long would be."""
    length = motion.length_px
    seen = max(deficit_jnd, paper.visibility(10, 50, 2 * (length or SHORTEST_PX)))
    size = None if length is None else (round(paper.mm(length), 2), 0.0)
    text = say.motion(motion.direction_deg, length, None if length is None else paper.mm(length))
    return Finding("motion", None, size, seen, 0.5, text)


def focus_findings(
    found: Resolution, subject: Box | None, subject_focus: float | None, paper: OnPaper
) -> list[Finding]:
    """Whether the subject's box is as sharp as the sharpest part; its box in the looked-at part's pixels."""
    if subject is None or subject_focus is None or found.fraction is None:
        return []
    share = subject_focus / (0.5 * math.sqrt(found.fraction))
    if share >= SHARP_HERE:
        return []
    text = say.subject_soft(share)
    findings = [Finding("subject_soft", paper.box(subject), paper.size(subject), 3.0 * (1 - share), 0.7, text)]
    if found.sharpest is not None:
        place = paper.box(found.sharpest)
        findings.append(Finding("sharpest", place, paper.size(found.sharpest), 0.5, 0.7, say.focus_elsewhere()))
    return findings


def noise_findings(tones: tuple[ToneNoise, ...], paper: OnPaper) -> list[Finding]:
    """The most visible noise, when it is visible at all."""
    seen = [
        (visibility_of(tone, paper.ppi, paper.distance_mm, paper.model), tone) for tone in tones if tone.share > 0.02
    ]
    if not seen:
        return []
    jnd, tone = max(seen, key=lambda pair: pair[0])
    if jnd < 1:
        return []
    return [Finding("noise", None, None, jnd, 0.85, say.noise(tone.l_lstar, tone.sigma_lstar, jnd))]


def clipping_findings(ends: Ends, space: str, look: Look, paper: OnPaper) -> list[Finding]:
    """Burnt highlights and blocked shadows, where the largest of each lies."""
    names = say.CHANNELS.get(space, tuple(f"channel {i + 1}" for i in range(len(ends.high_pct))))
    findings: list[Finding] = []
    if space == "LAB":
        return findings
    for number, shares in enumerate((ends.high_pct, ends.low_pct)):
        high = number == 0
        worst = max(shares)
        if worst < LEAST_CLIPPED_PCT:
            continue
        box, area = _largest_place(look.ends[..., number], look.plan.factor)
        if box is None:
            continue
        # a texture of 3 L* would have lived there
        seen = paper.visibility(3, 92 if high else 20, math.sqrt(area)) * min(1.0, math.sqrt(worst))
        touched = [name for name, share in zip(names, shares, strict=True) if share > worst / 4]
        kind = "clipped_high" if high else "clipped_low"
        text = say.clipped(high, worst, touched)
        findings.append(Finding(kind, paper.box(box), paper.size(box), seen, 0.95, text))
    return findings


def _largest_place(share: Floats, factor: int) -> tuple[Box | None, float]:
    """The box of the largest connected place where most of the pixels stand at the end, and its area in pixels."""
    found = patches(share > 0.5)
    if not found:
        return None, 0.0
    row, column, height, width, area = max(found, key=lambda patch: patch[4])
    return (row * factor, column * factor, height * factor, width * factor), float(area * factor**2)


def tone_findings(
    gaps: Gaps | None, wide: float | None, bits: int, cast: Cast | None, space: str, paper: OnPaper
) -> list[Finding]:
    """Steps between tones, 8 bits in a wide space, and greys that lean."""
    findings: list[Finding] = []
    if gaps is not None:
        names = say.CHANNELS.get(space, ())
        name = names[gaps.channel] if gaps.channel < len(names) else f"channel {gaps.channel + 1}"
        seen = paper.visibility(gaps.spacing_codes * 100 / 255, 50, paper.ppi)
        text = say.posterised(gaps.levels, name, gaps.spacing_codes)
        findings.append(Finding("posterised", None, None, seen, 0.9, text))
    if wide is not None and wide >= WIDE and bits == 8:
        seen = paper.visibility(wide * 100 / 255, 50, paper.ppi)
        findings.append(Finding("wide_gamut_8_bit", None, None, seen, 0.6, say.wide_in_8_bits(wide)))
    if cast is not None and cast.chroma >= LEAN and cast.agreement > 0.85:
        findings.append(Finding("cast", None, None, cast.chroma / 3, 0.4, say.cast(cast.a, cast.b)))
    return findings


def blemish_findings(
    look: Look, sigma: float, spots: tuple[Spot, ...], compression: Compression | None, paper: OnPaper
) -> list[Finding]:
    """Dust, single pixels, lines and blocks."""
    tone = look.tone
    dust = [_dust(spot, tone, look.plan.factor, paper) for spot in spots]
    standing = [spot for spot in look.hot if abs(spot.depth) > 8 * sigma]
    hot = [_hot(spot, paper) for spot in standing]
    lines = [_line(line, look, paper) for line in look.lines]
    findings = fold(dust, say.DUST_MANY) + fold(hot, say.HOT_MANY) + fold(lines, say.LINES_MANY)
    if compression is not None:
        seen = paper.visibility(compression.seam * 100 / 255, 50, 16)
        text = say.compressed(compression.quality, paper.mm(8), seen)
        size = (round(paper.mm(8), 2), round(paper.mm(8), 2))
        findings.append(Finding("jpeg_blocks", None, size, seen, 0.95, text))
    return findings


def _tone_at(tone: Floats, box: Box, factor: int) -> float:
    row = min(tone.shape[0] - 1, (box[0] + box[2] // 2) // factor)
    column = min(tone.shape[1] - 1, (box[1] + box[3] // 2) // factor)
    return 100 * float(tone[row, column])


def _dust(spot: Spot, tone: Floats, factor: int, paper: OnPaper) -> Finding:
    seen = paper.visibility(100 * spot.depth, _tone_at(tone, spot.box_px, factor), 2 * spot.diameter_px)
    size = round(paper.mm(spot.diameter_px), 2)
    text = say.dust(size, 100 * spot.depth, seen)
    sure = min(0.95, 0.4 + spot.surety / 40)
    return Finding("dust", paper.box(spot.box_px), (size, size), seen, sure, text)


def _hot(spot: Spot, paper: OnPaper) -> Finding:
    seen = paper.visibility(100 * spot.depth, 50, 2)
    size = paper.mm(1)
    text = say.hot(-100 * spot.depth, size, seen)
    return Finding("hot_pixel", paper.box(spot.box_px), (round(size, 3), round(size, 3)), seen, 0.8, text)


def _line(line: Line, look: Look, paper: OnPaper) -> Finding:
    plan = look.plan
    box = (0, line.at_px, plan.height_px, 1) if line.down else (line.at_px, 0, 1, plan.width_px)
    # a long line is seen better than a short grating: four times as well is common
    seen = 2 * paper.visibility(100 * line.depth, 50, 2)
    return Finding("line", paper.box(box), paper.size(box), seen, 0.8, say.line(line.down, 100 * line.depth, seen))
