"""Routes of test sheets, finals, long work and the phone."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.responses import FileResponse, StreamingResponse

from wallworthy.journey import incoming, sheetview
from wallworthy.journey.page_work import Jobs, JobView, PhoneKey, PhoneSheet, SheetView, VerdictView
from wallworthy.web.asked import FinalAsked, SheetAsked, VerdictAsked
from wallworthy.web.context import ThisPage
from wallworthy.web.pictures import EVENTS, FILE, PICTURE, UPLOAD, UPLOADED, picture_answer
from wallworthy.web.ticket_routes import TicketId
from wallworthy.web.uploads import received

routes = APIRouter(prefix="/api")
phone_routes = APIRouter(prefix="/api/p")

Number = Annotated[int, Path(ge=1, le=100_000)]
Key = Annotated[str, Path(pattern="^[A-Za-z0-9_-]{16,64}$")]


@routes.post("/tickets/{ticket}/sheets", operation_id="makeSheet", status_code=202)
def make_sheet(page: ThisPage, ticket: TicketId, asked: SheetAsked) -> JobView:
    """Make the next test sheet; the job's result names its number."""
    return page.queue.add("sheet", ticket, asked.model_dump())


@routes.get("/tickets/{ticket}/sheets/{sheet_no}", operation_id="sheet")
def sheet(page: ThisPage, ticket: TicketId, sheet_no: Number) -> SheetView:
    """A test sheet: its tiles, what was said of it and what that taught."""
    return sheetview.sheet_view(page.home, ticket, sheet_no)


@routes.get("/tickets/{ticket}/sheets/{sheet_no}/picture.png", operation_id="sheetPicture", **PICTURE)
def sheet_picture(
    page: ThisPage,
    ticket: TicketId,
    sheet_no: Number,
    width: Annotated[int, Query(ge=16, le=4096)] = 1024,
    space: Annotated[Literal["srgb", "display-p3"], Query()] = "srgb",
    file: Annotated[int, Query(ge=0, le=100)] = 0,
) -> Response:
    """The sheet as it will look printed. file: which one, of separate prints."""
    return picture_answer(sheetview.sheet_picture(page.home, ticket, sheet_no, width, space, file))


@routes.get("/tickets/{ticket}/sheets/{sheet_no}/file", operation_id="sheetFile", **FILE)
def sheet_file(
    page: ThisPage, ticket: TicketId, sheet_no: Number, file: Annotated[int, Query(ge=0, le=100)] = 0
) -> Response:
    """The sheet's file, to be printed."""
    path = sheetview.sheet_file(page.home, ticket, sheet_no, file)
    return FileResponse(path, filename=path.name)


@routes.post("/tickets/{ticket}/sheets/{sheet_no}/verdict", operation_id="judgeSheet")
def judge_sheet(page: ThisPage, ticket: TicketId, sheet_no: Number, asked: VerdictAsked) -> VerdictView:
    """Take a verdict; a second one on the same sheet takes the place of the first."""
    answer = sheetview.judge(page.home, ticket, sheet_no, sheetview.VerdictWords(**asked.model_dump()))
    page.queue.tell_changed(ticket)
    return answer


@routes.post(
    "/tickets/{ticket}/sheets/{sheet_no}/scan",
    operation_id="scanSheet",
    status_code=202,
    openapi_extra=UPLOAD,
    max_body_size=UPLOADED,
)
async def scan_sheet(page: ThisPage, request: Request, ticket: TicketId, sheet_no: Number) -> JobView:
    """Take a scan or photo of the printed sheet; the job's result is the read-back."""
    scan = await received(request, page.home, incoming.LARGEST_SCAN, incoming.keep_scan)
    return page.queue.add("scan", ticket, {"sheet": sheet_no, "scan": scan})


@routes.post("/tickets/{ticket}/finals", operation_id="makeFinal", status_code=202)
def make_final(page: ThisPage, ticket: TicketId, asked: FinalAsked) -> JobView:
    """Make the print-ready file and its job card; the job's result names its number."""
    return page.queue.add("final", ticket, asked.model_dump())


@routes.get("/tickets/{ticket}/finals/{final_no}/file", operation_id="finalFile", **FILE)
def final_file(page: ThisPage, ticket: TicketId, final_no: Number) -> Response:
    """The print-ready file."""
    path = sheetview.final_file(page.home, ticket, final_no, "final")
    return FileResponse(path, filename=path.name)


@routes.get("/tickets/{ticket}/finals/{final_no}/card.txt", operation_id="finalCard", **FILE)
def final_card(page: ThisPage, ticket: TicketId, final_no: Number) -> Response:
    """The job card to read."""
    path = sheetview.final_file(page.home, ticket, final_no, "card", ".txt")
    return FileResponse(path, filename=path.name, media_type="text/plain; charset=utf-8")


@routes.get("/tickets/{ticket}/finals/{final_no}/card.json", operation_id="finalCardFacts", **FILE)
def final_card_facts(page: ThisPage, ticket: TicketId, final_no: Number) -> Response:
    """The job card as JSON."""
    path = sheetview.final_file(page.home, ticket, final_no, "card", ".json")
    return FileResponse(path, filename=path.name, media_type="application/json")


@routes.post("/demo", operation_id="makeDemo", status_code=202)
def make_demo(page: ThisPage) -> JobView:
    """Make the invented scenario in this home: a picture, a paper with its profile, a light and a ticket."""
    return page.queue.add("demo", None, {})


@routes.get("/jobs", operation_id="jobs")
def jobs(page: ThisPage) -> Jobs:
    """All jobs since the program started."""
    return Jobs(page.queue.list())


@routes.get("/jobs/{job}", operation_id="job")
def job(page: ThisPage, job: str) -> JobView:
    """How a job stands."""
    return page.queue.get(job)


@routes.delete("/jobs/{job}", operation_id="cancelJob")
def cancel_job(page: ThisPage, job: str) -> JobView:
    """Cancel a job; nothing half-made stays."""
    return page.queue.cancel(job)


@routes.get("/events", operation_id="events", **EVENTS)
async def events(page: ThisPage, request: Request) -> Response:
    """Server-sent events: `job` with a JobView, `ticket` with {ticket, by} when one has changed, `look` with {master,
    share} while a picture is looked through."""
    return StreamingResponse(page.queue.events(request.is_disconnected), media_type="text/event-stream")


@routes.post("/tickets/{ticket}/phone", operation_id="openPhone")
def open_phone(page: ThisPage, ticket: TicketId) -> PhoneKey:
    """An address for a phone, for this ticket's sheets alone; only when the page was opened with --lan."""
    return page.phones.key_for(page.home, ticket)


@phone_routes.get("/{key}", operation_id="phoneSheet")
def phone_sheet(page: ThisPage, key: Key) -> PhoneSheet:
    """The latest sheet of the key's ticket."""
    return sheetview.phone_sheet(page.home, page.phones.ticket_of(key))


@phone_routes.post("/{key}/verdict", operation_id="phoneVerdict")
def phone_verdict(page: ThisPage, key: Key, asked: VerdictAsked) -> VerdictView:
    """A verdict on the latest sheet of the key's ticket."""
    ticket = page.phones.ticket_of(key)
    answer = sheetview.judge(page.home, ticket, None, sheetview.VerdictWords(**asked.model_dump()))
    page.queue.tell_changed(ticket)
    return answer
