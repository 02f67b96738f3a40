"""The soft proof of a ticket: read, correct, fit, show, and say what the paper does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Display, Fitted, Light, LutFigures, Master, Notice, Way, parse_correction
from wallworthy.base.ticket import Stage, Ticket, WrittenFile
from wallworthy.base.units import MM_PER_INCH
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.fit.compose import Predicted, direct, predicted
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import GamutSurface, surface
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import ProofAnswer
from wallworthy.journey.chain import Job, found_master, free_name, guard_masters, load, refuse_existing, refuse_master
from wallworthy.journey.choosing import as_printed, printed_by, who_pays, wishes_kept
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.greyness import grey_fields
from wallworthy.journey.home import opened, written
from wallworthy.journey.keeping import Kept, kept_of
from wallworthy.journey.lighting import eye_of, in_light
from wallworthy.journey.tickets import light_of, next_step, no_choice, parse_tone, parse_way
from wallworthy.proof.displays import display_from, display_notices
from wallworthy.proof.soft import Proof, make_proof
from wallworthy.raster.arrays import write_lab
from wallworthy.raster.form import FileForm
from wallworthy.raster.scale import scaled_picture
from wallworthy.raster.write import write_picture

LONG_EDGE_PX: Final = 2560
PICTURE_SAMPLES: Final = 10_000
"""Pixels of the picture that the table is measured on, beside its seeded colours."""


def prove(
    home: Path | None,
    ticket_id: str,
    *,
    out: Path | None = None,
    lab: Path | None = None,
    paper_white: str = "on",
    correct: str | None = None,
    way: str | None = None,
    light: str | None = None,
    must_not_suffer: Sequence[str] = (),
    black_and_white: str | None = None,
    figures: bool = False,
    force: bool = False,
    progress: Progress = silent,
) -> ProofAnswer:
    """Proof a ticket; what is given of correction, way, tone and what must not suffer stays with the ticket.

    figures: whether to say what the fit keeps of this picture. `force` replaces files that are there.

    light: a light to look at it in this once, owned or in words; the ticket's own light stays.
    """
    if paper_white not in ("on", "off"):
        raise InputError(
            "paper_white_unclear",
            f"--paper-white is on or off, not '{paper_white}'.",
            "Say on or off.",
            where="--paper-white",
        )
    with opened(home) as journal:
        ticket = asked(journal.tickets.get(ticket_id), correct, way)
        target = out or free_name(Path.cwd(), f"{ticket.title}-{ticket.id}-proof", ".png")
        for place, suffix in ((target, ".png"), (lab, ".tif")):
            if place is not None:
                _check_target(journal, place, suffix, force=force)
        if black_and_white is not None:
            ticket = replace(ticket, black_and_white=parse_tone(black_and_white))
        if must_not_suffer:
            ticket = looked_after(ticket, must_not_suffer, found_master(journal, ticket))
        job = load(journal, ticket)
        display, seen_in = seen_with(journal, ticket)
        if light is not None:
            seen_in = light_of(journal, light)
        drawn = _drawn_and_written(
            job, display, seen_in, target, paper_white=paper_white == "on", overwrite=force, progress=progress
        )
        files = written("proof", target), *_written_lab(drawn, lab, overwrite=force)
        answer = _answer(ticket, job, drawn, files, seen_in, kept_of(job) if figures else None)
        _remember(journal, ticket, answer)
    return answer


def _drawn_and_written(
    job: Job,
    display: Display,
    light: Light | None,
    target: Path,
    *,
    paper_white: bool,
    overwrite: bool,
    progress: Progress,
) -> DrawnProof:
    """The proof, its picture written while it was still being measured."""
    with ThreadPoolExecutor(1) as aside:
        writing: list[Future[str]] = []

        def write(image: NDArray[np.uint8], ppi: float) -> None:
            refuse_master(target, job.master.path)
            form = _form_of(image, ppi, display)
            writing.append(aside.submit(write_picture, target, [image], form, overwrite=overwrite))

        drawn = drawn_proof(
            job, display, light=light, under_light=True, paper_white=paper_white, on_image=write, progress=progress
        )
        progress("writing", 0.9)
        writing[0].result()
    return drawn


def asked(ticket: Ticket, correct: str | None, way: str | None) -> Ticket:
    """The ticket with a correction and a way laid over it, checked."""
    from wallworthy.colour.correction import tone_knots

    if correct is not None:
        correction = parse_correction(correct, ticket.correction)
        tone_knots(correction)
        origin = "zero" if correction.is_none else "user"
        ticket = replace(ticket, correction=correction, correction_origin=origin)
    if way is not None:
        ticket = replace(ticket, way=parse_way(way))
    return ticket


def looked_after(ticket: Ticket, wishes: Sequence[str], master: Master) -> Ticket:
    """The ticket with what must not suffer. Raises InputError: only a way chosen for the picture can look after it."""
    kept = wishes_kept(wishes, master)
    if kept and not ticket.way.is_chosen:
        raise no_choice(ticket.way)
    return replace(ticket, must_not_suffer=kept)


def seen_with(journal: Journal, ticket: Ticket) -> tuple[Display, Light | None]:
    """The ticket's display (an sRGB screen when none was named) and light."""
    display = journal.displays.get(ticket.display) if ticket.display else display_from("sRGB screen", space="srgb")
    return display, journal.lights.get(ticket.light) if ticket.light else None


@dataclass(frozen=True, slots=True)
class DrawnProof:
    """A proof with what is needed to write it: its density on paper, its display, the table's figures."""

    proof: Proof
    display: Display
    figures: LutFigures
    ppi: float
    master_path: str
    clamped_share: float
    """Share of the master's pixels that lie outside the working encoding and were moved to its edge."""


def drawn_proof(
    job: Job,
    display: Display,
    *,
    light: Light | None = None,
    under_light: bool = False,
    paper_white: bool = True,
    long_edge_px: int = LONG_EDGE_PX,
    on_image: Callable[[NDArray[np.uint8], float], object] | None = None,
    progress: Progress = silent,
) -> DrawnProof:
    """Read, correct, fit and show a job; the picture is never enlarged.

    under_light: whether the picture is shown as it looks in the light, or as profiles have it, under D50.
    on_image: called with the picture and its density on paper as soon as it is drawn, before it is measured.
    """
    from wallworthy.master.source import working_source

    source = working_source(job.master, job.crop_px, job.way)
    shrink = min(1.0, long_edge_px / max(source.width_px, source.height_px))
    progress("reading the master", 0.0)
    size = max(1, round(source.width_px * shrink)), max(1, round(source.height_px * shrink))
    with ThreadPoolExecutor(1) as aside:  # the chain is composed while the master is read
        coming = aside.submit(_chain, job)
        picture = as_printed(job, scaled_picture(source, *size))
        progress("composing the chain", 0.4)
        fitted, told, gamut = coming.result()
    progress("proof", 0.6)
    px_per_mm = picture.shape[1] / job.size_mm[0]
    ppi = px_per_mm * MM_PER_INCH
    proof = make_proof(
        picture,
        printed_by(job, told.lab_of, px_per_mm),
        job.output,
        display,
        correction=job.correction,
        beyond=gamut.signed_de00,
        roundtrip_p95_de00=job.condition.facts.roundtrip_p95_de00,
        paper_white=paper_white,
        light=light,
        eye=eye_of(job, light, display) if light is not None and under_light else None,
        shown_px=job.shown_px,
        px_per_mm=px_per_mm,
        on_image=None if on_image is None else lambda image: on_image(image, ppi),
    )
    figures = seen_figures(fitted, told, job, picture)
    clamped = source.clamped_share or 0.0
    return DrawnProof(proof, display, figures, ppi, job.master.path, clamped)


def _chain(job: Job) -> tuple[Fitted, Predicted, GamutSurface]:
    """The composed chain, what it prints, and the surface of what the paper holds."""
    fitted = job.fitted()
    return fitted, predicted(fitted, output=job.output, source=job.source), surface(job.output)


def seen_figures(fitted: Fitted, told: Predicted, job: Job, picture: NDArray[np.float32]) -> LutFigures:
    """The table's figures, none of them better than on a sample of this very picture against the direct path."""
    if fitted.nodes is None:
        return fitted.figures
    flat = picture.reshape(-1, 3)
    sample = flat[np.random.default_rng(PICTURE_SAMPLES).integers(0, len(flat), min(PICTURE_SAMPLES, len(flat)))][None]
    straight = to_lab(job.output, direct(job.output, job.way, job.correction, job.source)(sample))
    errors = ciede2000(told.lab_of(sample), straight)
    known = fitted.figures
    return LutFigures(
        known.size,
        max(known.mean_de00, float(errors.mean())),
        max(known.p999_de00, float(np.quantile(errors, 0.999))),
        max(known.max_de00, float(errors.max())),
    )


def write_proof(
    drawn: DrawnProof, target: Path, lab: Path | None = None, *, overwrite: bool = False
) -> tuple[WrittenFile, ...]:
    """The proof as PNG with the display's profile, and the predicted print as Lab TIFF when asked for."""
    refuse_master(target, drawn.master_path)
    image = drawn.proof.image
    write_picture(target, [image], _form_of(image, drawn.ppi, drawn.display), overwrite=overwrite)
    return written("proof", target), *_written_lab(drawn, lab, overwrite=overwrite)


def _form_of(image: NDArray[np.uint8], ppi: float, display: Display) -> FileForm:
    height, width = image.shape[:2]
    return FileForm("png", width, height, 3, 8, "RGB", ppi, display.profile)


def _written_lab(drawn: DrawnProof, lab: Path | None, *, overwrite: bool) -> tuple[WrittenFile, ...]:
    if lab is None:
        return ()
    refuse_master(lab, drawn.master_path)
    write_lab(lab, drawn.proof.lab_absolute, drawn.ppi, overwrite=overwrite)
    return (written("lab", lab),)


def _check_target(journal: Journal, target: Path, suffix: str, *, force: bool) -> None:
    if not target.parent.is_dir():
        raise InputError(
            "folder_missing",
            f"The folder {target.parent} does not exist.",
            "Make the folder first, or choose another place.",
            where=str(target),
        )
    if target.suffix.lower() not in (suffix, f"{suffix}f"):
        raise InputError(
            "suffix", f"{target.name} should end in {suffix}.", f"Give a name ending in {suffix}.", where=str(target)
        )
    guard_masters(journal, target)
    refuse_existing(target, force=force)


def _answer(
    ticket: Ticket,
    job: Job,
    drawn: DrawnProof,
    files: tuple[WrittenFile, ...],
    light: Light | None,
    kept: Kept | None,
) -> ProofAnswer:
    proof, report, figures = drawn.proof, drawn.proof.report, drawn.figures
    notices = _notices(ticket, job, drawn)
    room = None if light is None else in_light(ticket, job, drawn.display, light)
    if room is not None:
        notices.extend(room.notices)
    height, width = proof.image.shape[:2]
    return ProofAnswer(
        ticket=ticket.id,
        way=ticket.way,
        correction=ticket.correction.as_dict(),
        width_px=width,
        height_px=height,
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
        worst=report.worst,
        sentences=(*proof.sentences, *_set_told(ticket), *(room.sentences if room else ())),
        must_not_suffer=ticket.must_not_suffer,
        pays=who_pays(job),
        black_and_white=grey_fields(job, light),
        figures=None if kept is None else kept.figures,
        keeps=() if kept is None else kept.sentences,
        light=None if light is None else light.name,
        offered_correction=None if room is None or room.offer is None else room.offer.as_dict(),
        notices=tuple(notices),
        files=files,
        next=next_step(replace(ticket, stage=Stage.PROOFED)),
    )


def _set_told(ticket: Ticket) -> tuple[str, ...]:
    if ticket.hangs_with is None or not ticket.way.is_chosen:
        return ()
    others = ", ".join(one for one in ticket.hangs_with.tickets if one != ticket.id)
    return (f"Its tones are chosen together with those of {others}, with which it hangs.",)


def _notices(ticket: Ticket, job: Job, drawn: DrawnProof) -> list[Notice]:
    """What there is to know of paper, screen, master and way."""
    notices = [
        *condition_notices(job.condition),
        *_display_notices(ticket, drawn.display, drawn.proof.report.display_white_match_cd_m2),
    ]
    if drawn.clamped_share > 0:
        share = f"{100 * drawn.clamped_share:.2g} %"
        notices.append(
            Notice(
                "clamped", f"{share} of the master lies outside every real colour's range and was moved to its edge."
            )
        )
    if ticket.way is Way.ABSOLUTE:
        notices.append(
            Notice("absolute_tints", "The absolute way may lay ink on bare paper, to imitate another white.")
        )
    if ticket.way is Way.PERCEPTUAL and job.output.version[0] >= 4:
        notices.append(
            Notice("perceptual_bpc", "In a version 4 profile the perceptual way always compensates the black point.")
        )
    if ticket.must_not_suffer and not ticket.way.is_chosen:
        text = f"What must not suffer is not looked after: '{ticket.way}' treats all pictures alike."
        notices.append(Notice("wishes_rest", text))
    return notices


def _display_notices(ticket: Ticket, display: Display, match_cd_m2: float | None) -> tuple[Notice, ...]:
    if ticket.display is None:
        return (Notice("display_assumed", "Shown for an sRGB screen, since no display was named."),)
    return display_notices(display, match_cd_m2)


def _printed_as(ticket: Ticket) -> tuple[object, ...]:
    """What decides the pixels, of all that a proof may change."""
    return ticket.correction, ticket.way, ticket.must_not_suffer, ticket.black_and_white


def _remember(journal: Journal, ticket: Ticket, answer: ProofAnswer) -> None:
    """The proof, what was asked, and the ticket's stage in one transaction."""
    figures = {
        name: getattr(answer, name)
        for name in ("loss_mean_de00", "loss_p95_de00", "loss_max_de00", "out_of_range_pct", "lut_size")
    }
    with journal.write():
        now = journal.tickets.get(ticket.id)
        changed = _printed_as(now) != _printed_as(ticket)
        stage = Stage.PROOFED if now.stage is Stage.STARTED or changed else now.stage
        journal.tickets.update(
            replace(
                now,
                correction=ticket.correction,
                correction_origin=ticket.correction_origin,
                way=ticket.way,
                must_not_suffer=ticket.must_not_suffer,
                black_and_white=ticket.black_and_white,
                stage=stage,
            )
        )
        journal.proofs.add(ticket.id, {**figures, "way": str(ticket.way), **answer.correction}, answer.files)
        journal.tickets.note(
            ticket.id, "proofed", {"way": str(ticket.way), "correction": str(ticket.correction), **figures}
        )
