"""Lights and displays: what is accepted, what is refused in a sentence, what is said about them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import display_p3_profile, grey_profile, lab_profile, srgb_profile
from wallworthy.proof.displays import display_from, display_notices, first_use_sentences
from wallworthy.proof.lights import LIGHT_WORDS, SURROUNDS, light_from, light_text, paper_white_cd_m2

TODAY = datetime.date(2026, 3, 31)


def refusal(work: Callable[[], Any]) -> InputError:
    with pytest.raises(InputError) as caught:
        work()
    assert caught.value.text.endswith(".")
    assert caught.value.mend.endswith(".")
    assert "{" not in caught.value.text + caught.value.mend
    return caught.value


@pytest.mark.practice
@pytest.mark.parametrize("said", LIGHT_WORDS)
def test_every_light_in_words(said: str) -> None:
    light = light_from(said)
    low, high = light.illuminance_interval_lx
    assert low < light.illuminance_lx < high
    assert light.surround in SURROUNDS
    assert light.paper_white_cd_m2 == paper_white_cd_m2(light.illuminance_lx)
    assert LIGHT_WORDS[said].source
    assert all(sentence.endswith(".") for sentence in light_text(light))


@pytest.mark.practice
def test_figures_win_over_words() -> None:
    light = light_from("mine", lux=120, cct_k=3000, words="Evening-Room", surround="dark")
    assert (light.illuminance_lx, light.cct_k, light.surround) == (120, 3000, "dark")
    assert light.illuminance_interval_lx == pytest.approx((108, 132))


@pytest.mark.practice
def test_only_lux_is_taken_as_d50_and_said_so() -> None:
    light = light_from("wall", lux=300)
    assert (light.cct_k, light.duv_from_d50, light.surround) == (None, 0.0, "average")
    assert "takes it as D50" in light_text(light)[1]


@pytest.mark.source("CIE15", "daylight locus: nominal 5600 K lies 0.0103 from D50")
def test_daylight_says_how_far_it_is_from_d50() -> None:
    text = light_text(light_from("window", lux=900, cct_k=5600))[1]
    assert "0.0103" in text
    assert "bluer" in text
    assert "warmer" in light_text(light_from("lamp", lux=90, cct_k=2700))[1]


@pytest.mark.practice
@pytest.mark.parametrize("lux", [0.0, -5.0, 0.5, 2e5, float("nan"), float("inf")])
def test_absurd_brightness(lux: float) -> None:
    assert refusal(lambda: light_from("x", lux=lux)).code == "lux_absurd"


@pytest.mark.practice
@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({}, "light_without_lux"),
        ({"words": "evenin room"}, "light_unknown"),
        ({"words": "qqqq"}, "light_unknown"),
        ({"lux": 100, "surround": "bright"}, "surround_unknown"),
        ({"lux": 100, "cct_k": 900}, "cct_out_of_range"),
        ({"lux": 100, "cct_k": 60_000}, "cct_out_of_range"),
        ({"lux": 100, "cct_k": float("nan")}, "cct_out_of_range"),
    ],
)
def test_refused_lights(facts: dict[str, Any], code: str) -> None:
    assert refusal(lambda: light_from("my light", **facts)).code == code


@pytest.mark.practice
def test_a_near_miss_is_offered_the_right_word() -> None:
    assert "'evening room'" in refusal(lambda: light_from("x", words="evenin room")).mend


@pytest.mark.practice
@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "spectrum_unclear"),
        (b"\x00\xff\xfe" * 50, "spectrum_unclear"),
        (b"nm,power\n400,1\n", "spectrum_unclear"),
        (b"400,1\n390,1\n700,1\n", "spectrum_unclear"),
        (b"400,1\n500,-1\n700,1\n", "spectrum_unclear"),
        (b"400,nan\n500,1\n700,1\n", "spectrum_unclear"),
        (b"400,1\n550,1\n700,1\n", "spectrum_narrow"),
        (b"\n".join(b"%d,1" % nm for nm in range(450, 701, 5)), "spectrum_narrow"),
        (b"\n".join(b"%d,0" % nm for nm in range(380, 731, 5)), "spectrum_narrow"),
        (b"1,1\n" * 400_000, "spectrum_unclear"),
    ],
)
def test_refused_spectra(tmp_path: Path, content: bytes, code: str) -> None:
    path = tmp_path / "lamp.csv"
    path.write_bytes(content)
    assert refusal(lambda: light_from("x", lux=100, spectrum=path)).code == code


@pytest.mark.practice
def test_a_missing_spectrum(tmp_path: Path) -> None:
    assert refusal(lambda: light_from("x", lux=100, spectrum=tmp_path / "none.csv")).code == "spectrum_unreadable"


@pytest.mark.practice
@given(st.floats(1, 120_000), st.floats(1667, 25_000))
def test_any_lamp(lux: float, cct_k: float) -> None:
    light = light_from("lamp", lux=lux, cct_k=cct_k)
    assert 0 <= light.duv_from_d50 < 0.2
    assert light.paper_white_cd_m2 > 0
    assert all(light_text(light))


@pytest.mark.practice
def test_displays_by_space() -> None:
    assert display_from("laptop").profile == srgb_profile()
    assert display_from("laptop", space="display-p3").profile == display_p3_profile()
    own = display_from("desk", profile=srgb_profile(), white_cd_m2=120, calibrated_on="2026-03-01", today=TODAY)
    assert own.profile_description == parse_profile(srgb_profile()).description
    assert (own.white_cd_m2, own.calibrated_on) == (120, "2026-03-01")


@pytest.mark.practice
@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"profile": grey_profile()}, "display_space"),
        ({"profile": srgb_profile(), "space": "srgb"}, "display_twice"),
        ({"space": "cmyk"}, "space_unknown"),
        ({"white_cd_m2": 0.0}, "white_absurd"),
        ({"white_cd_m2": float("nan")}, "white_absurd"),
        ({"white_cd_m2": 1e6}, "white_absurd"),
        ({"calibrated_on": "last week"}, "date_unclear"),
        ({"calibrated_on": "2026-04-02"}, "date_future"),
        ({"calibrated_on": "2026-02-30"}, "date_unclear"),
    ],
)
def test_refused_displays(facts: dict[str, Any], code: str) -> None:
    assert refusal(lambda: display_from("screen", today=TODAY, **facts)).code == code


@pytest.mark.practice
def test_printer_and_lab_profiles_are_no_screens(published_profile: Callable[[str], bytes]) -> None:
    printer = refusal(lambda: display_from("screen", profile=published_profile("gs_cmyk")))
    assert printer.code == "display_class"
    assert "a printer's profile" in printer.text
    assert refusal(lambda: display_from("screen", profile=lab_profile())).code == "display_class"
    assert refusal(lambda: display_from("screen", profile=b"no profile at all" * 20)).text


@pytest.mark.practice
@pytest.mark.parametrize(("day", "old"), [("2026-03-31", False), ("2026-03-01", False), ("2026-02-20", True)])
def test_calibrated_monthly(day: str, old: bool) -> None:
    display = display_from("screen", calibrated_on=day, today=TODAY)
    codes = [notice.code for notice in display_notices(display, today=TODAY)]
    assert codes == (["display_calibration_old"] if old else [])


@pytest.mark.practice
@pytest.mark.parametrize(("white", "said"), [(300.0, "darker"), (120.0, None), (40.0, "lighter")])
def test_a_screen_far_from_the_paper(white: float, said: str | None) -> None:
    notices = display_notices(display_from("screen", white_cd_m2=white), light_white_cd_m2=130, today=TODAY)
    assert [notice.code for notice in notices] == (["display_white_far"] if said else [])
    assert said is None or said in notices[0].text


@pytest.mark.practice
def test_the_blank_sheet_check() -> None:
    told = " ".join(first_use_sentences())
    for word in ("blank paper", "white patch", "Dim the screen", "too dark", "too bright"):
        assert word in told
