"""Ticks on a printed sheet taken as a verdict: when they are sure, clear, and of a print that is what was meant.

Separate prints come one by one, in one scan or in many. What is ticked on each is kept with its reading, and the
verdict is what all of them say together; it grows until a person says another.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import CORRECTION_AXES, Notice
from wallworthy.base.ticket import SheetEntry, Ticket
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import JudgeAnswer, TickFields
from wallworthy.journey.judging import Opinion, take_opinion
from wallworthy.trial.readback import SOUND, Readback
from wallworthy.trial.reading import ReadTick
from wallworthy.trial.words import FAULTS

SURE: Final = 0.8
"""A tick is taken as said when it is read at least this surely."""
LEAST_SOUND: Final = 0.5


@dataclass(frozen=True, slots=True)
class Seen:
    """A print as it was read; code: of the one picture on it, None for a sheet of tiles or a whole picture."""

    code: str | None
    read: Readback

    @property
    def sound(self) -> bool:
        """Whether the print is what was meant, as far as its colours go."""
        return sum(fault.probability for fault in self.read.faults if fault.kind in SOUND) >= LEAST_SOUND


def tick_fields(tick: ReadTick) -> TickFields:
    box = tick.box
    direction = None if box.axis is None else FAULTS[CORRECTION_AXES.index(box.axis), 1 if (box.sign or 1) > 0 else -1]
    return TickFields(box.kind, box.code, box.axis, direction, tick.confidence)


def ticks_record(seen: Seen) -> dict[str, Any]:
    """What is ticked on a print, to be kept with its reading."""
    return {
        "print": seen.code,
        "sound": seen.sound,
        "ticks": [[one.kind, one.code, one.direction] for one in _sure(seen.read)],
    }


def _sure(read: Readback) -> list[TickFields]:
    return [tick_fields(tick) for tick in read.ticks if tick.ticked and tick.confidence >= SURE]


def take_ticks(journal: Journal, ticket: Ticket, entry: SheetEntry) -> tuple[JudgeAnswer | None, tuple[Notice, ...]]:
    """What is ticked on all prints of a sheet that were read, as its verdict; else why it was not taken.

    A verdict that a person said stays; so does one by the ticks of a sheet that is a single print.
    """
    earlier = next((one.said for one in journal.sheets.verdicts(ticket.id) if one.sheet_no == entry.no), None)
    grows = entry.design["mode"] == "prints"
    if earlier is not None and not (grows and earlier.get("ticked")):
        return None, ()
    prints = _latest(journal, ticket, entry)
    ticks = [(one["print"], *tick) for one in prints if one["sound"] for tick in one["ticks"]]
    notices = _of_faulty(ticket, [one for one in prints if not one["sound"] and one["ticks"]])
    try:
        opinion = _opinion(ticks, entry)
        if opinion.is_empty:
            return None, (*notices, *_waiting(ticks))
        if earlier is not None and _says(opinion) == {name: earlier.get(name) for name in _says(opinion)}:
            return None, notices
        return take_opinion(journal, ticket, opinion), notices
    except InputError as unclear:
        told = f"The ticks were not taken as a verdict: {unclear.text} Say it with 'wallworthy judge {ticket.id}'."
        return None, (*notices, Notice("ticks_unclear", told))


def _latest(journal: Journal, ticket: Ticket, entry: SheetEntry) -> list[Mapping[str, Any]]:
    """What each print of a sheet says, by its latest reading that was found."""
    by_print: dict[str | None, Mapping[str, Any]] = {}
    for reading in journal.sheets.readings(ticket.id):
        if reading.sheet_no == entry.no:
            by_print |= {one["print"]: one for one in reading.result.get("prints", ())}
    return list(by_print.values())


def _opinion(ticks: Sequence[tuple[str | None, str, str | None, str | None]], entry: SheetEntry) -> Opinion:
    """What the ticks (print, kind, code, direction) say. Raises InputError when they can't be meant so."""
    best = [code for _, kind, code, _ in ticks if kind == "best"]
    second = [code for _, kind, code, _ in ticks if kind == "next" and code not in best]
    say = [direction if on is None else f"{on} {direction}" for on, _, _, direction in ticks if direction]
    codes = entry.design["codes"]
    for named, twice in ((best, "best"), (second, "next")):
        if len(named) > 1:
            raise _unclear(f"{' and '.join(str(code) for code in named)} are ticked as {twice}.")
    if say and not best and len(codes) > 1 and any(on is None for on, *_, direction in ticks if direction):
        raise _unclear("words are ticked, but no best tile that they could be about.")
    if any(kind == "right" for _, kind, _, _ in ticks):
        say.append(f"{codes[0]} right")
    return Opinion(
        sheet=entry.no,
        best=best[0] if best else None,
        next=second[0] if best and second else None,
        say=tuple(say),
        none_right=any(kind == "none_right" for _, kind, _, _ in ticks),
        ticked=True,
    )


def _says(opinion: Opinion) -> dict[str, Any]:
    return {
        "best": opinion.best,
        "next": opinion.next,
        "say": list(opinion.say),
        "none_right": opinion.none_right,
    }


def _waiting(ticks: Sequence[Any]) -> tuple[Notice, ...]:
    if not ticks:
        return ()
    return (Notice("ticks_waiting", "No print is ticked as the best yet, so nothing is said: scan the others too."),)


def _of_faulty(ticket: Ticket, prints: Sequence[Mapping[str, Any]]) -> tuple[Notice, ...]:
    if not prints:
        return ()
    codes = [str(one["print"]) for one in prints if one["print"] is not None]
    which = f"print {' and '.join(codes)}" if codes else "the sheet"
    text = (
        f"The ticks on {which} were not taken as a verdict: it did not come out as it was meant, and they would mend "
        f"that instead of the picture. Put it right and print again, or say it with 'wallworthy judge {ticket.id}'."
    )
    return (Notice("ticks_of_a_faulty_print", text),)


def _unclear(text: str) -> InputError:
    return InputError("ticks_unclear", text, "Rub out what is not meant, or say it in words.", where="ticks")
