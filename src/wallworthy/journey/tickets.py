"""Opening a ticket, listing tickets, and showing what happened to one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Box, Condition, Correction, Light, Master, Notice, Way
from wallworthy.base.ticket import Ticket, TicketDraft
from wallworthy.base.units import Size, parse_length_mm, parse_size
from wallworthy.journal.encode import unknown_name
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import (
    EventFields,
    PromiseFields,
    ShowAnswer,
    StartAnswer,
    TicketFields,
    TicketsAnswer,
)
from wallworthy.journey.assuming import assumed
from wallworthy.journey.conditions import condition_notices, generic_condition, pick_profile, taken_in
from wallworthy.journey.home import home_folder, opened
from wallworthy.journey.laid import require_content
from wallworthy.journey.proofed import changed_since, proof_notices
from wallworthy.journey.sizing import margins_of, own_distance_mm, parse_crop, placed, size_notices
from wallworthy.journey.story import told
from wallworthy.master.describe import describe

PROMISED = ("loss_mean_de00", "loss_p95_de00", "out_of_range_pct")
FURTHER_LSTAR = 2
"""How much lighter than now is named, where it is told how a print may be corrected."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What a ticket is started with, in the person's words."""

    master: Path
    size: str
    on: str | None = None
    profile: Path | None = None
    paper: str | None = None
    pick: str | None = None
    light: str | None = None
    display: str | None = None
    distance: str | None = None
    way: str | None = None
    border: str | float | Sequence[float] = 0.0
    """In mm: one width, or top, right, bottom and left."""
    crop: str | None = None
    fill: bool = False
    assume: Path | None = None
    must_not_suffer: tuple[str, ...] = ()
    black_and_white: str | None = None
    master_sha256: str | None = None
    """The content the master must have; None for whatever it has."""


def start_ticket(home: Path | None, wish: Wish, progress: Progress = silent) -> StartAnswer:
    """Open a ticket: check the master and the words, take in what is new, and remember it all."""
    from wallworthy.master.open import open_master

    _check_usage(wish)
    size = parse_size(wish.size)
    way = parse_way(wish.way)
    distance_mm = None if wish.distance is None else parse_length_mm(wish.distance)
    margins_mm = margins_of(wish.border)
    assume = assumed(wish.assume, wish.master)
    master = open_master(wish.master, assume=assume)
    if wish.master_sha256 is not None:
        require_content(master, wish.master_sha256)
    crop, size_mm = placed(master, size, parse_crop(wish.crop, master), fill=wish.fill)
    _look_through(master, crop, way, home_folder(home), progress)
    kept, tone = _looked_after(wish, way, master), parse_tone(wish.black_and_white)

    with opened(home) as journal:
        new_light = None if wish.light is None else light_of(journal, wish.light)
        display = None if wish.display is None else journal.displays.get(wish.display).name
        condition = wished_condition(journal, wish)
        with journal.write():
            light = None if new_light is None else kept_light(journal, new_light)
            journal.masters.add(master)
            ticket = journal.tickets.open(
                TicketDraft(
                    master_sha256=master.sha256,
                    master_path=str(wish.master.expanduser().resolve()),
                    title=wish.master.stem,
                    size_mm=size_mm,
                    size_asked=size,
                    distance_mm=distance_mm if distance_mm is not None else own_distance_mm(size_mm),
                    condition=condition.name,
                    way=way,
                    light=light,
                    display=display,
                    crop_px=crop,
                    fill=wish.fill,
                    margins_mm=margins_mm,
                    assumed_profile_sha256=None if assume is None else journal.store.put(assume),
                    must_not_suffer=kept,
                    black_and_white=tone,
                )
            )
            journal.tickets.note(ticket.id, "started", {"condition": condition.name, "size_mm": list(size_mm)})
            ticket, house = _at_home(journal, ticket)
    return _start_answer(ticket, master, condition, house, size)


def _look_through(master: Master, crop: Box | None, way: Way, home: Path, progress: Progress) -> None:
    """Decode every pixel, so that damage is refused now; a whole picture is kept as its proofs want it."""
    from wallworthy.journey.reduced import reduced
    from wallworthy.master.source import working_source

    if crop is None:
        progress("looking through the picture", 0.0)
        reduced(master, None, way, home=home)
    else:
        working_source(master).examine(progress)


def _at_home(journal: Journal, ticket: Ticket) -> tuple[Ticket, tuple[Notice, ...]]:
    """The ticket where earlier verdicts on its condition, light and display left off, with what to know of that."""
    from wallworthy.journey.house import house_for
    from wallworthy.trial.house import house_text

    house = house_for(journal, ticket)
    if not house.pictures:
        return ticket, ()
    started = journal.tickets.update(replace(ticket, correction=house.correction, correction_origin="house"))
    return started, (Notice("house_correction", house_text(house)),)


def list_tickets(home: Path | None) -> TicketsAnswer:
    with opened(home) as journal:
        tickets = tuple(reversed(journal.tickets.list()))
        fields = tuple(_fields(ticket, len(journal.sheets.list(ticket.id))) for ticket in tickets)
    return TicketsAnswer(
        tickets=fields,
        next=f"'wallworthy show {tickets[0].id}' shows the latest."
        if tickets
        else "Open one with 'wallworthy start MASTER --size A4 --paper lustre'.",
    )


def show_ticket(home: Path | None, ticket_id: str) -> ShowAnswer:
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        events = journal.tickets.events(ticket.id)
        proofs = journal.proofs.list(ticket.id)
        sheets = len(journal.sheets.list(ticket.id))
        verdicts = journal.sheets.verdicts(ticket.id)
        readings = journal.sheets.readings(ticket.id)
    fields = _fields(ticket, sheets)
    stale = changed_since(ticket, proofs) is not None
    promised = {name: proofs[-1].figures[name] for name in PROMISED} if proofs else None
    return ShowAnswer(
        ticket=fields.ticket,
        title=fields.title,
        size_mm=fields.size_mm,
        condition=fields.condition,
        stage=fields.stage,
        sheets=fields.sheets,
        updated=fields.updated,
        way=ticket.way,
        correction=ticket.correction.as_dict(),
        correction_origin=ticket.correction_origin,
        must_not_suffer=ticket.must_not_suffer,
        black_and_white=ticket.black_and_white,
        hangs_with=() if ticket.hangs_with is None else ticket.hangs_with.beside(ticket.id),
        promise=PromiseFields(
            promised,
            {"sheet": verdicts[-1].sheet_no, **verdicts[-1].said} if verdicts else None,
            {"sheet": readings[-1].sheet_no, **readings[-1].result} if readings else None,
        ),
        proof_stale=stale,
        events=tuple(EventFields(one.at, one.kind, one.detail, told(one.kind, one.detail)) for one in events),
        notices=proof_notices(ticket, proofs) if stale else (),
        next=next_step(ticket, stale=stale),
    )


def next_step(ticket: Ticket, *, stale: bool = False, offer: Correction | None = None) -> str:
    """What to do now, by how far the ticket has come.

    stale: whether its last proof shows not what prints now. offer: the correction that its proof offers.
    """
    match ticket.stage:
        case "started":
            return f"See it on the paper: 'wallworthy proof {ticket.id}'."
        case "proofed" if stale:
            proof = f"wallworthy proof {ticket.id}"
            return f"See it as it prints now: '{proof}'. It can be printed as well: 'wallworthy final {ticket.id}'."
        case "proofed":
            lightness = round(ticket.correction.lightness) + FURTHER_LSTAR if offer is None else offer.lightness
            correct = f"wallworthy proof {ticket.id} --correct lightness={lightness:g}"
            return f"Happy with it? 'wallworthy final {ticket.id}'. Else correct it: '{correct}'."
        case _:
            again = f"wallworthy final {ticket.id} --again"
            return f"Print it after its job card; '{again}' makes exactly that file once more."


def parse_way(text: str | None) -> Way:
    """The default is relative-bpc. Raises InputError for a way that does not exist."""
    try:
        return Way(text) if text is not None else Way.RELATIVE_BPC
    except ValueError:
        raise InputError(
            "way_unknown", f"'{text}' is not a way I know.", f"The ways are {', '.join(Way)}.", where="--way"
        ) from None


def parse_tone(text: str | None) -> str | None:
    """The tone of black and white by its name; None for colour, said as 'none' or not at all. Raises InputError."""
    if text is None or text.strip().lower() == "none":
        return None
    from wallworthy.fit.greys import tone_of

    return tone_of(text)


def _looked_after(wish: Wish, way: Way, master: Master) -> tuple[str, ...]:
    """What must not suffer, for a way that can look after it. Raises InputError."""
    if not wish.must_not_suffer:
        return ()
    from wallworthy.journey.choosing import wishes_kept

    kept = wishes_kept(wish.must_not_suffer, master)
    if kept and not way.is_chosen:
        raise no_choice(way)
    return kept


def no_choice(way: Way) -> InputError:
    """The refusal of a wish by a way that treats every picture alike."""
    return InputError(
        "way_has_no_choice",
        f"The way '{way}' treats every picture alike: it can't look after anything in this one.",
        "Add --way whole, or --way detail.",
        where="--must-not-suffer",
    )


def _check_usage(wish: Wish) -> None:
    named = [option for option in (wish.on, wish.profile, wish.paper) if option is not None]
    if len(named) != 1:
        raise UsageError(
            "paper_needed",
            "Name what it is printed on, once.",
            "Use --on CONDITION, --profile FILE, or --paper gloss, lustre or matt.",
            where="start",
        )
    if wish.crop is not None and wish.fill:
        raise UsageError("crop_or_fill", "--crop and --fill exclude each other.", "Leave one out.", where="start")


def wished_condition(journal: Journal, wish: Wish) -> Condition:
    if wish.on is not None:
        return journal.conditions.get(wish.on)
    if wish.profile is not None:
        return taken_in(journal, pick_profile(wish.profile, wish.pick))
    return generic_condition(journal, str(wish.paper))


def light_of(journal: Journal, name: str) -> Light:
    """An owned light, or a new one from words that are understood. Raises InputError for neither."""
    from wallworthy.proof.lights import known_light_words, light_from

    words = known_light_words()
    if name in journal.lights:
        return journal.lights.get(name)
    if name.strip().lower() in words:
        return light_from(name, words=name)
    raise unknown_name("light", name, (*journal.lights.names(), *words))


def kept_light(journal: Journal, light: Light) -> str:
    """The light's name, once the journal has it."""
    return light.name if light.name in journal.lights else journal.lights.add(light).name


def _start_answer(
    ticket: Ticket, master: Master, condition: Condition, house: tuple[Notice, ...], size: Size
) -> StartAnswer:
    if master.space == "GRAY" and ticket.black_and_white is None:
        text = "The master is grey: '--black-and-white neutral' holds its greys to the paper's neutral all along."
        house = (*house, Notice("grey_master", text))
    notices = [*master.notices, *condition_notices(condition), *house, *size_notices(ticket, master, size)]
    if ticket.display is None:
        notices.append(Notice("display_assumed", "No display was named: the proof will be made for an sRGB screen."))
    return StartAnswer(
        ticket=ticket.id,
        condition=condition.name,
        size_mm=ticket.size_mm,
        crop_px=ticket.crop_px,
        distance_mm=ticket.distance_mm,
        way=ticket.way,
        correction=ticket.correction.as_dict(),
        correction_origin=ticket.correction_origin,
        black_and_white=ticket.black_and_white,
        stage=ticket.stage,
        sentences=describe(master),
        notices=tuple(notices),
        next=next_step(ticket),
    )


def _fields(ticket: Ticket, sheets: int) -> TicketFields:
    return TicketFields(
        ticket=ticket.id,
        title=ticket.title,
        size_mm=ticket.size_mm,
        condition=ticket.condition,
        stage=ticket.stage,
        sheets=sheets,
        updated=ticket.updated,
    )
