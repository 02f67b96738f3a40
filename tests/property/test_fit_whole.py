"""The way `whole`: greys, hues, tones and what fits stay; the boundary is where brute force finds it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import pyvips

from wallworthy.base.records import Correction, Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import lab_to_working
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.fit.boundary import Boundary, boundary, hue_of, jpt_to_lab, lab_to_jpt
from wallworthy.fit.compose import compose, device_of, direct
from wallworthy.fit.figures import distinct_steps, largest_step, ramps, reversed_tones
from wallworthy.fit.inverse import ink_limit, nearest_device
from wallworthy.fit.tone import APART, DEEP_LSTAR, KNOTS, Tones, tone_curve
from wallworthy.fit.ways import Source, source_of
from wallworthy.fit.whole import Whole, choose_for_picture
from wallworthy.icc.quick import print_device, print_lab
from wallworthy.icc.read import Profile, parse_profile

pytestmark = pytest.mark.practice
PX_PER_DEGREE = 30.0


@pytest.fixture(scope="module")
def output(published_profile: Callable[[str], bytes]) -> Profile:
    return parse_profile(published_profile("fogra39"), "fogra39")


@pytest.fixture(scope="module")
def bounds(output: Profile) -> Boundary:
    return boundary(output)


def scene(strength: float = 100.0, darkest: float = 1.0) -> np.ndarray:
    """Stripes of every hue over all tones, and grey texture in the shadows, working RGB (120, 180, 3)."""
    y, x = np.mgrid[0:120, 0:180]
    hue, chroma = np.radians(x * 2.0), strength * np.sin(np.pi * y / 119)
    lab = np.stack([darkest + (98 - darkest) * y / 119, chroma * np.cos(hue), chroma * np.sin(hue)], axis=-1)
    lab[:40, :60] = 0
    lab[:40, :60, 0] = darkest + 12 + 8 * np.sin(x[:40, :60] / 2) * np.cos(y[:40, :60] / 3)
    return np.clip(lab_to_working(lab), 0, 1).astype(np.float32)


@pytest.fixture(scope="module")
def chosen(bounds: Boundary) -> Whole:
    return choose_for_picture(scene(), bounds, PX_PER_DEGREE)


def test_the_boundary_is_where_brute_force_finds_it(output: Profile, bounds: Boundary) -> None:
    """Colours printed from inks the profile itself lays, most of them on the surface: 95 % lie within 0.02."""
    dice = np.random.default_rng(1)
    lab = dice.uniform([0, -100, -100], [100, 100, 100], (150_000, 3)).astype(np.float32)
    ipt = lab_to_jpt(print_lab(output, print_device(output, lab)))
    beyond = np.hypot(ipt[:, 1], ipt[:, 2]) - bounds.reach_at(hue_of(ipt), ipt[:, 0])
    assert np.quantile(beyond, 0.95) < 0.02
    assert np.quantile(beyond, 0.99) < 0.04, "where cliffs were smoothed"
    near = beyond > -0.03
    found = np.bincount((hue_of(ipt[near]) / 30).astype(int), minlength=12)
    assert (found > 100).all(), "in every hue some printed colours come near the boundary"


def test_the_nearest_is_held_has_the_same_hue_and_is_the_nearest(bounds: Boundary) -> None:
    dice = np.random.default_rng(2)
    ipt = lab_to_jpt(dice.uniform([15, -120, -120], [95, 120, 120], (400, 3)))
    near = bounds.nearest(ipt)
    assert bounds.inside(near * [1, 0.999, 0.999]).all()
    turn = np.abs((hue_of(near) - hue_of(ipt) + 180) % 360 - 180)
    assert turn[np.hypot(near[:, 1], near[:, 2]) > 1e-6].max() < 1e-6
    assert np.array_equal(near[bounds.inside(ipt)], ipt[bounds.inside(ipt)])
    for colour, went in zip(ipt[:40], near[:40], strict=True):
        share = dice.uniform([bounds.black_i, 0], [1, 1], (3000, 2))
        tried = np.column_stack([share[:, 0], share[:, 1:] * colour[1:]])
        held = tried[bounds.inside(tried)]
        assert np.linalg.norm(went - colour) <= np.linalg.norm(held - colour, axis=1).min() + 0.01
    assert 0.05 < bounds.volume < 0.5
    assert (bounds.cusp_chroma > 0.2).all()


def test_tones_rise_from_black_to_white_and_give_way_where_nothing_is() -> None:
    lightness = np.concatenate([np.linspace(5, 25, 4000), np.linspace(70, 90, 4000)])
    deviation = np.where(lightness < 50, 5.0, 0.5)
    curve = tone_curve(Tones.of(lightness, deviation), 15.0)
    assert curve[[0, -1]] == pytest.approx([15, 100])
    slopes = np.diff(curve)
    assert (slopes > 0).all()
    assert slopes[: int(DEEP_LSTAR)].min() >= APART * 0.98, "steps of the deepest shadows stay apart"
    assert slopes[16:24].mean() > slopes[30:60].mean() > 0, "texture the paper holds keeps its slope"
    assert slopes[16:24].mean() > slopes[:10].mean(), "what it can't hold gives way first"


def test_a_paper_as_black_as_the_master_moves_no_tone() -> None:
    curve = tone_curve(Tones.of(np.linspace(0, 100, 999), np.ones(999)), 0.0)
    assert curve == pytest.approx(KNOTS)


def test_greys_stay_grey_and_hues_stay(chosen: Whole) -> None:
    lightness = np.linspace(0, 100, 101)
    greys = chosen.lab(np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1))
    assert np.abs(greys[:, 1:]).max() < 0.05
    assert not reversed_tones(greys[:, 0])
    lab = np.random.default_rng(3).uniform([2, -120, -120], [98, 120, 120], (5000, 3))
    before, after = lab_to_jpt(lab), lab_to_jpt(chosen.lab(lab))
    seen = np.hypot(after[:, 1], after[:, 2]) > 0.01
    turn = np.abs((hue_of(after) - hue_of(before) + 180) % 360 - 180)
    assert turn[seen].max() < 0.01


def test_a_strong_red_is_led_to_where_a_matt_paper_holds_it() -> None:
    """Below its strongest red a matt paper's reach falls off as a cliff does: at the red's own tone it holds 44 of C*
    98, three L* lighter 78."""
    matt = boundary(parse_profile(characterised(VirtualPrinter("matt")), "matt"))
    lab = np.full((90, 120, 3), [46.0, -12.0, -18.0])
    lab[..., 0] += 30 * np.linspace(-1, 1, 90)[:, None]
    lab[30:50, 40:60] = [49.0, 74.0, 61.0]
    picture = np.clip(lab_to_working(lab), 0, 1).astype(np.float32)
    (printed,) = choose_for_picture(picture, matt, PX_PER_DEGREE).lab(np.array([[49.0, 74.0, 61.0]]))
    assert np.hypot(printed[1], printed[2]) > 50, "with rays that turn from the first it was 43"
    assert ciede2000(np.array([49.0, 74.0, 61.0]), printed) < 13.5


def test_asked_colours_are_held(chosen: Whole, bounds: Boundary) -> None:
    lab = np.random.default_rng(4).uniform([0, -128, -128], [100, 128, 128], (5000, 3))
    ipt = lab_to_jpt(chosen.lab(lab))
    over = np.hypot(ipt[:, 1], ipt[:, 2]) - bounds.reach_at(hue_of(ipt), ipt[:, 0])
    assert np.quantile(over, 0.99) < 0.01


def test_a_picture_that_fits_is_left_alone(bounds: Boundary) -> None:
    picture = scene(strength=14, darkest=bounds.black_lstar + 14)
    lab = jpt_to_lab(lab_to_jpt(np.asarray(working(picture))))
    away = ciede2000(lab, choose_for_picture(picture, bounds, PX_PER_DEGREE).lab(lab))
    assert bounds.inside(lab_to_jpt(lab)).mean() > 0.99
    assert away.mean() <= 0.3


def working(picture: np.ndarray) -> np.ndarray:
    from wallworthy.colour.working import working_to_lab

    return working_to_lab(picture)


def test_the_inverse_comes_nearer_and_lays_no_more_ink(output: Profile, bounds: Boundary) -> None:
    dice = np.random.default_rng(5)
    ipt = dice.uniform([0.25, -0.3, -0.3], [0.95, 0.3, 0.3], (9000, 3))
    lab = jpt_to_lab(ipt[bounds.inside(ipt)]).astype(np.float32)
    plain, ours = print_device(output, lab), nearest_device(output, lab)
    before, after = ciede2000(lab, print_lab(output, plain)), ciede2000(lab, print_lab(output, ours))
    assert after.mean() < 0.6 * before.mean()
    assert np.quantile(after, 0.99) < np.quantile(before, 0.99)
    assert ours.sum(axis=1).max() <= ink_limit(output) + 1e-4
    assert ours.min() >= 0
    assert ours.max() <= 1


def test_inks_at_their_end_do_not_hold_up_the_others() -> None:
    """The measured CMYK's inversion lays black alone for light greys, up to 4 L* too much of it and tinted."""
    press = parse_profile(bytes(pyvips.Operation.call("profile_load", "cmyk")), "cmyk")
    lightness = np.arange(20.0, 100.0)
    greys = np.stack([lightness, 0 * lightness, 0 * lightness], axis=-1).astype(np.float32)
    plain, ours = (print_lab(press, lay(press, greys)) for lay in (print_device, nearest_device))
    assert np.abs(plain[:, 0] - lightness).max() > 2
    assert np.abs(ours[:, 0] - lightness).max() < 0.5
    assert ciede2000(ours, ours * [1, 0, 0]).max() < 0.3


def test_shadows_that_must_not_suffer_are_asked_for_in_full() -> None:
    lightness = np.linspace(1, 60, 5000)
    deviation = np.ones(5000)
    plain = tone_curve(Tones.of(lightness, deviation), 15.0)
    asked = tone_curve(Tones.of(lightness, deviation, np.where(lightness < 30, 8.0, 1.0)), 15.0)
    assert np.diff(asked)[:12].mean() > 1.1 * np.diff(plain)[:12].mean()
    both = Tones.together([Tones.of(lightness, deviation), Tones.of(lightness, deviation, np.full(5000, 8.0))])
    assert both.asked[10:50] == pytest.approx(0.5 * (1 - 1 / 8), abs=1e-6)


def test_a_choice_is_needed_and_white_stays_bare(output: Profile, chosen: Whole) -> None:
    with pytest.raises(ValueError, match="nothing was chosen"):
        direct(output, Way.WHOLE, Correction(), source_of(None))
    source = Source(source_of(None).black_lab, source_of(None).white_xyz, chosen)
    for correction in (Correction(), Correction(lightness=5, contrast=1.1, chroma=1.2)):
        white = direct(output, Way.WHOLE, correction, source)(np.ones((1, 3)))
        assert np.abs(white).max() <= 1e-4


def test_the_table_is_near_the_function_and_ramps_show_no_steps(output: Profile, chosen: Whole) -> None:
    source = Source(source_of(None).black_lab, source_of(None).white_xyz, chosen)
    fitted = compose(output, Way.WHOLE, Correction(), source)
    assert fitted.nodes is not None
    assert fitted.figures.mean_de00 < 0.1
    lines = np.clip(lab_to_working(ramps()), 0, 1).astype(np.float32)
    printed = print_lab(output, device_of(fitted, lines))
    assert not reversed_tones(printed[0, :, 0])
    assert largest_step(printed) < 1.2
    steps = np.clip(lab_to_working(np.stack([np.arange(26.0), np.zeros(26), np.zeros(26)], axis=-1)), 0, 1)
    plain = direct(output, Way.RELATIVE_BPC, Correction(), source_of(None))(steps)
    ours = print_lab(output, device_of(fitted, steps.astype(np.float32)[None]))[0, :, 0]
    assert distinct_steps(ours) >= distinct_steps(print_lab(output, plain)[:, 0])
