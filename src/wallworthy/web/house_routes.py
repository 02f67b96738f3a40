"""Routes of the house correction: what verdicts on a ticket's paper and light have taught."""

from __future__ import annotations

from fastapi import APIRouter
from pydantic import Field

from wallworthy.journey.answers import HouseAnswer
from wallworthy.journey.house import show_house
from wallworthy.web.asked import Asked, Words
from wallworthy.web.context import ThisPage
from wallworthy.web.ticket_routes import TicketId

routes = APIRouter(prefix="/api/tickets")


class HouseAsked(Asked):
    """reset: forget what was learned. changed: an ink or a lot of paper; what was learned counts less surely."""

    reset: bool = False
    changed: Words | None = Field(default=None, min_length=1)


@routes.get("/{ticket}/house", operation_id="house")
def house(page: ThisPage, ticket: TicketId) -> HouseAnswer:
    """Where a picture like this ticket's would start, and why."""
    return show_house(page.home, ticket)


@routes.post("/{ticket}/house", operation_id="changeHouse")
def change_house(page: ThisPage, ticket: TicketId, asked: HouseAsked) -> HouseAnswer:
    """Forget what the verdicts taught, or count it less surely since something changed."""
    return show_house(page.home, ticket, reset=asked.reset, changed=asked.changed)
