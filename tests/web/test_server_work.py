"""Long work: sheets, verdicts, scans, finals; a process that dies, work that is cancelled, tabs that share a ticket."""

from __future__ import annotations

import hashlib
import io
import json
import os
import signal
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from support.page_server import HOST, LAN, ORIGIN, Server, serving, tiff
from wallworthy.base.errors import TroubleError
from wallworthy.journey import sheetview
from wallworthy.journey.home import opened
from wallworthy.journey.judging import Opinion, judge_sheet
from wallworthy.journey.page_work import JobResult
from wallworthy.journey.testing import SheetWish, make_sheet
from wallworthy.web import holds
from wallworthy.web.holds import Holds
from wallworthy.web.worker import Task, Worker

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home"), lan=True) as running:
        yield running


@pytest.fixture(scope="module")
def ticket(server: Server) -> str:
    return server.started(border_mm=4, light="evening room")["ticket"]


@pytest.fixture(scope="module")
def sheet(server: Server, ticket: str) -> dict:
    """The ticket's first test sheet."""
    job = server.ask("POST", f"/api/tickets/{ticket}/sheets", 202, json={"ppi": 150})
    assert (job["kind"], job["ticket"], job["state"]) == ("sheet", ticket, "waiting")
    job = server.done(job)
    assert job["state"] == "done", job
    assert job["result"]["sheet_no"] == 1
    return server.ask("GET", f"/api/tickets/{ticket}/sheets/1")


def written(home: Path) -> list[str]:
    return sorted(str(path.relative_to(home)) for path in (home / "prints").rglob("*") if path.is_file())


def test_a_sheet_is_shown_as_it_lies_in_the_hand(server: Server, ticket: str, sheet: dict) -> None:
    assert len(sheet["tiles"]) == 6
    assert any(set(tile["correction"].values()) == {0.0, 1.0} for tile in sheet["tiles"])
    width, height = sheet["sheet_mm"]
    for tile in sheet["tiles"]:
        x, y, wide, high = tile["box_mm"]
        assert 0 <= x < x + wide <= width
        assert 0 <= y < y + high <= height
    assert sheet["dry_from"] > sheet["at"]
    picture = server.client.get(f"/api/tickets/{ticket}/sheets/1/picture.png", params={"width": 400})
    shown = np.asarray(Image.open(io.BytesIO(picture.content)))
    assert shown.shape[1] == 400
    assert shown.max() < 250, "paper white is not the screen's"
    file = server.client.get(f"/api/tickets/{ticket}/sheets/1/file")
    assert f'filename="{sheet["file_names"][0]}"' in file.headers["content-disposition"]
    assert tifffile.imread(io.BytesIO(file.content)).dtype == np.uint16
    view = server.ask("GET", f"/api/tickets/{ticket}")
    assert next(step["text"] for step in view["path"] if step["stage"] == "test") == "needs you, sheet 1"


def test_a_sheet_s_picture_is_drawn_once(
    server: Server, ticket: str, sheet: dict, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[int] = []
    real = sheetview.scaled_picture

    def counted(source: Any, width: int, height: int) -> Any:
        drawn.append(width)
        return real(source, width, height)

    monkeypatch.setattr(sheetview, "scaled_picture", counted)
    path = f"/api/tickets/{ticket}/sheets/{sheet['sheet_no']}/picture.png"
    first, second = (server.client.get(path, params={"width": 333}).content for _ in range(2))
    assert first == second
    assert drawn == [333]
    (file,) = server.home.rglob(sheet["file_names"][0])
    file.touch()
    assert server.client.get(path, params={"width": 333}).content == first
    assert drawn == [333, 333]


def test_a_verdict_teaches_what_it_teaches_on_the_command_line(server: Server, ticket: str, sheet: dict) -> None:
    best, worst = sheet["tiles"][0]["code"], sheet["tiles"][1]["code"]
    said = {"best": best, "say": [f"{worst} too dark"]}
    heard = server.ask("POST", f"/api/tickets/{ticket}/sheets/1/verdict", json=said)
    assert heard["advice"] in ("print", "test")
    assert heard["expected_de00"] < sheet["expected_de00"]
    assert heard["p90_de00"] > heard["expected_de00"]
    assert heard["taught"]
    again = server.ask("GET", f"/api/tickets/{ticket}/sheets/1")
    assert again["said"] == {"best": best, "next": None, "say": [f"{worst} too dark"], "none_right": False}
    assert again["verdict"] == heard
    told = judge_sheet(server.home, ticket, Opinion(1, best, None, (f"{worst} too dark",)))
    assert told.expected_de00 == pytest.approx(heard["expected_de00"])
    view = server.ask("GET", f"/api/tickets/{ticket}")
    assert view["correction"] == heard["correction"]
    assert view["correction_origin"] == "user"


def test_what_is_not_understood_of_a_verdict_is_refused(server: Server, ticket: str, sheet: dict) -> None:
    path = f"/api/tickets/{ticket}/sheets/{sheet['sheet_no']}/verdict"
    assert server.ask("POST", path, 422, json={})["error"]["code"] == "nothing_said"
    assert server.ask("POST", path, 404, json={"best": "Z9"})["error"]["code"] == "tile_unknown"
    missing = server.ask("POST", f"/api/tickets/{ticket}/sheets/99/verdict", 404, json={"best": "A1"})
    assert missing["error"]["code"] == "sheet_unknown"


def test_a_phone_takes_the_verdict_at_the_wall(server: Server, ticket: str, sheet: dict) -> None:
    url = server.ask("POST", f"/api/tickets/{ticket}/phone")["url"]
    key = url.rsplit("/", 1)[-1]
    on_lan = {"host": LAN, "origin": f"http://{LAN}", "cookie": ""}
    shown = server.client.get(f"/api/p/{key}", headers=on_lan).json()
    assert (shown["ticket"], shown["sheet"]["sheet_no"]) == (ticket, sheet["sheet_no"])
    assert shown["light"] == "evening room"
    said = {"best": sheet["tiles"][2]["code"]}
    heard = server.client.post(f"/api/p/{key}/verdict", json=said, headers=on_lan)
    assert heard.status_code == 200
    assert server.ask("GET", f"/api/tickets/{ticket}/sheets/1")["said"]["best"] == said["best"]
    elsewhere = {**on_lan, "origin": "http://evil.example"}
    assert server.client.post(f"/api/p/{key}/verdict", json=said, headers=elsewhere).status_code == 403


def test_a_scan_is_read_in_the_worker_and_does_not_stay(server: Server, ticket: str, sheet: dict) -> None:
    """The sheet's own file, seen as a scanner would give it back: found, and its tiles measured."""
    picture = server.client.get(f"/api/tickets/{ticket}/sheets/1/picture.png", params={"width": 1200}).content
    job = server.upload(f"/api/tickets/{ticket}/sheets/1/scan", picture, "scan.png", 202)
    job = server.done(job)
    assert job["state"] == "done", job
    reading = job["result"]["reading"]
    assert reading["found"] is True
    assert len(reading["tiles"]) == len(sheet["tiles"])
    assert server.ask("GET", f"/api/tickets/{ticket}/sheets/1")["reading"]["mean_de00"] is not None
    assert not list((server.home / "uploads").glob("*.png"))
    odd = server.done(server.upload(f"/api/tickets/{ticket}/sheets/1/scan", b"no picture", "scan.png", 202))
    assert (odd["state"], odd["result"]) == ("failed", None)
    assert odd["error"]["text"].endswith(".")


def test_a_final_is_made_with_its_card_and_stays_true_until_something_changes(server: Server, ticket: str) -> None:
    job = server.done(server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 100, "bits": 16}))
    assert job["state"] == "done", job
    number = job["result"]["final_no"]
    view = server.ask("GET", f"/api/tickets/{ticket}")
    [final] = view["finals"]
    assert (final["final_no"], final["current"], final["bits"], view["printed"]) == (number, True, 16, True)
    file = server.client.get(f"/api/tickets/{ticket}/finals/{number}/file").content
    assert len(file) == final["bytes"]
    card = server.client.get(f"/api/tickets/{ticket}/finals/{number}/card.json").json()
    assert json.dumps(card)
    assert ticket in server.client.get(f"/api/tickets/{ticket}/finals/{number}/card.txt").text
    pixels = tifffile.imread(io.BytesIO(file))
    assert pixels.shape == (394 + 2 * 16, 591 + 2 * 16, 3)
    again = server.done(server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"again": True}))
    second = server.client.get(f"/api/tickets/{ticket}/finals/{again['result']['final_no']}/file").content
    assert hashlib.sha256(tifffile.imread(io.BytesIO(second))).digest() == hashlib.sha256(pixels).digest()
    changed = server.ask("PATCH", f"/api/tickets/{ticket}", json={"correction": {"lightness": 1.25}})
    assert [one["current"] for one in changed["finals"]] == [False, False]
    assert changed["path"][-1]["text"] == "open, changed since"
    gone = server.ask("GET", f"/api/tickets/{ticket}/finals/9/file", 404)
    assert gone["error"]["code"] == "final_unknown"


def test_a_file_that_another_took_the_place_of_is_not_handed_out(server: Server) -> None:
    own = server.started()["ticket"]
    path = f"/api/tickets/{own}"
    server.done(server.ask("POST", f"{path}/finals", 202, json={"ppi": 50}))
    server.done(server.ask("POST", f"{path}/sheets", 202, json={"ppi": 150}))
    [file] = (server.home / "prints" / own).glob("*-final.tif")
    [sheet] = (server.home / "prints" / own).glob("*-sheet-1.tif")
    content = file.read_bytes()
    assert server.client.get(f"{path}/finals/1/file").content == content
    for kept, where in ((file, "finals/1"), (sheet, "sheets/1")):
        kept.write_bytes(tiff())
        assert server.ask("GET", f"{path}/{where}/file", 404)["error"]["code"] == "file_changed"
    [final] = server.ask("GET", path)["finals"]
    assert (final["current"], final["bytes"]) == (False, None)
    file.write_bytes(content)
    [final] = server.ask("GET", path)["finals"]
    assert (final["current"], final["bytes"]) == (True, len(content))
    file.unlink()
    assert server.ask("GET", f"{path}/finals/1/file", 404)["error"]["code"] == "file_gone"
    assert server.ask("GET", path)["finals"][0]["current"] is False


def test_a_sheet_tells_how_far_it_is_before_it_is_drawn(server: Server, tmp_path: Path) -> None:
    told: list[float] = []
    wish = SheetWish(tmp_path / "sheet.tif")
    make_sheet(server.home, server.started()["ticket"], wish, lambda step, share: told.append(share))
    assert told == sorted(told)
    assert sum(0 < share < 0.5 for share in told) >= 2


def test_what_a_sheet_was_made_for_is_settled(server: Server, ticket: str, sheet: dict) -> None:
    before = server.ask("GET", f"/api/tickets/{ticket}")
    for change in ({"paper": "gloss"}, {"light": "desk lamp"}, {"crop": [0, 0, 60, 90]}):
        error = server.ask("PATCH", f"/api/tickets/{ticket}", 422, json=change)["error"]
        assert error["code"] == "settled", change
    assert server.ask("GET", f"/api/tickets/{ticket}") == before
    moved = server.ask("PATCH", f"/api/tickets/{ticket}", json={"size": "30x20cm", "distance": "80cm"})
    assert (moved["size_mm"], moved["distance_mm"]) == ([300.0, 200.0], 800.0)
    own = server.ask("PATCH", f"/api/tickets/{ticket}", json={"distance": ""})["distance_mm"]
    assert own == pytest.approx(np.hypot(300, 200), abs=0.1)
    assert sheet["sheet_no"] == 1


def test_a_ticket_is_changed_all_of_it_or_not_at_all(server: Server) -> None:
    ticket = server.started()["ticket"]
    path = f"/api/tickets/{ticket}"
    whole = {"title": "Dusk, second try", "light": "desk lamp", "border_mm": 12, "way": "perceptual"}
    view = server.ask("PATCH", path, json={**whole, "correction": {"chroma": 1.1}})
    assert (view["title"], view["light"]["illuminance_lx"], view["way"]) == ("Dusk, second try", 500, "perceptual")
    assert view["sheet_mm"] == [pytest.approx(view["size_mm"][0] + 24), pytest.approx(view["size_mm"][1] + 24)]
    assert view["margins_mm"] == [12, 12, 12, 12]
    assert view["correction"]["chroma"] == 1.1
    footed = server.ask("PATCH", path, json={"border_mm": [12, 12, 18, 12]})
    assert footed["margins_mm"] == [12, 12, 18, 12]
    assert footed["sheet_mm"][1] == pytest.approx(view["size_mm"][1] + 30)
    assert "border mm 12, 12, 18, 12" in footed["events"][-1]["text"]
    view = server.ask("PATCH", path, json={"border_mm": 12})
    for wrong, code in (
        ({"title": "x", "border_mm": -1}, "border_absurd"),
        ({"title": "x", "border_mm": [1, 2, 3]}, "request_unclear"),
        ({"title": "x", "border_mm": [1, 2, 600, 3]}, "border_absurd"),
        ({"title": "x", "correction": {"lightness": 70}}, "correction_not_rising"),
        ({"title": "x", "on": "nowhere"}, "condition_unknown"),
        ({"title": "x", "size": "tiny"}, "size_unclear"),
    ):
        error = server.client.patch(path, json=wrong).json()["error"]
        assert error["code"] == code, error
    after = server.ask("GET", path)
    assert after == view
    plain = {"lightness": 0, "contrast": 1, "shadow": 0, "green_red": 0, "blue_yellow": 0, "chroma": 1}
    away = server.ask("PATCH", path, json={"light": "", "correction": plain})
    assert (away["light"], away["correction_origin"]) == (None, "zero")


def test_a_worker_that_dies_fails_its_job_and_the_next_gets_another(server: Server, ticket: str) -> None:
    before = written(server.home)
    job = server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 2400})
    first = running(server, job["job"])
    os.kill(first, signal.SIGKILL)
    job = server.done(job)
    assert (job["state"], job["error"]["code"], job["result"]) == ("failed", "worker_died", None)
    assert job["error"]["text"].endswith(".")
    assert written(server.home) == before
    after = server.done(server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 50}))
    assert after["state"] == "done", after
    assert server.page.queue.worker_pid != first


def running(server: Server, job: str) -> int:
    """The worker's process once the job has come some way."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        view = server.ask("GET", f"/api/jobs/{job}")
        if view["share"] > 0 and server.page.queue.worker_pid:
            return server.page.queue.worker_pid
        time.sleep(0.02)
    raise AssertionError(view)


def test_cancelled_work_leaves_nothing_and_waiting_work_goes_on(server: Server, ticket: str) -> None:
    before = written(server.home)
    long = server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 2400})
    waiting = server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 2400})
    short = server.ask("POST", f"/api/tickets/{ticket}/finals", 202, json={"ppi": 50, "format": "png", "bits": 8})
    running(server, long["job"])
    assert server.ask("DELETE", f"/api/jobs/{waiting['job']}")["state"] == "cancelled"
    assert server.ask("DELETE", f"/api/jobs/{long['job']}")["state"] == "cancelled"
    assert server.done(short)["state"] == "done"
    assert server.ask("GET", f"/api/jobs/{long['job']}")["state"] == "cancelled"
    new = [name for name in written(server.home) if name not in before]
    assert [Path(name).suffix for name in new] == [".png", ".json", ".txt"]
    assert server.ask("DELETE", "/api/jobs/J999", 404)["error"]["code"] == "job_unknown"
    assert server.ask("DELETE", f"/api/jobs/{short['job']}")["state"] == "done"


def test_a_job_for_a_ticket_that_is_not_there_is_refused_at_once(server: Server) -> None:
    assert server.ask("POST", "/api/tickets/T404/finals", 404, json={})["error"]["code"] == "ticket_unknown"
    failed = server.done(server.ask("POST", "/api/tickets/T1/finals", 202, json={"ppi": 5}))
    assert (failed["state"], failed["error"]["code"]) == ("failed", "ppi_absurd")


def test_a_worker_tells_of_its_steps_and_ends_when_told(tmp_path: Path) -> None:
    worker = Worker(tmp_path)
    steps: list[tuple[str, float]] = []

    def heard(step: str, share: float) -> None:
        steps.append((step, share))
        worker.end()

    with pytest.raises(TroubleError, match="ended all of a sudden"):
        worker.do(Task("demo", None, {}), heard)
    assert steps[0] == ("painting the sky", 0.0)
    assert worker.pid is None
    with pytest.raises(TroubleError, match="ended all of a sudden"):
        worker.do(Task("demo", None, {}), heard, wanted=lambda: False)
    assert len(steps) == 1
    assert JobResult("T1").sheet_no is None


def test_work_is_ended_only_while_it_is_the_work_that_is_meant(server: Server, ticket: str) -> None:
    """Whoever cancels may come late: by then the process may be busy with the next."""
    worker = Worker(server.home)
    first, second = (Task("final", ticket, {"ppi": 50}) for _ in range(2))
    heard: list[str] = []

    def late(step: str, _: float) -> None:
        heard.append(step)
        worker.end(first)

    assert worker.do(second, late).final_no
    assert heard
    with pytest.raises(TroubleError, match="ended all of a sudden"):
        worker.do(first, late)
    worker.end(second)
    assert worker.pid is None


def test_cancelled_sheets_use_up_no_paper(server: Server) -> None:
    own = server.started()["ticket"]
    path, asked = f"/api/tickets/{own}/sheets", {"sheet": "20x30cm", "slot": "next", "ppi": 720}
    for _ in range(2):
        job = server.ask("POST", path, 202, json=asked)
        running(server, job["job"])
        assert server.ask("DELETE", f"/api/jobs/{job['job']}")["state"] == "cancelled"
    made = server.done(server.ask("POST", path, 202, json={**asked, "ppi": 150}))
    assert made["result"]["sheet_no"] == 1, made
    with opened(server.home) as journal:
        [sheet] = journal.sheets.list(own)
    assert sheet.part is not None
    assert sheet.part.slot == 1


def test_the_second_tab_is_told_who_holds_the_ticket_and_may_take_it(
    server: Server, ticket: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = f"/api/tickets/{ticket}/hold"
    first = server.ask("POST", path, json={"tab": "one", "at": "proof"})
    second = server.ask("POST", path, json={"tab": "two"})
    assert (first["mine"], second["mine"], second["since"]) == (True, False, first["since"])
    assert (first["at"], second["at"]) == ("proof", "proof")
    assert server.ask("POST", path, json={"tab": "two", "take": True})["mine"] is True
    assert server.ask("POST", path, json={"tab": "one"})["mine"] is False
    assert server.ask("DELETE", f"{path}?tab=one") is False
    assert server.ask("POST", path, json={"tab": "one"})["mine"] is False, "only the holder can put it down"
    assert server.ask("DELETE", f"{path}?tab=two") is True
    assert server.ask("POST", path, json={"tab": "one"})["mine"] is True
    monkeypatch.setattr(holds, "GONE_AFTER_S", -1.0)
    gone = Holds()
    assert gone.ask("T1", "a").mine
    assert gone.ask("T1", "b").mine


@pytest.mark.parametrize("tab", [None, "0123abcd"])
def test_events_tell_of_changed_tickets_and_of_the_tab_that_knows(server: Server, ticket: str, tab: str | None) -> None:
    """Read from the queue itself: the test client does not end a stream of its own."""
    import asyncio

    def change() -> None:
        server.ask(
            "PATCH", f"/api/tickets/{ticket}", json={"title": f"by {tab}"}, headers={"X-Tab": tab} if tab else {}
        )

    async def listen() -> list[str]:
        heard: list[str] = []

        async def gone() -> bool:
            return any(text.startswith("event: ticket") for text in heard)

        async def act() -> None:
            await asyncio.sleep(0.1)
            await asyncio.to_thread(change)

        acting = asyncio.create_task(act())
        async for text in server.page.queue.events(gone):
            heard += [text]
        await acting
        return heard

    with ThreadPoolExecutor(1) as apart:  # a browser in the same run keeps a loop of its own in this thread
        heard = apart.submit(asyncio.run, asyncio.wait_for(listen(), 20)).result()
    assert heard[0].startswith("event: hello")
    assert json.loads(heard[-1].split("data: ")[1]) == {"ticket": ticket, "by": tab}
    assert ORIGIN.endswith(HOST)


def test_a_sheet_says_what_was_wished_on_the_proof(server: Server) -> None:
    ticket = server.started()["ticket"]
    server.ask("PATCH", f"/api/tickets/{ticket}", json={"correction": {"lightness": 2.2, "chroma": 1.04}})
    assert server.done(server.ask("POST", f"/api/tickets/{ticket}/sheets", 202, json={"ppi": 100}))["state"] == "done"
    sheet = server.ask("GET", f"/api/tickets/{ticket}/sheets/1")
    assert (sheet["wished"]["lightness"], sheet["wished"]["chroma"]) == (2.2, 1.04)
    assert sheet["tiles"][0]["correction"] == sheet["wished"]
    said = {"best": sheet["tiles"][0]["code"], "say": [f"{sheet['tiles'][0]['code']} right"]}
    verdict = server.ask("POST", f"/api/tickets/{ticket}/sheets/1/verdict", json=said)
    assert "wish_replaced" in [notice["code"] for notice in verdict["notices"]]
    assert verdict["taught"][0].startswith("Against what you wished, this picture wants ")
