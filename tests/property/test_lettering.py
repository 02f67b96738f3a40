"""Our own letters: every letter drawn, figures of one width, large and dark enough to read."""

from __future__ import annotations

import string

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.trial.alphabet import STROKES
from wallworthy.trial.lettering import fitting, letter_cover, text_width_mm

PPI = 360


def drawn(text: str, capital_mm: float) -> np.ndarray:
    capital = capital_mm / 25.4 * PPI
    wide = int(text_width_mm(text, capital_mm) / 25.4 * PPI + capital)
    return letter_cover(text, capital, (int(3 * capital), wide + 1), (2 * capital, capital / 2))


def test_every_ordinary_letter_is_drawn() -> None:
    assert set(string.ascii_letters + string.digits + ".,:;-/()'+%") <= set(STROKES)


def test_letters_differ_from_each_other() -> None:
    seen = [drawn(letter, 2.7) for letter in string.ascii_letters + string.digits]
    for place, one in enumerate(seen):
        for other in seen[place + 1 :]:
            wide = min(one.shape[1], other.shape[1])
            assert one.shape != other.shape or np.abs(one[:, :wide] - other[:, :wide]).sum() > 20


def test_capitals_are_as_high_as_asked() -> None:
    cover = drawn("H", 2.7)
    rows = np.flatnonzero(cover.max(axis=1) > 0.5)
    assert (rows[-1] - rows[0] + 1) / PPI * 25.4 == pytest.approx(2.7, abs=0.4)


def test_small_letters_of_the_notes_are_as_high_as_those_of_11_point_type() -> None:
    rows = np.flatnonzero(drawn("x", 2.4).max(axis=1) > 0.5)
    assert (rows[-1] - rows[0] + 1) / PPI * 25.4 >= 11 * 0.45 * 25.4 / 72


def test_strokes_are_black_in_the_middle() -> None:
    assert drawn("I", 1.8).max() == 1


@given(st.text(string.digits, min_size=6, max_size=6))
def test_figures_stand_in_columns(figures: str) -> None:
    assert text_width_mm(figures, 2.4) == pytest.approx(text_width_mm("000000", 2.4))


@given(st.text(max_size=40), st.floats(5, 60))
def test_what_is_too_long_is_cut_to_fit(text: str, room: float) -> None:
    kept = fitting(text, 2.4, room)
    assert kept == text or kept.endswith("...")
    assert text_width_mm(kept, 2.4) <= room


@given(st.text(min_size=1, max_size=12))
def test_any_text_can_be_set(text: str) -> None:
    cover = letter_cover(text, 20.0, (60, 200), (40.0, 5.0))
    assert np.isfinite(cover).all()
    assert cover.min() >= 0
    assert cover.max() <= 1


def test_accents_are_drawn() -> None:
    assert drawn("é", 2.7).sum() > drawn("e", 2.7).sum()
    assert text_width_mm("ß", 2.4) == text_width_mm("ss", 2.4)
