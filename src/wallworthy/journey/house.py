"""The house correction of a condition, light and display: learned from verdicts, looked at, widened, reset."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from wallworthy.base.records import CORRECTION_AXES
from wallworthy.base.ticket import Ticket
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import HouseAnswer
from wallworthy.journey.home import opened
from wallworthy.trial.house import House, Lesson, from_record, house_text, learn


def house_for(journal: Journal, ticket: Ticket, *, own: bool = False) -> House:
    """What other tickets (and this one, when `own`) with its condition, light and display have taught.

    A changed profile, or a change that was told, makes what was learned before it less sure.
    """
    entries = journal.lessons.list(ticket, own=own)
    changes = [at for at, _ in journal.lessons.changes(ticket.condition)]
    lessons: list[Lesson] = []
    last_at, last_profile = "", ""
    for entry in entries:
        told = any(last_at < at <= entry.at for at in changes)
        other = bool(last_profile) and entry.profile_sha256 != last_profile
        lessons.append(replace(from_record(entry.record), changed=bool(last_at) and (told or other)))
        last_at, last_profile = entry.at, entry.profile_sha256
    now = journal.conditions.get(ticket.condition).profile_sha256
    changed = bool(last_at) and (any(at > last_at for at in changes) or now != last_profile)
    return learn(lessons, changed=changed)


def show_house(home: Path | None, ticket_id: str, *, reset: bool = False, changed: str | None = None) -> HouseAnswer:
    """Where a picture like this ticket's would start, and why; `reset` forgets it, `changed` says what is new."""
    with opened(home) as journal:
        ticket = journal.tickets.get(ticket_id)
        told: list[str] = []
        with journal.write():
            if reset:
                forgotten = journal.lessons.forget(ticket.condition)
                told.append(f"Forgotten: what {forgotten} pictures taught about {ticket.condition}.")
            if changed is not None:
                journal.lessons.change(ticket.condition, changed)
                told.append(f"Noted that {changed} changed: what was learned counts on, less surely.")
        house = house_for(journal, ticket, own=True)
    axes = CORRECTION_AXES
    return HouseAnswer(
        condition=ticket.condition,
        light=ticket.light,
        display=ticket.display,
        pictures=house.pictures,
        correction=house.correction.as_dict(),
        sd={axis: float(sd) for axis, sd in zip(axes, house.shared_sd, strict=True)},
        scale=house.scale,
        shared_fraction=house.fraction,
        sentences=(*told, house_text(house)),
        next="New tickets on this condition, light and display start there; '--correct none' starts plain.",
    )
