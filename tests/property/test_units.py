"""Sizes, distances and pixels as the person may write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.base.errors import InputError
from wallworthy.base.units import (
    MM_PER_UNIT,
    NAMED_SIZES_MM,
    Size,
    diagonal_mm,
    parse_length_mm,
    parse_size,
    pixels,
)

pytestmark = pytest.mark.practice

UNITS = st.sampled_from(sorted(MM_PER_UNIT))
EDGES_MM = st.floats(10.5, 19_900, allow_nan=False)
SPACES = st.sampled_from(["", " ", "  ", "\t"])
SIZES = st.builds(Size, EDGES_MM, EDGES_MM, st.booleans())


def written(mm: float, unit: str) -> str:
    """The length as a person would write it; Python's plain decimals, never 1e-05."""
    return f"{mm / MM_PER_UNIT[unit]:.9f}"


@given(EDGES_MM, EDGES_MM, UNITS, SPACES, st.sampled_from("xX×"), st.booleans())
def test_sizes_in_numbers_come_back_in_mm(
    width_mm: float, height_mm: float, unit: str, space: str, times: str, loud: bool
) -> None:
    text = space.join(
        ["", written(width_mm, unit), times, written(height_mm, unit), unit.upper() if loud else unit, ""]
    )
    size = parse_size(text)
    assert (size.width_mm, size.height_mm) == pytest.approx((width_mm, height_mm), abs=1e-5)
    assert not size.named


@given(st.sampled_from(sorted(NAMED_SIZES_MM)), st.booleans(), SPACES)
def test_names_are_known_whatever_their_case(name: str, loud: bool, space: str) -> None:
    size = parse_size(space + (name.upper() if loud else name.lower()) + space)
    assert (size.width_mm, size.height_mm) == NAMED_SIZES_MM[name]
    assert size.named
    assert size.width_mm < size.height_mm


PIECES = st.sampled_from([*MM_PER_UNIT, "x", "×", " ", ".", "-", "0", "7", "30", "9" * 400, "A3", "e5", "nan", "٣"])


@given(st.text(max_size=30) | st.lists(PIECES, max_size=8).map("".join))
def test_any_text_is_a_size_or_one_sentence(text: str) -> None:
    answer = size_or_refusal(text)
    if isinstance(answer, InputError):
        assert answer.code in {"size_unclear", "size_absurd", "unit_missing", "unit_unknown"}
        assert answer.text.endswith(".")
    else:
        assert 10 <= answer.width_mm <= 20_000
        assert 10 <= answer.height_mm <= 20_000


def size_or_refusal(text: str) -> Size | InputError:
    try:
        return parse_size(text)
    except InputError as refusal:
        return refusal


@given(EDGES_MM, st.one_of(st.floats(0, 9.9), st.floats(20_001, 1e12)), st.booleans())
def test_absurd_edges_are_refused(edge_mm: float, absurd_mm: float, first: bool) -> None:
    pair = (absurd_mm, edge_mm) if first else (edge_mm, absurd_mm)
    with pytest.raises(InputError) as refusal:
        parse_size(f"{pair[0]:.6f}x{pair[1]:.6f}mm")
    assert refusal.value.code == "size_absurd"


@given(st.floats(10.5, 99_000), UNITS, SPACES)
def test_distances_come_back_in_mm(mm: float, unit: str, space: str) -> None:
    assert parse_length_mm(f"{space}{written(mm, unit)}{space}{unit}{space}") == pytest.approx(mm, abs=1e-5)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("60", "unit_missing"),
        ("60 parsec", "unit_unknown"),
        ("", "distance_unclear"),
        ("-60cm", "distance_unclear"),
        ("nancm", "distance_unclear"),
        ("1e2cm", "distance_unclear"),
        ("9.99mm", "distance_absurd"),
        ("101m", "distance_absurd"),
        ("9" * 400 + "m", "distance_absurd"),
    ],
)
def test_distances_that_can_t_be_used(text: str, code: str) -> None:
    with pytest.raises(InputError) as refusal:
        parse_length_mm(text)
    assert (refusal.value.code, refusal.value.where) == (code, "--from")


@given(SIZES, st.floats(1, 1e5), st.floats(1, 1e5))
def test_turning_keeps_the_sheet_and_takes_the_picture_s_side(size: Size, width: float, height: float) -> None:
    turned = size.turned_to(width, height)
    assert {turned.width_mm, turned.height_mm} == {size.width_mm, size.height_mm}
    assert turned.turned_to(width, height) == turned
    if not size.named:
        assert turned == size
    elif width != height and size.width_mm != size.height_mm:
        assert (turned.width_mm > turned.height_mm) == (width > height)


@given(st.floats(0.001, 20_000), st.floats(1, 2880))
def test_pixels_are_the_nearest_whole_number_and_never_none(mm: float, ppi: float) -> None:
    count = pixels(mm, ppi)
    assert count >= 1
    assert count == 1 or abs(count - mm / 25.4 * ppi) <= 0.5
    assert pixels(mm * 2, ppi) >= count


@pytest.mark.parametrize(("mm", "ppi", "count"), [(25.4, 300, 300), (297, 300, 3508), (210, 300, 2480), (0.001, 1, 1)])
def test_pixels_of_known_edges(mm: float, ppi: float, count: int) -> None:
    assert pixels(mm, ppi) == count


@given(EDGES_MM, EDGES_MM)
def test_the_diagonal(width_mm: float, height_mm: float) -> None:
    assert diagonal_mm(width_mm, height_mm) ** 2 == pytest.approx(width_mm**2 + height_mm**2)
    assert (
        max(width_mm, height_mm) <= diagonal_mm(width_mm, height_mm) <= math.sqrt(2) * max(width_mm, height_mm) + 1e-9
    )
