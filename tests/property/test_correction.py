"""The correction keeps white, black and order, whatever is asked."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.base.records import Correction
from wallworthy.colour.correction import correct, tone_knots

pytestmark = pytest.mark.practice


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


asked = st.builds(
    Correction,
    lightness=numbers(-20, 20),
    contrast=numbers(0.4, 1.9),
    shadow=numbers(-15, 15),
    green_red=numbers(-30, 30),
    blue_yellow=numbers(-30, 30),
    chroma=numbers(0, 4),
)


def legal(correction: Correction) -> bool:
    try:
        tone_knots(correction)
    except InputError:
        return False
    return True


legally_asked = asked.filter(legal)


@given(legally_asked)
def test_white_and_black_stay(correction: Correction) -> None:
    assert correct([[100.0, 0, 0], [0.0, 0, 0]], correction) == pytest.approx(
        np.array([[100.0, 0, 0], [0.0, 0, 0]]), abs=1e-9
    )


@given(legally_asked)
def test_tones_keep_their_order(correction: Correction) -> None:
    ramp = np.zeros((2001, 3))
    ramp[:, 0] = np.linspace(-5, 105, 2001)
    assert np.all(np.diff(correct(ramp, correction)[:, 0]) >= -1e-9)


@given(legally_asked, numbers(0, 100), numbers(-100, 100), numbers(-100, 100))
def test_colour_is_scaled_and_shifted_by_the_tone_it_lands_on(
    correction: Correction, lightness: float, a: float, b: float
) -> None:
    got = correct([lightness, a, b], correction)
    t = got[0] / 100
    weight = 4 * t * (1 - t)
    assert got[1] == pytest.approx(correction.chroma * a + correction.green_red * weight, abs=1e-9)
    assert got[2] == pytest.approx(correction.chroma * b + correction.blue_yellow * weight, abs=1e-9)


@pytest.mark.parametrize("contrast", [0.5, 0.8, 1.0, 1.3, 1.6])
def test_contrast_is_the_slope_at_mid_grey(contrast: float) -> None:
    step = 1e-4
    around = correct([[50 - step, 0, 0], [50, 0, 0], [50 + step, 0, 0]], Correction(contrast=contrast))[:, 0]
    assert around[1] == pytest.approx(50)
    assert (around[2] - around[0]) / (2 * step) == pytest.approx(contrast, abs=1e-3)


@given(legally_asked)
@settings(max_examples=25)
def test_the_knots_are_where_the_design_puts_them(correction: Correction) -> None:
    ramp = np.array([[20.0, 0, 0], [50.0, 0, 0], [80.0, 0, 0]])
    bend = 30 * (correction.contrast - 1)
    expected = [
        20 + correction.shadow + 0.64 * correction.lightness - bend,
        50 + correction.lightness,
        80 + 0.64 * correction.lightness + bend,
    ]
    assert correct(ramp, correction)[:, 0] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    "correction",
    [
        Correction(lightness=50),
        Correction(contrast=0.0),
        Correction(contrast=2.0),
        Correction(shadow=30),
        Correction(shadow=-20),
        Correction(lightness=float("nan")),
        Correction(chroma=-0.1),
        Correction(chroma=5),
        Correction(green_red=float("inf")),
    ],
)
def test_what_can_not_be_is_refused_in_a_sentence(correction: Correction) -> None:
    with pytest.raises(InputError) as refused:
        correct([50.0, 0, 0], correction)
    assert refused.value.text.endswith(".")
    assert refused.value.mend.endswith(".")


def test_no_correction_is_a_copy() -> None:
    lab = np.array([[50.0, 10, -10], [120, 0, 0], [-3, 1, 1]])
    got = correct(lab, Correction())
    assert np.array_equal(got, lab)
    assert got is not lab
