"""A final made again: what a final remembers of its ticket, and the ticket as it was then."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Condition, Correction, Notice, Way
from wallworthy.base.ticket import FinalEntry, Ticket, set_from_facts, set_to_facts
from wallworthy.journal.journal import Journal

PLACED: Final = ("size_mm", "distance_mm", "crop_px", "margins_mm")
"""Of a ticket, numbers that decide the pixels; finals of before have them not."""


def last_final(journal: Journal, ticket: Ticket) -> FinalEntry:
    """The ticket's last final. Raises InputError when there is none."""
    finals = journal.finals.list(ticket.id)
    if not finals:
        raise InputError(
            "no_final_yet",
            f"{ticket.id} has no final to make again.",
            f"Make the first with 'wallworthy final {ticket.id}'.",
            where="--again",
        )
    return finals[-1]


def told_facts(ticket: Ticket) -> dict[str, Any]:
    """What of a ticket is told with its final and decides its pixels: JSON-able."""
    return {
        "way": str(ticket.way),
        "correction": ticket.correction.as_dict(),
        "must_not_suffer": list(ticket.must_not_suffer),
        "black_and_white": ticket.black_and_white,
    }


def kept_facts(ticket: Ticket, condition: Condition) -> dict[str, Any]:
    """Everything of a ticket that decides its pixels, as it is kept with its final; read by `as_it_was`. JSON-able."""
    placed = {name: getattr(ticket, name) for name in PLACED}
    return {
        **told_facts(ticket),
        **{name: None if numbers is None else _listed(numbers) for name, numbers in placed.items()},
        "hangs_with": None if ticket.hangs_with is None else set_to_facts(ticket.hangs_with),
        "condition": condition.name,
        "condition_profile_sha256": condition.profile_sha256,
    }


def as_it_was(journal: Journal, ticket: Ticket, last: FinalEntry) -> Ticket:
    """The ticket as its last final was made, whatever has been changed since.

    Raises InputError when its paper is not owned any more.
    """
    kept = last.settings
    placed = {name: _tupled(kept[name]) for name in PLACED if name in kept}
    return replace(
        ticket,
        **placed,
        condition=_paper_of(journal, ticket, last),
        way=Way(kept["way"]),
        correction=Correction(**kept["correction"]),
        black_and_white=kept.get("black_and_white"),
        must_not_suffer=tuple(kept.get("must_not_suffer", ())),
        hangs_with=None if kept.get("hangs_with") is None else set_from_facts(kept["hangs_with"]),
    )


def again_notices(last: FinalEntry, pixels_sha256: str) -> tuple[Notice, ...]:
    """Whether the pixels are those of the last time."""
    if last.pixels_sha256 == pixels_sha256:
        return (Notice("same_pixels", "Exactly the same pixels as the last time."),)
    return (
        Notice(
            "pixels_differ",
            "The pixels differ from the last final: the program or a library is another version than then.",
        ),
    )


def _paper_of(journal: Journal, ticket: Ticket, last: FinalEntry) -> str:
    """The name, as it is now, of the condition the final was made for; of several with its profile its own first."""
    profile = last.settings.get("condition_profile_sha256")
    if profile is None:
        return ticket.condition
    same = [one.name for one in journal.conditions.list() if one.profile_sha256 == profile]
    for name in (last.settings["condition"], ticket.condition, *same):
        if name in same:
            return str(name)
    raise InputError(
        "final_condition_gone",
        f"The condition '{last.settings['condition']}' of the last final is not owned any more.",
        "Add its profile again, or make a new final without --again.",
        where="--again",
    )


def _listed(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _tupled(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value
