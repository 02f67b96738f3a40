"""A master whose file has gone, or has changed: it is said, and the file can be pointed at again."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from support.page_server import Server, serving, tiff

pytestmark = pytest.mark.practice


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with serving(tmp_path / "home") as running:
        yield running


def master_file(server: Server) -> Path:
    (path,) = (server.home / "masters").rglob("*.tif")
    return path


def stands(server: Server, ticket: str) -> tuple[str, str, str]:
    """The place told, and the path's state and words at the master."""
    view = server.ask("GET", f"/api/tickets/{ticket}")
    first = view["path"][0]
    return view["master_place"], first["state"], first["text"]


def test_a_master_that_has_gone_is_found_again_under_any_name(server: Server) -> None:
    ticket = server.started()["ticket"]
    other = server.started(size="9x6cm")["ticket"]
    assert stands(server, ticket)[0] == "here"
    master_file(server).unlink()
    assert stands(server, ticket) == ("gone", "needs", "needs you: file gone")
    refused = server.ask("GET", f"/api/tickets/{ticket}/report", 422)["error"]
    assert refused["code"] == "master_missing"
    assert refused["mend"].startswith("Go to the master and lay its file")
    sha256 = server.ask("GET", f"/api/tickets/{ticket}")["master"]["sha256"]
    coarse = server.client.get(f"/api/masters/{sha256}/picture.jpg", params={"width": 480})
    assert (coarse.status_code, coarse.headers["X-Width"]) == (200, "180"), "what is left of it is shown"

    view = server.upload(f"/api/tickets/{ticket}/master", tiff(), "moved elsewhere.tif")
    assert (view["master_place"], view["master"]["name"]) == ("here", "moved elsewhere.tif")
    assert view["events"][-1]["text"] == "Master found again: file moved elsewhere.tif."
    assert stands(server, other)[0] == "here"
    server.ask("GET", f"/api/tickets/{ticket}/report")
    assert master_file(server).read_bytes() == tiff()


def test_a_master_that_was_changed_is_told_of_and_put_right(server: Server) -> None:
    ticket = server.started()["ticket"]
    path = master_file(server)
    path.write_bytes(tiff(seed=2))
    later = time.time() + 5
    os.utime(path, (later, later))
    assert stands(server, ticket) == ("changed", "needs", "needs you: it changed")
    assert server.ask("GET", f"/api/tickets/{ticket}/report", 422)["error"]["code"] == "master_changed"
    view = server.upload(f"/api/tickets/{ticket}/master", tiff(), "dusk.tif")
    assert view["master_place"] == "here"
    assert path.read_bytes() == tiff()


def test_a_master_written_anew_with_the_same_content_is_here(server: Server) -> None:
    ticket = server.started()["ticket"]
    later = time.time() + 5
    os.utime(master_file(server), (later, later))
    assert stands(server, ticket)[0] == "here"


def test_a_master_replaced_by_an_older_file_is_told_of_and_put_right(server: Server) -> None:
    ticket = server.started()["ticket"]
    path = master_file(server)
    path.write_bytes(tiff(seed=2))
    os.utime(path, (1e9, 1e9))
    assert stands(server, ticket) == ("changed", "needs", "needs you: it changed")
    view = server.upload(f"/api/tickets/{ticket}/master", tiff(), "dusk.tif")
    assert view["master_place"] == "here"
    assert path.read_bytes() == tiff()
    server.ask("GET", f"/api/tickets/{ticket}/report")


def test_a_file_that_is_laid_down_for_a_ticket_is_taken_though_none_was_missed(server: Server) -> None:
    ticket = server.started()["ticket"]
    view = server.upload(f"/api/tickets/{ticket}/master", tiff(), "dusk.tif")
    assert view["events"][-1]["text"] == "Master found again: file dusk.tif."


def test_what_is_held_of_a_master_is_read_on_from_where_it_was_found_again(server: Server) -> None:
    ticket = server.started()["ticket"]
    look = {"quality": "fine", "kind": "master"}
    assert server.client.get(f"/api/tickets/{ticket}/view", params={**look, "width": 90}).status_code == 200
    master_file(server).unlink()
    server.upload(f"/api/tickets/{ticket}/master", tiff(), "moved elsewhere.tif")
    finer = server.client.get(f"/api/tickets/{ticket}/view", params={**look, "width": 120})
    assert (finer.status_code, finer.headers.get("X-Width")) == (200, "120"), finer.text


def test_another_picture_is_not_the_master(server: Server) -> None:
    ticket = server.started()["ticket"]
    master_file(server).unlink()
    refused = server.upload(f"/api/tickets/{ticket}/master", tiff(seed=3), "other.tif", 422)["error"]
    assert (refused["code"], refused["where"]) == ("master_other", "file")
    assert stands(server, ticket)[0] == "gone"
    assert [path for path in (server.home / "masters").rglob("*") if path.is_file()] == []
