"""A small run of the proof of worth: simulated people come nearer with fewer sheets than by usual practice."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[2]))

from benchmarks.trial.measure import Run, figures, measure
from benchmarks.trial.people import Person, Population, picture_roots
from benchmarks.trial.plots import distance_by_sheets, sheets_by_picture
from benchmarks.trial.strategies import Adaptive, Outcome, RingAround, Usual

from wallworthy.trial.axes import PRIOR_SD

pytestmark = pytest.mark.practice

PEOPLE = 20
SEED = 71


def test_fewer_sheets_and_less_left_than_by_usual_practice() -> None:
    population = Population()
    ours, usual, ring = (measure(Run(way, population), SEED, PEOPLE) for way in (Adaptive(), Usual(), RingAround()))
    assert ours.first_sheets <= 2.3
    assert ours.later_sheets <= 1.45
    assert ours.sheets < 0.75 * usual.sheets < ring.sheets
    assert ours.left_jnd < 0.95 * usual.left_jnd
    assert usual.left_jnd < ring.left_jnd
    assert ours.under_15 > 0.93
    assert 0.8 < ours.bound_held < 0.99
    assert 0.8 < ours.axes < 0.97
    assert ours.contradictions < 0.08


def test_the_same_people_come_again_from_the_same_seed() -> None:
    run = Run(Adaptive(), Population())
    assert measure(run, SEED, 1) == measure(run, SEED, 1)
    assert measure(run, SEED, 1) != measure(run, SEED + 1, 1)


def test_people_are_as_stated() -> None:
    roots = picture_roots()
    wanted = np.array([Person(Population(), seed, 2, roots).wanted for seed in range(1500)]) / PRIOR_SD
    np.testing.assert_allclose(wanted.std(axis=(0, 1)), 1, atol=0.06)
    shared = [np.corrcoef(wanted[:, 0, axis], wanted[:, 1, axis])[0, 1] for axis in range(6)]
    assert np.mean(shared) == pytest.approx(0.7, abs=0.03)


def test_right_is_said_half_the_time_at_one_jnd() -> None:
    roots = picture_roots()
    person = Person(Population(taste_noise_jnd=0.0), 1, 1, roots)
    direction = np.linalg.inv(person.roots[0])[0]
    said = {}
    for distance in (0.6, 1.0, 1.6):
        tiles = (person.wanted[0] + distance * direction)[None]
        said[distance] = np.mean([bool(person.judge(0, tiles, words=1, choose=False).right) for _ in range(400)])
    assert said[0.6] > 0.95
    assert said[1.0] == pytest.approx(0.5, abs=0.08)
    assert said[1.6] < 0.1


def test_figures_count_what_the_walks_did() -> None:
    walks = [[Outcome(2, 0.5, 0.6, 1.0), Outcome(1, 1.2, 0.6, 1.0)], [Outcome(4, 0.7, 0.6, 1.0), Outcome(1, 1.6, 1, 1)]]
    found = figures("made up", walks)
    assert found.first_sheets == 3
    assert found.later_sheets == 1
    assert found.left_jnd == pytest.approx(1.0)
    assert found.under_1 == 0.5
    assert found.under_15 == 0.75
    assert found.bound_held == 0.5


def test_drawings_name_what_they_show() -> None:
    one = figures("adaptive", [[Outcome(2, 0.5, 0.6, 1.0)] * 5])
    drawing = distance_by_sheets([("adaptive", [("1.0 JND", one)])])
    assert drawing.startswith("<svg")
    assert "simulated people" in drawing
    assert "1.0 JND" in drawing
    assert "ring-around" in sheets_by_picture([("ring-around", one.by_picture)])
