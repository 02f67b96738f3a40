"""Papers ranked through the page's server: as `choose` ranks them, kept, and dropped when nobody waits."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

import wallworthy as ww
from support.page_server import Server, paper, poor, serving, tiff
from wallworthy.journey.chain import load
from wallworthy.journey.home import opened
from wallworthy.journey.ranked import RankAsked, Rankings
from wallworthy.journey.ranking import tried_on
from wallworthy.journey.together import hang_together
from wallworthy.journey.wanting import UnwantedError

pytestmark = pytest.mark.practice


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path / "home") as running:
        yield running


def condition(server: Server, name: str, profile: bytes) -> None:
    upload = server.upload("/api/profiles", profile, f"{name}.icc")["upload"]
    server.ask("POST", "/api/conditions", json={"name": name, "upload": upload})


def laid(server: Server) -> str:
    return str(server.upload("/api/masters", tiff(), "dusk.tif")["sha256"])


def ranked(server: Server, sha: str, **asked: Any) -> Any:
    return server.ask("GET", f"/api/masters/{sha}/ranking", params={"size": "15x10cm", **asked})


def test_without_a_paper_there_is_nothing_to_rank(server: Server) -> None:
    assert ranked(server, laid(server))["ranking"] == []


def test_one_paper_stands_alone(server: Server) -> None:
    condition(server, "matt", paper())
    (one,) = ranked(server, laid(server))["ranking"]
    assert (one["condition"], one["place"], one["alike"]) == ("matt", 1, False)
    assert one["text"] == " ".join([one["lost_text"], *one["why"]])


def test_papers_are_ranked_as_choose_ranks_them(server: Server, tmp_path: Path) -> None:
    condition(server, "grey", poor())
    condition(server, "matt", paper())
    sha = laid(server)
    told = ranked(server, sha, light="evening room")
    assert [(one["condition"], one["place"]) for one in told["ranking"]] == [("matt", 1), ("grey", 2)]
    assert told["light"] == "evening room"
    (tmp_path / "dusk.tif").write_bytes(tiff())
    profiles = {"matt": paper(), "grey": poor()}
    for name, profile in profiles.items():
        (tmp_path / f"{name}.icc").write_bytes(profile)
    conditions = [ww.read_condition(tmp_path / f"{name}.icc", name=name) for name in profiles]
    chosen = ww.choose(
        ww.open_master(tmp_path / "dusk.tif"),
        conditions,
        size="15x10cm",
        light=ww.light_from("evening room", words="evening room"),
    )
    assert [one.text for one in chosen.ranking] == [one["text"] for one in told["ranking"]]
    plain = ranked(server, sha)["ranking"]
    assert plain[0]["loss_mean_de00"] != told["ranking"][0]["loss_mean_de00"]
    assert "more than matt" in plain[1]["text"]


def test_a_ticket_is_ranked_by_its_own_light_and_way_and_the_same_is_kept(server: Server) -> None:
    condition(server, "grey", poor())
    ticket = server.started(light="evening room")
    told = server.ask("GET", f"/api/tickets/{ticket['ticket']}/ranking")
    assert told["light"] == "evening room"
    assert len(told["ranking"]) == 2
    again = ranked(server, ticket["master"]["sha256"], light="evening room")
    assert again == told, "the same master, size, distance, light and papers: the ranking that was kept"
    server.ask("PATCH", f"/api/tickets/{ticket['ticket']}", json={"way": "perceptual"})
    other = server.ask("GET", f"/api/tickets/{ticket['ticket']}/ranking")
    assert other["way"] == "perceptual"
    assert other["ranking"][0]["picture"] != told["ranking"][0]["picture"]


def test_a_chosen_way_is_ranked_with_its_wishes_and_its_set(server: Server) -> None:
    ticket = server.started(way="whole")["ticket"]
    other = server.upload("/api/masters", tiff(seed=4), "other.tif")["sha256"]
    paper_name = server.ask("GET", f"/api/tickets/{ticket}")["condition"]["name"]
    beside = server.ask("POST", "/api/tickets", json={"master_sha256": other, "size": "9x6cm", "on": paper_name})

    def lost() -> float:
        return float(server.ask("GET", f"/api/tickets/{ticket}/ranking")["ranking"][0]["loss_mean_de00"])

    plain = lost()
    server.ask("PATCH", f"/api/tickets/{ticket}", json={"must_not_suffer": ["shadows"]})
    wished = lost()
    assert server.ask("GET", f"/api/tickets/{ticket}")["hangs_with"] is None
    hang_together(server.home, [ticket, beside["ticket"]])
    hung = lost()
    assert len({plain, wished, hung}) == 3
    with opened(server.home) as journal:
        job = load(journal, journal.tickets.get(ticket))
    assert hung == pytest.approx(tried_on(job, None).loss_mean_de00, rel=1e-6), "as its own proof fits it"
    assert server.ask("GET", f"/api/tickets/{ticket}")["hangs_with"] == {
        "others": [{"ticket": beside["ticket"], "title": "other", "condition": paper_name}],
        "one_curve": True,
    }
    server.ask("PATCH", f"/api/tickets/{ticket}", json={"way": "perceptual"})
    assert server.ask("GET", f"/api/tickets/{ticket}")["hangs_with"]["one_curve"] is False


def test_the_prints_of_a_ranking_can_be_looked_at(server: Server) -> None:
    condition(server, "grey", poor())
    condition(server, "matt", paper())
    pictures = []
    for one in ranked(server, laid(server))["ranking"]:
        answer = server.client.get("/api" + one["picture"])
        assert answer.status_code == 200
        pictures.append(np.asarray(Image.open(io.BytesIO(answer.content)), dtype=float))
        white = [int(one["white_hex"][at : at + 2], 16) for at in (1, 3, 5)]
        assert pictures[-1].mean(axis=-1).max() <= np.mean(white) + 3, "nothing is lighter than the bare paper"
    assert pictures[0].std() > 1.5 * pictures[1].std(), "the poorer paper shows less of it"
    gone = server.ask("GET", f"/api/rankings/{'0' * 32}/1.jpg", 404)["error"]
    assert gone["code"] == "ranking_unknown"


def test_what_can_not_be_ranked_is_refused(server: Server) -> None:
    condition(server, "matt", paper())
    sha = laid(server)
    for asked, code in (({"size": "huge"}, "size_unclear"), ({"light": "nowhere"}, "light_unknown")):
        answer = server.client.get(f"/api/masters/{sha}/ranking", params={"size": "15x10cm", **asked})
        assert answer.json()["error"]["code"] == code
    assert server.ask("GET", "/api/tickets/T9/ranking", 404)["error"]["code"] == "ticket_unknown"


def test_a_ranking_that_nobody_waits_for_ends_and_leaves_nothing(server: Server) -> None:
    condition(server, "matt", paper())
    sha = laid(server)
    rankings, order = Rankings(), RankAsked("15x10cm")
    asked: list[int] = []

    def wanted() -> bool:
        asked.append(1)
        return len(asked) < 3

    with pytest.raises(UnwantedError):
        rankings.of_master(server.home, sha, order, wanted)
    assert len(rankings.of_master(server.home, sha, order).ranking) == 1
