"""Taking a verdict on a test sheet: what it teaches, and whether to print now or test again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from wallworthy.base.errors import InputError
from wallworthy.base.records import Notice
from wallworthy.base.ticket import Stage, Ticket
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import JudgeAnswer, SaidFields
from wallworthy.journey.belief import Asked, belief_of, verdict_on
from wallworthy.journey.home import opened
from wallworthy.journey.testing import JUDGE_AFTER_S
from wallworthy.trial.advice import advise
from wallworthy.trial.house import as_record, lesson
from wallworthy.trial.words import said_of


@dataclass(frozen=True, slots=True)
class Opinion:
    """A person's answers about a sheet, in their own words."""

    sheet: int | None = None
    best: str | None = None
    next: str | None = None
    say: tuple[str, ...] = ()
    none_right: bool = False

    @property
    def is_empty(self) -> bool:
        return self.best is None and self.next is None and not self.say and not self.none_right


def judge_sheet(home: Path | None, ticket_id: str, opinion: Opinion) -> JudgeAnswer:
    """Take a verdict; a second one on the same sheet takes the place of the first."""
    if opinion.is_empty:
        raise InputError(
            "nothing_said",
            "A verdict needs something said.",
            'Name the best tile with --best B2, say a word with --say "A1 too dark", or --none-right.',
            where="judge",
        )
    with opened(home) as journal, journal.write():
        return take_opinion(journal, journal.tickets.get(ticket_id), opinion)


def take_opinion(journal: Journal, ticket: Ticket, opinion: Opinion) -> JudgeAnswer:
    """Take a verdict into an open journal, in one transaction."""
    with journal.write():
        sheet = journal.sheets.get(ticket.id, opinion.sheet)
        said: dict[str, Any] = {
            "best": opinion.best,
            "next": opinion.next,
            "say": list(opinion.say),
            "none_right": opinion.none_right,
        }
        verdict = verdict_on(sheet, said)
        journal.sheets.judge(ticket.id, sheet.no, said, {})
        asked = Asked.read(journal.sheets.list(ticket.id), journal.sheets.verdicts(ticket.id))
        belief = belief_of(asked, ticket)
        advice = advise(belief, minutes=JUDGE_AFTER_S / 60, seed=int(ticket.id[1:]))
        notices = (Notice("contradiction", advice.contradiction_text),) if advice.contradiction_text else ()
        answer = JudgeAnswer(
            ticket=ticket.id,
            sheet_no=sheet.no,
            said=tuple(
                SaidFields(one.code, one.axis, one.direction) for one in said_of(verdict, sheet.design["codes"])
            ),
            correction=advice.correction.as_dict(),
            sd=advice.sd,
            expected_de00=advice.expected_de00,
            p90_de00=advice.p90_de00,
            expected_after_another_de00=advice.expected_after_another_de00,
            advice=advice.advice,
            contradicts=belief.contradicts,
            sentences=(advice.text, advice.another_text)
            if advice.advice == "print"
            else (advice.another_text, advice.text.replace("Print it now", "Printed now")),
            notices=notices,
            next=_next(ticket, advice.advice),
        )
        journal.tickets.update(
            replace(ticket, correction=advice.correction, correction_origin="user", stage=reopened(ticket))
        )
        journal.lessons.keep(ticket, journal.conditions.get(ticket.condition).profile_sha256, as_record(lesson(belief)))
        _note(journal, ticket, opinion, answer)
    return answer


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
    detail = {
        "sheet": answer.sheet_no,
        "said": "; ".join(words),
        "expected_de00": answer.expected_de00,
        "advice": answer.advice,
    }
    journal.tickets.note(ticket.id, "judged", detail)
