"""Routes of the appraisal: is this file good enough, at this size, from there?"""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request

from wallworthy.journey.ordered import OrderAsked
from wallworthy.journey.page_appraisal import AppraisalView
from wallworthy.web.asked import AppraisalAsked
from wallworthy.web.context import ThisPage
from wallworthy.web.shelf_routes import Sha256
from wallworthy.web.ticket_routes import TicketId
from wallworthy.web.waiting import while_waited_for

routes = APIRouter(prefix="/api")


@routes.get("/masters/{sha256}/appraisal", operation_id="masterAppraisal")
async def master_appraisal(
    page: ThisPage, request: Request, sha256: Sha256, asked: Annotated[AppraisalAsked, Query()]
) -> AppraisalView:
    """A picture that has no ticket yet, taken for a good photo inkjet. Takes seconds; another size takes little."""
    wish = OrderAsked(**asked.model_dump())
    told = page.queue.tell_looked
    return await while_waited_for(
        request, lambda wanted: page.appraisals.of_master(page.home, sha256, wish, wanted, told)
    )


@routes.get("/tickets/{ticket}/appraisal", operation_id="ticketAppraisal")
async def ticket_appraisal(page: ThisPage, request: Request, ticket: TicketId) -> AppraisalView:
    """A ticket's picture as it stands, on its paper. Takes seconds; the same again takes none."""
    told = page.queue.tell_looked
    return await while_waited_for(request, lambda wanted: page.appraisals.of_ticket(page.home, ticket, wanted, told))
