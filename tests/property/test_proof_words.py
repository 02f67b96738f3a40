"""Every colour has a name, every place its words; what is said of a change is what happened."""

from __future__ import annotations

import math
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.proof import words as say
from wallworthy.proof.naming import Name, colour_name, hue_direction, place_name
from wallworthy.proof.telling import Change, happenings, texture_words

ALLOWED = set(string.ascii_lowercase + " -")

labs = st.tuples(st.floats(-5, 105), st.floats(-200, 200), st.floats(-200, 200))


@pytest.mark.practice
@given(labs)
def test_every_colour_gets_a_plain_name(lab: tuple[float, float, float]) -> None:
    name = colour_name(lab)
    assert name.text
    assert set(name.text) <= ALLOWED
    assert name.text == name.text.strip()
    assert "  " not in name.text
    assert name.many == name.text.endswith("s")


@pytest.mark.practice
@pytest.mark.parametrize(
    ("lab", "expected"),
    [
        ((54.3, 80.8, 69.9), "bright red"),
        ((75.6, 27.5, 79.1), "bright orange"),
        ((97.6, -15.8, 93.4), "bright yellow"),
        ((87.8, -79.3, 81.0), "bright green"),
        ((55.0, -35.0, -12.0), "bright blue-green"),
        ((90.7, -50.7, -15.0), "bright blue-green"),
        ((79.2, -18.3, -22.2), "pale blue"),
        ((29.6, 68.3, -112.0), "strong blue"),
        ((11.2, 41.0, -67.0), "very dark blue"),
        ((41.0, 63.0, -76.0), "strong violet"),
        ((60.2, 93.5, -60.5), "bright magenta"),
        ((84.0, 24.0, 4.0), "pale pink"),
        ((44.0, 31.0, 36.0), "brown"),
        ((28.0, 28.0, 42.0), "dark brown"),
        ((52.0, -9.0, 56.0), "olive"),
        ((75.0, 7.0, 25.0), "pale beige"),
        ((3.0, 0.0, 0.0), "deepest shadows"),
        ((15.0, 1.0, -1.0), "deep shadows"),
        ((53.6, 0.0, 0.0), "middle greys"),
        ((53.6, -1.0, -7.0), "middle bluish greys"),
        ((99.0, 0.0, 0.0), "whites"),
    ],
)
def test_known_colours(lab: tuple[float, float, float], expected: str) -> None:
    assert colour_name(lab).text == expected


@pytest.mark.practice
@pytest.mark.parametrize("row", [0, 1, 2])
@pytest.mark.parametrize("column", [0, 1, 2])
def test_the_nine_places(row: int, column: int) -> None:
    said = place_name(row / 3 + 0.1, column / 3 + 0.1, 0.12, 0.12)
    assert said == say.PLACES[row][column]
    for word, at in (("upper", row == 0), ("lower", row == 2), ("left", column == 0), ("right", column == 2)):
        assert (word in said) == at


@pytest.mark.practice
@pytest.mark.parametrize(
    ("box", "expected"),
    [
        ((0.0, 0.1, 0.2, 0.8), "across the upper part"),
        ((0.4, 0.0, 0.2, 1.0), "across the middle"),
        ((0.8, 0.2, 0.2, 0.7), "across the lower part"),
        ((0.1, 0.0, 0.8, 0.2), "down the left side"),
        ((0.1, 0.8, 0.8, 0.2), "down the right side"),
        ((0.0, 0.0, 1.0, 1.0), "over most of the picture"),
    ],
)
def test_wide_and_tall_places(box: tuple[float, float, float, float], expected: str) -> None:
    assert place_name(*box) == expected


@pytest.mark.practice
@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_every_box_has_a_place(row: float, column: float, height: float, width: float) -> None:
    assert place_name(row, column, height * (1 - row), width * (1 - column))


@pytest.mark.practice
@pytest.mark.parametrize(
    ("hue", "turn", "expected"),
    [
        (65, 12, "yellow"),
        (65, -12, "red"),
        (98, 10, "green"),
        (270, -10, "blue-green"),
        (270, 12, "violet"),
        (5, -10, "magenta"),
        (35, -10, "rose"),
        (195, 20, "blue"),
    ],
)
def test_hues_move_towards_their_neighbours(hue: float, turn: float, expected: str) -> None:
    assert hue_direction(hue, turn) == expected


@pytest.mark.practice
@given(st.floats(0, 359.99), st.sampled_from([-6.0, 6.0]))
def test_a_hue_never_moves_towards_itself(hue: float, turn: float) -> None:
    towards = hue_direction(hue, turn)
    here = colour_name((50, 70 * math.cos(math.radians(hue)), 70 * math.sin(math.radians(hue)))).text
    assert towards
    assert not here.endswith(towards)


Lab = tuple[float, float, float]


def change(before: Lab, after: Lab, textures: tuple[float, float] = (0, 0)) -> Change:
    return Change(before, after, *textures)


@pytest.mark.practice
@pytest.mark.parametrize(
    ("kept", "expected"),
    [
        (0.5, "loses half its colour"),
        (0.67, "loses a third of its strength"),
        (0.8, "loses a fifth of its strength"),
        (0.76, "loses a quarter of its strength"),
        (0.9, "loses a tenth of its strength"),
        (0.2, "loses most of its colour"),
    ],
)
def test_share_of_colour_lost(kept: float, expected: str) -> None:
    before, after = (60.0, -50.0, -20.0), (60.0, -50.0 * kept, -20.0 * kept)
    assert happenings(change(before, after), Name("blue-green", many=False)) == [expected]


@pytest.mark.practice
def test_shadows_that_close_and_shadows_that_lift() -> None:
    name = colour_name((4.0, 0.0, 0.0))
    closed = happenings(change((4, 0, 0), (13, 0, 0), (2.0, 0.4)), name)
    lifted = happenings(change((4, 0, 0), (13, 0, 0), (2.0, 1.9)), name)
    assert closed == ["close up: the paper's black is lighter"]
    assert lifted == ["come out lighter: the paper's black is not as dark"]


@pytest.mark.practice
def test_hue_and_tint() -> None:
    orange = happenings(change((65, 40, 69), (65, 25, 73)), Name("orange", many=False))
    assert "shifts towards yellow" in orange
    greys = happenings(change((60, 0, 0), (60, 0, -4)), Name("middle greys", many=True))
    assert greys == ["take on a bluish tinge"]


@pytest.mark.practice
def test_texture() -> None:
    assert texture_words(change((60, 0, 0), (60, 0, 0), (2.0, 1.0)), many=False) == "Its fine texture flattens."
    assert texture_words(change((60, 0, 0), (60, 0, 0), (2.0, 1.95)), many=True) == "Their texture stays."
    assert texture_words(change((60, 0, 0), (60, 0, 0), (0.1, 0.0)), many=True) == ""


@pytest.mark.practice
@given(labs, labs, st.floats(0, 10), st.floats(0, 10))
def test_something_is_always_said(
    before: tuple[float, float, float], after: tuple[float, float, float], rough: float, smooth: float
) -> None:
    name = colour_name(before)
    clauses = happenings(change(before, after, (rough, smooth)), name)
    sentence = say.place_sentence(f"{name.text} in the middle", clauses, "", 4.56, 0.061)
    assert 1 <= len(clauses) <= 3
    assert all(":" not in clause for clause in clauses[:-1])
    assert sentence.startswith("The ")
    assert sentence.endswith("4.6 ΔE00 on average, 6 % of the picture.")
