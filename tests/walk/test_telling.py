"""How answers are told: where --json may stand, and a ticket's story in sentences."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from support.commands import Teller
from wallworthy.base.saying import correction_words
from wallworthy.cli.run import run
from wallworthy.journal.encode import unknown_name
from wallworthy.journey.story import measured_of_sheet, said_of_sheet, told


def test_json_is_understood_after_the_command_too(tell: Teller, capsys: pytest.CaptureFixture[str]) -> None:
    capsys.readouterr()
    before = tell("tickets")
    assert run(["--home", str(tell.home), "tickets", "--json"]) == 0
    assert capsys.readouterr().out == before.out


def test_a_ticket_is_told_in_sentences_without_field_names(
    tell: Teller, master: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ticket = tell.ok("start", master, "--size", "9x6cm", "--paper", "matt")["ticket"]
    tell.ok("proof", ticket, "--correct", "lightness=2,chroma=1.05", "-o", "proof.png")
    shown = tell.ok("show", ticket)
    assert [event["kind"] for event in shown["events"]] == ["started", "proofed"]
    assert all(event["text"].endswith(".") for event in shown["events"])
    capsys.readouterr()
    assert run(["--home", str(tell.home), "show", ticket]) == 0
    out = capsys.readouterr().out
    assert "2 L* lighter, colours x 1.05, yours" in out
    assert "_de00" not in out
    assert "{" not in out


def test_an_unknown_event_is_told_by_its_fields() -> None:
    assert told("stock counted", {"sheets_left": 4}) == "Stock counted: sheets left 4."


def test_a_sheet_read_back_is_told_in_a_sentence() -> None:
    read = {"sheet": 2, "likeliest": "profile_twice", "probability": 0.93, "mean_de00": 4.25, "absolute": False}
    assert told("read back", read) == (
        "Sheet 2 read back: profile twice (93 % sure), its tiles 4.2 dE00 from what was promised, "
        "relative to its paper."
    )
    assert told("read back", {"sheet": 1, "likeliest": None}) == "Sheet 1 read back: nothing could be measured."


def test_what_was_said_and_measured_of_a_sheet_is_told_in_sentences() -> None:
    said = {"sheet": 1, "best": "B2", "next": None, "say": ["too dark"], "none_right": False, "ticked": True}
    assert said_of_sheet(said) == "Said of sheet 1, as ticked on it: best B2; too dark."
    assert said_of_sheet({"sheet": 2, "none_right": True, "stop_at_de00": 3.0}) == (
        "Said of sheet 2: none is right; near enough at 3 dE00."
    )
    measured = {"sheet": 1, "likeliest": "as_expected", "probability": 0.85, "mean_de00": 0.32, "absolute": False}
    ticks = [["next", "A1", None], ["word", None, "too dark"], ["none_right", None, None]]
    seen = {"prints": [{"print": None, "sound": True, "ticks": ticks}], "scale_error_pct": -1.26}
    assert measured_of_sheet(measured | seen) == (
        "Measured of sheet 1: as expected (85 % sure), its tiles 0.3 dE00 from what was promised, relative to its "
        "paper. It is 1.3 % smaller than it was meant. Ticked on it: next A1; too dark; none is right."
    )
    one = {"prints": [{"print": "A1", "sound": True, "ticks": [["best", "A1", None]]}], "scale_error_pct": -0.03}
    assert measured_of_sheet(measured | one).endswith("relative to its paper. Ticked on print A1: best A1.")


def test_one_picture_asks_for_words_alone(tell: Teller, master: Path) -> None:
    ticket = tell.ok("start", master, "--size", "9x6cm", "--paper", "matt")["ticket"]
    made = tell.ok("test", ticket, "--mode", "whole", "--ppi", "100")
    assert "--best" not in made["next"]
    assert "a touch too dark" in made["next"]
    assert made["sentences"][0].startswith("The picture shows")


@pytest.mark.parametrize(
    ("correction", "words"),
    [
        ({}, "no correction"),
        ({"shadow": -3.0, "green_red": -1.0}, "3 L* deeper in the shadows, 1 a* greener"),
        ({"contrast": 0.9}, "contrast x 0.9"),
    ],
)
def test_a_correction_in_words(correction: dict[str, float], words: str) -> None:
    assert correction_words(correction) == words


def test_a_standard_final_is_not_said_to_hold_ink_numbers(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = tell.ok("start", master, "--size", "9x6cm", "--profile", cmyk)["ticket"]
    plain = tell.ok("final", ticket, "-o", "numbers.tif", "--ppi", "100")
    standard = tell.ok("final", ticket, "-o", "standard.jpg", "--delivery", "standard", "--ppi", "100")
    assert "ink_numbers" in [notice["code"] for notice in plain["notices"]]
    assert "ink_numbers" not in [notice["code"] for notice in standard["notices"]]


def test_separate_prints_are_told_as_prints(tell: Teller, master: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ticket = tell.ok("start", master, "--size", "9x6cm", "--paper", "matt")["ticket"]
    capsys.readouterr()
    assert run(["--home", str(tell.home), "test", ticket, "--mode", "prints", "--tiles", "4", "--ppi", "100"]) == 0
    out = capsys.readouterr().out
    assert "4 prints, each of 15 x 10 cm" in out
    assert "tiles" not in out


def test_all_lights_are_named_when_one_is_not_known(tell: Teller, master: Path) -> None:
    words = ("start", master, "--size", "9x6cm", "--paper", "matt", "--light", "disco")
    told = tell.refused(*words)["mend"]
    known = tell.ok("light", "list")["next"]
    assert all(light in told for light in re.findall(r"'([^']+)'", known))
    many = unknown_name("paper", "x", [f"sheet {number}" for number in range(50)])
    assert many.mend.endswith("and 30 more: 'wallworthy paper list' names all.")
