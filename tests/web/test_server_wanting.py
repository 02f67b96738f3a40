"""Nothing is worked on for a browser that has hung up."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any, cast

import pytest
from fastapi import Request

from support.page_server import HOST, Server, serving
from wallworthy.base.errors import InputError
from wallworthy.journey import live, seeing
from wallworthy.journey.calm import calmly
from wallworthy.journey.live import Look
from wallworthy.journey.recent import Recent
from wallworthy.journey.wanting import UnwantedError, Wanted, always, turn
from wallworthy.web.waiting import while_waited_for

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="module")
def ticket(server: Server) -> str:
    return str(server.started()["ticket"])


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Grows by the width of each proof that is begun."""
    begun: list[int] = []
    real = seeing.make_proof

    def counted(picture: Any, *given: Any, **more: Any) -> Any:
        begun.append(picture.shape[1])
        return real(picture, *given, **more)

    monkeypatch.setattr(seeing, "make_proof", counted)
    return begun


def asked_and_left(server: Server, path: str, query: str) -> list[dict[str, Any]]:
    """What the server sends to a browser that hangs up at once."""
    cookie = f"{server.page.guard.cookie_name}={server.page.guard.cookie}"
    scope = {
        "type": "http",
        "method": "GET",
        "path": path,
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "headers": [(b"host", HOST.encode()), (b"cookie", cookie.encode())],
        "http_version": "1.1",
        "scheme": "http",
        "root_path": "",
    }
    came = [{"type": "http.request", "body": b"", "more_body": False}, {"type": "http.disconnect"}]
    sent: list[dict[str, Any]] = []

    async def ask() -> None:
        async def receive() -> dict[str, Any]:
            return came.pop(0) if came else await asyncio.Event().wait() and {}

        async def send(message: dict[str, Any]) -> None:
            sent.append(message)

        await asyncio.wait_for(server.client.app(scope, receive, send), 20)

    with ThreadPoolExecutor(1) as apart:
        apart.submit(asyncio.run, ask()).result()
    return sent


@pytest.mark.parametrize(
    ("name", "query"), [("view", "width=170&quality=fine"), ("report", "quality=fine")], ids=["picture", "words"]
)
def test_a_fine_proof_that_waits_for_its_turn_is_given_up(
    server: Server, ticket: str, made: list[int], name: str, query: str
) -> None:
    server.ask("GET", f"/api/tickets/{ticket}")
    with server.page.sessions._slow:
        sent = asked_and_left(server, f"/api/tickets/{ticket}/{name}", query)
    assert sent[0]["status"] == 499
    assert made == []


def test_what_is_still_waited_for_is_made_once(server: Server, ticket: str, made: list[int]) -> None:
    for _ in range(2):
        answer = server.client.get(f"/api/tickets/{ticket}/view", params={"width": 160, "quality": "fine"})
        assert answer.status_code == 200
    assert made == [160]


def test_work_under_way_ends_at_its_next_step(server: Server, ticket: str, made: list[int]) -> None:
    sessions = server.page.sessions
    with pytest.raises(UnwantedError):
        sessions.view(ticket, Look(), 150, "fine", "proof", lambda: not made)
    assert made == [150]
    assert sessions.view(ticket, Look(), 150, "fine", "proof").width_px == 150
    assert not sessions._slow.locked()


def test_nothing_is_begun_for_nobody(server: Server, ticket: str, made: list[int]) -> None:
    sessions, look = server.page.sessions, Look(lightness=3.0)
    for ask in (
        lambda: sessions.view(ticket, look, 140, "quick", "proof", lambda: False),
        lambda: sessions.report(ticket, look, "quick", lambda: False),
        lambda: sessions.loss(ticket, look, lambda: False),
        lambda: sessions.tile(ticket, look, 0, 0, 0, lambda: False),
    ):
        with pytest.raises(UnwantedError):
            ask()
    assert made == []


def test_a_turn_is_taken_and_given_back() -> None:
    lock = threading.Lock()
    with turn(lock, always):
        assert lock.locked()
        with pytest.raises(UnwantedError), turn(lock, lambda: False):
            pass
    assert not lock.locked()


class Slow:
    """Something slow to make, begun and let go on by hand."""

    def __init__(self, fails: int = 0) -> None:
        self.begun, self.go_on = threading.Event(), threading.Event()
        self.times = 0
        self.fails = fails

    def make(self) -> str:
        self.times += 1
        self.begun.set()
        assert self.go_on.wait(20)
        if self.times <= self.fails:
            raise UnwantedError
        return "made"


def test_whoever_waits_for_what_another_makes_may_leave() -> None:
    recent: Recent[str] = Recent(2)
    slow, left = Slow(), threading.Event()
    with ThreadPoolExecutor(2) as pool:
        maker = pool.submit(recent.get, "same", slow.make)
        assert slow.begun.wait(20)
        waiter = pool.submit(recent.get, "same", slow.make, lambda: not left.is_set())
        time.sleep(0.1)
        assert not waiter.done()
        left.set()
        with pytest.raises(UnwantedError):
            waiter.result(10)
        slow.go_on.set()
        assert maker.result(10) == "made"
    assert slow.times == 1


def test_after_a_failure_the_others_share_one_making() -> None:
    recent: Recent[str] = Recent(2)
    slow = Slow(fails=1)
    with ThreadPoolExecutor(5) as pool:
        first = pool.submit(recent.get, "same", slow.make)
        assert slow.begun.wait(20)
        others = [pool.submit(recent.get, "same", slow.make) for _ in range(2)]
        time.sleep(0.1)
        slow.begun.clear()
        slow.go_on.set()
        with pytest.raises(UnwantedError):
            first.result(10)
        others += [pool.submit(recent.get, "same", slow.make) for _ in range(2)]
        assert {other.result(10) for other in others} == {"made"}
    assert slow.times == 2
    assert recent._making == {}


def test_a_server_that_closes_down_waits_for_nobody() -> None:
    begun, ended = threading.Event(), threading.Event()

    def work(wanted: Wanted) -> None:
        begun.set()
        while wanted():
            time.sleep(0.01)
        ended.set()

    class Open:
        async def receive(self) -> dict[str, Any]:
            return await asyncio.Event().wait() and {}

    async def close_down() -> None:
        asking = asyncio.create_task(while_waited_for(cast(Request, Open()), work))
        while not begun.is_set():
            await asyncio.sleep(0.01)
        asking.cancel()
        with pytest.raises(asyncio.CancelledError):
            await asking
        assert await asyncio.to_thread(ended.wait, 10)

    with ThreadPoolExecutor(1) as apart:  # a browser of other tests may have its own loop in this thread
        apart.submit(asyncio.run, asyncio.wait_for(close_down(), 20)).result()


def test_slow_work_is_ranked_below_quick_work() -> None:
    """It, and the threads it begins, by the system; its result and its errors come back."""

    def rank() -> int:
        return os.getpriority(os.PRIO_PROCESS, threading.get_native_id()) if sys.platform == "linux" else 0

    def ranks() -> tuple[int, int]:
        with ThreadPoolExecutor(1) as pool:
            return rank(), pool.submit(rank).result()

    before = rank()
    lower = min(19, before + 10) if sys.platform == "linux" else 0
    assert calmly(ranks) == (lower, lower)
    assert rank() == before
    with pytest.raises(InputError, match="so it is"):
        calmly(lambda: refuse("so it is"))


def refuse(text: str) -> None:
    raise InputError("test", text, "mend")


@pytest.mark.parametrize("again", ["report", "view"])
def test_another_light_keeps_what_the_paper_does(
    server: Server, ticket: str, monkeypatch: pytest.MonkeyPatch, again: str
) -> None:
    """The way from numbers to the print's colours is gone once for all lights and for what is said of them."""
    gone: list[int] = []
    real = live.straight_lab

    def counted(job: Any, size: int) -> Any:
        gone.append(size)
        return real(job, size)

    monkeypatch.setattr(live, "straight_lab", counted)
    wish, light = {"report": (0.31, "stair"), "view": (0.32, "office")}[again]
    server.ask("POST", "/api/lights", json={"name": light, "lux": 700})
    first = server.client.get(f"/api/tickets/{ticket}/view", params={"lightness": wish})
    assert first.status_code == 200
    assert gone == [live.LAB_NODES]
    second = server.client.get(f"/api/tickets/{ticket}/{again}", params={"lightness": wish, "light": light})
    assert second.status_code == 200, second.text
    assert gone == [live.LAB_NODES]
    assert second.content != first.content
