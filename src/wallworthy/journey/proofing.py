"""The soft proof of a ticket: read, correct, fit, show, and say what the paper does."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Display, Light, Master, Notice, Way, parse_correction
from wallworthy.base.ticket import Stage, Ticket, WrittenFile
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import ProofAnswer
from wallworthy.journey.chain import Job, found_master, guard_masters, load, refuse_existing, shown_as
from wallworthy.journey.choosing import who_pays, wishes_kept
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.drawn import DrawnProof, drawn_proof, write_proof
from wallworthy.journey.greyness import grey_fields
from wallworthy.journey.home import opened
from wallworthy.journey.keeping import Kept, kept_of
from wallworthy.journey.lighting import in_light
from wallworthy.journey.own_names import own_name
from wallworthy.journey.tickets import light_of, next_step, no_choice, parse_tone, parse_way
from wallworthy.proof.displays import display_from, display_notices

ASKED: Final = ("correction", "correction_origin", "way", "must_not_suffer", "black_and_white")
"""What a proof may change of its ticket."""


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
        own = nullcontext(out) if out else own_name(journal.home, Path.cwd(), ticket, "proof", ".png", force=force)
        with own as target:
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
            drawn = drawn_proof(
                job,
                display,
                light=seen_in,
                under_light=True,
                paper_white=paper_white == "on",
                to_write=True,
                home=journal.home,
                progress=progress,
            )
            progress("writing", 0.9)
            files = write_proof(drawn, target, lab, overwrite=force)
            answer = _answer(ticket, job, drawn, files, seen_in, kept_of(job) if figures else None)
            _remember(journal, ticket, answer)
    return answer


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
        next=next_step(replace(ticket, stage=Stage.PROOFED), offer=None if room is None else room.offer),
    )


def _set_told(ticket: Ticket) -> tuple[str, ...]:
    if ticket.hangs_with is None or not ticket.way.is_chosen:
        return ()
    others = ", ".join(ticket.hangs_with.beside(ticket.id))
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


def _remember(journal: Journal, ticket: Ticket, answer: ProofAnswer) -> None:
    """The proof, what was asked, and the ticket's stage in one transaction."""
    figures = {
        name: getattr(answer, name)
        for name in ("loss_mean_de00", "loss_p95_de00", "loss_max_de00", "out_of_range_pct", "lut_size")
    }
    with journal.write():
        now = journal.tickets.get(ticket.id)
        kept = replace(now, **{name: getattr(ticket, name) for name in ASKED})
        if shown_as(kept) != shown_as(ticket):  # changed meanwhile: this is not what prints
            stage = Stage.STARTED
        elif shown_as(now) != shown_as(ticket) or now.stage is Stage.STARTED:
            stage = Stage.PROOFED
        else:
            stage = now.stage
        journal.tickets.update(replace(kept, stage=stage))
        journal.proofs.add(ticket.id, {**figures, "way": str(ticket.way), **answer.correction}, answer.files)
        journal.tickets.note(
            ticket.id, "proofed", {"way": str(ticket.way), "correction": str(ticket.correction), **figures}
        )
