"""Faulty prints of the virtual printer are explained rightly; a fast seeded part of benchmarks/diagnosis.py."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from support.printed_sheets import good_print, print_of, printed, read_back, truth
from wallworthy.colour.lab import lab_to_xyz, xyz_to_lab
from wallworthy.demo.faulty import Mishap
from wallworthy.demo.scan import draw_viewing
from wallworthy.trial.diagnose import GUESSED_SPLIT, diagnose, open_book
from wallworthy.trial.expected import ExpectedSheet, Patch
from wallworthy.trial.faults import MEND, PRIOR, FaultKind
from wallworthy.trial.mishaps import Printing
from wallworthy.trial.readback import light_of_values
from wallworthy.trial.scanfile import XYZ_TO_LIGHT

pytestmark = pytest.mark.practice

CASES = (
    Mishap(FaultKind.PROFILE_TWICE, None, np.zeros(1), seed=1),
    Mishap(FaultKind.PROFILE_NOT_APPLIED, None, np.zeros(1), seed=2),
    Mishap(FaultKind.DRIVER_ADJUSTMENT, None, np.array([0.5, 0.3, 0.0]), seed=3),
    Mishap(FaultKind.INK_MISSING, "magenta", np.zeros(0), seed=4),
    Mishap(FaultKind.INK_MISSING, "light_cyan", np.zeros(0), seed=5),
    Mishap(FaultKind.INK_WEAK, "yellow", np.array([0.5]), seed=6),
    Mishap(FaultKind.BANDING, None, np.array([0.08, 1.4]), seed=7),
    Mishap(FaultKind.WRONG_SIDE, None, np.array([0.55, 0.2, 0.08]), seed=8),
    Mishap(FaultKind.LAB_AUTO_CORRECTION, None, np.array([0.8, 0.4, 0.0]), seed=9),
    Mishap(FaultKind.AS_EXPECTED, None, np.zeros(0), second_unit=True, seed=10),
)


@pytest.mark.parametrize("mishap", CASES, ids=lambda mishap: f"{mishap.kind}-{mishap.ink}")
def test_faults_are_told_apart_from_a_scan(mishap: Mishap, tmp_path: Path) -> None:
    answer = read_back(print_of(mishap), draw_viewing("flatbed", np.random.default_rng(mishap.seed)), tmp_path)
    first = answer.faults[0]
    assert answer.found
    assert (first.kind, first.probability > 0.5) == (mishap.kind, True)
    if mishap.ink:
        assert first.detail == mishap.ink.replace("_", " ")
        assert str(first.detail) in first.evidence


def test_the_size_comes_from_the_scale_alone() -> None:
    here = printed()
    light = here.book.as_expected
    said = {error: diagnose(here.book, light, scale_error_pct=error) for error in (None, 0.1, -4.0)}
    assert [said[error][0].kind for error in said] == ["as_expected", "as_expected", "wrong_size"]
    assert "4.0 % too short" in said[-4.0][0].evidence


@pytest.mark.parametrize("route", ["scanner", "spectro"])
def test_probabilities_sum_to_one_and_every_kind_is_there(route: str) -> None:
    here = printed()
    faults = diagnose(here.book, here.book.as_expected, route="spectro" if route == "spectro" else "scanner")
    assert sum(fault.probability for fault in faults) == pytest.approx(1.0, abs=1e-12)
    assert {fault.kind for fault in faults} == set(FaultKind)
    assert [fault.probability for fault in faults] == sorted((fault.probability for fault in faults), reverse=True)
    assert all(fault.evidence.endswith(".") and fault.mend == MEND[fault.kind] for fault in faults)
    assert faults[0].kind is FaultKind.AS_EXPECTED


def test_an_instruments_values_take_the_same_way() -> None:
    here, lab = printed(), print_of(CASES[3])
    white = tuple(float(value) for value in lab_to_xyz(lab[3, 3]))
    values = truth(lab)
    steps_only = np.maximum(lab_to_xyz(values) @ XYZ_TO_LIGHT.T, 0)
    steps_only[22:] = np.nan
    faults = diagnose(here.book, steps_only, route="spectro")
    assert (faults[0].kind, faults[0].detail) == (FaultKind.INK_MISSING, "magenta")
    paper = light_of_values(lab[3, 3][None].astype(float), (white[0], white[1], white[2]))
    assert paper == pytest.approx(np.ones((1, 3)), abs=1e-4)


def test_good_prints_are_likely_beforehand() -> None:
    assert sum(PRIOR.values()) == pytest.approx(1.0)
    assert PRIOR[FaultKind.AS_EXPECTED] == 0.8


def test_nothing_measured_leaves_what_was_thought_beforehand() -> None:
    here = printed()
    faults = diagnose(here.book, np.full_like(here.book.as_expected, np.nan))
    assert faults[0].kind is FaultKind.AS_EXPECTED
    assert faults[0].probability == pytest.approx(0.8, abs=0.1)


def test_inks_of_a_cmyk_condition_are_scaled_by_their_own_channel() -> None:
    """A made-up press: densities add up, each ink absorbing its own third."""

    def print_lab(device: np.ndarray) -> np.ndarray:
        inks = np.asarray(device, dtype=float)
        light = 10 ** -(1.4 * inks[:, :3] + 1.6 * inks[:, 3:])
        return xyz_to_lab(light @ np.linalg.inv(XYZ_TO_LIGHT).T)

    layout = printed().expected.layout
    random = np.random.default_rng(3)
    boxes = [step.box_mm for step in layout.neutrals] + [colour.box_mm for colour in layout.colours]
    patches = []
    for i, box in enumerate(boxes):
        device = random.uniform(0, 0.6, (1, 4)) if i >= 16 else np.full((1, 4), (15 - i) / 30)
        lab = print_lab(device)[0]
        kind = "neutral" if i < 16 else "colour"
        patches.append(Patch(kind, str(i), box, (float(lab[0]), float(lab[1]), float(lab[2])), device))
    expected = ExpectedSheet(layout, "none", tuple(patches))
    book = open_book(expected, Printing("CMYK", print_lab, lambda lab: np.ones((len(lab), 4))))
    without_magenta = np.concatenate([patch.device for patch in patches]) * np.array([1, 0, 1, 1])
    light = np.maximum(lab_to_xyz(print_lab(without_magenta)) @ XYZ_TO_LIGHT.T, 0)
    first = diagnose(book, light)[0]
    assert (first.kind, first.detail) == (FaultKind.INK_MISSING, "magenta")
    others = {fault.kind: fault for fault in diagnose(book, light)}
    for kind in (FaultKind.WRONG_PROFILE, FaultKind.PROFILE_TWICE):
        assert others[kind].probability == 0.0
        assert others[kind].evidence.startswith("Not weighed: ")
        assert "None" not in others[kind].evidence


def test_a_good_print_of_the_day_raises_no_alarm(tmp_path: Path) -> None:
    answer = read_back(good_print(), draw_viewing("phone", np.random.default_rng(31)), tmp_path)
    assert answer.faults[0].kind is FaultKind.AS_EXPECTED
    assert answer.banding_lstar is not None
    assert answer.banding_lstar < 0.4


@pytest.mark.parametrize("kind", [FaultKind.INK_MISSING, FaultKind.INK_WEAK])
def test_a_guessed_separation_is_less_sure_of_missing_against_weak(kind: FaultKind) -> None:
    """The pair together stays as likely as it was; only the odds within it are drawn towards even."""
    here = printed()
    assert here.book.inks_guessed
    light = next(
        model.predict(model.mean) for model in here.book.models if (model.kind, model.detail) == (kind, "cyan")
    )
    guessed, known = (
        {fault.kind: fault.probability for fault in diagnose(replace(here.book, inks_guessed=flag), light)}
        for flag in (True, False)
    )
    pair = (FaultKind.INK_MISSING, FaultKind.INK_WEAK)
    assert sum(guessed[one] for one in pair) == pytest.approx(sum(known[one] for one in pair), abs=1e-9)
    assert max(guessed, key=guessed.__getitem__) is kind
    odds = [np.log(said[pair[0]] / said[pair[1]]) for said in (guessed, known)]
    assert odds[0] == pytest.approx(GUESSED_SPLIT * odds[1], rel=1e-6)
