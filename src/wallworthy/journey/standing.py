from __future__ import annotations

from pathlib import Path

from wallworthy.journey.page import LengthUnit, PageState, TicketLine, TicketView, Units


def page_state(home: Path, *, lan: bool) -> PageState:
    raise NotImplementedError


def set_units(home: Path, length: LengthUnit) -> Units:
    raise NotImplementedError


def ticket_lines(home: Path) -> tuple[TicketLine, ...]:
    raise NotImplementedError


def ticket_view(home: Path, ticket: str) -> TicketView:
    raise NotImplementedError
