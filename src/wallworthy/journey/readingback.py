"""Reading a printed test sheet back from a scan or photo: what it measures, what is ticked, what went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES, Condition, Delivery, Notice, Way
from wallworthy.base.ticket import SheetEntry, Ticket
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.read import parse_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import FaultFields, JudgeAnswer, ReadbackAnswer, TickFields, TileReadingFields
from wallworthy.journey.chain import Job, load
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.home import opened
from wallworthy.journey.judging import Opinion, take_opinion
from wallworthy.journey.sheetmaking import press_for
from wallworthy.trial.diagnose import open_book
from wallworthy.trial.expected import ExpectedSheet, expected_from
from wallworthy.trial.marks import parse_mark
from wallworthy.trial.mishaps import OtherPaper, Printing, quick
from wallworthy.trial.readback import Readback, readback, sheets_seen
from wallworthy.trial.reading import ReadTick
from wallworthy.trial.reference import read_reference
from wallworthy.trial.scanfile import Scan, read_scan
from wallworthy.trial.words import FAULTS

SURE: Final = 0.8
"""A tick is taken as said when it is read at least this surely."""
MOST_OTHERS: Final = 5


def read_back(
    home: Path | None, ticket_id: str, picture: Path, *, sheet: int | None = None, reference: Path | None = None
) -> ReadbackAnswer:
    """Measure a sheet's scan; ticks on a sheet that was not judged yet are taken as its verdict."""
    card = None if reference is None else read_reference(reference)
    scan = read_scan(picture)
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        entry = journal.sheets.get(ticket.id, _which(scan, ticket, sheet))
        expected = _expected(scan, entry)
        job = load(journal, ticket)
        read = readback(scan, expected, open_book(expected, _printing(journal, job)), job.output.white_xyz, card=card)
        answer = _answer(ticket, entry, read, condition_notices(job.condition))
        with journal.write():
            verdict, unclear = _verdict(journal, ticket, entry, read) if read.found else (None, ())
            if read.found:
                _remember(journal, ticket, entry, answer)
    answer = replace(answer, notices=(*answer.notices, *unclear))
    if verdict is None:
        return answer
    return _with_verdict(answer, verdict)


def _which(scan: Scan, ticket: Ticket, said: int | None) -> int | None:
    """The sheet that was said, else the one of this ticket that the scan's mark names."""
    if said is not None:
        return said
    return next((mark.sheet_no for mark in sheets_seen(scan) if mark.ticket == ticket.id), None)


def _expected(scan: Scan, entry: SheetEntry) -> ExpectedSheet:
    """The file of the sheet that the scan shows; separate prints are told apart by their marks."""
    sheets = [expected_from(record) for record in entry.layout["sheets"]]
    seen = set(sheets_seen(scan))
    return next((one for one in sheets if parse_mark(one.mark) in seen), sheets[0])


def _printing(journal: Journal, job: Job) -> Printing:
    """How the sheet's file prints, and as what else it might have been printed."""
    own = _paper(job.condition.name, job)
    others: list[OtherPaper] = []
    for name in journal.conditions.names():
        if name == job.condition.name or len(others) == MOST_OTHERS:
            continue
        other = journal.conditions.get(name)
        if other.facts.device_space == job.output.space and other.delivery is job.condition.delivery:
            others.append(_paper(name, _as_job(job, other)))
    space = "RGB" if job.condition.delivery is Delivery.STANDARD else job.output.space
    return Printing(space, own.print_lab, own.device_of, tuple(others))


def _paper(name: str, job: Job) -> OtherPaper:
    press = press_for(job, job.condition.delivery)
    ask = lab_to_device(job.output, Way.RELATIVE_BPC, source_of(None))

    def device_of(lab: ArrayLike) -> NDArray[Any]:
        return np.asarray(press.carry(np.asarray(ask(lab), dtype=np.float32)), dtype=np.float64)

    return OtherPaper(
        name, quick(lambda device: press.printed(np.asarray(device)), press.file_profile.channels), device_of
    )


def _as_job(job: Job, condition: Condition) -> Job:
    return replace(job, condition=condition, output=parse_profile(condition.profile, condition.name))


def _answer(ticket: Ticket, entry: SheetEntry, read: Readback, about_condition: tuple[Notice, ...]) -> ReadbackAnswer:
    return ReadbackAnswer(
        ticket=ticket.id,
        sheet_no=entry.no,
        found=read.found,
        scale_error_pct=read.scale_error_pct,
        absolute=read.absolute,
        measurement_error_de00=read.measurement_error_de00,
        tiles=tuple(TileReadingFields(one.code, one.expected_lab, one.measured_lab, one.de00) for one in read.tiles),
        faults=tuple(FaultFields(one.kind, one.probability, one.evidence, one.mend) for one in read.faults),
        ticked=tuple(_tick(tick) for tick in read.ticks if tick.ticked),
        verdict_taken=False,
        sentences=(read.text,),
        notices=(*read.notices, *about_condition),
        next=read.mend,
    )


def _tick(tick: ReadTick) -> TickFields:
    box = tick.box
    direction = None if box.axis is None else FAULTS[CORRECTION_AXES.index(box.axis), 1 if (box.sign or 1) > 0 else -1]
    return TickFields(box.kind, box.code, box.axis, direction, tick.confidence)


def _verdict(
    journal: Journal, ticket: Ticket, entry: SheetEntry, read: Readback
) -> tuple[JudgeAnswer | None, tuple[Notice, ...]]:
    """The ticks as a verdict, when they are sure and clear and the sheet was not judged yet; else why not."""
    if any(verdict.sheet_no == entry.no for verdict in journal.sheets.verdicts(ticket.id)):
        return None, ()
    ticks = [_tick(tick) for tick in read.ticks if tick.ticked and tick.confidence >= SURE]
    try:
        opinion = _opinion(ticks, entry)
        return (None, ()) if opinion.is_empty else (take_opinion(journal, ticket, opinion), ())
    except InputError as unclear:
        told = f"The ticks were not taken as a verdict: {unclear.text} Say it with 'wallworthy judge {ticket.id}'."
        return None, (Notice("ticks_unclear", told),)


def _opinion(ticks: Sequence[TickFields], entry: SheetEntry) -> Opinion:
    """What the ticks say. Raises InputError when they can't be meant so."""
    best = [tick.code for tick in ticks if tick.kind == "best"]
    second = [tick.code for tick in ticks if tick.kind == "next" and tick.code not in best]
    say = [tick.direction for tick in ticks if tick.direction]
    codes = entry.design["codes"]
    if len(best) > 1 or len(second) > 1:
        twice = "best" if len(best) > 1 else "next"
        raise _unclear(
            f"{' and '.join(str(code) for code in (best if len(best) > 1 else second))} are ticked as {twice}."
        )
    if say and not best and len(codes) > 1:
        raise _unclear("words are ticked, but no best tile that they could be about.")
    if any(tick.kind == "right" for tick in ticks):
        say.append(f"{codes[0]} right")
    return Opinion(
        sheet=entry.no,
        best=best[0] if best else None,
        next=second[0] if best and second else None,
        say=tuple(say),
        none_right=any(tick.kind == "none_right" for tick in ticks),
    )


def _unclear(text: str) -> InputError:
    return InputError("ticks_unclear", text, "Rub out what is not meant, or say it in words.", where="ticks")


def _with_verdict(answer: ReadbackAnswer, verdict: JudgeAnswer) -> ReadbackAnswer:
    heard = Notice("verdict_taken", "The ticks on the sheet were taken as your verdict; 'judge' replaces it.")
    return replace(
        answer,
        verdict_taken=True,
        sentences=(*answer.sentences, *verdict.sentences),
        notices=(*answer.notices, heard, *verdict.notices),
        next=verdict.next,
    )


def _remember(journal: Journal, ticket: Ticket, entry: SheetEntry, answer: ReadbackAnswer) -> None:
    worst = max(answer.faults, key=lambda fault: fault.probability, default=None)
    mean = float(np.mean([tile.de00 for tile in answer.tiles])) if answer.tiles else None
    result = {
        "absolute": answer.absolute,
        "mean_de00": mean,
        "scale_error_pct": answer.scale_error_pct,
        "likeliest": None if worst is None else str(worst.kind),
        "probability": None if worst is None else worst.probability,
    }
    journal.sheets.read(ticket.id, entry.no, result)
    journal.tickets.note(ticket.id, "read back", {"sheet": entry.no, **result})
