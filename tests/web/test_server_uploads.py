"""Files taken in: whole or not at all, bounded, checked, and told of."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from support.page_server import Server, paper, serving, tiff
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import srgb_profile, wide_profile
from wallworthy.journey import incoming

pytestmark = pytest.mark.practice

BOUNDARY = "cut-here"
KIND = {"content-type": f"multipart/form-data; boundary={BOUNDARY}"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home")) as running:
        yield running


def left_behind(home: Path) -> list[str]:
    """Everything in the home that an upload may leave."""
    folders = (home / "uploads", home / "masters")
    return sorted(str(path.relative_to(home)) for folder in folders for path in folder.rglob("*") if path.is_file())


def form(data: bytes, name: str = "a.tif", end: bool = True) -> bytes:
    head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n'
    return head.encode() + data + (f"\r\n--{BOUNDARY}--\r\n".encode() if end else b"")


def test_a_master_is_kept_byte_for_byte_under_its_name_and_told_of(server: Server) -> None:
    data = tiff()
    facts = server.upload("/api/masters", data, "dusk over bay.tif")
    assert (facts["width_px"], facts["height_px"], facts["bits"], facts["space"]) == (180, 120, 16, "RGB")
    assert (facts["name"], facts["needs_space"]) == ("dusk over bay.tif", False)
    kept = server.home / "masters" / facts["sha256"] / "dusk over bay.tif"
    assert kept.read_bytes() == data
    assert server.upload("/api/masters", data, "another name.tif") == facts
    assert server.ask("GET", f"/api/masters/{facts['sha256']}") == facts


def test_a_master_s_picture_is_at_the_width_asked_for_and_tagged(server: Server) -> None:
    sha256 = server.upload("/api/masters", tiff(), "dusk.tif")["sha256"]
    answer = server.client.get(f"/api/masters/{sha256}/picture.jpg", params={"width": 90})
    picture = Image.open(io.BytesIO(answer.content))
    assert (answer.headers["content-type"], picture.size) == ("image/jpeg", (90, 60))
    assert picture.info["icc_profile"] == srgb_profile()
    wider = server.client.get(f"/api/masters/{sha256}/picture.jpg", params={"width": 4000})
    assert Image.open(io.BytesIO(wider.content)).size == (180, 120)


def test_a_master_without_a_profile_is_kept_and_asked_about(server: Server) -> None:
    facts = server.upload("/api/masters", tiff(seed=2, tagged=False), "bare.tif")
    assert (facts["needs_space"], facts["profile_description"]) == (True, None)
    answer = server.client.get(f"/api/masters/{facts['sha256']}/picture.jpg", params={"width": 60})
    picture = np.asarray(Image.open(io.BytesIO(answer.content)).convert("RGB")).astype(int)
    assert np.abs(picture - picture.mean(axis=-1, keepdims=True)).max() <= 2
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "paper": "lustre"}
    assert server.ask("POST", "/api/tickets", 422, json=asked)["error"]["code"] == "master_untagged"
    ticket = server.ask("POST", "/api/tickets", json={**asked, "assume": "display-p3"})
    assert "P3" in ticket["master"]["profile_description"]
    assert ticket["title"] == "bare"


def test_a_grey_picture_without_a_profile_is_taken_in_its_curve(server: Server) -> None:
    out = io.BytesIO()
    Image.linear_gradient("L").save(out, "png")
    facts = server.upload("/api/masters", out.getvalue(), "grey.png")
    assert (facts["needs_space"], facts["space"]) == (True, "GRAY")
    assert server.client.get(f"/api/masters/{facts['sha256']}/picture.jpg?width=60&assume=grey").status_code == 200
    asked = {"master_sha256": facts["sha256"], "size": "10x10cm", "paper": "matt", "assume": "grey"}
    assert server.ask("POST", "/api/tickets", json=asked)["master"]["told"]["assume"] == "grey"


def test_inks_without_a_profile_are_told_whom_to_ask(server: Server) -> None:
    out = io.BytesIO()
    Image.new("CMYK", (60, 40), (10, 20, 30, 40)).save(out, "jpeg")
    error = server.upload("/api/masters", out.getvalue(), "press.jpg", 422)["error"]
    assert error["code"] == "inks_untagged"
    assert error["text"].startswith("press.jpg is CMYK without a profile")
    assert error["mend"].startswith("Ask who sent it")


def test_a_picture_without_a_profile_asks_each_time_and_offers_what_was_told(server: Server) -> None:
    data = tiff(seed=7, tagged=False)
    facts = server.upload("/api/masters", data, "bare.tif")
    assert (facts["needs_space"], facts["told"]) == (True, None)
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "paper": "lustre"}
    told = server.ask("POST", "/api/tickets", json={**asked, "assume": "display-p3"})["master"]
    offered = {"assume": "display-p3", "description": "Display P3"}
    assert (told["needs_space"], told["told"]) == (False, offered)
    again = server.upload("/api/masters", data, "bare.tif")
    assert again == {**facts, "told": offered} == server.ask("GET", f"/api/masters/{facts['sha256']}")

    profile = server.upload("/api/profiles", wide_profile(), "camera.icc")
    server.ask("POST", "/api/tickets", json={**asked, "assume": profile["upload"]})
    (server.home / "uploads" / profile["upload"]).unlink()
    named = server.upload("/api/masters", data, "bare.tif")["told"]
    assert named == {
        "assume": hashlib.sha256(wide_profile()).hexdigest(),
        "description": parse_profile(wide_profile()).description,
    }
    shown = server.ask("POST", "/api/tickets", json={**asked, "assume": named["assume"]})
    assert shown["master"]["told"] == named
    order = {"size": "15x10cm", "assume": named["assume"]}
    assert server.client.get(f"/api/masters/{facts['sha256']}/appraisal", params=order).status_code == 200
    unknown = server.ask("POST", "/api/tickets", 422, json={**asked, "assume": "0" * 64})["error"]
    assert unknown["code"] == "store_missing"


def test_a_picture_whose_space_was_told_is_in_colour_by_that_space(server: Server) -> None:
    facts = server.upload("/api/masters", tiff(seed=8, tagged=False), "bare.tif")
    path = f"/api/masters/{facts['sha256']}/picture.jpg"

    def shown(**asked: Any) -> NDArray[np.int64]:
        answer = server.client.get(path, params={"space": "srgb", **asked})
        return np.asarray(Image.open(io.BytesIO(answer.content)).convert("RGB")).astype(np.int64)

    def colour(picture: NDArray[np.int64]) -> int:
        return int(np.ptp(picture, axis=-1).max())

    assert colour(shown(width=480)) <= 4 >= colour(shown(width=90))
    assert colour(shown(width=480, assume="display-p3")) > 100
    assert colour(shown(width=480)) <= 4, "looking is not telling"
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "paper": "lustre"}
    first = server.ask("POST", "/api/tickets", json={**asked, "assume": "srgb"})
    assert colour(shown(width=480)) > 100 < colour(shown(width=90))
    other = server.ask("POST", "/api/tickets", json={**asked, "assume": "display-p3"})
    lines = {line["ticket"]: line["assume"] for line in server.ask("GET", "/api/tickets")["tickets"]}
    pictures = [shown(width=480, assume=lines[one["ticket"]]) for one in (first, other)]
    assert np.array_equal(pictures[0], shown(width=480, assume="srgb"))
    assert np.array_equal(pictures[1], shown(width=480))
    assert np.abs(pictures[0] - pictures[1]).max() > 10


def test_each_ticket_tells_the_space_that_was_named_for_it(server: Server) -> None:
    facts = server.upload("/api/masters", tiff(seed=6, tagged=False), "bare.tif")
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "paper": "lustre"}
    spaces = ("srgb", "display-p3")
    tickets = [server.ask("POST", "/api/tickets", json={**asked, "assume": space})["ticket"] for space in spaces]
    views = [server.ask("GET", f"/api/tickets/{ticket}") for ticket in tickets]
    told = [view["master"]["profile_description"] for view in views]
    assert told == ["sRGB (IEC 61966-2-1)", "Display P3"]
    assert told[0] in views[0]["master"]["sentences"][1]


def test_a_kept_picture_that_was_changed_is_refused_and_put_right_by_dropping_it_again(server: Server) -> None:
    data = tiff(seed=4)
    facts = server.upload("/api/masters", data, "pier.tif")
    kept = server.home / "masters" / facts["sha256"] / "pier.tif"
    kept.write_bytes(tiff(seed=5))
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "paper": "lustre"}
    refused = server.ask("POST", "/api/tickets", 404, json=asked)["error"]
    assert (refused["code"], refused["mend"]) == ("master_unknown", "Drop its file on the page again, as it was.")
    assert "pier.tif" in refused["text"]
    path = f"/api/masters/{facts['sha256']}"
    assert server.client.get(f"{path}/picture.jpg", params={"width": 60}).status_code == 404
    assert server.client.get(f"{path}/appraisal", params={"size": "15x10cm"}).status_code == 404
    assert server.upload("/api/masters", data, "pier.tif") == facts
    assert kept.read_bytes() == data
    ticket = server.ask("POST", "/api/tickets", json=asked)
    assert ticket["master"]["sha256"] == facts["sha256"]


@pytest.mark.parametrize(
    ("data", "code"),
    [(b"no picture at all", "master_not_picture"), (tiff()[:5000], "master_damaged"), (b"", "master_empty")],
)
def test_a_refused_master_leaves_nothing(server: Server, data: bytes, code: str) -> None:
    before = left_behind(server.home)
    error = server.upload("/api/masters", data, "odd.tif", 422)["error"]
    assert error["code"] == code
    assert "odd.tif" in error["text"] or code == "master_damaged"
    assert ".part" not in error["text"]
    assert left_behind(server.home) == before


@pytest.mark.parametrize(
    "body",
    [
        form(tiff(), end=False),
        form(tiff())[:400],
        b"",
        b"--" + BOUNDARY.encode() + b"--\r\n",
        f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="other"\r\n\r\nx\r\n--{BOUNDARY}--\r\n'.encode(),
        f"--{BOUNDARY}\r\nX: {'y' * 40_000}\r\n\r\nx\r\n--{BOUNDARY}--\r\n".encode(),
    ],
    ids=["no end", "cut short", "nothing", "no part", "no file", "endless header"],
)
def test_half_an_upload_is_no_upload(server: Server, body: bytes) -> None:
    before = left_behind(server.home)
    error = server.ask("POST", "/api/masters", 422, content=body, headers=KIND)["error"]
    assert error["code"] == "upload_unclear"
    assert left_behind(server.home) == before


def test_what_is_larger_than_allowed_is_refused_while_it_comes(server: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(incoming, "LARGEST_MASTER", 100_000)
    before = left_behind(server.home)
    error = server.upload("/api/masters", bytes(200_000), "huge.tif", 413)["error"]
    assert error["code"] == "upload_too_large"
    pieces = iter([form(bytes(90_000), end=False), *[bytes(20_000)] * 4])
    error = server.ask("POST", "/api/masters", 413, content=pieces, headers=KIND)["error"]
    assert error["code"] == "upload_too_large"
    assert left_behind(server.home) == before


@pytest.mark.parametrize(
    "name", ["../../evil.tif", "..\\..\\evil.tif", "/etc/evil.tif", "evil\x07.tif", ".evil.tif", "e" * 300 + ".tif"]
)
def test_a_name_never_leads_out_of_its_folder(server: Server, name: str) -> None:
    facts = server.upload("/api/masters", tiff(seed=sum(name.encode())), name)
    folder = server.home / "masters" / facts["sha256"]
    assert [path.name for path in folder.iterdir()] == [facts["name"]]
    assert "/" not in facts["name"]
    assert facts["name"].endswith("tif")
    assert not facts["name"].startswith(".")


def test_a_zip_of_profiles_lists_what_can_be_used_and_why_the_others_can_not(server: Server) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a/paper.icc", paper())
        archive.writestr("screen.icc", srgb_profile())
        archive.writestr("readme.txt", "hello")
    upload = server.upload("/api/profiles", out.getvalue(), "papers.zip")
    usable = [one for one in upload["profiles"] if one["usable"]]
    assert [(one["pick"], one["device_space"]) for one in usable] == [(1, "RGB")]
    [other] = [one for one in upload["profiles"] if not one["usable"]]
    assert other["reason"]
    shown = server.ask("POST", "/api/conditions", json={"name": "from zip", "upload": upload["upload"], "pick": 1})
    assert (shown["name"], shown["device_space"], shown["delivery"]) == ("from zip", "RGB", "numbers")
    assert len(shown["steps_hex"]) == 5
    assert shown["white_hex"] != "#ffffff"
    again = {"name": "From Zip", "upload": upload["upload"]}
    assert server.ask("POST", "/api/conditions", 409, json=again)["error"]["code"] == "name_taken"


def test_what_holds_no_profile_is_refused_by_its_own_name(server: Server) -> None:
    before = left_behind(server.home)
    error = server.upload("/api/profiles", b"PK nothing", "papers.zip", 422)["error"]
    assert error["code"] == "no_profile"
    assert "papers.zip" in error["text"]
    gone = server.ask("POST", "/api/conditions", 404, json={"name": "x", "upload": "0" * 32})["error"]
    assert gone["code"] == "upload_unknown"
    assert left_behind(server.home) == before


def test_things_owned_are_taken_and_told(server: Server) -> None:
    asked = {"name": "old cotton", "surface": "matt", "weight_g_m2": 310, "stock": {"A4": 12}, "prices": {"A4": 1.5}}
    assert server.ask("POST", "/api/papers", json=asked) == asked
    light = server.ask("POST", "/api/lights", json={"name": "hall", "words": "hallway"})
    assert light["illuminance_lx"] == 100
    assert server.ask("POST", "/api/lights", 422, json={"name": "x", "lux": 0})["error"]["code"] == "lux_absurd"
    display = server.ask("POST", "/api/displays", json={"name": "desk", "space": "display-p3", "white_cd_m2": 120})
    assert display["white_cd_m2"] == 120
    things = server.ask("GET", "/api/things")
    assert "old cotton" in [paper["name"] for paper in things["papers"]]
    assert [light["name"] for light in things["lights"]] == ["hall"]
    assert {"words": "evening room", "illuminance_lx": 80.0} in things["light_words"]
    assert server.ask("GET", "/api/doctor")["ok"] is True
