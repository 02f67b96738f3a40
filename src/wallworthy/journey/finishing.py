"""The final: the print-ready file and its job card."""

from __future__ import annotations

import json
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, Literal

from wallworthy.base.errors import InputError, UsageError, WallworthyError
from wallworthy.base.files import write_whole
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Condition, Delivery, Notice
from wallworthy.base.ticket import FinalEntry, Stage, Ticket, WrittenFile
from wallworthy.base.units import MM_PER_INCH, pixels
from wallworthy.dispatch.card import job_card
from wallworthy.fit.compose import device_of
from wallworthy.icc.standard import srgb_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.again import again_notices, as_it_was, kept_facts, last_final, told_facts
from wallworthy.journey.answers import CardFiles, FinalAnswer
from wallworthy.journey.chain import Job, guard_masters, load, printed_as, refuse_existing, refuse_master
from wallworthy.journey.choosing import printed_source
from wallworthy.journey.conditions import condition_notices, parse_delivery
from wallworthy.journey.home import opened, written
from wallworthy.journey.own_names import own_name
from wallworthy.journey.proofed import proof_notices
from wallworthy.raster.form import FileForm, Format, require_possible
from wallworthy.render.final import FinalFacts, FinalPlan, render_final

SUFFIXES: Final[dict[str, Format]] = {
    ".tif": "tiff",
    ".tiff": "tiff",
    ".png": "png",
    ".jpg": "jpeg",
    ".jpeg": "jpeg",
}
FIRST_SUFFIX: Final[dict[Format, str]] = {"tiff": ".tif", "png": ".png", "jpeg": ".jpg"}

NATIVE_PPI: Final = {Delivery.NUMBERS: 360.0, Delivery.STANDARD: 300.0}
"""What inkjets and labs commonly rasterise at. Common practice, no source."""

LARGEST_FINAL_PX: Final = 4_000_000_000
Sharpen = Literal["none", "auto"]


@dataclass(frozen=True, slots=True)
class FinalWish:
    """What the person asked of the final; None where they did not say."""

    out: Path | None = None
    ppi: float | None = None
    bits: int | None = None
    sharpen: str | None = None
    file_format: str | None = None
    delivery: str | None = None
    again: bool = False
    force: bool = False


@dataclass(frozen=True, slots=True)
class Settled:
    """A final's settings, all of them decided; kept in the journal for `--again`."""

    format: Format
    ppi: float
    bits: Literal[8, 16]
    sharpen: Sharpen
    delivery: Delivery


def make_final(home: Path | None, ticket_id: str, wish: FinalWish, progress: Progress = silent) -> FinalAnswer:
    """Render a ticket's final and write it with its job card; nothing there already is replaced unasked."""
    if wish.again and (wish.ppi, wish.bits, wish.sharpen, wish.file_format, wish.delivery) != (None,) * 5:
        raise UsageError(
            "again_and_more",
            "--again makes exactly the last final, so nothing about it can be changed.",
            "Leave the other options out, or leave --again out.",
            where="--again",
        )
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        last = last_final(journal, ticket) if wish.again else None
        if last is not None:
            ticket = as_it_was(journal, ticket, last)
        job = load(journal, ticket)
        settled = settled_for(wish, job.condition) if last is None else _settled_again(last)
        with _named(journal, ticket, wish, settled) as target:
            _check_target(journal, target, wish, settled)
            plan = planned(job, settled)
            require_possible(_form(job, plan))
            facts = rendered(job, plan, target, progress, overwrite=wish.force)
            card, card_files = _card(ticket, job, plan, facts, target, overwrite=wish.force)
            files = (written("final", target), *card_files)
            known = condition_notices(job.condition, settled.delivery)
            again = () if last is None else again_notices(last, facts.pixels_sha256)
            looked = proof_notices(ticket, journal.proofs.list(ticket.id), again=last is not None)
            answer = _answer(ticket, plan, facts, card, files, (*known, *again, *looked))
            _remember(journal, ticket, job.condition, settled, answer)
    return answer


def planned(job: Job, settled: Settled) -> FinalPlan:
    """Pixels and edges for a ticket's size at the density settled on."""
    width_mm, height_mm = job.size_mm
    top, right, bottom, left = (pixels(edge, settled.ppi) if edge > 0 else 0 for edge in job.margins_mm)
    plan = FinalPlan(
        width_px=pixels(width_mm, settled.ppi),
        height_px=pixels(height_mm, settled.ppi),
        border_px=(top, right, bottom, left),
        ppi=settled.ppi,
        bits=settled.bits,
        format=settled.format,
        sharpen=settled.sharpen,
        size_mm=job.size_mm,
        distance_mm=job.distance_mm,
        delivery=settled.delivery,
        output_profile=job.condition.profile,
        standard_profile=srgb_profile() if settled.delivery is Delivery.STANDARD else None,
    )
    if plan.file_px[0] * plan.file_px[1] > LARGEST_FINAL_PX:
        raise InputError(
            "final_too_large",
            f"That would be {plan.file_px[0]} x {plan.file_px[1]} pixels, more than any printer needs.",
            "Ask for fewer pixels with --ppi, or a smaller size.",
            where="--ppi",
        )
    return plan


def settled_for(wish: FinalWish, condition: Condition) -> Settled:
    """What the person asked, and the defaults for the rest. Raises InputError for what can't be."""
    delivery = condition.delivery if wish.delivery is None else parse_delivery(wish.delivery)
    form = _format(wish, delivery)
    default_bits = 8 if form == "jpeg" or delivery is Delivery.STANDARD else 16
    bits = default_bits if wish.bits is None else wish.bits
    if bits not in (8, 16):
        raise InputError("bits_unclear", f"A file has 8 or 16 bits, not {bits}.", "Say --bits 8 or 16.", where="--bits")
    ppi = NATIVE_PPI[delivery] if wish.ppi is None else wish.ppi
    if not 20 <= ppi <= 2880:
        raise InputError("ppi_absurd", f"{ppi:g} pixels per inch can't be used.", "Give 20 to 2880.", where="--ppi")
    sharpen = wish.sharpen or "auto"
    if sharpen not in ("none", "auto"):
        raise InputError(
            "sharpen_unclear", f"'{sharpen}' is no way to sharpen.", "Say --sharpen none or auto.", where="--sharpen"
        )
    return Settled(form, ppi, bits, sharpen, delivery)


def _format(wish: FinalWish, delivery: Delivery) -> Format:
    """As said, else by the file's ending, else TIFF for numbers and JPEG for a lab."""
    by_ending = SUFFIXES.get(wish.out.suffix.lower()) if wish.out else None
    if wish.file_format is not None:
        if wish.file_format not in FIRST_SUFFIX:
            raise InputError(
                "format_unknown",
                f"'{wish.file_format}' is no format I write.",
                "Say tiff, png or jpeg.",
                where="--format",
            )
        form = wish.file_format
        if by_ending is not None and by_ending != form:
            raise InputError(
                "format_and_name",
                f"--format says {form}, but {wish.out} is named as another format.",
                "Let the name's ending and --format agree, or leave --format out.",
                where="--format",
            )
        return form
    if wish.out is not None and by_ending is None:
        raise InputError(
            "format_unclear",
            f"The name {wish.out.name} does not say which format is meant.",
            "End it in .tif, .png or .jpg, or add --format.",
            where="-o",
        )
    return by_ending or ("tiff" if delivery is Delivery.NUMBERS else "jpeg")


def _settled_again(last: FinalEntry) -> Settled:
    kept = last.settings
    return Settled(kept["format"], kept["ppi"], kept["bits"], kept["sharpen"], Delivery(kept["delivery"]))


def _named(journal: Journal, ticket: Ticket, wish: FinalWish, settled: Settled) -> AbstractContextManager[Path]:
    """The name that was given, else one of the ticket's own."""
    if wish.out is not None:
        return nullcontext(wish.out)
    suffix = FIRST_SUFFIX[settled.format]
    return own_name(journal.home, Path.cwd(), ticket, "final", suffix, files=final_files, force=wish.force)


def _check_target(journal: Journal, target: Path, wish: FinalWish, settled: Settled) -> None:
    guard_masters(journal, target)
    if SUFFIXES.get(target.suffix.lower()) not in (settled.format, None):
        raise InputError(
            "format_and_name",
            f"The file will be a {settled.format.upper()}, but {target.name} is named as another format.",
            "Give a name that ends as the format does.",
            where="-o",
        )
    for path in final_files(target):
        refuse_existing(path, force=wish.force)


def final_files(target: Path) -> tuple[Path, Path, Path]:
    """The files that go by a final's name: itself and its job card, to read and as JSON."""
    return target, *_card_paths(target)


def _card_paths(target: Path) -> tuple[Path, Path]:
    return target.with_name(f"{target.name}-card.txt"), target.with_name(f"{target.name}-card.json")


def _form(job: Job, plan: FinalPlan) -> FileForm:
    numbers = plan.delivery is Delivery.NUMBERS
    space = job.output.space if numbers else "RGB"
    channels = job.output.channels if numbers else 3
    return FileForm(plan.format, *plan.file_px, channels, plan.bits, space, plan.ppi)


def rendered(
    job: Job, plan: FinalPlan, target: Path, progress: Progress = silent, *, overwrite: bool = False
) -> FinalFacts:
    """Render a planned job to a file that is whole or absent."""
    refuse_master(target, job.master.path)
    fitted = job.fitted()
    source = printed_source(job, job.crop_px)

    def direct(strip: Any) -> Any:
        return device_of(fitted, strip, output=job.output, source=job.source)

    return render_final(source, fitted, plan, target, progress=progress, overwrite=overwrite, device_of=direct)


def _card(
    ticket: Ticket, job: Job, plan: FinalPlan, facts: FinalFacts, target: Path, *, overwrite: bool
) -> tuple[CardFiles, tuple[WrittenFile, WrittenFile]]:
    text, data = job_card(ticket, job.condition, plan, facts, target.name)
    text_path, json_path = _card_paths(target)
    try:
        write_whole(text_path, text.encode(), overwrite=overwrite)
        write_whole(json_path, (json.dumps(data, ensure_ascii=False, indent=2) + "\n").encode(), overwrite=overwrite)
    except WallworthyError:
        for path in (target, text_path):  # a final without its card would stand in the way of the next try
            path.unlink(missing_ok=True)
        raise
    files = written("card", text_path), written("card", json_path)
    return CardFiles(files[0].path, files[1].path), files


def _answer(
    ticket: Ticket,
    plan: FinalPlan,
    facts: FinalFacts,
    card: CardFiles,
    files: tuple[WrittenFile, ...],
    notices: tuple[Notice, ...],
) -> FinalAnswer:
    top, right, bottom, left = (edge / plan.ppi * MM_PER_INCH for edge in plan.border_px)
    return FinalAnswer(
        ticket=ticket.id,
        width_px=facts.width_px,
        height_px=facts.height_px,
        picture_box_px=facts.picture_box_px,
        density_ppi=facts.density_ppi,
        size_mm=ticket.size_mm,
        margins_mm=(top, right, bottom, left),
        bits=facts.bits,
        space=facts.space,
        profile_sha256=facts.profile_sha256,
        delivery=plan.delivery,
        way=ticket.way,
        correction=ticket.correction.as_dict(),
        black_and_white=ticket.black_and_white,
        sharpen_gain=facts.sharpen_gain,
        overshoot_pct=facts.overshoot_pct,
        pixels_sha256=facts.pixels_sha256,
        beyond_delivery_pct=facts.beyond_delivery_pct,
        delivery_lut_size=None if facts.delivery_figures is None else facts.delivery_figures.size,
        delivery_lut_p999_de00=None if facts.delivery_figures is None else facts.delivery_figures.p999_de00,
        card=card,
        notices=notices,
        files=files,
        next=f"Print it after its job card, {Path(card.text).name}; measure the print with a ruler first of all.",
    )


def _remember(journal: Journal, ticket: Ticket, condition: Condition, settled: Settled, answer: FinalAnswer) -> None:
    """The final, how it was made, and the ticket's stage in one transaction."""
    form = {
        "format": settled.format,
        "ppi": settled.ppi,
        "bits": settled.bits,
        "sharpen": settled.sharpen,
        "delivery": str(settled.delivery),
    }
    with journal.write():
        now = journal.tickets.get(ticket.id)
        if printed_as(now) == printed_as(ticket):
            journal.tickets.update(replace(now, stage=Stage.FINAL))
        journal.finals.add(ticket.id, answer.pixels_sha256, {**form, **kept_facts(ticket, condition)}, answer.files)
        detail = {"size_px": [answer.width_px, answer.height_px], "file": answer.files[0].path}
        journal.tickets.note(ticket.id, "final", {**form, **told_facts(ticket), **detail})
