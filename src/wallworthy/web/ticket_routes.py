"""Routes of one ticket: opened, looked at, changed, held by a tab, proofed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path as FilePath
from typing import Annotated

from fastapi import APIRouter, Header, Path, Query, Request, Response

from wallworthy.journey import changing, incoming, standing, whereabouts
from wallworthy.journey.live import Look
from wallworthy.journey.page import Hold, ReportView, TicketView, TilesInfo
from wallworthy.web.asked import (
    HoldAsked,
    Name,
    PictureAsked,
    PixelsAsked,
    ReportAsked,
    TableAsked,
    TicketAsked,
    TicketChange,
    ViewAsked,
)
from wallworthy.web.context import ThisPage
from wallworthy.web.pictures import GREY, JPEG, NUMBERS, PICTURE, UPLOAD, UPLOADED, numbers_answer, picture_answer
from wallworthy.web.uploads import received
from wallworthy.web.waiting import while_waited_for

routes = APIRouter(prefix="/api/tickets")

TicketId = Annotated[str, Path(pattern="^[Tt][0-9]{1,15}$")]
TabName = Annotated[str | None, Header(pattern="^[0-9a-f]{1,64}$")]


@routes.post("", operation_id="addTicket")
def add_ticket(page: ThisPage, asked: TicketAsked) -> TicketView:
    """Open a ticket: this picture, at this size, on this paper."""
    ticket = changing.start_on_page(page.home, changing.StartAsked(**asked.model_dump()))
    return standing.ticket_view(page.home, ticket)


@routes.get("/{ticket}", operation_id="ticket")
def ticket(page: ThisPage, ticket: TicketId) -> TicketView:
    """A ticket with everything its stages show."""
    return standing.ticket_view(page.home, ticket)


@routes.patch("/{ticket}", operation_id="changeTicket")
def change_ticket(page: ThisPage, ticket: TicketId, asked: TicketChange, x_tab: TabName = None) -> TicketView:
    """Change a ticket; what can't change any more is refused. X-Tab: the tab that asks, repeated in the event."""
    changing.change_ticket(page.home, ticket, changing.ChangeAsked(**asked.model_dump()))
    view = standing.ticket_view(page.home, ticket)
    page.queue.tell_changed(ticket, by=x_tab)
    return view


@routes.post("/{ticket}/master", operation_id="findMaster", openapi_extra=UPLOAD, max_body_size=UPLOADED)
async def find_master(page: ThisPage, request: Request, ticket: TicketId) -> TicketView:
    """Take the master's file in again where it has gone or changed; another picture is refused."""

    def keep(home: FilePath, landed: FilePath, name: str) -> TicketView:
        return standing.ticket_view(home, whereabouts.find_again(home, ticket, landed, name))

    view = await received(request, page.home, incoming.LARGEST_MASTER, keep)
    page.queue.tell_changed(ticket)
    return view


@routes.post("/{ticket}/proofed", operation_id="proofed")
def proofed(page: ThisPage, ticket: TicketId) -> TicketView:
    """Write down that the proof was looked at as the ticket stands, with its figures."""
    page.sessions.write_down(ticket)
    page.queue.tell_changed(ticket)
    return standing.ticket_view(page.home, ticket)


@routes.post("/{ticket}/hold", operation_id="holdTicket")
def hold(page: ThisPage, ticket: TicketId, asked: HoldAsked) -> Hold:
    """Say which tab has the ticket; the first one holds it until it is taken over or gone for a while."""
    held = page.holds.ask(ticket.upper(), asked.tab, take=asked.take, at=asked.at)
    if asked.take:
        page.queue.tell_held(ticket)
    return replace(held, updated=standing.updated_of(page.home, ticket))


@routes.delete("/{ticket}/hold", operation_id="leaveTicket")
def leave(page: ThisPage, ticket: TicketId, tab: Name) -> bool:
    """Put the ticket down, as a closed tab does; whether it was in its hand."""
    return page.holds.leave(ticket.upper(), tab)  # told to nobody: a tab loaded anew asks before the others do


@routes.get("/{ticket}/view", operation_id="view", **PICTURE)
async def view(page: ThisPage, request: Request, ticket: TicketId, asked: Annotated[PictureAsked, Query()]) -> Response:
    """The proof, or the master as on screen, with the profile of what it is coded for."""
    look, (width, quality, kind) = look_of(asked), (asked.width, asked.quality, asked.kind)
    return await while_waited_for(
        request, lambda wanted: picture_answer(page.sessions.view(ticket, look, width, quality, kind, wanted))
    )


@routes.get("/{ticket}/report", operation_id="report")
async def report(
    page: ThisPage, request: Request, ticket: TicketId, asked: Annotated[ReportAsked, Query()]
) -> ReportView:
    """What the paper does to the picture: findings worst first, figures, ladder, rose, words."""
    look, quality = look_of(asked), asked.quality
    return await while_waited_for(request, lambda wanted: page.sessions.report(ticket, look, quality, wanted))


@routes.get("/{ticket}/loss.png", operation_id="loss", **GREY)
async def loss(page: ThisPage, request: Request, ticket: TicketId, asked: Annotated[ViewAsked, Query()]) -> Response:
    """The loss as 8-bit grey: dE00 times 12, smoothed to a millimetre on paper, at most 1024 pixels long."""
    look = look_of(asked)
    return await while_waited_for(request, lambda wanted: picture_answer(page.sessions.loss(ticket, look, wanted)))


@routes.get("/{ticket}/table", operation_id="table", **NUMBERS)
def table(page: ThisPage, ticket: TicketId, asked: Annotated[TableAsked, Query()]) -> Response:
    """The chain to display values as a cube of nodes: float16, little-endian, red running fastest, 3 each."""
    return numbers_answer(page.sessions.table(ticket, look_of(asked), asked.nodes))


@routes.get("/{ticket}/pixels", operation_id="pixels", **NUMBERS)
async def pixels(
    page: ThisPage, request: Request, ticket: TicketId, asked: Annotated[PixelsAsked, Query()]
) -> Response:
    """The picture in the working encoding as its way prints it: uint16, little-endian, rows from the top, 3 each."""
    look, width = look_of(asked), asked.width
    return await while_waited_for(
        request, lambda wanted: numbers_answer(page.sessions.pixels(ticket, look, width, wanted))
    )


@routes.get("/{ticket}/tiles/info", operation_id="tilesInfo")
def tiles_info(page: ThisPage, ticket: TicketId) -> TilesInfo:
    """How the deep zoom is cut."""
    return page.sessions.tiles_info(ticket)


@routes.get("/{ticket}/tiles/{level}/{column}_{row}.jpg", operation_id="tile", **JPEG)
async def tile(
    page: ThisPage,
    request: Request,
    ticket: TicketId,
    level: Annotated[int, Path(ge=0, le=20)],
    column: Annotated[int, Path(ge=0)],
    row: Annotated[int, Path(ge=0)],
    asked: Annotated[ViewAsked, Query()],
) -> Response:
    """A tile of the deep zoom."""
    look = look_of(asked)
    return await while_waited_for(
        request, lambda wanted: picture_answer(page.sessions.tile(ticket, look, level, column, row, wanted))
    )


def look_of(asked: ViewAsked) -> Look:
    """How the proof is looked at."""
    return Look(**asked.model_dump(include=set(ViewAsked.model_fields) - {"shown"}))
