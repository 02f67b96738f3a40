"""A proof's findings for the page: sentences with places, the tone ladder, the chroma rose, the loss as a picture."""

from __future__ import annotations

import math
import re
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from wallworthy.base.records import LutFigures, WorstPlace
from wallworthy.colour.correction import correct
from wallworthy.colour.float32 import planes_of, working_to_lab32
from wallworthy.colour.lab import relative_to_absolute
from wallworthy.fit.compose import direct
from wallworthy.fit.ways import lab_in_condition
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import GamutSurface
from wallworthy.journey.choosing import as_printed, who_pays
from wallworthy.journey.greyness import grey_fields
from wallworthy.journey.lighting import Room, in_light
from wallworthy.journey.page import Finding, Ladder, ProofFigures, ReportView, Rose
from wallworthy.journey.seeing import Seen
from wallworthy.proof.soft import Proof

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

STEP_LSTAR: Final = 5
HUES: Final = 18
REACH_PERCENTILE: Final = 98.0
COLOURED_CHROMA: Final = 3.0
"""Paler colours have no hue to speak of."""
LEAST_SHARE: Final = 0.002
"""A hue with less of the picture than this does not reach anywhere."""
FARTHEST_SHARE: Final = 0.85
"""The paper is asked at the lightness of what reaches at least so much of a hue's reach."""
DRAWN_FROM: Final = 100_000
"""Ladder and rose are drawn from about so many pixels, evenly spread."""
FARTHEST_CHROMA: Final = 160
LOSS_SCALE: Final = 12.0
LOSS_MM: Final = 1.0
CAUTIONS: Final = ("display_cannot_match", "brighteners")

_NUMBER: Final = re.compile(r"(?P<text>.*[.]) (?P<number>\d+\.\d ΔE00 on average, .*)", re.DOTALL)


def report_view(seen: Seen, proof: Proof, figures: LutFigures, picture: Floats, surface: GamutSurface) -> ReportView:
    """Everything the page says and draws of a proof. picture: (h, w, 3), working encoding, 0-1, some of it."""
    report = proof.report
    picture = as_printed(seen.job, picture)
    step = max(1, math.isqrt(picture.shape[0] * picture.shape[1] // DRAWN_FROM))
    lab = working_to_lab32(planes_of(picture[::step, ::step])).T
    wanted = correct(lab, seen.job.correction)
    told = list(proof.sentences)
    heading = told.pop(0)
    rest = told.pop(0) if report.worst and told else ""
    matched, shown = _set_apart(told, seen)
    room = None if seen.light is None else in_light(seen.looked, seen.job, seen.display, seen.light)
    return ReportView(
        heading=heading,
        findings=tuple(_finding(number, place, seen) for number, place in enumerate(report.worst, 1)),
        rest_text=rest,
        sentences=tuple(text for text in told if text not in matched and text not in shown),
        figures=ProofFigures(
            out_of_range_pct=report.out_of_range_pct,
            loss_mean_de00=report.loss_mean_de00,
            loss_p95_de00=report.loss_p95_de00,
            loss_max_de00=report.loss_max_de00,
            range_before_lstar=report.range_before_lstar,
            range_after_lstar=report.range_after_lstar,
            out_of_display_pct=report.out_of_display_pct,
            display_white_match_cd_m2=report.display_white_match_cd_m2,
            lut_size=figures.size,
            lut_mean_de00=figures.mean_de00,
            lut_p999_de00=figures.p999_de00 if figures.size else None,
            lut_max_de00=figures.max_de00,
        ),
        ladder=ladder(seen, lab[:, 0]),
        rose=rose(wanted, lab_in_condition(seen.job.output, seen.job.way, seen.job.source)(wanted)[:, 0], surface),
        light_text=" ".join((*matched, *_said_of(room))) or None,
        pays=who_pays(seen.job),
        greys=grey_fields(seen.job, seen.light, lab[:, 0]),
        offer_lightness=room.offer.lightness if room is not None and room.offer is not None else None,
        display_text=" ".join(shown),
    )


def _set_apart(told: list[str], seen: Seen) -> tuple[list[str], list[str]]:
    """The sentences about the light and those about the screen."""
    lights = [text for text in told if seen.light is not None and text.startswith("To match blank paper under")]
    start = ("This screen can", "The paper's white is more than this screen")
    return lights, [text for text in told if text.startswith(start)]


def _said_of(room: Room | None) -> tuple[str, ...]:
    """How the print looks in its room, and what neither proof nor screen can show of it."""
    if room is None:
        return ()
    return *room.sentences, *(notice.text for notice in room.notices if notice.code in CAUTIONS)


def _finding(number: int, place: WorstPlace, seen: Seen) -> Finding:
    top, left, height, width = seen.job.shown_px
    row, column, rows, columns = place.box_px
    split = _NUMBER.fullmatch(place.text)
    return Finding(
        n=number,
        text=split["text"] if split else place.text,
        number=split["number"] if split else f"{place.loss_mean_de00:.1f} ΔE00 on average.",
        box=((column - left) / width, (row - top) / height, columns / width, rows / height),
        loss=place.loss_mean_de00,
    )


def ladder(seen: Seen, lightness: Floats) -> Ladder:
    """Where the master's neutrals land on the paper, by the direct chain, and how much of the picture is where.

    lightness: L* of the picture before any correction, any shape.
    """
    job = seen.job
    tones = np.arange(0, 100 + STEP_LSTAR, STEP_LSTAR) / 100
    neutral = np.repeat(tones[:, None], 3, axis=1)
    landed = to_lab(job.output, direct(job.output, job.way, job.correction, job.source)(neutral))
    absolute = relative_to_absolute(landed, job.output.white_xyz)[:, 0]
    counts, _ = np.histogram(np.clip(lightness, 0, 100), bins=100 // STEP_LSTAR, range=(0, 100))
    facts = job.condition.facts
    return Ladder(
        lo=facts.black_lab[0],
        hi=facts.white_lab[0],
        land=tuple(round(float(value), 2) for value in absolute),
        share=tuple(round(float(count), 5) for count in counts / max(1, lightness.size)),
    )


def rose(lab: Array, asked_lstar: Array, surface: GamutSurface) -> Rose:
    """How far a picture's colours (n, 3), as they are wanted on paper, reach by hue, and how far the paper does.

    asked_lstar: (n,) the L* at which the way asks the paper for them, its own black and white reckoned in.
    """
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
    sector = np.rint(hue / (360 / HUES)).astype(int) % HUES
    coloured = chroma >= COLOURED_CHROMA
    usual = float(np.median(asked_lstar)) if len(lab) else 50.0
    reach, heights = np.zeros(HUES), np.full(HUES, usual)
    for one in range(HUES):
        mine = coloured & (sector == one)
        if np.count_nonzero(mine) >= max(1, LEAST_SHARE * len(lab)):
            reach[one] = np.percentile(chroma[mine], REACH_PERCENTILE)
            heights[one] = np.median(asked_lstar[mine & (chroma >= FARTHEST_SHARE * reach[one])])
    return Rose(
        tuple(round(float(value), 1) for value in reach),
        tuple(round(float(value), 1) for value in _paper_reach(heights, surface)),
    )


def _paper_reach(heights: Array, surface: GamutSurface) -> Array:
    """The largest C* that is printed at each sector's lightness, going outwards from grey, (HUES,)."""
    angles = np.radians(np.arange(HUES) * (360 / HUES))
    steps = np.arange(0.5, FARTHEST_CHROMA, 0.5)
    lab = np.empty((HUES, len(steps), 3))
    lab[..., 0] = heights[:, None]
    lab[..., 1] = np.cos(angles)[:, None] * steps
    lab[..., 2] = np.sin(angles)[:, None] * steps
    within = np.logical_and.accumulate(surface.inside(lab), axis=1)
    return np.where(within[:, 0], steps[np.maximum(within.sum(axis=1) - 1, 0)], 0.0)


def loss_codes(loss: Floats, px_per_mm: float) -> NDArray[np.uint8]:
    """The loss (H, W) as grey codes (H, W, 1): dE00 times 12, smoothed to a millimetre on paper."""
    smoothed = ndimage.gaussian_filter(loss, sigma=max(0.5, LOSS_MM * px_per_mm / 2), mode="nearest")
    return np.clip(np.rint(smoothed * LOSS_SCALE), 0, 255).astype(np.uint8)[..., None]
