"""How things stand, for the page: the tickets on the shelf, one ticket whole, and the path in short sentences."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.files import make_folder, write_whole
from wallworthy.base.records import Correction, Master, Notice
from wallworthy.base.ticket import Event, FinalEntry, SheetEntry, Stage, Ticket, VerdictEntry, set_to_facts
from wallworthy.base.units import MM_PER_INCH, Size
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import EventFields
from wallworthy.journey.conditions import condition_notices
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import facts_of
from wallworthy.journey.page import (
    STAGES,
    Beside,
    FinalLine,
    HangsBeside,
    LengthUnit,
    MasterPlace,
    PageState,
    PathStep,
    SheetLine,
    StageName,
    Standing,
    TicketLine,
    TicketView,
    Units,
)
from wallworthy.journey.shelves import shown
from wallworthy.journey.sizing import sheet_mm, size_notices
from wallworthy.journey.story import told
from wallworthy.journey.testing import JUDGE_AFTER_S
from wallworthy.journey.whereabouts import master_place, place_of
from wallworthy.master.open import in_space

LONGEST_STATUS: Final = 22
SETTINGS: Final = "page.json"
LONGEST_CURRENCY: Final = 8


def page_state(home: Path, *, lan: bool) -> PageState:
    """What the page needs when it opens. lan: whether phones can reach it."""
    lines = ticket_lines(home)
    return PageState(version("wallworthy"), STAGES, units_of(home), lines, not lines, lan)


def units_of(home: Path) -> Units:
    """What lengths and prices are shown in: as was said, else centimetres and bare numbers."""
    try:
        kept = json.loads((home / SETTINGS).read_text("utf-8"))
        length, currency = kept.get("length"), kept.get("currency", "")
    except (OSError, ValueError, AttributeError):
        length, currency = "cm", ""
    return Units(length if length in ("cm", "mm", "in") else "cm", currency if isinstance(currency, str) else "")


def set_units(home: Path, length: LengthUnit | None = None, currency: str | None = None) -> Units:
    """Keep what lengths and prices are shown in; None stays. Raises InputError for a currency too long to be one."""
    now = units_of(home)
    sign = now.currency if currency is None else " ".join(currency.split())
    if len(sign) > LONGEST_CURRENCY or not sign.isprintable() or any(letter.isdigit() for letter in sign):
        raise InputError(
            "currency_unclear",
            f"'{sign[:40]}' can't stand beside a price.",
            f"Give its code or its sign, at most {LONGEST_CURRENCY} characters and no digits.",
            where="currency",
        )
    units = Units(now.length if length is None else length, sign)
    make_folder(home)
    write_whole(home / SETTINGS, json.dumps(asdict(units)).encode(), overwrite=True)
    return units


def ticket_lines(home: Path) -> tuple[TicketLine, ...]:
    """All tickets, the newest first."""
    with opened(home) as journal:
        return tuple(_line(journal, ticket) for ticket in reversed(journal.tickets.list()))


def _line(journal: Journal, ticket: Ticket) -> TicketLine:
    facts = _facts(journal, ticket)
    path = path_of(facts)
    open_one = stage_of(path)
    return TicketLine(
        ticket=ticket.id,
        title=ticket.title,
        master_sha256=ticket.master_sha256,
        assume=ticket.assumed_profile_sha256,
        size_mm=ticket.size_mm,
        margins_mm=ticket.margins_mm,
        condition=ticket.condition,
        light=ticket.light,
        stage=open_one.stage,
        status=open_one.text,
        sheets=len(facts.sheets),
        printed=ticket.stage is Stage.FINAL,
        updated=ticket.updated,
    )


@dataclass(frozen=True, slots=True)
class Facts:
    """What decides how a ticket stands."""

    ticket: Ticket
    master: Master
    sheets: tuple[SheetEntry, ...]
    verdicts: tuple[VerdictEntry, ...]
    finals: tuple[FinalEntry, ...]
    events: tuple[Event, ...]
    place: MasterPlace


def _facts(journal: Journal, ticket: Ticket) -> Facts:
    return Facts(
        ticket,
        journal.masters.get(ticket.master_sha256),
        journal.sheets.list(ticket.id),
        journal.sheets.verdicts(ticket.id),
        journal.finals.list(ticket.id),
        journal.tickets.events(ticket.id),
        master_place(ticket),
    )


def path_of(facts: Facts) -> tuple[PathStep, ...]:
    """The stages that exist, each with what is settled in at most 22 characters; one is open."""
    ticket, master = facts.ticket, facts.master
    steps: dict[StageName, tuple[Standing, str]] = {}
    if facts.place == "here":
        amount = master.width_px * master.height_px / 1e6
        steps["master"] = "done", f"done, {amount:.0f} MP, {master.bits} bit" if amount >= 1 else "done, very small"
    else:
        steps["master"] = "needs", "needs you: file gone" if facts.place == "gone" else "needs you: it changed"
    on = f"on {ticket.condition}"
    steps["paper"] = "done", f"done, {on}" if len(on) + len("done, ") <= LONGEST_STATUS else _cut(on)
    looked = ticket.stage is not Stage.STARTED
    asked = "as the fit" if ticket.correction.is_none else "corrected"
    steps["proof"] = ("done", f"done, {asked}") if looked else ("here", "open")
    steps["test"] = _test_step(facts) if looked or facts.sheets else ("open", "open")
    steps["print"] = _print_step(facts, steps["test"][0])
    return tuple(_step(stage, steps[stage]) for stage in STAGES)


def _step(stage: StageName, how: tuple[Standing, str]) -> PathStep:
    return PathStep(stage, how[0], how[1])


def _test_step(facts: Facts) -> tuple[Standing, str]:
    judged = {verdict.sheet_no for verdict in facts.verdicts}
    waiting = [sheet.no for sheet in facts.sheets if sheet.no not in judged]
    if waiting:
        return "needs", f"needs you, sheet {waiting[-1]}"
    if not facts.sheets:
        return ("open", "open") if facts.ticket.stage is Stage.FINAL else ("here", "open")
    if _last_advice(facts.events) == "test" and facts.ticket.stage is not Stage.FINAL:
        return "here", "open, one more pays"
    count = len(facts.sheets)
    return "done", f"done, {count} sheet{'' if count == 1 else 's'}"


def _print_step(facts: Facts, test: Standing) -> tuple[Standing, str]:
    if facts.ticket.stage is Stage.FINAL:
        return "done", "done, file is ready"
    if facts.finals:
        return ("here" if test == "done" else "open"), "open, changed since"
    return ("here" if test == "done" else "open"), "open"


def _last_advice(events: tuple[Event, ...]) -> str | None:
    judged = [event for event in events if event.kind == "judged"]
    return str(judged[-1].detail.get("advice")) if judged else None


def stage_of(path: tuple[PathStep, ...]) -> PathStep:
    """The stage that is open: what needs the person first, else where they are, else the print."""
    for state in ("needs", "here"):
        for step in path:
            if step.state == state:
                return step
    return path[-1]


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_STATUS else f"{text[: LONGEST_STATUS - 1].rstrip()}…"


def ticket_view(home: Path, ticket_id: str) -> TicketView:
    """A ticket with everything its stages show. Raises InputError."""
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        facts = _in_its_space(journal, _facts(journal, ticket))
        condition = shown(journal, ticket.condition)
        light = journal.lights.get(ticket.light) if ticket.light else None
        beside = _beside(journal, ticket)
        whole = next(kept for kept in journal.conditions.list() if kept.name == ticket.condition)
    path = path_of(facts)
    return TicketView(
        ticket=ticket.id,
        title=ticket.title,
        master=facts_of(facts.master),
        master_place=facts.place,
        size_mm=ticket.size_mm,
        sheet_mm=sheet_mm(ticket.size_mm, ticket.margins_mm),
        margins_mm=ticket.margins_mm,
        distance_mm=ticket.distance_mm,
        density_ppi=_shown_width(facts) / ticket.size_mm[0] * MM_PER_INCH,
        crop_px=ticket.crop_px,
        fill=ticket.fill,
        condition=condition,
        guess=condition.guess,
        delivery=condition.delivery,
        way=ticket.way,
        must_not_suffer=ticket.must_not_suffer,
        black_and_white=ticket.black_and_white,
        hangs_with=beside,
        correction=ticket.correction,
        correction_origin=ticket.correction_origin,
        light=light,
        display=ticket.display,
        shown=_shown_by(ticket, whole.profile_sha256),
        stage=stage_of(path).stage,
        path=path,
        white_hex=condition.white_hex,
        sheets=tuple(sheet_line(sheet, facts.verdicts) for sheet in facts.sheets),
        finals=tuple(_final_line(final, facts) for final in facts.finals),
        events=tuple(
            EventFields(event.at, event.kind, event.detail, told(event.kind, event.detail)) for event in facts.events
        ),
        printed=ticket.stage is Stage.FINAL,
        notices=_notices(facts, condition_notices(whole)),
        created=ticket.created,
        updated=ticket.updated,
    )


def updated_of(home: Path, ticket_id: str) -> str:
    """When the ticket was last changed, by whatever process. Raises InputError."""
    with opened(home) as journal:
        return journal.tickets.get(ticket_id).updated


def _shown_by(ticket: Ticket, profile_sha256: str) -> str:
    """Names all that `shown_as` holds and no address of a proof says; a save that changes none of it leaves it."""
    hangs_with = None if ticket.hangs_with is None else set_to_facts(ticket.hangs_with)
    deciding = (ticket.size_mm, ticket.distance_mm, ticket.crop_px, hangs_with, profile_sha256)
    return hashlib.sha256(json.dumps(deciding).encode()).hexdigest()[:12]


def _in_its_space(journal: Journal, facts: Facts) -> Facts:
    """The facts with the master by the profile that was named for this very ticket, where one was."""
    assumed = facts.ticket.assumed_profile_sha256
    return facts if assumed is None else replace(facts, master=in_space(facts.master, journal.store.get(assumed)))


def _beside(journal: Journal, ticket: Ticket) -> HangsBeside | None:
    if ticket.hangs_with is None:
        return None
    others = [journal.tickets.get(other) for other in ticket.hangs_with.beside(ticket.id)]
    return HangsBeside(tuple(Beside(one.id, one.title, one.condition) for one in others), ticket.way.is_chosen)


def _shown_width(facts: Facts) -> int:
    return facts.master.width_px if facts.ticket.crop_px is None else facts.ticket.crop_px[3]


def _notices(facts: Facts, condition: tuple[Notice, ...]) -> tuple[Notice, ...]:
    size = Size(*facts.ticket.size_mm)
    return (*facts.master.notices, *condition, *size_notices(facts.ticket, facts.master, size))


def sheet_line(sheet: SheetEntry, verdicts: tuple[VerdictEntry, ...]) -> SheetLine:
    """A test sheet in short."""
    return SheetLine(
        sheet_no=sheet.no,
        at=sheet.at,
        mode=sheet.design["mode"],
        tiles=len(sheet.design["codes"]),
        judged=any(verdict.sheet_no == sheet.no for verdict in verdicts),
        dry_from=dry_from(sheet.at),
    )


def dry_from(made: str) -> str:
    """The earliest moment a sheet made then can be judged."""
    at = datetime.fromisoformat(made) + timedelta(seconds=JUDGE_AFTER_S)
    return at.isoformat(timespec="seconds").replace("+00:00", "Z")


def _final_line(final: FinalEntry, facts: Facts) -> FinalLine:
    settings: Any = final.settings
    path = Path(final.files[0].path)
    here = place_of(path, final.files[0].sha256, final.at) == "here"
    correction = Correction(**settings["correction"])
    ticket = facts.ticket
    last = final.no == facts.finals[-1].no
    return FinalLine(
        final_no=final.no,
        at=final.at,
        file_name=path.name,
        bytes=path.stat().st_size if here else None,
        format=settings["format"],
        bits=settings["bits"],
        density_ppi=settings["ppi"],
        sharpen=settings["sharpen"],
        delivery=settings["delivery"],
        way=settings["way"],
        correction=correction,
        current=here and last and ticket.stage is Stage.FINAL and correction == ticket.correction,
    )


def require_ticket(home: Path, ticket: str) -> str:
    """The ticket's id as it is written. Raises InputError when there is none."""
    with opened(home) as journal:
        return journal.tickets.get(ticket).id


def gone(what: str) -> InputError:
    """A file the program wrote that is no longer there."""
    return InputError("file_gone", f"{what} is no longer where it was written.", "Make it again.", where=what)
