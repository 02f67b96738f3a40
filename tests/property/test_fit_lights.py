"""Likeness with its slope, and lightness by place and tone: right slopes, the same by parts, nearer to the master."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter

from wallworthy.fit.eye import scales_of, similarity
from wallworthy.fit.lights import APART, DARK_STEPS, STEEPEST, STRAY, TONES, Frame, Lights, lights_for
from wallworthy.fit.likeness import Likeness

pytestmark = pytest.mark.practice


def clouds(height: int, width: int, seed: int = 1) -> np.ndarray:
    """L* of soft shapes of several sizes, 5 to 95."""
    noise = np.random.default_rng(seed).standard_normal((3, height, width))
    soft = np.zeros((height, width))
    for plane, size in zip(noise, (1.0, 4.0, 16.0), strict=True):
        soft += size * gaussian_filter(plane, size)
    soft -= soft.min()
    return (5 + 90 * soft / soft.max()).astype(np.float32)


def lifted(lightness: np.ndarray) -> np.ndarray:
    """By a curve that lifts the shadows from a black of 15 more than it must."""
    return (100 * (0.15 + 0.85 * (lightness / 100)) ** 0.8).astype(np.float32)


@settings(max_examples=15, deadline=None)
@given(st.integers(11, 200), st.integers(11, 200), st.integers(0, 9))
def test_likeness_is_the_figure_that_fits_are_told_by(height: int, width: int, seed: int) -> None:
    master = clouds(height, width, seed)
    lost, slope = Likeness(master).lost(lifted(master))
    assert np.exp(-lost) == pytest.approx(similarity(master, lifted(master)), abs=2e-5)
    assert slope.shape == master.shape


@settings(max_examples=15, deadline=None)
@given(st.integers(40, 150), st.integers(40, 150), st.integers(0, 9), st.booleans())
def test_the_slope_is_what_a_small_change_makes(height: int, width: int, seed: int, weighted: bool) -> None:
    master = clouds(height, width, seed)
    rng = np.random.default_rng(seed + 100)
    weight = rng.uniform(1, 8, master.shape) if weighted else None
    likeness, printed = Likeness(master, weight), lifted(master)
    _, slope = likeness.lost(printed)
    way = gaussian_filter(rng.standard_normal(master.shape), 5)
    way = (slope / np.abs(slope).max() + 0.2 * way / np.abs(way).max()).astype(np.float32)
    ahead, behind = likeness.lost(printed + way)[0], likeness.lost(printed - way)[0]
    assert (ahead - behind) / 2 == pytest.approx(float((slope * way).sum()), rel=0.05)


def test_places_that_matter_count_for_more() -> None:
    master = clouds(120, 480)
    printed = master.copy()
    printed[:, :240] = lifted(printed[:, :240])
    left = np.where(np.arange(480) < 240, 8.0, 1.0) * np.ones((120, 1))
    assert Likeness(master, left).lost(printed)[0] > 1.3 * Likeness(master).lost(printed)[0]
    assert Likeness(master, np.full(master.shape, 3.0)).lost(printed)[0] == pytest.approx(
        Likeness(master).lost(printed)[0], rel=1e-3
    )


def test_lights_bring_a_print_nearer_to_its_master() -> None:
    """Both in likeness and in lightness, where a curve had lifted more than the paper's black asks for."""
    master = clouds(180, 240)
    printed = lifted(master)
    found = lights_for(master, master / 100, printed, 15.0, 30.0)
    assert found is not None
    asked = printed + 100 * found.at(master / 100, Frame(0, 0, *master.shape))
    ours = np.clip(asked, 15, 100).astype(np.float32)
    lost = [Likeness(master).lost(plane)[0] for plane in (printed, ours)]
    away = [float(((plane - master) ** 2).mean()) for plane in (printed, ours)]
    assert lost[1] < 0.7 * lost[0]
    assert away[1] < 0.7 * away[0]


def test_no_light_is_asked_for_where_nothing_was_lost() -> None:
    master = clouds(180, 240)
    found = lights_for(master, master / 100, master, 0.0, 30.0)
    assert found is not None
    assert np.abs(found.nodes).max() < 1e-3, "a tenth of one L*"


def test_straying_is_priced_from_what_is_wanted() -> None:
    """Of a print that is as alike as can be, nothing but that price moves anything."""
    master = clouds(180, 240)
    higher, lower = (lights_for(master, master / 100, master, 0.0, 30.0, wanted=master + aim) for aim in (6.0, -6.0))
    assert higher is not None
    assert lower is not None
    assert 0.3 < 100 * float(higher.at(master / 100, Frame(0, 0, *master.shape)).mean()) < 6
    assert -6 < 100 * float(lower.at(master / 100, Frame(0, 0, *master.shape)).mean()) < -0.3


def test_dark_tones_come_no_nearer_to_each_other() -> None:
    """Even where nothing but darker shadows is wanted; and a ramp of any tones stays one."""
    master = clouds(180, 240)
    found = lights_for(master, master / 100, lifted(master), 5.0, 30.0, wanted=master - 20)
    assert found is not None
    steps = np.diff(100 * found.nodes, axis=-1) / (100 / (TONES - 1))
    assert steps[..., :DARK_STEPS].min() >= APART - 1e-5
    assert found.nodes[..., 0].min() >= -1e-6, "nothing is pressed below black"
    assert np.abs(steps).max() <= STEEPEST + 1e-5
    assert found.nodes.min() < -0.01, "lights do become darker"


def test_the_curve_s_own_slope_is_never_used_up() -> None:
    master = clouds(180, 240)
    flat = np.interp(np.arange(101.0), [0, 40, 70, 100], [15, 50, 51, 100])
    found = lights_for(master, master / 100, np.interp(master, np.arange(101.0), flat), 15.0, 30.0, tone=flat)
    assert found is not None
    more = found.nodes.reshape(-1, TONES) * 100.0
    at = np.linspace(0, 100, TONES)
    assert np.abs(more).max() > 1
    for node in more:
        assert np.diff(flat + np.interp(np.arange(101.0), at, node)).min() > 0, "tones rise everywhere"


def test_a_picture_too_small_to_be_looked_at_is_left_alone() -> None:
    tiny = clouds(19, 200)
    assert lights_for(tiny, tiny / 100, lifted(tiny), 15.0, 30.0) is None
    assert scales_of(tiny.shape) == 1


@settings(max_examples=30, deadline=None)
@given(st.integers(20, 90), st.integers(20, 90), st.data())
def test_a_part_gets_what_the_whole_gets_there(height: int, width: int, data: st.DataObject) -> None:
    rng = np.random.default_rng(height)
    lights = Lights(rng.uniform(-0.1, 0.1, (3, 5, TONES)).astype(np.float32))
    light = rng.random((height, width), dtype=np.float32)
    whole = lights.at(light, Frame(0, 0, height, width))
    top, left = data.draw(st.integers(0, height - 1)), data.draw(st.integers(0, width - 1))
    part = light[top : top + 11, left : left + 7]
    assert np.array_equal(lights.at(part, Frame(top, left, height, width)), whole[top : top + 11, left : left + 7])


def test_lights_run_straight_from_node_to_node() -> None:
    nodes = np.zeros((2, 3, TONES), np.float32)
    nodes[:, 1, 2] = 0.1
    lights = Lights(nodes)
    tones = np.array([[1, 2, 2.5, 3]], np.float32) / (TONES - 1)
    middle = lights.at(tones, Frame(5, 500, 11, 1001))[0]
    assert middle[0] == pytest.approx(0.1 * 0, abs=1e-6)
    assert middle[1:] == pytest.approx([0.1, 0.05, 0.0], abs=5e-4)
    assert 0 < STRAY < 1e-3
