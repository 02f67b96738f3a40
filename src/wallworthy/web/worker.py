"""The process that does long work, one job at a time; it may die without the page."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Any, Final

from wallworthy.base.errors import TroubleError, WallworthyError
from wallworthy.journey.page_work import JobKind, JobResult

NICER: Final = 5
"""Long work stands back behind quick looks."""
STEP: Final = 0.005
"""Progress smaller than this is not sent."""


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be done."""

    kind: JobKind
    ticket: str | None
    asked: Mapping[str, Any]


class Worker:
    """A process that waits for tasks. `do` is called from one thread; `end` from any."""

    def __init__(self, home: Path) -> None:
        self._home = home
        self._process: SpawnProcess | None = None
        self._line: Connection | None = None
        self._task: Task | None = None
        self._lock = threading.Lock()

    @property
    def pid(self) -> int | None:
        """The process, once there is one."""
        return None if self._process is None else self._process.pid

    def do(
        self, task: Task, progress: Callable[[str, float], None], wanted: Callable[[], bool] = lambda: True
    ) -> JobResult:
        """Have a task done while it is wanted.

        Raises WallworthyError as it was refused, and TroubleError when the process died of it.
        """
        with self._lock:
            line = self._ready()
            self._task = task
        try:
            line.send(task)
            if not wanted():  # cancelled before there was a process to end
                raise EOFError
            while True:
                kind, told = line.recv()
                if kind == "progress":
                    progress(*told)
                elif kind == "done":
                    return told
                else:
                    code, text, mend, where = told
                    raise WallworthyError(code, text, mend, where=where)
        except (EOFError, OSError) as error:
            self.end()
            raise TroubleError(
                "worker_died",
                "The part of the program that did this work ended all of a sudden, perhaps for want of memory.",
                "Nothing is half-written and nothing else is lost. Try again; if it ends once more, print it smaller.",
            ) from error
        finally:
            with self._lock:
                self._task = None

    def end(self, task: Task | None = None) -> None:
        """End the process, whatever it is doing; the next task gets a new one. It is gone when this returns.

        task: end it only if this is what it is doing.
        """
        with self._lock:
            if task is None or task is self._task:
                self._end()

    def _end(self) -> None:
        process, line = self._process, self._line
        self._process = self._line = None
        if process is not None:
            process.kill()
            process.join()
        if line is not None:
            line.close()

    def _ready(self) -> Connection:
        if self._process is None or self._line is None or not self._process.is_alive():
            self._end()
            context = multiprocessing.get_context("spawn")
            self._line, theirs = context.Pipe()
            self._process = context.Process(target=run, args=(theirs, self._home), daemon=True)
            self._process.start()
            theirs.close()
        return self._line


def run(line: Connection, home: Path) -> None:
    """The process: tasks in, progress and an answer out, until the other end is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the page ends this process itself
    with suppress(OSError, AttributeError):
        os.nice(NICER)
    while True:
        try:
            task: Task = line.recv()
        except (EOFError, OSError):
            return
        line.send(_answer(line, home, task))


def _answer(line: Connection, home: Path, task: Task) -> tuple[str, Any]:
    from wallworthy.journey.work import carry_out

    last = -1.0

    def progress(step: str, share: float, /) -> None:
        nonlocal last
        if abs(share - last) >= STEP:
            last = share
            line.send(("progress", (step, share)))

    try:
        return "done", carry_out(home, task.kind, task.ticket, task.asked, progress)
    except WallworthyError as error:
        return "refused", (error.code, error.text, error.mend, error.where)
    except MemoryError:
        text = "This machine has not enough memory for that picture."
        return "refused", ("memory", text, "Close other programs, or print it smaller.", None)
    except Exception as error:
        traceback.print_exc()
        text = f"Something went wrong inside the program ({type(error).__name__})."
        return "refused", ("internal", text, "Nothing is lost. The terminal shows where; please report it.", None)
