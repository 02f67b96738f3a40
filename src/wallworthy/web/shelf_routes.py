"""Routes of what comes before a ticket and beside it: the state, masters, profiles, what the person owns."""

from __future__ import annotations

from typing import Annotated, Literal

from anyio import to_thread
from fastapi import APIRouter, Query, Request, Response

from wallworthy.base.records import Light, Paper
from wallworthy.journey import incoming, shelves, standing
from wallworthy.journey.answers import DisplayFields, DoctorAnswer
from wallworthy.journey.coarse import COARSE_PX
from wallworthy.journey.page import (
    ConditionShown,
    MasterFacts,
    PageState,
    ProfileUpload,
    Things,
    TicketLines,
    Units,
)
from wallworthy.web.asked import ConditionAsked, DisplayAsked, LightAsked, PaperAsked, UnitsAsked, Words
from wallworthy.web.context import ThisPage
from wallworthy.web.pictures import JPEG, UPLOAD, UPLOADED, picture_answer
from wallworthy.web.uploads import received

routes = APIRouter(prefix="/api")

Sha256 = Annotated[str, "64 hex digits"]


@routes.get("/state", operation_id="state")
def state(page: ThisPage) -> PageState:
    """What the page needs when it opens."""
    return standing.page_state(page.home, lan=page.phones.open)


@routes.patch("/units", operation_id="setUnits")
def set_units(page: ThisPage, asked: UnitsAsked) -> Units:
    """What lengths and prices are shown in from now on."""
    return standing.set_units(page.home, asked.length, asked.currency)


@routes.post("/masters", operation_id="addMaster", openapi_extra=UPLOAD, max_body_size=UPLOADED)
async def add_master(page: ThisPage, request: Request) -> MasterFacts:
    """Take in a master; it is kept whole in the home, or not at all."""
    facts = await received(request, page.home, incoming.LARGEST_MASTER, incoming.keep_master)
    # read once for the screen while one waits anyway: its sheet is never bare
    await to_thread.run_sync(page.sessions.master_picture, facts.sha256, COARSE_PX, "srgb")
    return facts


@routes.get("/masters/{sha256}", operation_id="master")
def master(page: ThisPage, sha256: Sha256) -> MasterFacts:
    """What a master in this home is."""
    return incoming.master_facts(page.home, sha256)


@routes.get("/masters/{sha256}/picture.jpg", operation_id="masterPicture", **JPEG)
def master_picture(
    page: ThisPage,
    sha256: Sha256,
    width: Annotated[int, Query(ge=16, le=4096)] = 1280,
    space: Annotated[Literal["srgb", "display-p3"], Query()] = "srgb",
    assume: Annotated[Words | None, Query()] = None,
) -> Response:
    """The master as on screen; in greys while nobody has said what its colours mean, now or before."""
    return picture_answer(page.sessions.master_picture(sha256, width, space, assume))


@routes.post("/profiles", operation_id="addProfiles", openapi_extra=UPLOAD, max_body_size=UPLOADED)
async def add_profiles(page: ThisPage, request: Request) -> ProfileUpload:
    """Take in an ICC profile or a ZIP of them; the answer lists what can be used."""
    return await received(request, page.home, incoming.LARGEST_PROFILES, incoming.keep_profiles)


@routes.get("/things", operation_id="things")
def things(page: ThisPage) -> Things:
    """What the person owns."""
    return shelves.things(page.home)


@routes.post("/papers", operation_id="addPaper")
def add_paper(page: ThisPage, asked: PaperAsked) -> Paper:
    """Remember a paper."""
    return shelves.add_paper(page.home, Paper(**asked.model_dump()))


@routes.post("/conditions", operation_id="addCondition")
def add_condition(page: ThisPage, asked: ConditionAsked) -> ConditionShown:
    """Take in an uploaded profile as a condition."""
    return shelves.add_condition(page.home, **asked.model_dump())


@routes.post("/lights", operation_id="addLight")
def add_light(page: ThisPage, asked: LightAsked) -> Light:
    """Remember a light."""
    return shelves.add_light(page.home, **asked.model_dump())


@routes.post("/displays", operation_id="addDisplay")
def add_display(page: ThisPage, asked: DisplayAsked) -> DisplayFields:
    """Remember a screen."""
    return shelves.add_display(page.home, **asked.model_dump())


@routes.get("/tickets", operation_id="tickets")
def tickets(page: ThisPage) -> TicketLines:
    """All tickets, the newest first."""
    return TicketLines(standing.ticket_lines(page.home))


@routes.get("/doctor", operation_id="doctor")
def doctor(page: ThisPage) -> DoctorAnswer:
    """The self-check."""
    from wallworthy.journey.doctor import examine

    return examine(page.home)
