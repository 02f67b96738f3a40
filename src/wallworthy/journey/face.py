"""The library face: masters, conditions, corrections, proof and final without a journal; test sheets with one.

import wallworthy as ww

master = ww.open_master("dusk.tif")
paper = ww.read_condition("warm-cotton.icc")
proof = ww.soft_proof(master, paper, size="30x40cm", correction=ww.Correction(lightness=2))
proof.save("proof.png")
ww.write_final(master, paper, "final.tif", size="30x40cm", correction=ww.Correction(lightness=2))
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import (
    Box,
    Condition,
    Correction,
    Delivery,
    Display,
    Light,
    LutFigures,
    Master,
    ProofReport,
    Way,
)
from wallworthy.base.saying import command_words
from wallworthy.base.units import Size, diagonal_mm, parse_length_mm, parse_size
from wallworthy.colour.correction import correct
from wallworthy.journey.answers import ChooseAnswer
from wallworthy.journey.appraised import AppraiseAnswer
from wallworthy.journey.appraising import answer_of, appraised
from wallworthy.journey.chain import Job, job_of
from wallworthy.journey.choosing import hanging_together, wishes_kept
from wallworthy.journey.conditions import generic_of, measured, pick_profile
from wallworthy.journey.drawn import LONG_EDGE_PX, DrawnProof, drawn_proof, write_proof
from wallworthy.journey.finishing import FinalWish, planned, rendered, settled_for
from wallworthy.journey.inkspread import checked_spread, measured_spread
from wallworthy.journey.ranking import answer_of as ranked
from wallworthy.journey.ranking import check_contact, refuse_crop_of_set, try_set, write_contact
from wallworthy.journey.sizing import Shot, checked_crop, margins_of, own_distance_mm, placed, shot_of
from wallworthy.journey.teaching import judge, make_sheet, readback, start_ticket
from wallworthy.journey.tickets import no_choice, parse_tone, parse_way
from wallworthy.master.open import open_master
from wallworthy.proof.displays import display_from
from wallworthy.proof.lights import light_from
from wallworthy.render.final import FinalFacts

__all__ = [
    "AppraiseAnswer",
    "ChooseAnswer",
    "Condition",
    "Correction",
    "Delivery",
    "Display",
    "FinalFacts",
    "Light",
    "Master",
    "ProofReport",
    "SoftProof",
    "Way",
    "appraise_master",
    "choose",
    "correct",
    "display_from",
    "generic_condition",
    "judge",
    "light_from",
    "make_sheet",
    "measure_ink_spread",
    "open_master",
    "read_condition",
    "readback",
    "soft_proof",
    "start_ticket",
    "write_final",
]


@dataclass(frozen=True, slots=True)
class SoftProof:
    """A soft proof and its findings.

    image: (H, W, 3) uint8 for the display.
    """

    image: NDArray[np.uint8] = field(repr=False)
    report: ProofReport
    sentences: tuple[str, ...]
    table: LutFigures
    """How far the table stands from the direct computation."""
    drawn: DrawnProof = field(repr=False)

    @property
    def lab_absolute(self) -> NDArray[np.float32]:
        """The predicted print, (H, W, 3) float32 media-absolute Lab, D50; worked out each time it is asked for."""
        return self.drawn.proof.lab_absolute

    def save(self, path: str | Path, *, lab: str | Path | None = None, overwrite: bool = False) -> None:
        """Write the proof as PNG with the display's profile, and the predicted print as a Lab TIFF.

        Raises InputError when a file is there already and `overwrite` is false, or is the master.
        """
        write_proof(self.drawn, Path(path), None if lab is None else Path(lab), overwrite=overwrite)


def read_condition(
    profile: str | Path, *, name: str | None = None, pick: str | None = None, delivery: Delivery = Delivery.NUMBERS
) -> Condition:
    """A printing condition from an ICC output profile: a file, or a ZIP or folder with `pick`.

    Raises InputError when there is no usable output profile.
    """
    parsed = pick_profile(Path(profile), pick)
    return measured(name or parsed.description, parsed, paper=None, delivery=delivery, media=None)


def generic_condition(surface: str) -> Condition:
    """The built-in guess for 'gloss', 'lustre' or 'matt' paper. Raises InputError for another word."""
    return generic_of(surface)


def measure_ink_spread(scan: Master, *, ppi: float, crop: Box | None = None) -> float:
    """Cycles per mm at which ink and paper keep half the contrast, from a scan of sharp printed edges.

    ppi: how fine the scan is; crop: row, column, height, width in its pixels. The scanner's softness is counted in.
    Keep it as a condition's `ink_spread_per_mm`. Raises InputError for a scan too coarse or without edges.
    """
    return measured_spread(scan, ppi, None if crop is None else checked_crop(crop, scan))


def appraise_master(
    master: Master,
    *,
    size: str,
    distance: str | None = None,
    condition: Condition | None = None,
    light: Light | None = None,
    surface: str | None = None,
    ink_spread: float | None = None,
    crop: Box | None = None,
    subject: Box | None = None,
) -> AppraiseAnswer:
    """Whether a master is good enough at a size, seen from a distance (the print's diagonal unless given).

    surface: the paper's, 'gloss', 'lustre', 'matt' or 'canvas'; ink_spread: cycles per mm at which ink and paper
    keep half the contrast, in place of the condition's. crop and subject: row, column, height, width in master pixels;
    the subject is what must be sharp. Raises InputError for a size, distance, crop or spread that can't be.
    """
    box, size_mm = placed(master, parse_size(size), None if crop is None else checked_crop(crop, master), fill=False)
    return answer_of(
        appraised(
            master,
            size_mm=size_mm,
            distance_mm=own_distance_mm(size_mm) if distance is None else parse_length_mm(distance, "distance"),
            crop=box,
            condition=condition,
            light=light,
            surface=surface,
            ink_spread=checked_spread(ink_spread),
            subject=None if subject is None else checked_crop(subject, master),
        )
    )


def choose(
    master: Master | Sequence[Master],
    conditions: Sequence[Condition],
    *,
    size: str,
    light: Light | None = None,
    way: Way | str = Way.RELATIVE_BPC,
    distance: str | None = None,
    crop: Box | None = None,
    black_and_white: str | None = None,
    contact: str | Path | None = None,
    overwrite: bool = False,
) -> ChooseAnswer:
    """Rank papers for a master, the one that loses least first, with reasons; `contact` names a PNG of the proofs.

    Several masters are a set for one wall; `crop` is for one alone. The loss is seen under `light`, or as proofs
    have it without one. Raises InputError for no conditions, and for a size, way, distance or crop that can't be.
    """
    masters = (master,) if isinstance(master, Master) else tuple(master)
    refuse_crop_of_set(masters, crop)
    away = None if distance is None else parse_length_mm(distance, "distance")
    target = None if contact is None else Path(contact)
    shots: list[Shot] = []
    for one in masters:
        if target is not None:
            check_contact(target, one, force=overwrite)
        part = None if crop is None else checked_crop(crop, one)
        shots.append(shot_of(one, placed(one, parse_size(size), part, fill=False), away))
    tried = try_set(
        shots,
        conditions,
        light=light,
        way=parse_way(way),
        black_and_white=parse_tone(black_and_white),
    )
    files = () if target is None else (write_contact(tried, light, target, overwrite=overwrite),)
    start = command_words(
        ("wallworthy", "start", "MASTER"), {"--size": size, "--on": tried[0].condition.name, "--from": distance}
    )
    return ranked(tried, light, files, start)


def soft_proof(
    master: Master,
    condition: Condition,
    *,
    size: str = "A4",
    way: Way | str = Way.RELATIVE_BPC,
    correction: Correction | None = None,
    display: Display | None = None,
    light: Light | None = None,
    under_light: bool = True,
    paper_white: bool = True,
    crop: Box | None = None,
    black_and_white: str | None = None,
    must_not_suffer: Sequence[str] = (),
    beside: Sequence[Master] = (),
    long_edge_px: int = LONG_EDGE_PX,
) -> SoftProof:
    """Show a master on a paper: the picture for a display (sRGB unless given) and what it will lose.

    With a light the picture is shown as it looks there, unless `under_light` is false.

    size, black_and_white, must_not_suffer: as on the command line; size is the box the picture is placed in.
    crop: row, column, height, width in master pixels. beside: masters it hangs with, in the same size; ways chosen
    for the picture share one tone curve with them. Raises InputError for a size, way or correction that can't be.
    """
    box = parse_size(size)
    job = _job(
        master, condition, box, way, correction, crop, tone=black_and_white, wishes=must_not_suffer, beside=beside
    )
    screen = display or display_from("sRGB screen", space="srgb")
    drawn = drawn_proof(
        job, screen, light=light, under_light=under_light, paper_white=paper_white, long_edge_px=long_edge_px
    )
    found = drawn.proof
    return SoftProof(found.image, found.report, found.sentences, drawn.figures, drawn)


def write_final(
    master: Master,
    condition: Condition,
    target: str | Path,
    *,
    size: str,
    way: Way | str = Way.RELATIVE_BPC,
    correction: Correction | None = None,
    crop: Box | None = None,
    black_and_white: str | None = None,
    must_not_suffer: Sequence[str] = (),
    beside: Sequence[Master] = (),
    ppi: float | None = None,
    bits: int | None = None,
    sharpen: str | None = None,
    delivery: Delivery | None = None,
    border_mm: float | Sequence[float] = 0.0,
    overwrite: bool = False,
) -> FinalFacts:
    """Write the print-ready file (format by the target's ending) and say what was written.

    The defaults are those of the command line. border_mm: one width of bare paper, or top, right, bottom and left.
    beside: as in `soft_proof`.
    Raises UsageError for a border that is neither, InputError for what can't be, TroubleError when the
    disk refuses; the file is whole or absent.
    """
    path = Path(target)
    job = _job(
        master,
        condition,
        parse_size(size),
        way,
        correction,
        crop,
        border_mm,
        tone=black_and_white,
        wishes=must_not_suffer,
        beside=beside,
    )
    said = None if delivery is None else str(delivery)
    wish = FinalWish(out=path, ppi=ppi, bits=bits, sharpen=sharpen, delivery=said)
    return rendered(job, planned(job, settled_for(wish, condition)), path, overwrite=overwrite)


def _job(
    master: Master,
    condition: Condition,
    size: Size,
    way: Way | str,
    correction: Correction | None,
    crop: Box | None,
    border_mm: float | Sequence[float] = 0.0,
    *,
    tone: str | None = None,
    wishes: Sequence[str] = (),
    beside: Sequence[Master] = (),
) -> Job:
    box, size_mm = placed(master, size, None if crop is None else checked_crop(crop, master), fill=False)
    if wishes and not parse_way(way).is_chosen:
        raise no_choice(parse_way(way))
    others = [_job(other, condition, size, Way.RELATIVE_BPC, None, None, tone=tone) for other in beside]
    job = job_of(
        master,
        condition,
        size_mm=size_mm,
        distance_mm=diagonal_mm(*size_mm),
        way=Way.RELATIVE_BPC if others else parse_way(way),
        correction=correction or Correction(),
        crop_px=box,
        margins_mm=margins_of(border_mm, where="border_mm"),
        black_and_white=parse_tone(tone),
        must_not_suffer=wishes_kept(wishes, master),
    )
    if not others:
        return job
    return replace(job, way=parse_way(way), hangs_with=hanging_together([job, *others]))
