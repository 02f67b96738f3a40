"""Opening and changing a ticket from the page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from wallworthy.base.errors import InputError
from wallworthy.base.records import Box, Condition
from wallworthy.base.ticket import Stage, Ticket
from wallworthy.base.units import Size, parse_length_mm, parse_size
from wallworthy.colour.correction import tone_knots
from wallworthy.journal.journal import Journal
from wallworthy.journey.chain import printed_as, shown_as
from wallworthy.journey.conditions import generic_condition, pick_profile, taken_in
from wallworthy.journey.home import opened
from wallworthy.journey.incoming import assumed_path, master_path, upload_path
from wallworthy.journey.proofing import looked_after
from wallworthy.journey.seeing import corrected
from wallworthy.journey.sizing import border_words, checked_crop, margins_of, own_distance_mm, placed
from wallworthy.journey.tickets import (
    Wish,
    kept_light,
    light_of,
    parse_tone,
    parse_way,
    start_ticket,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class StartAsked:
    """What a ticket is opened with on the page; None where nothing was said."""

    master_sha256: str
    size: str
    distance: str | None = None
    on: str | None = None
    upload: str | None = None
    pick: int | None = None
    paper: str | None = None
    light: str | None = None
    display: str | None = None
    way: str | None = None
    border_mm: float | Sequence[float] = 0.0
    crop: Box | None = None
    fill: bool = False
    assume: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeAsked:
    """What to change; None where it stays. `light` and `display` are taken away by an empty word, an empty `distance`
    is the print's own diagonal, which it stays when the size changes."""

    title: str | None = None
    correction: Mapping[str, float | None] | None = None
    way: str | None = None
    light: str | None = None
    display: str | None = None
    on: str | None = None
    upload: str | None = None
    pick: int | None = None
    paper: str | None = None
    size: str | None = None
    distance: str | None = None
    border_mm: float | Sequence[float] | None = None
    crop: Box | None = None
    fill: bool | None = None
    must_not_suffer: Sequence[str] | None = None
    black_and_white: str | None = None
    """A tone; 'none' for colour."""


def start_on_page(home: Path, asked: StartAsked) -> str:
    """Open a ticket for a master in this home; its id. Raises InputError."""
    wish = Wish(
        master=master_path(home, asked.master_sha256),
        master_sha256=asked.master_sha256,
        size=asked.size,
        on=asked.on,
        profile=None if asked.upload is None else upload_path(home, asked.upload),
        paper=asked.paper,
        pick=None if asked.pick is None else str(asked.pick),
        light=asked.light or None,
        display=asked.display or None,
        distance=asked.distance or None,
        way=asked.way,
        border=asked.border_mm,
        crop=None if asked.crop is None else ",".join(str(edge) for edge in asked.crop),
        fill=asked.fill,
        assume=None if asked.assume is None else assumed_path(home, asked.assume),
    )
    return start_ticket(home, wish).ticket


def change_ticket(home: Path, ticket_id: str, asked: ChangeAsked) -> Ticket:
    """Change a ticket; all of it or, refused, nothing. Raises InputError.

    Once there is a test sheet, its paper, picture part and light are settled: what was learned of it would
    no longer hold. A change to what is printed makes an earlier final yesterday's.
    """
    with opened(home) as journal:
        condition = _condition(journal, home, journal.tickets.get(ticket_id), asked)
        with journal.write():
            ticket = journal.tickets.get(ticket_id)
            changed = _looked_after(journal, _settings(journal, _corrected(ticket, asked), asked), asked)
            changed = _sized(journal, replace(changed, condition=condition), asked)
            if asked.distance == "":
                changed = replace(changed, distance_mm=own_distance_mm(changed.size_mm))
            if changed == ticket:
                return ticket
            _refuse_unsettling(journal, ticket, changed)
            kept = journal.tickets.update(replace(changed, stage=_stage(ticket, changed)))
            if differences := _differences(ticket, changed):
                journal.tickets.note(kept.id, "changed", differences)
            return kept


def _corrected(ticket: Ticket, asked: ChangeAsked) -> Ticket:
    if asked.correction is not None:
        correction = corrected(ticket.correction, **asked.correction)
        tone_knots(correction)
        if correction != ticket.correction:
            origin = "zero" if correction.is_none else "user"
            ticket = replace(ticket, correction=correction, correction_origin=origin)
    if asked.black_and_white is not None:
        ticket = replace(ticket, black_and_white=parse_tone(asked.black_and_white))
    return ticket if asked.way is None else replace(ticket, way=parse_way(asked.way))


def _looked_after(journal: Journal, ticket: Ticket, asked: ChangeAsked) -> Ticket:
    if asked.must_not_suffer is None:
        return ticket
    return looked_after(ticket, asked.must_not_suffer, journal.masters.get(ticket.master_sha256))


def _settings(journal: Journal, ticket: Ticket, asked: ChangeAsked) -> Ticket:
    if asked.title is not None:
        ticket = replace(ticket, title=" ".join(asked.title.split()) or ticket.title)
    if asked.light is not None:
        light = kept_light(journal, light_of(journal, asked.light)) if asked.light.strip() else None
        ticket = replace(ticket, light=light)
    if asked.display is not None:
        display = journal.displays.get(asked.display).name if asked.display.strip() else None
        ticket = replace(ticket, display=display)
    if asked.distance:
        ticket = replace(ticket, distance_mm=parse_length_mm(asked.distance))
    if asked.border_mm is not None:
        ticket = replace(ticket, margins_mm=margins_of(asked.border_mm, where="border_mm"))
    return ticket


def _condition(journal: Journal, home: Path, ticket: Ticket, asked: ChangeAsked) -> str:
    """The name of the condition meant; one taken in for it may need measuring, and so before anything is locked."""
    condition: Condition | None = None
    if (asked.upload is not None or asked.paper is not None) and journal.sheets.list(ticket.id):
        raise _settled("paper", "condition")
    if asked.on is not None:
        condition = journal.conditions.get(asked.on)
    elif asked.upload is not None:
        pick = None if asked.pick is None else str(asked.pick)
        condition = taken_in(journal, pick_profile(upload_path(home, asked.upload), pick))
    elif asked.paper is not None:
        condition = generic_condition(journal, asked.paper)
    return ticket.condition if condition is None else condition.name


def _sized(journal: Journal, ticket: Ticket, asked: ChangeAsked) -> Ticket:
    """The picture placed anew when the size, the crop or the filling was changed; a print seen from its own diagonal
    is seen from the new one."""
    if asked.size is None and asked.crop is None and asked.fill is None:
        return ticket
    master = journal.masters.get(ticket.master_sha256)
    size = _size_asked(ticket, asked)
    fill = ticket.fill if asked.fill is None else asked.fill
    crop = None if ticket.fill or asked.fill is not None else ticket.crop_px
    if asked.crop is not None:
        crop, fill = checked_crop(asked.crop, master), False
    box, size_mm = placed(master, size, crop, fill=fill)
    distance_mm = ticket.distance_mm
    if asked.distance is None and distance_mm == own_distance_mm(ticket.size_mm):
        distance_mm = own_distance_mm(size_mm)
    return replace(ticket, crop_px=box, size_mm=size_mm, size_asked=size, fill=fill, distance_mm=distance_mm)


def _size_asked(ticket: Ticket, asked: ChangeAsked) -> Size:
    """The size to place the picture in. Tickets of before kept only what came of it, which is the longest edge that
    was asked for, and all of it where the picture fills it."""
    if asked.size is not None:
        return parse_size(asked.size)
    if ticket.size_asked is not None:
        return ticket.size_asked
    if ticket.fill:
        return Size(*ticket.size_mm)
    if asked.fill and asked.crop is None:
        raise InputError(
            "size_to_fill",
            f"Which size {ticket.id} was to have is not known any more, only what came of it.",
            "Say the size once more; then the picture can fill it.",
            where="fill",
        )
    longest = max(ticket.size_mm)
    return Size(longest, longest)


def _refuse_unsettling(journal: Journal, ticket: Ticket, changed: Ticket) -> None:
    sheets = journal.sheets.list(ticket.id)
    if not sheets:
        return
    settled = {"condition": "paper", "crop_px": "part of the picture", "fill": "part of the picture", "light": "light"}
    for name, words in settled.items():
        if getattr(ticket, name) != getattr(changed, name):
            raise _settled(words, name)


def _settled(words: str, name: str) -> InputError:
    return InputError(
        "settled",
        f"The {words} can't change any more: a test sheet was made for it.",
        "Start another print of this picture; this one stays as it is.",
        where=name,
    )


def _stage(ticket: Ticket, changed: Ticket) -> Stage:
    """How far the changed ticket has come: what decides the proof's picture, but for the correction, asks for another
    look; an earlier final is yesterday's once anything that decides its pixels has changed."""
    if shown_as(replace(changed, correction=ticket.correction)) != shown_as(ticket):
        return Stage.STARTED
    if ticket.stage is Stage.FINAL and printed_as(ticket) != printed_as(changed):
        return Stage.PROOFED
    return ticket.stage


def _differences(ticket: Ticket, changed: Ticket) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name in ("title", "condition", "light", "display", "distance_mm", "size_mm", "fill"):
        if getattr(ticket, name) != getattr(changed, name):
            found[name] = getattr(changed, name)
    if ticket.margins_mm != changed.margins_mm:
        found["border_mm"] = border_words(changed.margins_mm)
    if ticket.crop_px != changed.crop_px:
        found["crop_px"] = None if changed.crop_px is None else list(changed.crop_px)
    if ticket.correction != changed.correction:
        found["correction"] = str(changed.correction)
    if ticket.way != changed.way:
        found["way"] = str(changed.way)
    if ticket.must_not_suffer != changed.must_not_suffer:
        found["must_not_suffer"] = "; ".join(changed.must_not_suffer) or "nothing in particular"
    if ticket.black_and_white != changed.black_and_white:
        found["black_and_white"] = changed.black_and_white or "none"
    return found
