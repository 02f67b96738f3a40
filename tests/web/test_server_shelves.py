"""What the person owns, changed and removed through the page's server; what is on record stays as it was made."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from support.page_server import Server, paper, serving

pytestmark = pytest.mark.practice


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path / "home") as running:
        yield running


def at(kind: str, name: str) -> str:
    return f"/api/{kind}s/{quote(name, safe='')}"


def owned(server: Server, kind: str) -> list[Any]:
    return server.ask("GET", "/api/things")[f"{kind}s"]


def condition(server: Server, name: str = "matt", **more: Any) -> None:
    upload = server.upload("/api/profiles", paper(), "paper.icc")["upload"]
    server.ask("POST", "/api/conditions", json={"name": name, "upload": upload, **more})


def test_a_paper_is_told_anew_and_what_is_left_out_stays(server: Server) -> None:
    told = {"name": "Cotton 1/2", "surface": "matt", "weight_g_m2": 310, "stock": {"A4": 20}, "prices": {"A4": 1.2}}
    server.ask("POST", "/api/papers", json=told)
    changed = server.ask("PATCH", at("paper", "cotton 1/2"), json={"stock": {"A4": 18, "A3": 5}, "name": "Cotton"})
    assert changed == {**told, "name": "Cotton", "stock": {"A4": 18, "A3": 5}}
    assert owned(server, "paper") == [changed]
    refused = server.ask("PATCH", at("paper", "Cotton"), 422, json={"stock": {"A4": -1}})["error"]
    assert (refused["code"], refused["where"]) == ("amount_absurd", "stock")
    assert (
        server.ask("PATCH", at("paper", "Cotton"), 422, json={"stock": {"A99x": 1}})["error"]["code"] == "size_unclear"
    )
    assert server.ask("PATCH", at("paper", "Silk"), 404, json={})["error"]["code"] == "paper_unknown"
    assert owned(server, "paper") == [changed]


def test_a_name_that_is_taken_is_refused_and_nothing_changes(server: Server) -> None:
    for name in ("Cotton", "Silk"):
        server.ask("POST", "/api/papers", json={"name": name})
    refused = server.ask("PATCH", at("paper", "Silk"), 409, json={"name": "COTTON", "weight_g_m2": 200})["error"]
    assert refused["code"] == "name_taken"
    assert [(one["name"], one["weight_g_m2"]) for one in owned(server, "paper")] == [("Cotton", None), ("Silk", None)]
    assert server.ask("PATCH", at("paper", "Silk"), json={"name": "SILK"})["name"] == "SILK"


def test_a_paper_that_is_printed_on_stays(server: Server) -> None:
    server.ask("POST", "/api/papers", json={"name": "Cotton"})
    condition(server, paper="Cotton")
    refused = server.ask("DELETE", at("paper", "cotton"), 409)["error"]
    assert refused["text"] == "'Cotton' can't be removed: 'matt' prints on it."
    changed = server.ask("PATCH", at("condition", "matt"), json={"paper": "", "media": "fine-art matt"})
    assert (changed["paper"], changed["media"]) == (None, "fine-art matt")
    assert server.ask("DELETE", at("paper", "Cotton"))["papers"] == []


def test_what_a_ticket_uses_keeps_its_nature_and_stays(server: Server) -> None:
    condition(server)
    server.ask("POST", "/api/lights", json={"name": "hall", "lux": 200, "cct_k": 3000})
    server.ask("POST", "/api/displays", json={"name": "desk", "space": "srgb"})
    ticket = server.started(on="matt", upload=None, light="hall", display="desk")["ticket"]
    for kind, name, how in (
        ("light", "hall", "seen in it"),
        ("condition", "matt", "printed on it"),
        ("display", "desk", "proofed on it"),
    ):
        refused = server.ask("DELETE", at(kind, name), 409)["error"]
        assert refused["code"] == f"{kind}_in_use"
        assert refused["text"] == f"'{name}' can't be removed: {ticket} is {how}."
        assert server.ask("PATCH", at(kind, name), json={"name": f"{name} 2"})["name"] == f"{name} 2"
    assert server.ask("PATCH", at("light", "hall 2"), 409, json={"lux": 300})["error"]["code"] == "light_in_use"
    assert server.ask("PATCH", at("light", "hall 2"), json={"lux": 200})["illuminance_lx"] == 200
    refused = server.ask("PATCH", at("condition", "matt 2"), 409, json={"delivery": "standard"})["error"]
    assert refused["text"] == f"'matt 2' can't deliver its files another way: {ticket} is printed on it."
    assert server.ask("PATCH", at("display", "desk 2"), json={"white_cd_m2": 90})["white_cd_m2"] == 90
    seen = server.ask("GET", f"/api/tickets/{ticket}")
    assert (seen["condition"]["name"], seen["light"]["name"], seen["display"]) == ("matt 2", "hall 2", "desk 2")


def test_what_nothing_uses_changes_and_goes(server: Server) -> None:
    condition(server)
    server.ask("POST", "/api/lights", json={"name": "hall", "lux": 200, "cct_k": 3000})
    server.ask("POST", "/api/displays", json={"name": "desk", "space": "srgb"})
    brighter = server.ask("PATCH", at("light", "hall"), json={"lux": 400})
    assert (brighter["illuminance_lx"], brighter["cct_k"]) == (400, 3000)
    assert brighter["illuminance_interval_lx"][0] < 400 < brighter["illuminance_interval_lx"][1]
    assert server.ask("PATCH", at("condition", "matt"), json={"delivery": "standard"})["delivery"] == "standard"
    for kind, name in (("light", "hall"), ("condition", "matt"), ("display", "desk")):
        assert server.ask("DELETE", at(kind, name))[f"{kind}s"] == []
        assert server.ask("DELETE", at(kind, name), 404)["error"]["code"] == f"{kind}_unknown"


def test_a_guess_keeps_its_name(server: Server) -> None:
    ticket = server.started(upload=None, paper="lustre")
    name = ticket["condition"]["name"]
    assert server.ask("PATCH", at("condition", name), 422, json={"name": "mine"})["error"]["code"] == "guess_fixed"
    assert server.ask("PATCH", at("condition", name), json={"media": "lustre"})["media"] == "lustre"
    for given, kept in ((5.5, 5.5), (None, 5.5), (0, None)):
        changed = server.ask("PATCH", at("condition", name), json={"ink_spread_per_mm": given})
        assert changed["ink_spread_per_mm"] == kept
    refused = server.ask("PATCH", at("condition", name), 422, json={"ink_spread_per_mm": 99})["error"]
    assert refused["code"] == "ink_spread_absurd"


def test_prices_are_told_in_the_persons_own_currency(server: Server) -> None:
    assert server.ask("GET", "/api/state")["units"] == {"length": "cm", "currency": ""}
    assert server.ask("PATCH", "/api/units", json={"currency": " CHF "}) == {"length": "cm", "currency": "CHF"}
    assert server.ask("PATCH", "/api/units", json={"length": "in"}) == {"length": "in", "currency": "CHF"}
    assert server.ask("PATCH", "/api/units", 422, json={"currency": "1 euro"})["error"]["code"] == "currency_unclear"
    assert server.ask("GET", "/api/state")["units"] == {"length": "in", "currency": "CHF"}
