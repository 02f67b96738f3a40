"""The queue of long work: one job at a time, told of as it goes, cancelled by ending its process."""

from __future__ import annotations

import asyncio
import json
import threading
import time
from collections.abc import AsyncGenerator, Awaitable, Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter

from wallworthy.base.errors import InputError, WallworthyError
from wallworthy.journey.incoming import sweep_uploads
from wallworthy.journey.page import Refusal
from wallworthy.journey.page_work import JobKind, JobResult, JobView
from wallworthy.journey.standing import require_ticket
from wallworthy.journey.work import tidy
from wallworthy.web.mends import mend_for_page, where_on_page
from wallworthy.web.worker import Task, Worker

MOST_WAITING: Final = 50
MOST_KEPT: Final = 200
HEARTBEAT_S: Final = 10.0
SURE_SHARE: Final = 0.05
"""Before this share of the work no time left is told."""

_VIEW: Final = TypeAdapter(JobView)


class Queue:
    """Jobs since the start. Threads may share it."""

    def __init__(self, home: Path) -> None:
        self._home = home
        self._worker = Worker(home)
        self._changed = threading.Condition()
        self._jobs: dict[str, JobView] = {}
        self._tasks: dict[str, Task] = {}
        self._count = 0
        self._stopping = False
        self._thread: threading.Thread | None = None
        self._listeners: set[tuple[asyncio.AbstractEventLoop, asyncio.Queue[str]]] = set()

    @property
    def worker_pid(self) -> int | None:
        """The process that does the work."""
        return self._worker.pid

    def start(self) -> None:
        """Begin to take jobs."""
        self._stopping = False
        sweep_uploads(self._home)
        self._thread = threading.Thread(target=self._run, name="wallworthy-jobs", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End the running job and take no more."""
        with self._changed:
            self._stopping = True
            self._changed.notify_all()
        self._worker.end()
        if self._thread is not None:
            self._thread.join(5)

    def add(self, kind: JobKind, ticket: str | None, asked: Mapping[str, Any]) -> JobView:
        """Queue a job. Raises InputError for a ticket that is unknown, and when too much waits already."""
        known = None if ticket is None else require_ticket(self._home, ticket)
        with self._changed:
            if len(self._tasks) >= MOST_WAITING:
                raise InputError("queue_full", "Too much is waiting already.", "Cancel some of it, or wait.")
            self._count += 1
            name = f"J{self._count}"
            now = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
            self._jobs[name] = JobView(name, kind, known, "waiting", "waiting", 0.0, None, None, None, now)
            self._tasks[name] = Task(kind, known, dict(asked))
            for old in list(self._jobs)[: max(0, len(self._jobs) - MOST_KEPT)]:
                if old not in self._tasks:
                    del self._jobs[old]
            self._changed.notify_all()
            view = self._jobs[name]
        self._tell("job", view)
        return view

    def list(self) -> tuple[JobView, ...]:
        with self._changed:
            return tuple(self._jobs.values())

    def get(self, job: str) -> JobView:
        """How a job stands. Raises InputError for one that is unknown."""
        with self._changed:
            view = self._jobs.get(job)
        if view is None:
            raise InputError("job_unknown", "That work is not known (any more).", "Reload the page.", where=job)
        return view

    def cancel(self, job: str) -> JobView:
        """Take a waiting job out, or end the one that runs; one that is over stays as it is."""
        view = self.get(job)
        with self._changed:
            view = self._jobs[job]
            if view.state not in ("waiting", "running"):
                return view
            running = view.state == "running"
            view = replace(view, state="cancelled", step="cancelled", left_s=None)
            self._jobs[job] = view
            task = self._tasks.pop(job, None)
        if running and task is not None:
            self._worker.end(task)
        self._tell("job", view)
        return view

    def tell_changed(self, ticket: str, by: str | None = None) -> None:
        """Tell every open tab that a ticket is no longer what it was. by: the tab whose answer tells it already."""
        self._send("ticket", json.dumps({"ticket": ticket.upper(), "by": by}))

    def tell_held(self, ticket: str) -> None:
        """Tell every open tab that one of them has taken a ticket in hand."""
        self._send("hold", json.dumps({"ticket": ticket.upper()}))

    def tell_looked(self, master: str, share: float) -> None:
        """Tell every open tab how much of a master has been looked through."""
        self._send("look", json.dumps({"master": master, "share": round(share, 3)}))

    async def events(self, gone: Callable[[], Awaitable[bool]]) -> AsyncGenerator[str]:
        """Server-sent events until the listener is gone."""
        listener = (asyncio.get_running_loop(), asyncio.Queue[str](maxsize=1000))
        self._listeners.add(listener)
        try:
            yield "event: hello\ndata: {}\n\n"
            for view in self.list():
                if view.state in ("waiting", "running"):
                    yield _event("job", _VIEW.dump_json(view).decode())
            while not self._stopping and not await gone():
                try:
                    yield await asyncio.wait_for(listener[1].get(), HEARTBEAT_S)
                except TimeoutError:
                    yield ": still here\n\n"
        finally:
            self._listeners.discard(listener)

    def _run(self) -> None:
        while True:
            with self._changed:
                while not self._stopping and self._next() is None:
                    self._changed.wait()
                if self._stopping:
                    return
                name = self._next()
                assert name is not None
                task = self._tasks[name]
                view = self._jobs[name] = replace(self._jobs[name], state="running", step="beginning")
            self._tell("job", view)
            self._do(name, task)

    def _next(self) -> str | None:
        return next((name for name in self._tasks if self._jobs[name].state == "waiting"), None)

    def _do(self, name: str, task: Task) -> None:
        began = time.monotonic()

        def progress(step: str, share: float) -> None:
            spent = time.monotonic() - began
            left = spent * (1 - share) / share if share >= SURE_SHARE else None
            self._update(name, step=step, share=share, left_s=left)

        result: JobResult | None = None
        refusal: Refusal | None = None
        try:
            result = self._worker.do(task, progress, lambda: self.get(name).state == "running")
        except WallworthyError as error:
            refusal = Refusal(error.code, error.text, mend_for_page(error), where_on_page(error))
        except Exception as error:  # nothing may end this thread
            text = f"Something went wrong inside the program ({type(error).__name__})."
            refusal = Refusal("internal", text, "Nothing is lost. Try again.")
        if refusal is not None:
            with suppress(WallworthyError):
                tidy(self._home, task.ticket)
        with self._changed:
            self._tasks.pop(name, None)
        if refusal is not None:
            self._update(name, state="failed", error=refusal, left_s=None, step="failed")
        else:
            self._update(name, state="done", result=result, share=1.0, left_s=0.0, step="done")
        if task.ticket is not None:
            self.tell_changed(task.ticket)

    def _update(self, name: str, **changes: Any) -> None:
        """Change a job that runs; one that was cancelled meanwhile stays so."""
        with self._changed:
            view = self._jobs.get(name)
            if view is None or view.state != "running":
                return
            view = self._jobs[name] = replace(view, **changes)
        self._tell("job", view)

    def _tell(self, kind: str, view: JobView) -> None:
        self._send(kind, _VIEW.dump_json(view).decode())

    def _send(self, kind: str, data: str) -> None:
        for loop, waiting in tuple(self._listeners):
            with suppress(RuntimeError):  # its loop has ended
                loop.call_soon_threadsafe(_put, waiting, _event(kind, data))


def _event(kind: str, data: str) -> str:
    return f"event: {kind}\ndata: {data}\n\n"


def _put(waiting: asyncio.Queue[str], text: str) -> None:
    with suppress(asyncio.QueueFull):
        waiting.put_nowait(text)
