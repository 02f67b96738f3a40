"""A fit's figures in sentences: those that matter, none for what nobody would see, and true ones."""

from __future__ import annotations

import math

import numpy as np
import pytest

from wallworthy.fit.figures import FitFigures
from wallworthy.fit.telling import Charted, Family, families, spoken_of, what_it_keeps

pytestmark = pytest.mark.practice

FINE = FitFigures(0.5, 1.0, 0.999, 0.98, 0.99, 0.2, 0.1)
CALM = Charted(1.0, 1.0, 25, 25)


def dotted(lightness: float, a: float, b: float, ripple: float = 3.0) -> np.ndarray:
    """A flat colour with fine texture in its lightness, (64, 64, 3)."""
    rows, columns = np.mgrid[0:64, 0:64]
    light = lightness + ripple * np.where((rows // 2 + columns // 2) % 2 == 0, 1.0, -1.0)
    return np.stack([light, np.full_like(light, a), np.full_like(light, b)], axis=-1)


def test_a_fit_that_keeps_all_says_one_sentence() -> None:
    assert what_it_keeps(FINE, CALM, (), 500) == (
        "Nothing one would see is lost: colours, texture and tones are all kept.",
    )


@pytest.mark.parametrize(
    ("change", "charted", "word"),
    [
        ({"scielab_p95": 6.0}, CALM, "Seen from 50 cm"),
        ({"similarity": 0.95}, CALM, "95 % of their structure"),
        ({"texture_shadows": 0.7}, CALM, "In the shadows, 70 %"),
        ({"texture_beyond": 0.8}, CALM, "Beyond the paper's colours, 80 %"),
        ({"hue_shift_deg": 6.0}, CALM, "turn in hue by 6 degrees"),
        ({"halo_lstar": 1.4}, CALM, "overshoot by up to 1.4"),
        ({}, Charted(3.0, 1.0, 25, 25), "a step of 3.0"),
        ({}, Charted(1.0, 1.0, 12, 25), "Of 25 dark steps"),
    ],
)
def test_each_figure_that_matters_has_one_sentence(change: dict[str, float], charted: Charted, word: str) -> None:
    values = {name: getattr(FINE, name) for name in FitFigures.__slots__}
    said = what_it_keeps(FitFigures(**{**values, **change}), charted, (), 500)
    assert len(said) == 1
    assert word in said[0]


def test_a_picture_without_such_places_says_nothing_of_them() -> None:
    empty = FitFigures(0.5, 1.0, 0.999, math.nan, math.nan, 0.2, 0.1)
    assert what_it_keeps(empty, CALM, (), 500) == what_it_keeps(FINE, CALM, (), 500)


def test_hues_are_told_with_their_strength_and_texture() -> None:
    """Deep blues whose chroma shrinks to 0.67 and whose texture stays; light yellows that keep all."""
    blues, yellows = dotted(25, 15, -40), dotted(80, 0, 50)
    master = np.concatenate([blues, yellows])
    printed = np.concatenate([blues * [1, 0.67, 0.67], yellows])
    of = families(master, printed, 30.0)
    assert of[0].name == "deep blues"
    assert of[0].strength == pytest.approx(0.67, abs=0.01)
    assert of[0].texture > 0.9
    assert what_it_keeps(FINE, CALM, of, 500) == (
        "The deep blues lose a third of their strength; their texture stays.",
    )
    assert {one.name: round(one.strength, 2) for one in of}["light yellows"] == 1.0


def test_texture_that_flattens_is_told_and_none_is_not() -> None:
    master = dotted(60, 0, 50)
    flat = master.copy()
    flat[..., 0] = 60 + (master[..., 0] - 60) * 0.3
    flat[..., 1:] *= 0.5
    (told,) = what_it_keeps(FINE, CALM, families(master, flat, 30.0), 500)
    assert told == "The light yellows lose half of their strength, and their texture flattens."
    smooth = dotted(60, 0, 50, ripple=0.0)
    assert math.isnan(families(smooth, smooth * [1, 0.5, 0.5], 30.0)[0].texture)


def test_texture_is_spoken_of_only_where_there_is_some() -> None:
    beyond = np.zeros((64, 64), dtype=np.bool_)
    figures = FitFigures(0.5, 1.0, 0.999, 0.5, 0.5, 0.2, 0.1)
    assert spoken_of(figures, dotted(12, 0, 0), beyond, 30.0).texture_shadows == 0.5
    assert math.isnan(spoken_of(figures, dotted(12, 0, 0, ripple=0.1), beyond, 30.0).texture_shadows)
    assert math.isnan(spoken_of(figures, dotted(12, 0, 0), beyond, 30.0).texture_beyond)
    assert isinstance(families(dotted(12, 0, 0), dotted(12, 0, 0), 30.0), tuple)
    assert families(dotted(12, 0, 0), dotted(12, 0, 0), 30.0) == ()
    assert Family("deep blues", 0.1, 1.0, 1.0).share == 0.1
