"""The job card says how to print this very file, and only what belongs to its delivery."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from support.finals import fitted_to, plan
from support.memory import photo_like
from wallworthy.base.records import Condition, ConditionFacts, Delivery, Way
from wallworthy.base.ticket import Stage, Ticket
from wallworthy.dispatch.card import TONES as IN_WORDS
from wallworthy.dispatch.card import job_card
from wallworthy.fit.greys import TONES
from wallworthy.icc.standard import srgb_profile
from wallworthy.render.final import FinalFacts, FinalPlan, render_final

pytestmark = pytest.mark.practice

CONDITION = Condition(
    name="Inkjet on warm cotton",
    paper="Warm cotton 300",
    profile=b"",
    profile_sha256="",
    delivery=Delivery.NUMBERS,
    media="Fine art, heavy",
    guess=False,
    facts=ConditionFacts(
        device_space="RGB",
        icc_version="2.4",
        profile_description="Cotton, best quality",
        intents=("relative",),
        white_lab=(96, 0, 2),
        black_lab=(15, 0, 0),
        neutral_tint_ab=(0, 0),
        density_y=1.7,
        range_stops=5.5,
        roundtrip_mean_de00=0.4,
        roundtrip_p95_de00=1.0,
        gamut_volume_lab3=5e5,
    ),
)

TICKET = Ticket(
    master_sha256="",
    master_path="",
    title="Harbour at dusk",
    size_mm=(450.0, 300.0),
    distance_mm=541.0,
    condition=CONDITION.name,
    way=Way.RELATIVE_BPC,
    id="T3",
    stage=Stage.FINAL,
    created="2026-05-01T10:00:00Z",
    updated="2026-05-01T10:00:00Z",
)

FACTS = FinalFacts(
    width_px=5669,
    height_px=3898,
    picture_box_px=(177, 177, 3544, 5315),
    density_ppi=300.0,
    bits=16,
    space="RGB",
    profile_sha256="",
    sharpen_gain=1.42,
    overshoot_pct=3.3,
    pixels_sha256="ab" * 32,
    beyond_delivery_pct=0.0,
    delivery_figures=None,
)

NUMBERS = plan(5315, 3544, b"", border_px=(177, 177, 177, 177))
STANDARD = replace(NUMBERS, delivery=Delivery.STANDARD, format="jpeg")


def card(
    wanted: FinalPlan, facts: FinalFacts = FACTS, condition: Condition = CONDITION, ticket: Ticket = TICKET
) -> tuple[str, dict[str, Any], str]:
    text, data = job_card(ticket, condition, wanted, facts, "harbour.tif")
    return text, data, " ".join([*data["own_printer"], *data["lab"]])


def test_numbers_forbid_any_conversion() -> None:
    text, data, steps = card(NUMBERS)
    assert "colour management off everywhere" in steps
    assert "already applied" in steps
    assert "'Fine art, heavy'" in steps
    assert "no conversion" in " ".join(data["lab"])
    assert "'Cotton, best quality'" in " ".join(data["lab"])
    assert "convert from sRGB" not in steps
    assert "Delivery: numbers" in text


def test_standard_asks_for_one_conversion() -> None:
    text, data, steps = card(STANDARD, replace(FACTS, beyond_delivery_pct=4.26))
    assert "convert from sRGB" in data["own_printer"][1]
    assert "black point compensation" in " ".join(data["lab"])
    assert "colour management off" not in steps
    assert "4.3 % of the picture" in text


def test_the_ruler_gets_the_picture_not_the_sheet() -> None:
    text, data, steps = card(NUMBERS)
    assert data["size_mm"] == [450.0, 300.1]
    assert data["file_size_mm"] == [480.0, 330.0]
    assert data["margins_mm"] == [15.0] * 4
    assert steps.count("450 mm wide and 300.1 mm high") == 2
    assert "100 %" in steps
    assert "the border is in the file" in steps
    assert "480 x 330 mm" in text


def test_the_format_to_order_is_the_one_that_was_meant() -> None:
    """300 x 200 mm with 10 mm of border, each edge rounded to pixels by itself, is 320 x 220 mm and no tenth more."""
    width, height = (round(edge / 25.4 * 360) + 2 * round(10 / 25.4 * 360) for edge in (300, 200))
    assert round(height / 360 * 25.4, 1) == 220.1
    facts = replace(FACTS, width_px=width, height_px=height, density_ppi=360.0)
    bordered = replace(NUMBERS, ppi=360.0, border_px=(142, 142, 142, 142))
    text, data, steps = card(bordered, facts)
    assert data["file_size_mm"] == [320.0, 220.0]
    assert "Order the format 320 x 220 mm" in steps
    assert "the file measures 320 x 220 mm" in text
    odd = card(NUMBERS, replace(FACTS, width_px=round(297.5 / 25.4 * 300)))[1]
    assert odd["file_size_mm"][0] == 297.5


def test_missing_media_sends_to_the_maker() -> None:
    _, _, steps = card(NUMBERS, condition=replace(CONDITION, media=None))
    assert "ask the profile's maker" in steps
    text, _, steps = card(STANDARD, condition=replace(CONDITION, media=None, guess=True))
    assert "ask the maker" in steps
    assert "a guess" in text


def test_ink_values_need_a_path_of_their_own() -> None:
    _, data, steps = card(NUMBERS, replace(FACTS, space="CMYK"))
    assert "CMYK ink values" in steps
    assert "ink_values_converted" in [m["kind"] for m in data["mistakes"]]
    assert "ink_values_converted" not in [m["kind"] for m in card(NUMBERS)[1]["mistakes"]]


def test_borders_that_differ_are_told_side_by_side() -> None:
    text, data, _ = card(replace(NUMBERS, border_px=(177, 177, 354, 177)))
    assert data["margins_mm"] == [15.0, 15.0, 30.0, 15.0]
    assert "Border: top 15, right 15, bottom 30, left 15 mm" in text
    assert "Border: top" not in card(NUMBERS)[0]


@pytest.mark.parametrize("tone", TONES)
def test_a_tone_of_black_and_white_is_told_and_guarded_from_the_driver(tone: str) -> None:
    text, data, _ = card(NUMBERS, ticket=replace(TICKET, black_and_white=tone))
    assert data["black_and_white"] == tone
    assert "Black and white: " + IN_WORDS[tone] in " ".join(text.split())
    assert "Print it in colour mode" in " ".join(data["own_printer"])
    assert "as a colour print" in " ".join(data["lab"])
    grey = card(NUMBERS, replace(FACTS, space="GRAY"), ticket=replace(TICKET, black_and_white=tone))
    assert "colour mode" not in grey[2], "a grey file has no colour to keep"


def test_a_print_in_colour_says_nothing_of_black_and_white() -> None:
    text, data, steps = card(NUMBERS)
    assert data["black_and_white"] is None
    assert "lack and white" not in text
    assert "colour mode" not in steps


def test_sharpening_is_told_as_it_is() -> None:
    assert "is sharpened for the paper" in card(NUMBERS)[2]
    assert "not in this file" in card(NUMBERS, replace(FACTS, sharpen_gain=1.0))[2]


@pytest.mark.parametrize("wanted", [NUMBERS, STANDARD])
def test_every_mistake_has_a_look_and_a_remedy(wanted: FinalPlan) -> None:
    text, data, _ = card(wanted)
    kinds = [m["kind"] for m in data["mistakes"]]
    needed = {"profile_twice", "profile_not_applied", "wrong_media", "scaled_to_fit", "wrong_side"}
    assert needed | {"automatic_correction"} <= set(kinds)
    assert len(kinds) == len(set(kinds))
    assert all(m["looks_like"].endswith(".") and m["mend"].endswith(".") for m in data["mistakes"])
    assert "common practice, no source" in text


@pytest.mark.parametrize("wanted", [NUMBERS, STANDARD])
def test_steps_are_numbered_and_lines_fit(wanted: FinalPlan) -> None:
    text, data, _ = card(wanted)
    for no in range(1, len(data["own_printer"]) + 1):
        assert f"\n{no}. " in text
    assert max(len(line) for line in text.splitlines()) <= 96
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert data["schema"] == "wallworthy/card/1"


def test_from_a_real_final(tmp_path: Path) -> None:
    profile = srgb_profile()
    wanted = plan(90, 60, profile, border_px=(6, 6, 6, 6))
    facts = render_final(photo_like(60, 90), fitted_to(profile), wanted, tmp_path / "a.tif")
    _, data, _ = card(wanted, facts)
    assert data["file_size_px"] == [102, 72]
    assert data["size_mm"] == [7.6, 5.1]
    assert data["pixels_sha256"] == facts.pixels_sha256
