"""Beside black and white: greys are neutral down to the darkest, colours set in smoothly, in the table, too."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import pyvips

from wallworthy.base.records import Correction, Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import lab_to_working
from wallworthy.fit.boundary import boundary, lab_to_jpt
from wallworthy.fit.bounded import least_within
from wallworthy.fit.compose import direct
from wallworthy.fit.corners import CELLS, rounded
from wallworthy.fit.figures import largest_step, ramps
from wallworthy.fit.grey_axis import NEAR_GREY
from wallworthy.fit.inverse import _stepped, ink_limit, nearest_device  # pyright: ignore[reportPrivateUsage]
from wallworthy.fit.tone import KNOTS
from wallworthy.fit.ways import Source, source_of
from wallworthy.fit.whole import (
    Whole,
    along_ray,
    axis_of_ray,
    choose_for_picture,
    toned,
)
from wallworthy.icc.lut import apply_lut, nodes_grid
from wallworthy.icc.quick import print_device, print_lab
from wallworthy.icc.read import Profile, parse_profile

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def press() -> Profile:
    """A measured CMYK whose own table gives dark greys a tint of a dE00."""
    return parse_profile(bytes(pyvips.Operation.call("profile_load", "cmyk")), "cmyk")


def greys(press: Profile) -> np.ndarray:
    lightness = np.arange(boundary(press).black_lstar, 100, 0.1)
    return np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1).astype(np.float32)


def test_the_darkest_greys_are_neutral(press: Profile) -> None:
    wanted = greys(press)
    tables, ours = (print_lab(press, lay(press, wanted)) for lay in (print_device, nearest_device))
    assert ciede2000(tables, tables * [1, 0, 0]).max() > 0.9
    assert ciede2000(ours, ours * [1, 0, 0]).max() < 0.3
    assert (np.diff(ours[:, 0]) > -0.01).all()


def test_no_ink_jumps_from_grey_to_grey_and_none_is_laid_beyond_the_limit(press: Profile) -> None:
    device = nearest_device(press, greys(press))
    assert np.abs(np.diff(device, axis=0)).max() < 0.05
    assert device.sum(axis=1).max() <= ink_limit(press) + 1e-5
    assert np.abs(nearest_device(press, np.array([[100, 0, 0]], np.float32))).max() < 1e-4


def test_colours_far_from_grey_are_laid_as_before(press: Profile) -> None:
    """What greys lay more fades with chroma, and nowhere makes neighbours part."""
    t = np.linspace(0, 40, 400)
    ray = np.stack([0 * t + 16, 0.6 * t, 0.8 * t], axis=-1).astype(np.float32)
    led, plain = nearest_device(press, ray), _stepped(press, ray)
    assert np.array_equal(led[t > NEAR_GREY], plain[t > NEAR_GREY])
    more = led - plain
    assert np.abs(more[0]).max() > 0.05
    assert np.abs(np.diff(more, axis=0)).max() < 0.03


def test_colours_set_in_from_black_no_faster_than_in_the_master() -> None:
    t = np.linspace(0, 12, 100)
    lab = np.stack([t, 1.6 * t, -0.9 * t], axis=-1)
    lifted = np.hypot(*toned(lab_to_jpt(lab), 15 + 0.85 * KNOTS)[:, 1:].T)
    kept = toned(lab_to_jpt(lab), KNOTS)
    plain = np.hypot(*kept[:, 1:].T)
    assert np.abs(kept - lab_to_jpt(lab)).max() < 1e-9, "where tones stay, colours stay"
    assert (np.diff(lifted) > 0).all()
    assert lifted[1] < 2.2 * plain[1]


@pytest.fixture(scope="module")
def output(published_profile: Callable[[str], bytes]) -> Profile:
    return parse_profile(published_profile("fogra39"), "fogra39")


@pytest.fixture(scope="module")
def chosen(output: Profile) -> Whole:
    y, x = np.mgrid[0:120, 0:180]
    hue, chroma = np.radians(x * 2.0), 40 * np.sin(np.pi * y / 119)
    lab = np.stack([1 + 97 * y / 119, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
    return choose_for_picture(np.clip(lab_to_working(lab), 0, 1).astype(np.float32), boundary(output), 30.0)


def test_corners_are_rounded_towards_the_function(output: Profile, chosen: Whole) -> None:
    source = Source(source_of(None).black_lab, source_of(None).white_xyz, chosen)
    chain = direct(output, Way.WHOLE, Correction(), source)
    nodes = chain(nodes_grid(65))
    before = nodes.copy()
    table = rounded(nodes, chain)
    assert np.array_equal(nodes, before), "what was given stays as it is"
    grey = np.arange(65)
    assert np.array_equal(table[grey, grey, grey], nodes[grey, grey, grey])
    assert np.array_equal(table[CELLS : 65 - CELLS], nodes[CELLS : 65 - CELLS])
    lines = np.clip(lab_to_working(ramps()), 0, 1).astype(np.float32)
    sampled, rounder = (
        largest_step(print_lab(output, apply_lut(one, lines)).astype(np.float64)) for one in (nodes, table)
    )
    assert rounder < 0.8 * sampled
    turn = np.radians(np.arange(0, 360, 15))[:, None, None]
    t, rise = np.linspace(0, 2.5, 50), np.array([0.4, 0.8, 1.6])[:, None]
    dark = np.stack(np.broadcast_arrays(t, rise * t * np.cos(turn), rise * t * np.sin(turn)), axis=-1)
    colours = np.clip(lab_to_working(dark), 0, 1).astype(np.float32)
    wanted = print_lab(output, chain(colours))
    missed = [ciede2000(print_lab(output, apply_lut(one, colours)), wanted).mean() for one in (nodes, table)]
    assert missed[1] < 0.8 * missed[0]


def test_bounds_that_hold_are_found() -> None:
    dice = np.random.default_rng(3)
    for _ in range(20):
        base = dice.normal(size=(12, 8))
        square, pull = base.T @ base + 0.1 * np.eye(8), dice.normal(size=8) * 3
        x = least_within(square, pull, np.zeros(8), np.ones(8))
        downhill = pull - square @ x
        assert ((x >= 0) & (x <= 1)).all()
        assert np.abs(downhill[(x > 0) & (x < 1)]).max(initial=0) < 1e-7
        assert (downhill[x == 0] < 1e-7).all()
        assert (downhill[x == 1] > -1e-7).all()


def test_rays_never_come_from_beyond_black_or_white() -> None:
    """A colour between black and white lies on a ray that leaves the axis between them, and gets there and back."""
    light, turn = np.linspace(0, 1, 300)[None, :], np.array([-0.4, -0.2, -0.01, 0.0, 0.3, 2.0])[:, None]
    axis = axis_of_ray(light, turn + 0 * light)
    assert axis.min() >= 0
    assert axis.max() <= 1 + 1e-12
    assert (np.diff(axis, axis=1) > 0).all()
    assert np.abs(along_ray(axis, turn + 0 * light) - light).max() < 1e-9
