"""`proof --figures`: what the fit keeps, in numbers and in sentences, alike for every way."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.commands import Teller

pytestmark = pytest.mark.practice


def test_figures_come_when_asked_for_and_agree_with_their_sentences(tell: Teller, master: Path, cmyk: Path) -> None:
    ticket = tell.ok("start", master, "--size", "20x30cm", "--profile", cmyk)["ticket"]
    plain = tell.ok("proof", ticket)
    assert plain["figures"] is None
    assert plain["keeps"] == []
    found = {way: tell.ok("proof", ticket, "--figures", "--way", way) for way in ("relative-bpc", "whole")}
    for answer in found.values():
        figures, said = answer["figures"], " ".join(answer["keeps"])
        assert 0 < figures["scielab_mean_de00"] < figures["scielab_p95_de00"]
        assert 0.8 < figures["similarity"] <= 1
        assert figures["shadow_steps_of"] == 25
        assert 0 <= figures["shadow_steps"] <= 25
        assert ("turn in hue" in said) == (figures["hue_shift_deg"] >= 2)
        assert ("dark steps" in said) == (figures["shadow_steps"] < 25)
        assert all(sentence.endswith(".") for sentence in answer["keeps"])
    assert found["whole"]["figures"]["hue_shift_deg"] < found["relative-bpc"]["figures"]["hue_shift_deg"]
    assert found["whole"]["figures"]["own_step_de00"] == found["relative-bpc"]["figures"]["own_step_de00"]
