"""The live proof shows what `proof` writes, quickly, and says what it says."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from support.page_server import Server, paper, serving, tiff
from wallworthy.base.records import Correction
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.journey.home import opened
from wallworthy.journey.live import Look
from wallworthy.journey.proofing import prove
from wallworthy.journey.seeing import corrected
from wallworthy.journey.tiles import TILE_PX

pytestmark = pytest.mark.practice

CORRECTED = {"lightness": 2, "blue_yellow": 1.5, "chroma": 1.05}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("home")) as running:
        yield running


@pytest.fixture(scope="module")
def ticket(server: Server) -> str:
    facts = server.upload("/api/masters", tiff(400, 600), "dusk.tif")
    upload = server.upload("/api/profiles", paper(), "p.icc")
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "upload": upload["upload"], "border_mm": 5}
    return server.ask("POST", "/api/tickets", json=asked)["ticket"]


def seen(server: Server, ticket: str, name: str = "view", **query: object) -> tuple[np.ndarray, Image.Image]:
    answer = server.client.get(f"/api/tickets/{ticket}/{name}", params=query)
    assert answer.status_code == 200, answer.text
    picture = Image.open(io.BytesIO(answer.content))
    return np.asarray(picture.convert("RGB") if picture.mode != "L" else picture), picture


def apart(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    profile = parse_profile(srgb_profile())
    return ciede2000(to_lab(profile, one / np.float32(255)), to_lab(profile, other / np.float32(255)))


def test_quick_looks_and_numbers_have_what_detail_draws_out(server: Server, ticket: str) -> None:
    """What comes at once is what stays: the fine picture that follows does not jump."""
    quick, fine = (seen(server, ticket, width=600, way="detail", quality=quality)[0] for quality in ("quick", "fine"))
    away = apart(quick, fine)
    assert float(away.mean()) < 0.6
    assert float(np.quantile(away, 0.99)) < 2.5
    numbers = [
        np.frombuffer(
            server.client.get(f"/api/tickets/{ticket}/pixels", params={"width": 600, "way": way}).content, "<u2"
        ).astype(int)
        for way in ("whole", "detail")
    ]
    assert np.abs(numbers[1] - numbers[0]).max() > 300, "drawn out in one, as it is in the other"
    tile, _ = seen(server, ticket, "tiles/0/0_0.jpg", way="detail")
    looks = [seen(server, ticket, width=600, way=way)[1].convert("RGB") for way in ("detail", "whole")]
    size = tile.shape[1], tile.shape[0]
    near, far = (float(apart(tile, np.asarray(look.resize(size, Image.Resampling.BOX))).mean()) for look in looks)
    assert near < 0.8
    assert near < 0.7 * far, "from near it is the same print"


def test_the_fine_picture_is_the_one_that_proof_writes(server: Server, ticket: str, tmp_path: Path) -> None:
    target = tmp_path / "proof.png"
    said = ",".join(f"{axis}={value}" for axis, value in CORRECTED.items())
    before = server.ask("GET", f"/api/tickets/{ticket}")["correction"]
    told = prove(server.home, ticket, out=target, correct=said)
    fine, picture = seen(server, ticket, width=600, quality="fine")
    written = Image.open(target)
    codes = np.asarray(written).astype(int)
    assert picture.format == "PNG"
    assert picture.info["icc_profile"] == written.info["icc_profile"]
    assert np.abs(fine.astype(int) - codes).max() <= 1
    assert (fine == codes).mean() > 0.99
    figures = server.ask("GET", f"/api/tickets/{ticket}/report", params={"quality": "fine"})["figures"]
    for name in ("out_of_range_pct", "loss_mean_de00", "loss_p95_de00", "loss_max_de00", "lut_p999_de00"):
        assert figures[name] == pytest.approx(getattr(told, name), abs=2e-3), name
    server.ask("PATCH", f"/api/tickets/{ticket}", json={"correction": before})


@pytest.mark.parametrize(
    "query",
    [{}, CORRECTED, {"paper_white": False}, {"way": "perceptual"}, {"kind": "master"}],
    ids=["plain", "corrected", "white as the screen's", "perceptual", "master"],
)
def test_the_quick_picture_is_the_fine_one_to_the_eye(server: Server, ticket: str, query: dict[str, object]) -> None:
    quick, picture = seen(server, ticket, width=600, **query)
    fine, _ = seen(server, ticket, width=600, quality="fine", **query)
    assert picture.format == "JPEG"
    assert picture.info["icc_profile"] == srgb_profile()
    errors = apart(quick, fine)
    assert errors.mean() < 1.0
    smooth = apart(*(_smoothed(codes) for codes in (quick, fine)))
    assert np.quantile(smooth, 0.99) < 0.7
    assert smooth.max() < 1.3


def _smoothed(codes: np.ndarray) -> np.ndarray:
    """The mean over 8 x 8 pixels: without the noise of a JPEG and of dithering."""
    rows, columns = codes.shape[0] // 8 * 8, codes.shape[1] // 8 * 8
    return codes[:rows, :columns].reshape(rows // 8, 8, columns // 8, 8, 3).mean(axis=(1, 3)).astype(np.float32)


def test_a_wide_screen_gets_its_own_codes(server: Server, ticket: str) -> None:
    narrow, _ = seen(server, ticket, width=300, quality="fine")
    wide, picture = seen(server, ticket, width=300, quality="fine", space="display-p3")
    assert picture.info["icc_profile"] == display_p3_profile()
    one = to_lab(parse_profile(display_p3_profile()), wide / np.float32(255))
    other = to_lab(parse_profile(srgb_profile()), narrow / np.float32(255))
    assert np.median(ciede2000(one, other)) < 1
    assert np.abs(wide.astype(int) - narrow).max() > 5


def test_a_picture_is_never_larger_than_its_master(server: Server, ticket: str) -> None:
    codes, _ = seen(server, ticket, width=4000)
    assert codes.shape == (400, 600, 3)
    assert server.ask("GET", f"/api/tickets/{ticket}/view", 422, params={"width": 9999})["error"]["where"] == "width"


def test_the_table_and_the_pixels_give_the_picture(server: Server, ticket: str) -> None:
    """What the page draws with them is what the server draws: looked up here by the nearest node."""
    table = server.client.get(f"/api/tickets/{ticket}/table", params=CORRECTED)
    pixels = server.client.get(f"/api/tickets/{ticket}/pixels", params={"width": 300})
    nodes = int(table.headers["x-nodes"])
    width, height = int(pixels.headers["x-width"]), int(pixels.headers["x-height"])
    cube = np.frombuffer(table.content, "<f2").reshape(nodes, nodes, nodes, 3).astype(np.float32)
    codes = np.frombuffer(pixels.content, "<u2").reshape(height, width, 3)
    assert (nodes, width, height) == (33, 300, 200)
    place = np.rint(codes / 65535 * (nodes - 1)).astype(int)
    drawn = cube[place[..., 2], place[..., 1], place[..., 0]]
    server_drawn, _ = seen(server, ticket, width=300, quality="fine", **CORRECTED)
    errors = apart(_smoothed(np.rint(drawn * 255)), _smoothed(server_drawn))
    assert np.median(errors) < 1.5


def test_the_report_says_and_draws_what_is_there(server: Server, ticket: str) -> None:
    told = server.ask("GET", f"/api/tickets/{ticket}/report", params={"light": "evening room"})
    assert told["heading"]
    assert [one["n"] for one in told["findings"]] == list(range(1, len(told["findings"]) + 1))
    losses = [one["loss"] for one in told["findings"]]
    assert losses == sorted(losses, reverse=True)
    for one in told["findings"]:
        left, top, width, height = one["box"]
        assert 0 <= left < left + width <= 1.001
        assert 0 <= top < top + height <= 1.001
        assert "ΔE00" in one["number"]
        assert "ΔE00" not in one["text"]
    ladder, rose = told["ladder"], told["rose"]
    assert sum(ladder["share"]) == pytest.approx(1, abs=1e-3)
    assert len(ladder["land"]) == 21
    assert ladder["land"] == sorted(ladder["land"])
    assert ladder["land"][0] == pytest.approx(ladder["lo"], abs=1)
    assert ladder["land"][-1] == pytest.approx(ladder["hi"], abs=1)
    assert (len(rose["picture"]), len(rose["paper"])) == (18, 18)
    assert max(rose["picture"]) > max(rose["paper"]) > 10
    assert "evening room" in told["light_text"]
    assert "screen" in told["display_text"]
    assert told["figures"]["lut_size"] == 49
    assert told["figures"]["display_white_match_cd_m2"] > 5


def test_a_master_without_tables_is_read_once_for_all_ways(server: Server, ticket: str) -> None:
    looks = [server.page.sessions._seen(ticket, Look(way=way)) for way in ("perceptual", "relative", "whole")]
    assert len({look.picture_key for look in looks}) == 1
    tables = [replace(look, job=replace(look.job, master=replace(look.job.master, profile=paper()))) for look in looks]
    assert len({look.picture_key for look in tables}) == 2


def test_the_quick_report_is_near_the_exact_one(server: Server, ticket: str) -> None:
    quick = server.ask("GET", f"/api/tickets/{ticket}/report")["figures"]
    fine = server.ask("GET", f"/api/tickets/{ticket}/report", params={"quality": "fine"})["figures"]
    assert quick["loss_mean_de00"] == pytest.approx(fine["loss_mean_de00"], abs=0.1)
    assert quick["out_of_range_pct"] == pytest.approx(fine["out_of_range_pct"], abs=2)


def test_the_loss_is_grey_and_larger_where_the_report_finds_it(server: Server, ticket: str) -> None:
    codes, picture = seen(server, ticket, "loss.png")
    told = server.ask("GET", f"/api/tickets/{ticket}/report")
    assert (picture.mode, codes.shape) == ("L", (400, 600))
    left, top, width, height = told["findings"][0]["box"]
    box = codes[int(top * 400) : int((top + height) * 400), int(left * 600) : int((left + width) * 600)]
    assert box.mean() / 12 == pytest.approx(told["findings"][0]["loss"], rel=0.25)


def test_tiles_lie_as_the_picture_does_down_to_print_pixels(server: Server, ticket: str) -> None:
    info = server.ask("GET", f"/api/tickets/{ticket}/tiles/info")
    assert (info["width_px"], info["height_px"], info["ppi"]) == (2126, 1417, 360)
    last = info["levels"] - 1
    whole, _ = seen(server, ticket, "tiles/0/0_0.jpg")
    assert max(whole.shape) <= TILE_PX
    tile, _ = seen(server, ticket, f"tiles/{last}/1_2.jpg")
    assert tile.shape == (1417 - 2 * 512, 512, 3)
    scale = 600 / 2126
    rows, columns = (round(512 * 2 * scale), 400), (round(512 * scale), round(1024 * scale))
    picture, _ = seen(server, ticket, width=600)
    part = picture[rows[0] : rows[1], columns[0] : columns[1]]
    assert np.abs(part.mean(axis=(0, 1)) - tile.mean(axis=(0, 1))).max() < 3
    beyond = server.ask("GET", f"/api/tickets/{ticket}/tiles/{last}/9_9.jpg", 404)
    assert beyond["error"]["code"] == "tile_unknown"


def test_a_look_changes_nothing_and_what_can_not_be_is_refused(server: Server, ticket: str) -> None:
    before = server.ask("GET", f"/api/tickets/{ticket}")
    seen(server, ticket, width=100, lightness=3, light="desk lamp", way="absolute")
    assert server.ask("GET", f"/api/tickets/{ticket}") == before
    path = f"/api/tickets/{ticket}/view"
    for query, code in (
        ({"lightness": 60}, "correction_not_rising"),
        ({"lightness": "nan"}, "request_unclear"),
        ({"way": "sideways"}, "way_unknown"),
        ({"light": "moonbeam"}, "light_unknown"),
        ({"condition": "nothing"}, "condition_unknown"),
    ):
        error = server.client.get(path, params={"width": 100, **query}).json()["error"]
        assert error["code"] == code, query
    assert server.ask("GET", "/api/tickets/T999/view", 404)["error"]["code"] == "ticket_unknown"


def test_a_master_that_is_gone_is_told_of_and_the_path_needs_the_person(server: Server) -> None:
    facts = server.upload("/api/masters", tiff(seed=9), "lost.tif")
    upload = server.upload("/api/profiles", paper(), "paper.icc")["upload"]
    asked = {"master_sha256": facts["sha256"], "size": "15x10cm", "upload": upload}
    lost = server.ask("POST", "/api/tickets", json=asked)["ticket"]
    [path] = (server.home / "masters" / facts["sha256"]).iterdir()
    path.unlink()
    assert server.ask("GET", f"/api/tickets/{lost}/view", 422)["error"]["code"] == "master_missing"
    step = server.ask("GET", f"/api/tickets/{lost}")["path"][0]
    assert (step["stage"], step["state"]) == ("master", "needs")


def test_looked_at_is_written_down_with_its_figures(server: Server) -> None:
    view = server.started()
    assert [step["state"] for step in view["path"]] == ["done", "done", "here", "open", "open"]
    view = server.ask("POST", f"/api/tickets/{view['ticket']}/proofed")
    assert [step["state"] for step in view["path"]] == ["done", "done", "done", "here", "open"]
    assert all(len(step["text"]) <= 22 for step in view["path"])
    assert view["events"][-1]["kind"] == "proofed"
    with opened(server.home) as journal:
        [proof] = journal.proofs.list(view["ticket"])
    assert proof.figures["loss_mean_de00"] > 0
    assert json.dumps(view["events"][-1]["detail"])


def test_what_no_address_says_has_a_name_that_changes_with_it(server: Server) -> None:
    """By which a proof is asked for anew; a correction stands in the address itself."""
    own = server.started()["ticket"]
    first = server.ask("GET", f"/api/tickets/{own}")["shown"]
    assert server.ask("PATCH", f"/api/tickets/{own}", json={"correction": {"lightness": 2}})["shown"] == first
    names = {first}
    for change in ({"size": "9x6cm"}, {"distance": "3m"}, {"size": "8x8cm", "fill": True}, {"paper": "matt"}):
        view = server.ask("PATCH", f"/api/tickets/{own}", json=change)
        names.add(view["shown"])
        held = server.ask("POST", f"/api/tickets/{own}/hold", json={"tab": "one"})
        assert held["updated"] == view["updated"]
        seen(server, own, width=64, shown=view["shown"])
    assert len(names) == 5


def test_axes_are_laid_over_a_correction() -> None:
    assert corrected(Correction(lightness=1, chroma=1.1), lightness=2, shadow=None) == Correction(
        lightness=2, chroma=1.1
    )


def test_a_light_is_shown_as_proof_writes_it(server: Server, tmp_path: Path) -> None:
    """The print as it looks in its room, the same in both faces; another lamp is another look."""
    ticket = server.started(light="evening room")["ticket"]
    target = tmp_path / "proof.png"
    prove(server.home, ticket, out=target)
    fine, _ = seen(server, ticket, width=600, quality="fine")
    codes = np.asarray(Image.open(target)).astype(int)
    assert np.abs(fine.astype(int) - codes).max() <= 1
    quick, _ = seen(server, ticket, width=600)
    errors = apart(_smoothed(quick), _smoothed(fine))
    assert np.quantile(errors, 0.99) < 0.9
    assert errors.max() < 1.5
    unlit, _ = seen(server, ticket, width=600, light="")
    north, _ = seen(server, ticket, width=600, light="north window")
    assert np.median(apart(_smoothed(quick), _smoothed(unlit))) > 1
    assert np.median(apart(_smoothed(quick), _smoothed(north))) > 1
    told = server.ask("GET", f"/api/tickets/{ticket}/report")
    assert told["light_text"].count("Shown as it looks under 'evening room'") == 1
    assert "no screen matches it" in told["light_text"]
    assert "set the screen's white" not in told["light_text"], "what no screen can have is not asked of one"
    assert told["offer_lightness"] > 0
    assert server.ask("GET", f"/api/tickets/{ticket}/report", params={"lightness": 3})["offer_lightness"] is None


def test_what_must_not_suffer_is_looked_after_and_paid_for(server: Server) -> None:
    ticket = server.started()["ticket"]
    path = f"/api/tickets/{ticket}"
    refused = server.ask("PATCH", path, 422, json={"must_not_suffer": ["shadows"]})["error"]
    assert (refused["code"], refused["mend"]) == ("way_has_no_choice", "Let the map be chosen for this picture first.")
    server.ask("PATCH", path, json={"way": "whole"})
    assert server.ask("GET", f"{path}/report")["pays"] == []
    plain, _ = seen(server, ticket, width=180)
    looked, _ = seen(server, ticket, width=180, must_not_suffer="shadows;10,20,30,40")
    assert np.median(apart(_smoothed(plain), _smoothed(looked))) > 0.01
    view = server.ask("PATCH", path, json={"must_not_suffer": ["Shadows", "10, 20, 30, 40", "shadows"]})
    assert view["must_not_suffer"] == ["shadows", "10,20,30,40"]
    assert view["events"][-1]["text"] == "Changed: must not suffer shadows; 10,20,30,40."
    kept, _ = seen(server, ticket, width=180)
    assert np.array_equal(kept, looked)
    pays = server.ask("GET", f"{path}/report")["pays"]
    assert pays
    assert all(sentence.endswith(".") for sentence in pays)
    assert server.ask("PATCH", path, 404, json={"must_not_suffer": ["clouds"]})["error"]["code"] == "wish_unknown"
    assert server.ask("PATCH", path, json={"must_not_suffer": []})["must_not_suffer"] == []
    again, _ = seen(server, ticket, width=180)
    assert np.array_equal(again, plain)
