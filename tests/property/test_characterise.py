"""A profile of our own from noisy readings of a printer whose truth is known: what its tables must keep."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from support.lut_eval import evaluate as lut_value
from support.measured import noisy_measurements, paper_model, true_lab
from wallworthy.base.errors import InputError
from wallworthy.characterise.build import (
    BuildOptions,
    BuildReport,
    build_profile,
    build_with_report,
    roundtrip_de00,
)
from wallworthy.characterise.chart import rgb_chart
from wallworthy.characterise.measurements import Measurements, average_measurements
from wallworthy.characterise.verify import verify_profile
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import from_lab, to_lab
from wallworthy.icc.read import Profile, parse_profile, read_lut, require_output

pytestmark = pytest.mark.practice

INTENTS = ["relative", "perceptual", "saturation"]


@dataclass(frozen=True, slots=True)
class Built:
    data: bytes
    profile: Profile
    report: BuildReport
    measurements: Measurements


@pytest.fixture(scope="module")
def built() -> Built:
    mean, left_out = average_measurements(noisy_measurements())
    assert left_out == 0
    data, report = build_with_report(mean, BuildOptions("A test paper"))
    return Built(data, parse_profile(data), report, mean)


def test_the_profile_is_a_usable_output_profile(built: Built) -> None:
    require_output(built.profile)
    assert built.profile.description == "A test paper"
    assert set(built.profile.intents) == {"perceptual", "relative", "saturation"}
    assert {"gamt", "wtpt", "cprt"} <= set(built.profile.tags)


def test_prediction_is_nearer_the_truth_than_one_reading(built: Built) -> None:
    device = np.random.default_rng(1).random((4000, 3))
    error = ciede2000(to_lab(built.profile, device, "absolute"), true_lab(paper_model(), device))
    assert error.mean() <= 0.2
    assert np.percentile(error, 95) <= 0.5
    against_readings = verify_profile(built.profile, built.measurements)
    assert against_readings.mean_de00 <= 0.2
    assert against_readings.worst[0].de00 == against_readings.max_de00


def test_there_and_back(built: Built) -> None:
    error = roundtrip_de00(built.data)
    assert error.mean() <= 0.1
    assert np.percentile(error, 95) <= 0.35
    assert built.report.roundtrip_mean_de00 == pytest.approx(error.mean())


def test_there_and_back_on_the_gamut_surface(built: Built) -> None:
    rng = np.random.default_rng(4)
    device = rng.random((6000, 3))
    device[np.arange(6000), rng.integers(0, 3, 6000)] = rng.integers(0, 2, 6000)
    lab = to_lab(built.profile, device)
    error = ciede2000(lab, to_lab(built.profile, from_lab(built.profile, lab)))
    assert error.mean() <= 0.15
    assert np.percentile(error, 95) <= 0.5


@pytest.mark.parametrize("intent", INTENTS)
def test_white_is_no_ink_and_paper_is_white(built: Built, intent: str) -> None:
    assert from_lab(built.profile, [[100.0, 0.0, 0.0]], intent).tolist() == [[1.0, 1.0, 1.0]]
    assert np.abs(to_lab(built.profile, [[1.0, 1.0, 1.0]], intent) - [[100, 0, 0]]).max() < 0.01


@pytest.mark.parametrize("intent", INTENTS)
def test_neutral_ramp_rises_and_stays_neutral(built: Built, intent: str) -> None:
    ramp = np.zeros((401, 3), np.float32)
    ramp[:, 0] = np.linspace(0, 100, 401)
    printed = to_lab(built.profile, from_lab(built.profile, ramp, intent))
    assert np.diff(printed[:, 0]).min() >= -0.01
    light = printed[:, 0] > 10
    assert np.abs(printed[light, 1:]).max() <= 0.5
    if intent == "relative":
        assert np.abs(printed[light, 0] - ramp[light, 0]).max() <= 0.3


@pytest.mark.parametrize("intent", INTENTS)
@pytest.mark.parametrize("chroma", [60.0, 95.0, 120.0])
def test_no_tearing_round_the_hues(built: Built, intent: str, chroma: float) -> None:
    hue = np.radians(np.arange(0, 360, 1.0))
    for lightness in (20.0, 45.0, 70.0, 90.0):
        asked = np.stack([lightness + 0 * hue, chroma * np.cos(hue), chroma * np.sin(hue)], axis=1)
        device = from_lab(built.profile, asked.astype(np.float32), intent)
        printed = to_lab(built.profile, device)
        assert np.abs(np.roll(device, -1, axis=0) - device).max() <= 0.08
        assert np.linalg.norm(np.roll(printed, -1, axis=0) - printed, axis=1).max() <= 4.0


def test_outside_colours_keep_their_hue(built: Built) -> None:
    hue = np.radians(np.arange(0, 360, 2.0))
    asked = np.stack([55 + 0 * hue, 110 * np.cos(hue), 110 * np.sin(hue)], axis=1)
    printed = to_lab(built.profile, from_lab(built.profile, asked.astype(np.float32)))
    turn = (np.degrees(np.arctan2(printed[:, 2], printed[:, 1]) - hue) + 180) % 360 - 180
    assert np.abs(turn).mean() <= 4
    assert np.abs(turn).max() <= 15


def test_gamut_table_agrees_with_the_gamut(built: Built) -> None:
    lab = np.random.default_rng(8).random((4000, 3)) * [100, 200, 200] - [0, 100, 100]
    printed = to_lab(built.profile, from_lab(built.profile, lab.astype(np.float32)))
    beyond = np.linalg.norm(printed - lab, axis=1)
    table = read_lut(built.profile, "gamt")
    flagged = lut_value(table, lab, "tetrahedral")[:, 0] > 0
    assert flagged[beyond > 3].mean() > 0.99
    assert flagged[beyond < 0.2].mean() < 0.03


def test_same_measurements_same_bytes(built: Built) -> None:
    assert build_profile(built.measurements, BuildOptions("A test paper")) == built.data


def test_a_misread_patch_is_left_out() -> None:
    mean, _ = average_measurements(noisy_measurements(400, 1))
    inside = np.flatnonzero(((mean.device > 0.1) & (mean.device < 0.9)).all(axis=1))[7]
    spoilt = mean.lab.copy()
    spoilt[inside] += [18.0, -12.0, 9.0]
    _, report = build_with_report(Measurements(mean.device, "RGB", spoilt))
    assert report.patches_left_out == 1
    assert report.cross_validation_p95_de00 < 1.5


def test_a_bad_reading_among_three_is_left_out_of_the_mean() -> None:
    sets = noisy_measurements(200)
    spoilt = sets[1].lab.copy()
    spoilt[5] += [20.0, 0.0, 0.0]
    mean, left_out = average_measurements([sets[0], Measurements(sets[1].device, "RGB", spoilt), sets[2]])
    assert left_out == 1
    assert np.linalg.norm(mean.lab[5] - (sets[0].lab[5] + sets[2].lab[5]) / 2) < 1e-9


def test_measurements_of_different_charts_are_not_averaged() -> None:
    first, second = noisy_measurements(200, 1)[0], noisy_measurements(300, 1)[0]
    with pytest.raises(InputError, match="same chart"):
        average_measurements([first, second])


@pytest.mark.parametrize(
    ("measurements", "code"),
    [
        (lambda: noisy_measurements(200, 1)[0].subset(np.arange(20)), "patch_count"),
        (lambda: _without_paper(noisy_measurements(200, 1)[0]), "paper_missing"),
        (lambda: _muted(noisy_measurements(400, 1)[0]), "solids_missing"),
        (lambda: _pale(noisy_measurements(200, 1)[0]), "print_too_pale"),
        (lambda: _shuffled(noisy_measurements(200, 1)[0]), "measurements_contradict"),
    ],
)
def test_what_can_not_carry_a_profile_is_refused(measurements: object, code: str) -> None:
    with pytest.raises(InputError) as refusal:
        build_profile(measurements())  # type: ignore[operator]
    assert refusal.value.code == code


def _without_paper(measurements: Measurements) -> Measurements:
    return measurements.subset(~(measurements.device == 1).all(axis=1))


def _muted(measurements: Measurements) -> Measurements:
    paper = (measurements.device == 1).all(axis=1)
    return measurements.subset(paper | (measurements.device.min(axis=1) > 0.3))


def _pale(measurements: Measurements) -> Measurements:
    return Measurements(measurements.device, "RGB", measurements.lab * [0.1, 0.1, 0.1] + [85, 0, 0])


def _shuffled(measurements: Measurements) -> Measurements:
    lab = np.roll(measurements.lab, 1, axis=0)
    paper = (measurements.device == 1).all(axis=1)
    lab[paper] = measurements.lab[paper]
    return Measurements(measurements.device, "RGB", lab)


@pytest.mark.parametrize("options", [BuildOptions(total_ink_pct=50), BuildOptions(black_start_lstar=5)])
def test_options_out_of_range_are_refused(options: BuildOptions) -> None:
    with pytest.raises(InputError):
        build_profile(noisy_measurements(200, 1)[0], options)


@pytest.mark.parametrize("patches", [150, 400, 1000, 1600])
def test_chart_covers_the_cube(patches: int) -> None:
    chart = rgb_chart(patches)
    assert chart.shape == (patches, 3)
    assert np.abs(chart * 255 - np.round(chart * 255)).max() < 1e-9
    assert (chart == 1).all(axis=1).sum() >= 2
    corners = {tuple(row) for row in chart[np.isin(chart, (0.0, 1.0)).all(axis=1)].tolist()}
    assert len(corners) == 8
    neutral = np.unique(chart[(np.ptp(chart, axis=1) == 0)][:, 0])
    assert len(neutral) >= 10
    assert np.diff(neutral).max() <= 0.12
    points = np.random.default_rng(0).random((2000, 3))
    nearest = np.min(np.linalg.norm(points[:, None] - chart[None], axis=2), axis=1)
    assert nearest.max() <= 2.3 * (1 / patches) ** (1 / 3)
    assert np.array_equal(chart, rgb_chart(patches))


def test_absurd_charts_are_refused() -> None:
    with pytest.raises(InputError):
        rgb_chart(3)
