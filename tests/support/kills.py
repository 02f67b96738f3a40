"""Running a program and pulling the plug: at a named barrier, or after some time."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import tempfile
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

BARRIERS = ("after-temporary-write", "before-rename", "inside-transaction")


@dataclass(frozen=True, slots=True)
class Run:
    """What a process had said before its end: whole lines of stdout only, as a person could rely on them."""

    acknowledged: tuple[str, ...]
    killed: bool
    status: int
    stderr: str


def run_and_kill(
    argv: Sequence[str],
    env: Mapping[str, str] | None = None,
    *,
    barrier: str | None = None,
    after_s: float | None = None,
    once_acknowledged: int = 0,
    limit_s: float = 60.0,
) -> Run:
    """Run `argv` and end it by SIGKILL.

    With `barrier` the program kills itself there (WALLWORTHY_KILL_AT). With `after_s` it is killed
    that long after it has written `once_acknowledged` lines; a program that ends earlier was simply not
    killed. A program still running after `limit_s` is ended and is an error.
    """
    environment = {**os.environ, **(env or {})}
    if barrier is not None:
        environment["WALLWORTHY_KILL_AT"] = barrier
    with tempfile.TemporaryFile("w+") as errors:
        process = subprocess.Popen(list(argv), env=environment, stdout=subprocess.PIPE, stderr=errors)
        timers = [threading.Timer(limit_s, process.kill)]
        timers[0].start()
        said = b""
        lines = 0
        waiting = after_s is not None
        assert process.stdout is not None
        while True:
            if waiting and lines >= once_acknowledged:
                waiting = False
                timers.append(threading.Timer(after_s or 0.0, _kill, [process]))
                timers[-1].start()
            piece = os.read(process.stdout.fileno(), 1 << 16)
            if not piece:
                break
            said += piece
            lines = said.count(b"\n")
        status = process.wait()
        process.stdout.close()
        overdue = not timers[0].is_alive()
        for timer in timers:
            timer.cancel()
            timer.join()
        errors.seek(0)
        stderr = errors.read()
    assert not overdue, f"still running after {limit_s} s: {stderr}"
    whole, _, _ = said.rpartition(b"\n")
    acknowledged = tuple(whole.decode().split("\n")) if whole else ()
    return Run(acknowledged, status == -signal.SIGKILL, status, stderr)


def _kill(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(ProcessLookupError):
        process.send_signal(signal.SIGKILL)
