"""Is this file good enough, at this size, from there? One look through the picture, then what would show."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.appraisal import Appraisal, Picture, appraise
from wallworthy.appraise.finding import OnPaper
from wallworthy.appraise.grade import INDICATIVE_MM, LADDER_CM, setting_of
from wallworthy.appraise.look import ROWS, Look, look_at
from wallworthy.appraise.measured import Measured, measured
from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Box, Condition, Light, Master, Notice, Pair
from wallworthy.base.saying import command_words
from wallworthy.base.ticket import WrittenFile
from wallworthy.base.units import MM_PER_INCH, parse_length_mm, parse_size
from wallworthy.colour.float32 import pixels_of, planes_of, working_to_lab32
from wallworthy.journal.journal import Journal
from wallworthy.journey.annotating import write_annotated
from wallworthy.journey.appraised import (
    AppraiseAnswer,
    FindingFields,
    MasterFields,
    OtherFields,
    RungFields,
    SharpnessFields,
    ToneFields,
)
from wallworthy.journey.assuming import assumed
from wallworthy.journey.chain import guard_masters, refuse_existing, refuse_master
from wallworthy.journey.holding import gamut_ratio_of, on_condition
from wallworthy.journey.home import opened
from wallworthy.journey.inkspread import checked_spread
from wallworthy.journey.sizing import own_distance_mm, parse_crop, placed
from wallworthy.journey.tickets import light_of
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source


@dataclass(frozen=True, slots=True)
class AppraisalWish:
    """What is asked of a file, in the person's words."""

    master: Path
    size: str
    distance: str | None = None
    on: str | None = None
    light: str | None = None
    out: Path | None = None
    crop: str | None = None
    fill: bool = False
    subject: str | None = None
    ink_spread: float | None = None
    """Cycles per mm at which ink and paper keep half the contrast, measured from a printed edge."""
    assume: Path | None = None
    force: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What one look through a master, or a part of it, has found, whatever its size on paper."""

    look: Look
    lab: NDArray[np.float32]
    """Some of its colours, D50, (n, 3)."""
    facts: Measured


@dataclass(frozen=True, slots=True)
class Appraised:
    """An appraisal with what its picture is drawn from."""

    appraisal: Appraisal
    look: Look
    master: Master
    size_mm: Pair
    distance_mm: float
    crop_px: Box | None
    condition: str | None


def appraise_file(home: Path | None, wish: AppraisalWish, progress: Progress = silent) -> AppraiseAnswer:
    """Appraise a master at a size; writes the annotated picture when asked for. Raises InputError, UsageError."""
    if wish.crop is not None and wish.fill:
        raise UsageError("crop_or_fill", "--crop and --fill exclude each other.", "Leave one out.", where="appraise")
    size = parse_size(wish.size)
    distance = None if wish.distance is None else parse_length_mm(wish.distance)
    spread = checked_spread(wish.ink_spread)
    assume = assumed(wish.assume, wish.master)
    master = open_master(wish.master, assume=assume)
    crop, size_mm = placed(master, size, parse_crop(wish.crop, master), fill=wish.fill)
    subject = parse_crop(wish.subject, master)
    if wish.out is not None:
        _check_target(wish.out, master, force=wish.force)
    condition, light, surface = _named(home, wish)
    done = appraised(
        master,
        size_mm=size_mm,
        distance_mm=distance or own_distance_mm(size_mm),
        crop=crop,
        condition=condition,
        light=light,
        surface=surface,
        ink_spread=spread,
        subject=subject,
        progress=progress,
    )
    files: tuple[WrittenFile, ...] = ()
    if wish.out is not None:
        found = done.appraisal.findings
        ppi = done.look.plan.width_px / size_mm[0] * MM_PER_INCH
        files = (write_annotated(done.look, found, _origin(crop), ppi, wish.out, overwrite=wish.force),)
    return answer_of(done, files, wish)


def _named(home: Path | None, wish: AppraisalWish) -> tuple[Condition | None, Light | None, str | None]:
    """The condition and light that were named, and the surface of the condition's paper; the journal stays shut
    when neither was."""
    if wish.on is None and wish.light is None and wish.out is None:
        return None, None, None
    with opened(home) as journal:
        if wish.out is not None:
            guard_masters(journal, wish.out)
        condition = None if wish.on is None else journal.conditions.get(wish.on)
        light = None if wish.light is None else light_of(journal, wish.light)
        return condition, light, None if condition is None else surface_of(journal, condition)


def surface_of(journal: Journal, condition: Condition) -> str | None:
    """The surface of the condition's paper, when it is known."""
    if condition.paper is None or condition.paper not in journal.papers:
        return None
    return journal.papers.get(condition.paper).surface


def seen_through(master: Master, crop: Box | None = None, progress: Progress = silent) -> Seen:
    """Look through a master once, and measure it."""
    source = working_source(master, crop)
    look = look_at(source.pairs(ROWS), source.width_px, source.height_px, progress)
    progress("judging", 0.95)
    flat = look.small.reshape(-1, 3)
    lab = pixels_of(working_to_lab32(planes_of(flat[:: max(1, len(flat) // 60_000)])))
    return Seen(look, lab, measured(look, lab, master.bits))


def appraised(
    master: Master,
    *,
    size_mm: Pair,
    distance_mm: float,
    crop: Box | None = None,
    condition: Condition | None = None,
    light: Light | None = None,
    surface: str | None = None,
    ink_spread: float | None = None,
    subject: Box | None = None,
    progress: Progress = silent,
    seen: Seen | None = None,
    ladder_cm: tuple[Pair, ...] = LADDER_CM,
) -> Appraised:
    """Look through a master once and appraise it. `subject`: a box of the master that must be sharp.

    ink_spread: in place of the condition's own. seen: what a look through this part of it has found already.
    """
    through = seen or seen_through(master, crop, progress)
    look = through.look
    kept = None if condition is None else condition.ink_spread_per_mm
    setting = setting_of(light, surface, kept if ink_spread is None else ink_spread)
    top, left = _origin(crop)
    picture = Picture(
        size_mm=size_mm,
        distance_mm=distance_mm,
        setting=setting,
        bits=master.bits,
        space=master.space,
        gamut_ratio=gamut_ratio_of(master),
        origin_px=(top, left),
        subject=None if subject is None else (subject[0] - top, subject[1] - left, subject[2], subject[3]),
        ladder_cm=ladder_cm,
    )
    paper = OnPaper(look.plan.width_px / size_mm[0] * MM_PER_INCH, distance_mm, setting.model, (top, left))
    more = on_condition(look.small, look.plan.factor, condition, paper)
    appraisal = appraise(look, through.lab, picture, more, through.facts)
    name = None if condition is None else condition.name
    return Appraised(appraisal, look, master, size_mm, distance_mm, crop, name)


def answer_of(
    done: Appraised, files: tuple[WrittenFile, ...] = (), wish: AppraisalWish | None = None
) -> AppraiseAnswer:
    """The appraisal as the command answers it."""
    found, master = done.appraisal, done.master
    notices = [*master.notices]
    if done.condition is None:
        text = "No condition was named: taken for a good photo inkjet on gloss paper."
        notices.append(Notice("generic_inkjet", text))
    return AppraiseAnswer(
        master=MasterFields(
            master.sha256, master.width_px, master.height_px, master.bits, master.space, master.profile_description
        ),
        size_mm=done.size_mm,
        crop_px=done.crop_px,
        distance_mm=done.distance_mm,
        density_ppi=round(found.density_ppi, 2),
        deficit_jnd=round(found.deficit_jnd, 3),
        deficit_interval_jnd=(round(found.interval_jnd[0], 3), round(found.interval_jnd[1], 3)),
        overshoot_jnd=round(found.overshoot_jnd, 3),
        indicative=done.distance_mm < INDICATIVE_MM,
        grade=str(found.grade),
        largest_good_size_mm=_pair(found.largest_good_mm),
        nearest_good_distance_mm=round(found.nearest_good_mm, 1),
        effective_fraction=None if found.resolution.fraction is None else round(found.resolution.fraction, 3),
        effective_confidence=round(found.resolution.confidence, 2),
        sharpness=_sharpness(done),
        noise_tones=_noise(found),
        clipped_high_pct=tuple(round(share, 3) for share in found.ends.high_pct),
        clipped_low_pct=tuple(round(share, 3) for share in found.ends.low_pct),
        findings=tuple(
            FindingFields(
                one.kind, one.box_px, one.size_mm, round(one.visibility_jnd, 2), round(one.confidence, 2), one.text
            )
            for one in found.findings
        ),
        ladder=tuple(
            RungFields(
                _pair(rung.size_mm),
                round(rung.distance_mm, 1),
                round(rung.density_ppi, 1),
                round(rung.deficit_jnd, 2),
                str(rung.grade),
                round(rung.nearest_good_distance_mm, 1),
            )
            for rung in found.ladder
        ),
        other_masters=tuple(
            OtherFields(one.megapixels, round(one.deficit_jnd, 2), round(one.gain_jnd, 2)) for one in found.others
        ),
        condition=done.condition,
        sentences=found.sentences,
        notices=tuple(notices),
        files=files,
        next=_next(done, wish),
    )


def _origin(crop: Box | None) -> tuple[int, int]:
    return (crop[0], crop[1]) if crop else (0, 0)


def _pair(size: Pair) -> Pair:
    return round(size[0], 1), round(size[1], 1)


def _noise(found: Appraisal) -> tuple[ToneFields, ...]:
    return tuple(
        ToneFields(
            round(one.noise.l_lstar, 1),
            round(one.noise.sigma_lstar, 3),
            round(one.visible_jnd, 2),
            (round(one.noise.channels[0], 3), round(one.noise.channels[1], 3), round(one.noise.channels[2], 3)),
        )
        for one in found.noise
    )


def _sharpness(done: Appraised) -> tuple[SharpnessFields, ...]:
    top, left = _origin(done.crop_px)
    return tuple(
        SharpnessFields(
            (one.box_px[0] + top, one.box_px[1] + left, one.box_px[2], one.box_px[3]),
            round(200 * one.cycles_per_px, 1),
            one.edges,
        )
        for one in done.appraisal.resolution.focus
    )


def _next(done: Appraised, wish: AppraisalWish | None) -> str:
    large, grade = done.appraisal.largest_good_mm, str(done.appraisal.grade)
    if grade in ("soft", "too_soft"):
        if min(large) < 20:
            return "Find a better master, or look from further away."
        # rounded down: to whole centimetres, small prints to millimetres
        step = 10 if min(large) >= 200 else 1
        wide, high = (f"{math.floor(edge / step) * step / 10:g}" for edge in large)
        return f"Print it no larger than {wide} x {high} cm, or look from further away."
    if wish is None:
        return "Start a print of it."
    options = {
        "--size": wish.size,
        "--on": wish.on,
        "--paper": None if wish.on else "lustre",
        "--light": wish.light,
        "--from": wish.distance,
        "--crop": wish.crop,
        "--fill": wish.fill,
        "--assume": wish.assume,
    }
    return f"Start a print: '{command_words(('wallworthy', 'start', str(wish.master)), options)}'."


def _check_target(target: Path, master: Master, *, force: bool) -> None:
    if not target.parent.is_dir():
        raise InputError(
            "folder_missing",
            f"The folder {target.parent} does not exist.",
            "Make the folder first, or choose another place.",
            where=str(target),
        )
    if target.suffix.lower() != ".png":
        raise InputError(
            "suffix", f"{target.name} should end in .png.", "Give a name ending in .png.", where=str(target)
        )
    refuse_master(target, master.path)
    refuse_existing(target, force=force)
