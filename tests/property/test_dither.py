"""Dither: fixed by place, true in the mean, silent on bare paper, without bands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallworthy.raster.dither import SPARED, threshold_mask, to_8_bits, to_16_bits
from wallworthy.raster.mask import made_ranks, mask_ranks


def flat(value: float, channels: int = 3) -> np.ndarray:
    return np.full((64, 128, channels), value, np.float32)


@pytest.mark.source("Ulichney1993", "each rank once, energy at high frequencies")
def test_mask_is_a_permutation_with_blue_spectrum() -> None:
    mask = threshold_mask()
    assert np.array_equal(np.sort(mask.ravel()), (np.arange(4096, dtype=np.float32) + 0.5) / 4096)
    for level in (0.1, 0.3, 0.5):
        power = np.abs(np.fft.fft2((mask < level) - level)) ** 2
        radius = np.hypot(*np.meshgrid(np.fft.fftfreq(64), np.fft.fftfreq(64)))
        low, all_power = power[(radius > 0) & (radius < 0.1)].mean(), power[radius > 0].mean()
        assert low < 0.1 * all_power


@pytest.mark.source("Ulichney1993", "the kept mask is the one that void-and-cluster makes")
def test_the_kept_mask_is_the_made_one() -> None:
    assert np.array_equal(mask_ranks(), made_ranks())


@given(value=st.floats(0, 1, width=32))
def test_mean_is_kept(value: float) -> None:
    codes = to_8_bits(flat(value), 0)
    assert codes.mean() == pytest.approx(255 * value, abs=SPARED + 1 / 2048)
    assert int(codes.max()) - int(codes.min()) <= 1


@given(code=st.integers(0, 255), off=st.floats(-SPARED * 0.9, SPARED * 0.9))
def test_whole_codes_stay(code: int, off: float) -> None:
    assert np.all(to_8_bits(flat((code + off) / 255), 17) == code)


def test_all_8_bit_pictures_pass_unharmed() -> None:
    codes = np.random.default_rng(1).integers(0, 256, (90, 70, 4), dtype=np.uint8)
    assert np.array_equal(to_8_bits(codes.astype(np.float32) / np.float32(255), 0), codes)


def test_bare_paper_stays_bare() -> None:
    assert not to_8_bits(flat(SPARED / 255 * 0.99, 4), 0).any()
    assert np.all(to_8_bits(flat(1 - SPARED / 255 * 0.99), 0) == 255)


def test_ramp_keeps_its_mean_and_shows_no_bands() -> None:
    """A ramp over three codes: rounding leaves steps, the dithered ramp's local mean follows it."""
    ramp = np.linspace(100.0, 103.0, 1024)
    strip = np.tile((ramp / 255).astype(np.float32)[None, :, None], (64, 1, 1))
    local = to_8_bits(strip, 0).astype(float).mean(axis=(0, 2)).reshape(64, 16).mean(axis=1)
    assert np.abs(local - ramp.reshape(64, 16).mean(axis=1)).max() < 0.06
    rounded = np.rint(ramp).reshape(64, 16).mean(axis=1)
    assert np.abs(rounded - ramp.reshape(64, 16).mean(axis=1)).max() > 0.4


def test_place_alone_decides() -> None:
    strip = np.random.default_rng(2).random((150, 200, 3), dtype=np.float32)
    whole = to_8_bits(strip, 0)
    for rows in (1, 13, 64, 100):
        pieces = [to_8_bits(strip[r : r + rows], r) for r in range(0, 150, rows)]
        assert np.array_equal(np.concatenate(pieces), whole)


def test_channels_use_different_places() -> None:
    codes = to_8_bits(flat(100.5 / 255), 0)
    same = (codes[..., 0] == codes[..., 1]).mean()
    assert 0.3 < same < 0.7


def test_16_bits_are_rounded() -> None:
    codes = np.arange(65536, dtype=np.uint16).reshape(256, 256, 1)
    assert np.array_equal(to_16_bits(codes.astype(np.float32) / np.float32(65535)), codes)
    beyond = np.array([[[-0.1], [1.1], [0.5 / 65535 * 1.01]]], np.float32)
    assert to_16_bits(beyond).ravel().tolist() == [0, 65535, 1]
