"""Prints that hang side by side: a set shares one tone curve, so that neighbours agree in black, white and mid-tone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from wallworthy.base.errors import InputError
from wallworthy.base.records import Notice
from wallworthy.base.saying import seen_correction_words
from wallworthy.base.ticket import HangsWith, Stage, Ticket
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import TogetherAnswer
from wallworthy.journey.chain import load
from wallworthy.journey.choosing import hanging_together
from wallworthy.journey.home import opened


def hang_together(home: Path | None, tickets: Sequence[str], *, apart: bool = False) -> TogetherAnswer:
    """Make tickets a set, or take the sets of tickets apart; all of it or, refused, nothing.

    Ways chosen for pictures (`whole`, `detail`) then take one tone curve, chosen for the mean of the set's tones.
    It stays as it is until the set is named again. Raises InputError for fewer than two, for a ticket that
    belongs to a set with others than those named, and for a master that can't be read.
    """
    with opened(home) as journal:
        named = tuple(dict.fromkeys(journal.tickets.get(ticket).id for ticket in tickets))
        return _apart(journal, named) if apart else _together(journal, named)


def _together(journal: Journal, named: tuple[str, ...]) -> TogetherAnswer:
    if len(named) < 2:
        raise InputError(
            "set_of_one", "A set has two prints or more.", "Name all that hang together: 'wallworthy together T1 T2'."
        )
    members = [journal.tickets.get(ticket) for ticket in named]
    apart = _Apart.of(journal, members)
    _refuse_torn(members, named)
    tones = hanging_together([load(journal, member) for member in members], named)
    with journal.write():
        _refuse_torn([journal.tickets.get(ticket) for ticket in named], named)  # it may be another's by now
        for ticket in named:
            _settle(journal, ticket, tones)
    return TogetherAnswer(
        tickets=named,
        sentences=(_agreement(members, apart),),
        notices=_notices(members, apart),
        next=f"Proof each of them again: 'wallworthy proof {named[0]}'.",
    )


@dataclass(frozen=True, slots=True)
class _Apart:
    """In what the prints of a set differ, whatever curve they share."""

    papers: tuple[str, ...]
    """The conditions; none where all are one profile's."""
    ways: bool
    tints: bool
    corrections: bool

    @staticmethod
    def of(journal: Journal, members: Sequence[Ticket]) -> _Apart:
        names = sorted({member.condition for member in members})
        profiles = {journal.conditions.get(name).profile_sha256 for name in names}
        return _Apart(
            papers=tuple(names) if len(profiles) > 1 else (),
            ways=len({member.way for member in members}) > 1,
            tints=len({member.black_and_white for member in members}) > 1,
            corrections=len({member.correction for member in members}) > 1,
        )


def _agreement(members: Sequence[Ticket], apart: _Apart) -> str:
    """What the prints of a set share, and what of them agrees by that."""
    followers = [member for member in members if member.way.is_chosen]
    if not followers:
        shared = "their ways fit" if apart.ways else "their way fits"
        shared += " every picture alike, not by a curve of the set"
    elif len(followers) < len(members):
        shared = f"one tone curve, which {_named([one.id for one in followers])} alone"
        shared += " follow" if len(followers) > 1 else " follows"
    else:
        shared = "one tone curve for each of their ways" if apart.ways else "one tone curve"
    so = "" if apart.papers or (apart.ways and len(followers) < len(members)) else _agree(apart)
    return f"{_named([member.id for member in members])} hang together: {shared}{so}."


def _agree(apart: _Apart) -> str:
    """What agrees on one paper, fitted alike or by one curve."""
    agree = "black and white agree, and mid-tones nearly" if apart.ways else "black, white and mid-tone agree"
    but = [*(["tints"] if apart.tints else []), *(["corrections"] if apart.corrections else [])]
    return f", so that {agree}{', but for their ' + ' and '.join(but) if but else ''}"


def _named(tickets: Sequence[str]) -> str:
    return " and ".join([*filter(None, [", ".join(tickets[:-1])]), tickets[-1]])


def _apart(journal: Journal, named: tuple[str, ...]) -> TogetherAnswer:
    sets = [journal.tickets.get(ticket).hangs_with for ticket in named]
    freed = tuple(dict.fromkeys(ticket for one in sets if one is not None for ticket in one.tickets))
    if not freed:
        raise InputError("no_set", f"{', '.join(named)} hang with no other print.", "There is nothing to take apart.")
    with journal.write():
        for ticket in freed:
            _settle(journal, ticket, None)
    return TogetherAnswer(
        tickets=freed,
        sentences=(f"{', '.join(freed)} are prints by themselves again.",),
        next=f"Proof each of them again: 'wallworthy proof {freed[0]}'.",
    )


def _refuse_torn(members: Sequence[Ticket], named: tuple[str, ...]) -> None:
    for member in members:
        left = set(member.hangs_with.tickets) - set(named) if member.hangs_with else set[str]()
        if left:
            raise InputError(
                "set_torn",
                f"{member.id} hangs with {', '.join(sorted(left))} already.",
                f"Name them too, or take that set apart first: 'wallworthy together {member.id} --apart'.",
            )


def _settle(journal: Journal, ticket_id: str, tones: HangsWith | None) -> None:
    """Write the set down with a ticket; what its proof showed is no longer what prints, where the way is chosen."""
    ticket = journal.tickets.get(ticket_id)
    changed = ticket.hangs_with != tones
    stage = Stage.STARTED if changed and ticket.way.is_chosen else ticket.stage
    journal.tickets.update(replace(ticket, hangs_with=tones, stage=stage))
    others = () if tones is None else tones.beside(ticket_id)
    journal.tickets.note(ticket_id, "hung together" if others else "hung apart", {"with": list(others)})


def _notices(members: Sequence[Ticket], apart: _Apart) -> tuple[Notice, ...]:
    notices: list[Notice] = []
    fixed = [member.id for member in members if not member.way.is_chosen]
    if fixed:
        text = (
            f"{_named(fixed)} {'are' if len(fixed) > 1 else 'is'} fitted as any picture would be, not by the set's "
            f"curve: 'wallworthy proof {fixed[0]} --way whole' makes {fixed[0]} follow the set."
        )
        notices.append(Notice("set_fixed_way", text))
    if apart.papers:
        curve = "" if len(fixed) == len(members) else "one curve for all, but "
        text = f"They go to {', '.join(apart.papers)}: {curve}papers differ in their black and white."
        notices.append(Notice("set_papers", text))
    if apart.tints:
        tints = ", ".join(f"{one.id} {one.black_and_white or 'in colour'}" for one in members)
        notices.append(Notice("set_tints", f"Their greys have not the same tint: {tints}."))
    if apart.corrections:
        asked = ", ".join(f"{one.id} {seen_correction_words(one.correction.as_dict())}" for one in members)
        notices.append(Notice("set_corrections", f"Each keeps its own correction, which moves its tones: {asked}."))
    return tuple(notices)
