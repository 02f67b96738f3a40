"""Reading a printed test sheet back from a scan or photo: what it measures, what is ticked, what went wrong."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.base.records import Condition, Delivery, Notice, Way
from wallworthy.base.ticket import SheetEntry, Ticket
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.read import parse_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import FaultFields, JudgeAnswer, ReadbackAnswer, TileReadingFields
from wallworthy.journey.chain import Job, load
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.home import opened
from wallworthy.journey.sheetmaking import press_for
from wallworthy.journey.ticking import Seen, take_ticks, tick_fields, ticks_record
from wallworthy.trial.diagnose import open_book
from wallworthy.trial.expected import ExpectedSheet, expected_from
from wallworthy.trial.faults import FaultKind
from wallworthy.trial.marks import parse_mark
from wallworthy.trial.mishaps import OtherPaper, Printing, quick
from wallworthy.trial.readback import Readback, readback, sheets_seen
from wallworthy.trial.reference import ReferenceCard, read_reference
from wallworthy.trial.scanfile import Scan, read_scan

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
        job = load(journal, ticket)
        prints = _prints(scan, entry, _printing(journal, job), job, card)
        answer = _answer(ticket, entry, prints, condition_notices(job.condition))
        with journal.write():
            verdict, about_ticks = None, ()
            if answer.found:
                _remember(journal, ticket, entry, answer, prints)
                verdict, about_ticks = take_ticks(journal, ticket, entry)
    answer = replace(answer, notices=(*answer.notices, *about_ticks))
    if verdict is None:
        return answer
    return _with_verdict(answer, verdict)


def _which(scan: Scan, ticket: Ticket, said: int | None) -> int | None:
    """The sheet that was said, else the one of this ticket that the scan's mark names."""
    if said is not None:
        return said
    return next((mark.sheet_no for mark in sheets_seen(scan) if mark.ticket == ticket.id), None)


def _prints(
    scan: Scan, entry: SheetEntry, printing: Printing, job: Job, card: ReferenceCard | None
) -> tuple[Seen, ...]:
    """Each print of the sheet that the scan shows, read; separate prints are told apart by their marks."""
    sheets = [expected_from(record) for record in entry.layout["sheets"]]
    marks = set(sheets_seen(scan, every=len(sheets) > 1))
    shown = [one for one in sheets if parse_mark(one.mark) in marks] or sheets[:1]
    return tuple(
        Seen(_code(one), readback(scan, one, open_book(one, printing), job.output.white_xyz, card=card))
        for one in shown
    )


def _code(expected: ExpectedSheet) -> str | None:
    """The code of the one picture on a separate print."""
    mark = parse_mark(expected.mark)
    return None if mark is None else mark.code


def _printing(journal: Journal, job: Job) -> Printing:
    """How the sheet's file prints, and as what else it might have been printed: profiles other than its own."""
    own = _paper(job.condition.name, job)
    others: list[OtherPaper] = []
    tried = {job.condition.profile_sha256}
    for name in journal.conditions.names():
        if len(others) == MOST_OTHERS:
            break
        other = journal.conditions.get(name)
        if other.profile_sha256 in tried:
            continue
        if other.facts.device_space == job.output.space and other.delivery is job.condition.delivery:
            tried.add(other.profile_sha256)
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


def _answer(
    ticket: Ticket, entry: SheetEntry, prints: tuple[Seen, ...], about_condition: tuple[Notice, ...]
) -> ReadbackAnswer:
    """All prints of a scan together; the faults are those of the print that is least what was meant."""
    found = [one.read for one in prints if one.read.found]
    reads = found or [prints[0].read]
    worst = min(reads, key=_as_meant)
    errors = [one.measurement_error_de00 for one in reads if one.measurement_error_de00 is not None]
    scales = [one.scale_error_pct for one in reads if one.scale_error_pct is not None]
    notices = dict.fromkeys(notice for one in reads for notice in one.notices)
    return ReadbackAnswer(
        ticket=ticket.id,
        sheet_no=entry.no,
        found=bool(found),
        scale_error_pct=max(scales, key=abs, default=None),
        absolute=bool(found) and all(one.absolute for one in found),
        measurement_error_de00=max(errors, default=None),
        tiles=tuple(
            TileReadingFields(tile.code, tile.expected_lab, tile.measured_lab, tile.de00)
            for one in reads
            for tile in one.tiles
        ),
        faults=tuple(FaultFields(one.kind, one.probability, one.evidence, one.mend) for one in worst.faults),
        ticked=tuple(tick_fields(tick) for one in reads for tick in one.ticks if tick.ticked),
        verdict_taken=False,
        sentences=_sentences(prints),
        notices=(*notices, *about_condition),
        next=worst.mend,
    )


def _as_meant(read: Readback) -> float:
    return sum(fault.probability for fault in read.faults if fault.kind is FaultKind.AS_EXPECTED)


def _sentences(prints: tuple[Seen, ...]) -> tuple[str, ...]:
    if len(prints) == 1:
        return (prints[0].read.text,)
    return tuple(f"Print {one.code}: {one.read.text}" for one in prints)


def _with_verdict(answer: ReadbackAnswer, verdict: JudgeAnswer) -> ReadbackAnswer:
    heard = Notice("verdict_taken", "The ticks on the sheet were taken as your verdict; 'judge' replaces it.")
    return replace(
        answer,
        verdict_taken=True,
        sentences=(*answer.sentences, *verdict.sentences),
        notices=(*answer.notices, heard, *verdict.notices),
        next=verdict.next,
    )


def _remember(
    journal: Journal, ticket: Ticket, entry: SheetEntry, answer: ReadbackAnswer, prints: tuple[Seen, ...]
) -> None:
    worst = max(answer.faults, key=lambda fault: fault.probability, default=None)
    mean = float(np.mean([tile.de00 for tile in answer.tiles])) if answer.tiles else None
    result = {
        "absolute": answer.absolute,
        "mean_de00": mean,
        "scale_error_pct": answer.scale_error_pct,
        "likeliest": None if worst is None else str(worst.kind),
        "probability": None if worst is None else worst.probability,
    }
    ticks = {"prints": [ticks_record(one) for one in prints if one.read.found]}
    journal.sheets.read(ticket.id, entry.no, {**result, **ticks})
    journal.tickets.note(ticket.id, "read back", {"sheet": entry.no, **result})
