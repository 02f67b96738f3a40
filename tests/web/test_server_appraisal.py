"""The appraisal through the server: what it says, that it is made once, its refusals, and who need not wait."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from PIL import Image

from support.appraised import corners, photo_of, sky
from support.page_server import Server, serving, tiff
from wallworthy.base.units import FARTHEST_MM
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey import appraisals, appraising
from wallworthy.journey.appraising import AppraisalWish, appraise_file, appraised
from wallworthy.journey.ordered import OrderAsked
from wallworthy.journey.wanting import UnwantedError

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("appraisal") / "home") as running:
        yield running


def png(samples: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(samples).save(out, "PNG", icc_profile=srgb_profile())
    return out.getvalue()


def laid(server: Server, data: bytes, name: str = "scene.png") -> str:
    return str(server.upload("/api/masters", data, name)["sha256"])


def dusty(side: int = 640) -> bytes:
    """A smooth sky with three dark spots, wide to the right of the middle."""
    field = sky(3, side)
    row, column = np.mgrid[0:side, 0:side]
    for at in ((100, 480), (300, 520), (500, 560)):
        field = field - 12 * (np.hypot(row - at[0], column - at[1]) < 9)
    return png(photo_of(field / 255))


def test_it_says_what_the_command_says(server: Server, tmp_path: Path) -> None:
    data = png(photo_of(corners(number=4)))
    file = tmp_path / "scene.png"
    file.write_bytes(data)
    sha = laid(server, data)
    told = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "30x30cm", "distance": "80cm"})
    answer = appraise_file(None, AppraisalWish(file, "30x30cm", "80cm"))
    assert told["grade"] == answer.grade
    assert told["deficit_jnd"] == pytest.approx(answer.deficit_jnd, abs=1e-3)
    assert told["largest_good_mm"] == pytest.approx(answer.largest_good_size_mm, abs=0.1)
    assert told["nearest_good_mm"] == pytest.approx(answer.nearest_good_distance_mm, abs=0.1)
    assert told["condition"] is None


def test_where_nothing_is_good_it_says_none(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that ends with none ends at its bound; the page is told of no bounds."""

    def hopeless(*given: Any, **named: Any) -> Any:
        done = appraised(*given, **named)
        ladder = tuple(replace(rung, nearest_good_distance_mm=FARTHEST_MM) for rung in done.appraisal.ladder)
        none = replace(done.appraisal, largest_good_mm=(19.0, 12.0), nearest_good_mm=FARTHEST_MM, ladder=ladder)
        return replace(done, appraisal=none)

    sha = laid(server, tiff(rows=120, columns=180, seed=8), "hopeless.tif")
    asked = {"size": "A4", "distance": "1m"}
    before = server.ask("GET", f"/api/masters/{sha}/appraisal", params={**asked, "distance": "2m"})
    assert before["largest_good_mm"][0] > 20
    assert before["nearest_good_mm"] < FARTHEST_MM / 2
    monkeypatch.setattr("wallworthy.journey.appraisals.appraised", hopeless)
    told = server.ask("GET", f"/api/masters/{sha}/appraisal", params=asked)
    assert (told["largest_good_mm"], told["nearest_good_mm"]) == (None, None)
    assert (told["any_size"], told["any_distance"]) == (False, False)
    assert {rung["nearest_good_mm"] for rung in told["ladder"]} == {None}


def test_the_ladder_keeps_the_picture_s_proportions_and_the_person_s_units(server: Server) -> None:
    sha = laid(server, tiff(rows=100, columns=200, seed=7), "wide.tif")
    metric = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"})["ladder"]
    assert [rung["size_mm"] for rung in metric] == [
        pytest.approx([long, long / 2]) for long in (150, 180, 300, 400, 600, 900, 1500)
    ]
    near = [rung["nearest_good_mm"] for rung in metric]
    assert near == sorted(near)
    server.ask("PATCH", "/api/units", json={"length": "in"})
    try:
        inches = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"})["ladder"]
    finally:
        server.ask("PATCH", "/api/units", json={"length": "cm"})
    assert [rung["size_mm"][0] / 25.4 for rung in inches] == pytest.approx([6, 7, 12, 16, 24, 36, 60])


def test_spots_of_a_kind_are_told_together_with_their_places(server: Server) -> None:
    sha = laid(server, dusty(), "sky.png")
    told = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A3"})
    kinds = [one["kind"] for one in told["findings"]]
    assert len(kinds) == len(set(kinds))
    worst = [one["visibility_jnd"] for one in told["findings"]]
    dust = next(one for one in told["findings"] if one["kind"] == "dust")
    assert dust["more"] == len(dust["boxes"]) - 1 >= 2
    middles = sorted((left + width / 2, top + height / 2) for left, top, width, height in dust["boxes"])
    wanted = [(480 / 640, 100 / 640), (520 / 640, 300 / 640), (560 / 640, 500 / 640)]
    for place in wanted:
        assert min(np.hypot(place[0] - x, place[1] - y) for x, y in middles) < 0.02
    assert worst[0] == max(worst)


def test_where_too_few_edges_are_it_can_t_be_told(server: Server) -> None:
    sha = laid(server, png(photo_of(sky(5) / 255)), "plain.png")
    told = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"})
    assert told["effective_fraction"] is None
    assert told["grade"] in ("as_good", "fine", "little_soft", "soft", "too_soft")


def test_a_picture_is_looked_through_once(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    looks: list[int] = []
    through = appraising.seen_through

    def counted(*args: Any) -> Any:
        looks.append(1)
        return through(*args)

    monkeypatch.setattr(appraisals, "seen_through", counted)
    sha = laid(server, tiff(seed=21), "once.tif")
    path = f"/api/masters/{sha}/appraisal"
    first = server.ask("GET", path, params={"size": "A4"})
    assert server.ask("GET", path, params={"size": "A4"}) == first
    larger = server.ask("GET", path, params={"size": "A2"})
    assert larger["deficit_jnd"] != first["deficit_jnd"] or larger["nearest_good_mm"] > first["nearest_good_mm"]
    assert len(looks) == 1


def test_a_ticket_is_appraised_on_its_paper_and_in_its_light(server: Server) -> None:
    ticket = server.started()
    told = server.ask("GET", f"/api/tickets/{ticket['ticket']}/appraisal")
    assert told["condition"] == ticket["condition"]["name"]
    assert told["size_mm"] == ticket["size_mm"]
    assert "out_of_range" in {one["kind"] for one in told["findings"]}
    server.ask("POST", "/api/lights", json={"name": "hall", "lux": 60})
    server.ask("PATCH", f"/api/tickets/{ticket['ticket']}", json={"light": "hall", "size": "40x30cm"})
    again = server.ask("GET", f"/api/tickets/{ticket['ticket']}/appraisal")
    assert again["light"] == "hall"
    assert again["size_mm"][0] > told["size_mm"][0]
    assert again["density_ppi"] < told["density_ppi"]


def test_what_can_t_be_appraised_is_refused_in_words(server: Server) -> None:
    sha = laid(server, tiff(tagged=False, seed=9), "untagged.tif")
    path = f"/api/masters/{sha}/appraisal"
    refused = server.ask("GET", path, 422, params={"size": "A4"})["error"]
    assert refused["code"] == "master_untagged"
    assert refused["mend"]
    assert server.ask("GET", path, params={"size": "A4", "assume": "srgb"})["grade"]
    assert server.ask("GET", path, 422, params={"size": "big", "assume": "srgb"})["error"]["code"] == "size_unclear"
    assert server.ask("GET", path, 422)["error"]["code"] == "request_unclear"
    unknown = server.ask("GET", f"/api/masters/{'0' * 64}/appraisal", 404, params={"size": "A4"})["error"]
    assert unknown["code"] == "master_unknown"


def test_a_very_small_picture_is_answered(server: Server) -> None:
    out = io.BytesIO()
    tifffile.imwrite(out, np.full((3, 2, 3), 90, np.uint8), photometric="rgb", iccprofile=srgb_profile())
    sha = laid(server, out.getvalue(), "tiny.tif")
    told = server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"})
    assert told["effective_fraction"] is None
    assert told["pixels"] == 6


def test_how_far_a_look_is_is_told(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[tuple[str, float]] = []

    def hear(master: str, share: float) -> None:
        told.append((master, share))

    monkeypatch.setattr(server.page.queue, "tell_looked", hear)
    sha = laid(server, tiff(rows=600, columns=80, seed=41), "tall.tif")
    server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"})
    shares = [share for master, share in told if master == sha]
    assert len(shares) > 2
    assert 0 < shares[0] < 0.9
    assert max(shares) == 1.0


def test_a_look_nobody_waits_for_is_kept_when_nothing_else_waits(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks: list[int] = []
    left = threading.Event()
    through = appraising.seen_through

    def slow(*args: Any) -> Any:
        looks.append(1)
        left.set()
        return through(*args)

    monkeypatch.setattr(appraisals, "seen_through", slow)
    sha = laid(server, tiff(seed=51), "left.tif")
    kept, asked = appraisals.Appraisals(), OrderAsked("A4")
    with pytest.raises(UnwantedError):
        kept.of_master(server.home, sha, asked, lambda: not left.is_set())
    assert kept.of_master(server.home, sha, asked).master_sha256 == sha
    assert len(looks) == 1


def test_a_look_nobody_waits_for_makes_room_for_another_picture(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = laid(server, tiff(seed=61), "first.tif"), laid(server, tiff(seed=62), "second.tif")
    begun = threading.Event()
    through = appraising.seen_through

    def endless(master: Any, crop: Any, progress: Any) -> Any:
        if master.sha256 != first:
            return through(master, crop, progress)
        begun.set()
        for _ in range(3000):
            progress("looking", 0.5)
            time.sleep(0.01)
        raise AssertionError("it was not given up")

    monkeypatch.setattr(appraisals, "seen_through", endless)
    kept, asked = appraisals.Appraisals(), OrderAsked("A4")
    refused: list[BaseException] = []

    def ask() -> None:
        try:
            kept.of_master(server.home, first, asked, lambda: not begun.is_set())
        except UnwantedError as error:
            refused.append(error)

    asking = threading.Thread(target=ask)
    asking.start()
    assert begun.wait(30)
    assert kept.of_master(server.home, second, asked).master_sha256 == second
    asking.join(30)
    assert len(refused) == 1


def test_others_are_answered_while_a_picture_is_looked_through(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    begun, go_on = threading.Event(), threading.Event()
    through = appraising.seen_through

    def slow(*args: Any) -> Any:
        begun.set()
        assert go_on.wait(30)
        return through(*args)

    monkeypatch.setattr(appraisals, "seen_through", slow)
    sha = laid(server, tiff(seed=33), "slow.tif")
    answers: list[Any] = []

    def ask() -> None:
        answers.append(server.ask("GET", f"/api/masters/{sha}/appraisal", params={"size": "A4"}))

    asking = threading.Thread(target=ask)
    asking.start()
    try:
        assert begun.wait(30)
        start = time.monotonic()
        assert server.ask("GET", "/api/state")["empty"] in (True, False)
        assert time.monotonic() - start < 5
        assert answers == []
    finally:
        go_on.set()
        asking.join(60)
    assert answers[0]["master_sha256"] == sha
