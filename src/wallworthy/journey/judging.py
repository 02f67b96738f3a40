"""Taking a verdict on a test sheet: what it teaches, and whether to print now or test again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction, Notice
from wallworthy.base.ticket import Stage, Ticket, VerdictEntry
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import JudgeAnswer, SaidFields
from wallworthy.journey.belief import Asked, belief_of, verdict_on
from wallworthy.journey.home import opened
from wallworthy.journey.testing import JUDGE_AFTER_S
from wallworthy.journey.wished import wish_replaced, wished_of
from wallworthy.trial.advice import STOP_DE00, Advice, advise
from wallworthy.trial.house import as_record, lesson
from wallworthy.trial.words import said_of

STOPS_DE00: Final = (0.5, 10.0)
"""Where printing may be said to be near enough; nearer than a print repeats itself, or further than anybody wants."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """A person's answers about a sheet, in their own words.

    stop_at_de00: print when no more than this is expected to be left (rms over the picture); it holds for the
    ticket until another is said.
    """

    sheet: int | None = None
    best: str | None = None
    next: str | None = None
    say: tuple[str, ...] = ()
    none_right: bool = False
    stop_at_de00: float | None = None
    ticked: bool = False
    """Whether it was read from ticks on prints, of which more may come."""

    @property
    def is_empty(self) -> bool:
        return self.best is None and self.next is None and not self.say and not self.none_right


def judge_sheet(home: Path | None, ticket_id: str, opinion: Opinion) -> JudgeAnswer:
    """Take a verdict; a second one on the same sheet takes the place of the first.

    Only another stop: the sheet's verdict stays, and is weighed anew.
    """
    low, high = STOPS_DE00
    if opinion.stop_at_de00 is not None and not low <= opinion.stop_at_de00 <= high:
        raise InputError(
            "stop_absurd",
            f"Nobody can stop at {opinion.stop_at_de00:g} dE00.",
            f"Give {low:g} to {high:g}; {STOP_DE00:g} is one just noticeable difference of a picture.",
            where="--stop-at",
        )
    if opinion.is_empty and opinion.stop_at_de00 is None:
        raise _nothing_said()
    with opened(home) as journal, journal.write():
        return take_opinion(journal, journal.tickets.get(ticket_id), opinion)


def take_opinion(journal: Journal, ticket: Ticket, opinion: Opinion) -> JudgeAnswer:
    """Take a verdict into an open journal, in one transaction."""
    with journal.write():
        sheet = journal.sheets.get(ticket.id, opinion.sheet)
        said, stop = _said(journal, ticket, sheet.no, opinion)
        verdict = verdict_on(sheet, said)
        wished = wished_before(journal, ticket)
        journal.sheets.judge(ticket.id, sheet.no, said, {})
        asked = Asked.read(journal.sheets.list(ticket.id), journal.sheets.verdicts(ticket.id))
        belief = belief_of(asked, ticket)
        advice = advise(belief, stop_de00=stop, minutes=JUDGE_AFTER_S / 60, seed=int(ticket.id[1:]))
        notices = (Notice("contradiction", advice.contradiction_text),) if advice.contradiction_text else ()
        notices = (*notices, *wish_replaced(wished, advice.correction))
        answer = JudgeAnswer(
            ticket=ticket.id,
            sheet_no=sheet.no,
            said=tuple(
                SaidFields(one.code, one.axis, one.direction, one.grade)
                for one in said_of(verdict, sheet.design["codes"])
            ),
            correction=advice.correction.as_dict(),
            sd=advice.sd,
            expected_de00=advice.expected_de00,
            p90_de00=advice.p90_de00,
            expected_after_another_de00=advice.expected_after_another_de00,
            advice=advice.advice,
            contradicts=belief.contradicts,
            stop_at_de00=stop,
            sentences=sentences_of(advice, stop),
            notices=notices,
            next=_next(ticket, advice.advice),
        )
        journal.tickets.update(
            replace(ticket, correction=advice.correction, correction_origin="user", stage=reopened(ticket))
        )
        journal.lessons.keep(ticket, journal.conditions.get(ticket.condition).profile_sha256, as_record(lesson(belief)))
        _note(journal, ticket, opinion, answer)
    return answer


def wished_before(journal: Journal, ticket: Ticket) -> Correction | None:
    """What was wished on the proof since the last verdict."""
    if ticket.correction_origin != "user":
        return None
    asked = Asked.read(journal.sheets.list(ticket.id), journal.sheets.verdicts(ticket.id))
    return wished_of(ticket, belief_of(asked, ticket))


def _nothing_said() -> InputError:
    return InputError(
        "nothing_said",
        "A verdict needs something said.",
        'Name the best tile with --best B2, say a word with --say "A1 too dark", or --none-right.',
        where="judge",
    )


def stop_of(verdicts: Iterable[VerdictEntry]) -> float | None:
    """The stop that was said last, when one was."""
    stops = [(one.at, one.sheet_no, one.said["stop_at_de00"]) for one in verdicts if "stop_at_de00" in one.said]
    return float(max(stops)[-1]) if stops else None


def _said(journal: Journal, ticket: Ticket, sheet_no: int, opinion: Opinion) -> tuple[Mapping[str, Any], float]:
    """What is now said of a sheet, as the journal keeps it, and the stop that holds for the ticket."""
    earlier = {entry.sheet_no: entry for entry in journal.sheets.verdicts(ticket.id)}
    told = opinion.stop_at_de00 or stop_of(earlier.values())
    kept = {} if told is None else {"stop_at_de00": told}
    if opinion.is_empty:
        if sheet_no not in earlier:
            raise _nothing_said()
        return {**earlier[sheet_no].said, **kept}, told or STOP_DE00
    said = {
        "best": opinion.best,
        "next": opinion.next,
        "say": list(opinion.say),
        "none_right": opinion.none_right,
    }
    ticks = {"ticked": True} if opinion.ticked else {}
    return {**said, **ticks, **kept}, told or STOP_DE00


def sentences_of(advice: Advice, stop_de00: float) -> tuple[str, ...]:
    """The advised way first; what near enough means, when it is not what it usually is."""
    both = (
        (advice.text, advice.another_text)
        if advice.advice == "print"
        else (advice.another_text, advice.text.replace("Print it now", "Printed now"))
    )
    if stop_de00 == STOP_DE00:
        return both
    return (*both, f"Near enough, as you asked, is {stop_de00:g} dE00, with room for what differs from print to print.")


def reopened(ticket: Ticket) -> Stage:
    """A changed correction makes an earlier final yesterday's."""
    return Stage.PROOFED if ticket.stage is Stage.FINAL else ticket.stage


def _next(ticket: Ticket, advice: str) -> str:
    if advice == "print":
        return f"Print it: 'wallworthy final {ticket.id}' uses this correction."
    return f"One more sheet pays: 'wallworthy test {ticket.id}'."


def _note(journal: Journal, ticket: Ticket, opinion: Opinion, answer: JudgeAnswer) -> None:
    words = [f"best {opinion.best}"] if opinion.best else []
    words += [f"next {opinion.next}"] if opinion.next else []
    words += [*opinion.say, *(["none right"] if opinion.none_right else [])]
    words += [f"near enough at {opinion.stop_at_de00:g} dE00"] if opinion.stop_at_de00 else []
    detail = {
        "sheet": answer.sheet_no,
        "said": "; ".join(words),
        "expected_de00": answer.expected_de00,
        "advice": answer.advice,
    }
    journal.tickets.note(ticket.id, "judged", detail)
