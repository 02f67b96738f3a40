"""Routes of the papers ranked for a picture."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Query, Request, Response

from wallworthy.journey.page import RankingView
from wallworthy.journey.ranked import RankAsked
from wallworthy.web.asked import RankingAsked
from wallworthy.web.context import ThisPage
from wallworthy.web.pictures import JPEG, picture_answer
from wallworthy.web.shelf_routes import Sha256
from wallworthy.web.ticket_routes import TicketId
from wallworthy.web.waiting import while_waited_for

routes = APIRouter(prefix="/api")


@routes.get("/masters/{sha256}/ranking", operation_id="masterRanking")
async def master_ranking(
    page: ThisPage, request: Request, sha256: Sha256, asked: Annotated[RankingAsked, Query()]
) -> RankingView:
    """All papers ranked for a picture that has no ticket yet, best first. Takes seconds; the same again takes none."""
    order = RankAsked(**asked.model_dump())
    return await while_waited_for(request, lambda wanted: page.rankings.of_master(page.home, sha256, order, wanted))


@routes.get("/tickets/{ticket}/ranking", operation_id="ticketRanking")
async def ticket_ranking(page: ThisPage, request: Request, ticket: TicketId) -> RankingView:
    """All papers ranked for a ticket as it stands, best first. Takes seconds; the same again takes none."""
    return await while_waited_for(request, lambda wanted: page.rankings.of_ticket(page.home, ticket, wanted))


@routes.get("/rankings/{ranking}/{place}.jpg", operation_id="rankedPicture", **JPEG)
def ranked_picture(
    page: ThisPage,
    ranking: Annotated[str, Path(pattern="^[0-9a-f]{32}$")],
    place: Annotated[int, Path(ge=1, le=1000)],
) -> Response:
    """The print in a place of a ranking that is kept, in its light, for an sRGB screen."""
    return picture_answer(page.rankings.picture(ranking, place))
