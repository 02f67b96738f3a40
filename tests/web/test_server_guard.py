"""Nobody but the page itself, in the browser that was let in, gets anything."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from support.page_server import HOST, LAN, ORIGIN, Server, serving
from wallworthy.web.guard import Guard

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home"), lan=True) as running:
        yield running


def test_the_token_works_once_and_leaves_a_cookie_that_scripts_and_other_pages_do_not_get(tmp_path: Path) -> None:
    with serving(tmp_path) as fresh:
        token = fresh.page.guard.renewed()
        first = fresh.client.get("/", params={"token": token}, follow_redirects=False)
        again = fresh.client.get("/", params={"token": token}, follow_redirects=False)
    assert (first.status_code, first.headers["location"]) == (303, "/")
    assert "HttpOnly" in first.headers["set-cookie"]
    assert "samesite=strict" in first.headers["set-cookie"].lower()
    assert again.status_code == 401
    assert "set-cookie" not in again.headers


def test_two_pages_on_two_ports_keep_each_its_cookie() -> None:
    names = {Guard(frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})).cookie_name for port in (8741, 8742)}
    assert names == {"wallworthy-8741", "wallworthy-8742"}


def test_a_person_who_comes_without_the_token_reads_a_sentence(server: Server) -> None:
    answer = server.client.get("/", headers={"accept": "text/html", "cookie": ""})
    assert answer.status_code == 401
    assert answer.text.startswith("This browser has not been let in.\n")


def test_a_wrong_token_is_refused_and_does_not_use_the_right_one_up(tmp_path: Path) -> None:
    with serving(tmp_path) as fresh:
        token = fresh.page.guard.renewed()
        assert fresh.client.get("/", params={"token": "guess"}, follow_redirects=False).status_code == 401
        assert fresh.client.get("/", params={"token": token}, follow_redirects=False).status_code == 303


@pytest.mark.parametrize("path", ["/", "/api/state", "/t/T1", "/assets/x.js", "/api/events"])
def test_without_the_cookie_nothing_is_told(server: Server, path: str) -> None:
    answer = server.client.get(path, headers={"cookie": "wallworthy-8741=guess"})
    assert answer.status_code == 401 or path.startswith("/assets/")
    assert "tickets" not in answer.text


@pytest.mark.parametrize(
    ("headers", "code"),
    [
        ({"host": "printer.example:8741"}, "host"),
        ({"host": "127.0.0.1:9999"}, "host"),
        ({"host": "127.0.0.1"}, "host"),
        ({"origin": "http://evil.example"}, "other_page"),
        ({"origin": "null"}, "other_page"),
        ({"origin": f"https://{HOST}"}, "other_page"),
        ({"sec-fetch-site": "cross-site"}, "other_page"),
        ({"sec-fetch-site": "same-site"}, "other_page"),
    ],
)
def test_another_name_or_another_page_is_refused(server: Server, headers: dict[str, str], code: str) -> None:
    answer = server.client.get("/api/state", headers=headers)
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, code)


def test_a_change_must_say_which_page_asks(server: Server) -> None:
    headers = {"host": HOST, "origin": ""}
    assert server.client.patch("/api/units", json={"length": "mm"}, headers=headers).status_code == 403
    assert server.ask("PATCH", "/api/units", json={"length": "mm"}) == {"length": "mm", "currency": ""}


def test_every_answer_protects_itself_and_is_not_kept(server: Server) -> None:
    for answer in (server.client.get("/api/state"), server.client.get("/api/state", headers={"host": "x"})):
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        assert "'unsafe-inline'" not in answer.headers["content-security-policy"]
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize("path", ["/", "/api/state", "/api/tickets", "/t/T1", "/api/tickets/T1/view"])
def test_on_the_lan_only_the_phone_s_routes_answer(server: Server, path: str) -> None:
    answer = server.client.get(path, headers={"host": LAN, "origin": f"http://{LAN}"})
    assert (answer.status_code, answer.json()["error"]["code"]) == (403, "not_here")


def test_a_phone_s_key_is_for_its_ticket_and_must_be_right(server: Server) -> None:
    ticket = server.started()["ticket"]
    key = server.ask("POST", f"/api/tickets/{ticket}/phone")
    assert key["url"].startswith(f"http://{LAN}/p/")
    assert "<svg" in key["qr_svg"]
    name = key["url"].rsplit("/", 1)[-1]
    on_lan = {"host": LAN, "origin": f"http://{LAN}"}
    no_sheet = server.client.get(f"/api/p/{name}", headers=on_lan)
    assert (no_sheet.status_code, no_sheet.json()["error"]["code"]) == (404, "sheet_unknown")
    other = server.client.get(f"/api/p/{'x' * len(name)}", headers=on_lan)
    assert (other.status_code, other.json()["error"]["code"]) == (404, "key_unknown")


def test_a_phone_gets_the_page_and_its_files_and_nothing_else(server: Server, tmp_path: Path) -> None:
    (tmp_path / "assets").mkdir()
    (tmp_path / "index.html").write_text("<!doctype html>")
    (tmp_path / "assets" / "a.js").write_text("export {}")
    server.client.app.state.static = tmp_path  # type: ignore[attr-defined]
    on_lan = {"host": LAN, "cookie": "", "origin": f"http://{LAN}"}
    for path in ("/p/some-key-of-a-ticket", "/assets/a.js"):
        assert server.client.get(path, headers=on_lan).status_code == 200
    assert server.client.get("/p/../api/state", headers=on_lan).status_code in (403, 404)
    assert server.client.get("/p/%2e%2e/%2e%2e/api/state", headers=on_lan).text.startswith(("<!doctype", "{"))


def test_without_lan_there_is_no_phone(tmp_path: Path) -> None:
    with serving(tmp_path) as alone:
        ticket = alone.started()["ticket"]
        error = alone.ask("POST", f"/api/tickets/{ticket}/phone", 422)["error"]
    assert error["code"] == "lan_closed"


def test_the_page_s_own_addresses_say_how_to_build_when_it_is_not(server: Server, tmp_path: Path) -> None:
    server.client.app.state.static = tmp_path / "static"  # type: ignore[attr-defined]
    assert "./scripts/open" in server.client.get("/t/T1").text
    (tmp_path / "static" / "assets").mkdir(parents=True)
    (tmp_path / "static" / "index.html").write_text("<!doctype html><title>W</title>")
    (tmp_path / "static" / "assets" / "a.js").write_text("export {}")
    (tmp_path / "secret.txt").write_text("not yours")
    for path in ("/", "/t/T1", "/shelves", "/help", "/p/abc"):
        assert server.client.get(path).text.startswith("<!doctype html>"), path
    script = server.client.get("/assets/a.js")
    assert (script.status_code, "max-age" in script.headers["cache-control"]) == (200, True)
    assert "javascript" in script.headers["content-type"]
    for path in ("/../secret.txt", "/%2e%2e/secret.txt", "/assets/..%2f..%2fsecret.txt", "/nothing.js"):
        assert "not yours" not in server.client.get(path).text
        assert server.client.get(path).status_code in (200, 404)


def test_an_unknown_route_and_a_wrong_method_are_told_in_the_one_shape(server: Server) -> None:
    assert server.ask("GET", "/api/nothing", 404)["error"]["code"] == "no_route"
    assert server.ask("PUT", "/api/state", 405)["error"]["code"] == "no_method"
    assert server.ask("PATCH", "/api/units", 422, json={"length": "mile"})["error"]["code"] == "request_unclear"
    assert server.ask("PATCH", "/api/units", 422, json={"length": "cm", "more": 1})["error"]["where"] == "more"
    assert ORIGIN.endswith(HOST)
