"""Output sharpening: makes up for the paper, overshoots little, leaves flats, noise, hue and ends alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from support.memory import photo_like
from wallworthy.raster.stream import rechunk, windows
from wallworthy.render.sharpen import (
    LARGEST_OVERSHOOT_PCT,
    LUMINANCE,
    Sharpening,
    blur_taps,
    gain_of,
    paper_sigma_mm,
    plan_sharpening,
    sharpen_window,
)

Floats = NDArray[np.float32]

LARGEST_GAIN = 2.0
"""1 + (1 - P) where P, the transfer of taps none of which is below zero, does not fall below zero."""

PRINTS = [(ppi, scale) for ppi in (100, 240, 300, 360, 720) for scale in (0.1, 0.3, 0.5, 0.9, 1, 1.3, 2, 2.95, 8)]


def sharpened(picture: Floats, plan: Sharpening) -> Floats:
    return np.concatenate([sharpen_window(w, plan) for _, w in windows([picture], plan.halo)])


def grey(values: NDArray[np.float64]) -> Floats:
    return np.repeat(values[..., None], 3, axis=2).astype(np.float32)


@pytest.mark.parametrize(("ppi", "scale"), PRINTS)
def test_gain_and_overshoot_are_bounded(ppi: float, scale: float) -> None:
    plan = plan_sharpening(ppi, scale, auto=True)
    plain = plan_sharpening(ppi, scale, auto=False)
    assert 1 <= plan.gain <= LARGEST_GAIN
    assert plan.overshoot_pct <= max(LARGEST_OVERSHOOT_PCT, plain.overshoot_pct) + 1e-6
    assert (plain.gain, plain.amount) == (1.0, 0.0)


@pytest.mark.parametrize(("ppi", "scale"), [(5000, 1000.0), (5000, 0.0005), (20, 40.0), (20, 1.0)])
def test_absurd_prints_cost_no_more(ppi: float, scale: float) -> None:
    plan = plan_sharpening(ppi, scale, auto=True)
    assert plan.halo <= 24
    assert 1 <= plan.gain <= LARGEST_GAIN + 0.005
    assert plan.overshoot_pct <= LARGEST_OVERSHOOT_PCT


def test_common_prints_get_their_full_share() -> None:
    for ppi, scale in [(300, 1), (360, 1), (360, 2), (300, 2.95), (720, 4)]:
        assert plan_sharpening(ppi, scale, auto=True).amount == 1.0


@pytest.mark.source("Lindeberg1990", "discrete Gaussian: variance and transfer exp(-t (1 - cos w))")
@pytest.mark.parametrize("ppi", [100, 300, 360, 720, 1440])
def test_taps_are_a_discrete_gaussian(ppi: float) -> None:
    sigma = paper_sigma_mm() * ppi / 25.4
    taps = np.asarray(blur_taps(sigma))
    offsets = np.arange(len(taps)) - len(taps) // 2
    omega = np.linspace(0, np.pi, 41)
    transfer = np.cos(omega[:, None] * offsets) @ taps
    np.testing.assert_allclose(transfer, np.exp(-(sigma**2) * (1 - np.cos(omega))), atol=2e-3)
    assert (taps * offsets**2).sum() == pytest.approx(sigma**2, rel=0.02)
    assert taps.min() >= 0
    assert taps.sum() == pytest.approx(1, abs=1e-12)
    assert np.all(transfer >= np.exp(-((sigma * omega) ** 2) / 2) - 2e-3)
    assert gain_of(tuple(taps), 1.0) <= LARGEST_GAIN


@pytest.mark.source("vanCittert1931", "one step: 1 + (1 - P) in place of 1 / P")
def test_half_contrast_frequency_gets_half_of_its_loss_back() -> None:
    """At the paper's MTF50 of 6 cycles/mm a wave of large contrast is raised by nearly 1 + (1 - 0.5)."""
    ppi = 1440
    plan = plan_sharpening(ppi, 1, auto=True)
    wave = 0.5 + 0.3 * np.sin(2 * np.pi * 6 / (ppi / 25.4) * np.arange(2400))
    sharp = sharpened(grey(np.tile(wave, (30, 1))), plan)[15, 300:2000, 0]
    ratio = (sharp.max() - sharp.min()) / 0.6
    assert ratio == pytest.approx(1.5, abs=0.02)


def test_edge_on_paper_is_steeper_and_barely_overshoots() -> None:
    ppi, fine = 360, 8
    plan = plan_sharpening(ppi, 1, auto=True)
    step = np.where(np.arange(80) < 40, 0.3, 0.7)
    sigma = paper_sigma_mm() * ppi / 25.4 * fine
    seen = {
        name: gaussian_filter(np.repeat(line.astype(float), fine), sigma)
        for name, line in (("plain", step), ("sharp", sharpened(grey(np.tile(step, (9, 1))), plan)[4, :, 0]))
    }
    assert np.diff(seen["sharp"]).max() > 1.15 * np.diff(seen["plain"]).max()
    assert 100 * (seen["sharp"].max() - 0.7) / 0.4 <= LARGEST_OVERSHOOT_PCT


def test_none_touches_nothing() -> None:
    picture = photo_like(40, 50).picture.astype(np.float32) / 65535
    assert np.array_equal(sharpened(picture, plan_sharpening(360, 2, auto=False)), picture)


@settings(max_examples=20, deadline=None)
@given(colour=st.tuples(*[st.floats(0, 1, width=32)] * 3))
def test_flat_areas_stay(colour: tuple[float, float, float]) -> None:
    flat = np.broadcast_to(np.array(colour, np.float32), (30, 30, 3))
    assert np.abs(sharpened(flat, plan_sharpening(360, 1, auto=True)) - flat).max() <= 2e-7


def test_noise_is_not_amplified_much() -> None:
    plan = plan_sharpening(360, 1, auto=True)
    noise = np.random.default_rng(6).normal(0, 1, (200, 200))
    for sigma, most in ((0.002, 1.06), (0.004, 1.15)):
        flat = sharpened(grey(0.5 + sigma * noise), plan)[..., 0]
        assert flat.std() / sigma <= most


def test_hue_stays_and_ends_are_never_passed() -> None:
    plan = plan_sharpening(360, 1, auto=True)
    picture = np.clip(photo_like(120, 130).picture.astype(np.float32) / 65535 * 1.4 - 0.2, 0, 1)
    sharp = sharpened(picture, plan)
    moved = sharp - picture
    assert np.abs(moved - moved[..., :1]).max() < 2e-7
    assert np.abs(moved).max() > 0.02
    assert sharp.min() >= -1e-7
    assert sharp.max() <= 1 + 1e-7


def test_bare_paper_beside_an_edge_stays_bare() -> None:
    picture = grey(np.where(np.arange(60) < 30, 0.2, 1.0)[None].repeat(20, axis=0))
    sharp = sharpened(picture, plan_sharpening(360, 1, auto=True))
    assert np.array_equal(sharp[:, 30:], picture[:, 30:])
    assert sharp[:, 29].max() < 0.2


@pytest.mark.parametrize("rows", [5, 8, 23, 64])
def test_strips_meet_without_a_seam(rows: int) -> None:
    plan = plan_sharpening(360, 2.95, auto=True)
    picture = photo_like(101, 47).picture.astype(np.float32) / 65535
    strips = [sharpen_window(w, plan) for _, w in windows(rechunk([picture], rows), plan.halo)]
    assert np.array_equal(np.concatenate(strips), sharpened(picture, plan))


def test_luminance_weights_sum_to_one() -> None:
    assert sum(LUMINANCE) == pytest.approx(1, abs=1e-12)
