"""`choose`: papers ranked by what the picture loses on them, with reasons and a picture of all proofs."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

import wallworthy as ww
from support.commands import Teller
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.ranking_words import lost_words
from wallworthy.proof.lights import light_from


@pytest.fixture
def papers(
    tell: Teller, cmyk: Path, tmp_path: Path, published_profile: Callable[[str], bytes], profile: Path
) -> Teller:
    """A home with a press, a web press and a matt inkjet paper."""
    web = tmp_path / "web.icc"
    web.write_bytes(published_profile("gs_cmyk"))
    for name, path in (("press", cmyk), ("web", web), ("matt", profile)):
        tell.ok("condition", "add", name, "--profile", path)
    return tell


@pytest.mark.source("Sharma2005", "the loss is the proof's own, dE00")
def test_papers_are_ranked_by_what_their_proofs_lose(papers: Teller, master: Path, tmp_path: Path) -> None:
    answer = papers.ok("choose", master, "--size", "A4", "-o", tmp_path / "contact.png")
    ranking = answer["ranking"]
    assert sorted(one["condition"] for one in ranking) == ["matt", "press", "web"]
    losses = [one["loss_mean_de00"] for one in ranking]
    assert losses == sorted(losses)
    for one in ranking:
        ticket = papers.ok("start", master, "--size", "A4", "--on", one["condition"])["ticket"]
        proof = papers.ok("proof", ticket)
        assert one["loss_mean_de00"] == pytest.approx(proof["loss_mean_de00"], abs=0.1)
        assert one["loss_p95_de00"] == pytest.approx(proof["loss_p95_de00"], abs=0.3)
        assert one["out_of_range_pct"] == pytest.approx(proof["out_of_range_pct"], abs=2)
        assert 0 < one["texture_kept_pct"] <= 100
        assert one["text"].endswith(".")
    assert ranking[0]["condition"] in answer["next"]
    assert f"more than {ranking[0]['condition']}" in ranking[-1]["text"]
    with Image.open(tmp_path / "contact.png") as image:
        assert image.info["icc_profile"] == srgb_profile()
        assert image.width > 700
    assert answer["files"][0]["role"] == "contact"


@pytest.mark.source("Li2017", "the loss in a light, as both look there by CIECAM16")
def test_in_a_dim_room_the_loss_is_what_is_seen_there(papers: Teller, master: Path) -> None:
    plain = {one["condition"]: one for one in papers.ok("choose", master, "--size", "A4")["ranking"]}
    answer = papers.ok("choose", master, "--size", "A4", "--light", "evening room")
    assert answer["light"] == "evening room"
    room = {one["condition"]: one for one in answer["ranking"]}
    for name, one in room.items():
        assert one["loss_mean_de00"] != plain[name]["loss_mean_de00"]
        assert one["loss_mean_de00"] == pytest.approx(plain[name]["loss_mean_de00"], rel=0.35)
        assert one["texture_kept_pct"] == plain[name]["texture_kept_pct"]
    booth = papers.ok("choose", master, "--size", "A4", "--light", "viewing booth")["ranking"]
    for one in booth:
        assert one["loss_mean_de00"] == pytest.approx(plain[one["condition"]]["loss_mean_de00"], rel=0.02)


@pytest.mark.practice
def test_a_grey_picture_that_every_paper_holds_has_no_worst_place(papers: Teller, tmp_path: Path) -> None:
    path = tmp_path / "grey.tif"
    pixels = np.full((120, 180, 3), 40000, np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=srgb_profile())
    for one in papers.ok("choose", path, "--size", "A4")["ranking"]:
        assert one["out_of_range_pct"] == 0
        assert one["texture_kept_pct"] == 100


@pytest.mark.practice
def test_what_can_not_be_chosen_is_refused(tell: Teller, master: Path, cmyk: Path, tmp_path: Path) -> None:
    assert tell.refused("choose", master, "--size", "A4")["code"] == "no_conditions"
    tell.ok("condition", "add", "press", "--profile", cmyk)
    assert tell.refused("choose", master, "--size", "A4", "-o", tmp_path / "c.jpg")["code"] == "contact_target"
    assert tell.refused("choose", master, "--size", "A4", "-o", master)["code"] in (
        "target_is_master",
        "contact_target",
    )
    tell.ok("choose", master, "--size", "A4", "-o", tmp_path / "c.png")
    assert tell.refused("choose", master, "--size", "A4", "-o", tmp_path / "c.png")["code"] == "file_exists"
    tell.ok("choose", master, "--size", "A4", "-o", tmp_path / "c.png", "--force")
    assert tell.refused("choose", master, "--size", "A4", "--light", "nowhere")["code"]


@pytest.mark.practice
def test_the_library_ranks_without_a_journal(master: Path, cmyk: Path, profile: Path, tmp_path: Path) -> None:
    conditions = [ww.read_condition(profile, name="matt"), ww.read_condition(cmyk, name="press")]
    opened = ww.open_master(master)
    answer = ww.choose(opened, conditions, size="A4", light=light_from("lamp", lux=300), contact=tmp_path / "c.png")
    assert [one.condition for one in answer.ranking] == [
        one.condition for one in sorted(answer.ranking, key=lambda one: one.loss_mean_de00)
    ]
    assert (tmp_path / "c.png").is_file()
    again = ww.choose(opened, conditions[::-1], size="A4", light=light_from("lamp", lux=300))
    assert again.ranking == answer.ranking


@pytest.mark.practice
def test_another_way_is_tried_when_asked_for(tell: Teller, master: Path, cmyk: Path) -> None:
    tell.ok("condition", "add", "press", "--profile", cmyk)
    whole = tell.ok("choose", master, "--size", "A4", "--way", "whole")["ranking"][0]
    ticket = tell.ok("start", master, "--size", "A4", "--on", "press", "--way", "whole")["ticket"]
    assert whole["loss_mean_de00"] == pytest.approx(tell.ok("proof", ticket)["loss_mean_de00"], abs=0.1)


@pytest.mark.practice
def test_the_start_that_is_suggested_holds_all_that_was_wished(papers: Teller, master: Path, tmp_path: Path) -> None:
    folder = tmp_path / "from the sea"
    folder.mkdir()
    copy = folder / "dunes at night.tif"
    copy.write_bytes(master.read_bytes())
    words = ("--size", "20x30cm", "--black-and-white", "cool", "--light", "evening room", "--from", "60cm")
    told = papers.ok("choose", copy, *words, "--way", "whole")
    assert shlex.split(told["next"].split(": '", 1)[1].removesuffix("'."))[:3] == ["wallworthy", "start", str(copy)]
    command = shlex.split(told["next"].split(": '", 1)[1].removesuffix("'."))[1:]
    started = papers.ok(*command)
    assert started["condition"] == told["ranking"][0]["condition"]
    assert (started["way"], started["distance_mm"]) == ("whole", 600)
    assert papers.ok("show", started["ticket"])["black_and_white"] == "cool"
    appraised = papers.ok("appraise", copy, "--size", "9x6cm", "--from", "3m", "--fill", "--light", "evening room")
    command = shlex.split(appraised["next"].split(": '", 1)[1].removesuffix("'."))[1:]
    started = papers.ok(*command)
    assert started["distance_mm"] == 3000
    assert started["size_mm"] == [90, 60]


def test_differences_are_of_the_rounded_numbers() -> None:
    from types import SimpleNamespace
    from typing import Any, cast

    def tried(name: str, loss: float) -> Any:
        return cast(Any, SimpleNamespace(condition=SimpleNamespace(name=name), loss_mean_de00=loss))

    told = lost_words(tried("matt", 1.94), tried("gloss", 1.06), None)
    assert told == "1.9 ΔE00 lost on average, 0.8 more than gloss."


@pytest.mark.practice
def test_the_worst_place_is_the_one_its_proof_names(papers: Teller, tmp_path: Path) -> None:
    """Grain scatters colours over their neighbours' families; averaged away, other places come first."""
    height, width = 1000, 1500
    down, across = np.mgrid[0:height, 0:width] / (height, width)[0]
    rgb = np.stack([0.55 * across, 0.45 + 0.15 * np.sin(9 * down), 0.12 + 0.2 * down], axis=-1)
    rgb[700:, :260] = (0.42, 0.3, 0.14)
    rgb += np.random.default_rng(5).normal(0, 0.11, rgb.shape)
    path = tmp_path / "grain.tif"
    tifffile.imwrite(path, (np.clip(rgb, 0, 1) * 65535).astype(np.uint16), photometric="rgb", iccprofile=srgb_profile())
    for one in papers.ok("choose", path, "--size", "A4")["ranking"]:
        ticket = papers.ok("start", path, "--size", "A4", "--on", one["condition"])["ticket"]
        worst = papers.ok("proof", ticket)["worst"][0]["text"]
        assert worst.split(". ")[0] in one["text"]
