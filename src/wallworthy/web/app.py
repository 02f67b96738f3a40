"""The application: the guard around it, its routes, the page's files, and errors in the one shape."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any, Final

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, PlainTextResponse, Response
from starlette.exceptions import HTTPException

from wallworthy.base.errors import InputError, TroubleError, UsageError, WallworthyError
from wallworthy.journey.page import Refused
from wallworthy.journey.wanting import UnwantedError
from wallworthy.web import (
    appraisal_routes,
    house_routes,
    ranking_routes,
    shelf_routes,
    tending_routes,
    ticket_routes,
    work_routes,
)
from wallworthy.web.context import Page
from wallworthy.web.guard import GuardMiddleware, refusal
from wallworthy.web.mends import mend_for_page, where_on_page
from wallworthy.web.waiting import nobody_waits

STATIC: Final = Path(__file__).parent / "static"
NOT_BUILT: Final = "The page is not built yet. Build and open it with: ./scripts/open"
LARGEST_BODY: Final = 1 << 20
"""Of a request that is not an upload."""
CONFLICTS: Final = frozenset({"name_taken", "file_exists"})
ABSENT: Final = frozenset({"no_final_yet", "no_sheet_yet", "file_gone", "file_changed"})


def make_app(page: Page, static: Path = STATIC) -> FastAPI:
    """The application for one running page. static: where the built page lies."""

    @asynccontextmanager
    async def living(_: FastAPI) -> AsyncGenerator[None]:
        page.queue.start()
        yield
        page.appraisals.end()
        page.queue.stop()

    app = bare_app(living)
    app.state.page = page
    app.state.static = static
    app.add_middleware(GuardMiddleware, guard=page.guard)
    return app


def bare_app(lifespan: Any = None) -> FastAPI:
    """Routes and error shapes without a page behind them: enough for the schema."""
    app = FastAPI(
        title="Wallworthy's page",
        version="1",
        max_body_size=LARGEST_BODY,
        telemetry={"tracing": False, "metrics": False, "logs": False, "auto_configure": False},
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=lifespan,
        responses={"4XX": {"model": Refused, "description": "Why not, and what to do"}},
    )
    for routes in (
        shelf_routes.routes,
        tending_routes.routes,
        appraisal_routes.routes,
        ranking_routes.routes,
        ticket_routes.routes,
        house_routes.routes,
        work_routes.routes,
        work_routes.phone_routes,
    ):
        app.include_router(routes)
    app.add_api_route("/{path:path}", _static, include_in_schema=False, methods=["GET", "HEAD"])
    app.add_exception_handler(WallworthyError, _refused)
    app.add_exception_handler(RequestValidationError, _unclear)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(UnwantedError, nobody_waits)
    app.add_exception_handler(Exception, _broken)
    return app


def _static(request: Request, path: str) -> Response:
    """A file of the built page; its first page for every address of the page's own."""
    static: Path = request.app.state.static
    if path.startswith("api/"):
        return refusal(404, "no_route", "There is nothing at this address.", "Reload the page.")
    index = static / "index.html"
    if not index.is_file():
        return PlainTextResponse(f"{NOT_BUILT}\n", status_code=503)
    wanted = (static / path).resolve()
    if path and wanted.is_relative_to(static.resolve()) and wanted.is_file():
        return FileResponse(wanted)
    if "." in path.rsplit("/", 1)[-1]:
        return refusal(404, "no_file", "There is no such file.", "Reload the page.")
    return FileResponse(index)


def _refused(_: Request, error: Exception) -> Response:
    assert isinstance(error, WallworthyError)
    return refusal(_status(error), error.code, error.text, mend_for_page(error), where_on_page(error))


def _status(error: WallworthyError) -> int:
    match error:
        case UsageError():
            return 400
        case TroubleError():
            return 507 if error.code == "disk_full" else 500
        case InputError(code="upload_too_large"):
            return 413
        case InputError() if error.code in CONFLICTS or error.code.endswith("_in_use"):
            return 409
        case InputError() if error.code.endswith("_unknown") or error.code in ABSENT:
            return 404
        case _:
            return 422


def _unclear(_: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    where = ".".join(str(part) for part in first["loc"][1:])
    return refusal(422, "request_unclear", f"'{where}' can't be used: {first['msg']}.", "Check what was typed.", where)


def _http(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if error.status_code == 405:
        return refusal(405, "no_method", "That can't be done there.", "Reload the page.")
    return refusal(error.status_code, "http", f"{error.detail}.", "Reload the page.")


def _broken(_: Request, error: Exception) -> Response:
    text = f"Something went wrong inside the program ({type(error).__name__})."
    return refusal(500, "internal", text, "Nothing is lost. The terminal shows where; please report it.")
