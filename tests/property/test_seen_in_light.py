"""A print in its light: where nothing should change nothing does; dim rooms want lighter prints, as an offer."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wallworthy.colour.gsdf import distinct_greys
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.proof import light_words as say
from wallworthy.proof.lights import light_from
from wallworthy.proof.seen import REFERENCE_LX, as_seen, eye_under, wanted_lightness

LAB = np.array([[95.0, 0.0, -2.0], [50.0, 0.0, 0.0], [20.0, 10.0, -30.0], [60.0, 40.0, 40.0]])


@pytest.mark.practice
def test_under_d50_on_a_screen_as_bright_as_the_paper_nothing_changes() -> None:
    light = light_from("viewing booth")
    eye = eye_under(light, 0.85, 0.85 * 500 / math.pi)
    assert as_seen(LAB, eye) == pytest.approx(LAB, abs=5e-3)


@pytest.mark.practice
def test_a_dim_warm_room_is_warm_and_dull() -> None:
    booth, room = (
        as_seen(LAB, eye_under(light_from("x", lux=lux, cct_k=cct), 0.85, 120.0))
        for lux, cct in ((500, None), (40, 2700))
    )
    assert room[1, 2] > booth[1, 2] + 1
    assert np.hypot(*(room[3, 1:] - room[1, 1:])) < np.hypot(*(booth[3, 1:] - booth[1, 1:]))


@pytest.mark.source("DICOMPS314", "greys that can be told apart")
@pytest.mark.parametrize("lux", [20, 50, 80, 150, 300, 1000, 2000])
def test_the_offer_gives_the_middle_its_share_of_distinct_greys(lux: float) -> None:
    light = light_from("room", lux=lux)
    wanted = wanted_lightness(light, 0.87, 0.01)

    def share(lstar: float, at_lux: float) -> float:
        y = float(lab_to_xyz([lstar, 0, 0])[1]) * 0.87
        black, here, white = distinct_greys(np.array([0.01, y, 0.87]) * at_lux / math.pi)
        return float((here - black) / (white - black))

    asked = share(50, REFERENCE_LX)
    if wanted == 0:
        assert abs(share(50, lux) - asked) < abs(share(51, 500) - share(50, 500)) * 1.5
    elif abs(wanted) < 8:
        assert share(50 + wanted, lux) == pytest.approx(asked, abs=abs(share(50.5, 500) - asked))
    assert np.sign(wanted) == (0 if wanted == 0 else np.sign(REFERENCE_LX - lux))


@pytest.mark.practice
def test_what_dim_rooms_want_grows_and_stays_within_bounds() -> None:
    wanted = [wanted_lightness(light_from("room", lux=lux), 0.87, 0.005) for lux in (500, 200, 80, 20, 1)]
    assert wanted == sorted(wanted)
    assert wanted[0] == 0
    assert 3 <= wanted[2] <= 7
    assert wanted[-1] <= 8
    assert wanted_lightness(light_from("sun", lux=100_000), 0.87, 0.005) == -8


@pytest.mark.practice
def test_cautions_are_given_when_due_only() -> None:
    assert say.screen_cannot(110) is None
    assert "dimmer" in str(say.screen_cannot(22))
    assert "brighter" in str(say.screen_cannot(541))
    assert say.brighteners(-1.0) is None
    assert "ultraviolet" in str(say.brighteners(-6.0))
