"""Resampling: exact where nothing is resampled, true in place, even in tone, the same in any strips."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from support.memory import MemorySource, photo_like, working
from wallworthy.base.errors import InputError
from wallworthy.colour.lab import y_from_lightness
from wallworthy.raster.scale import axis_blocks, scaled_picture, scaled_strips


def test_own_size_keeps_every_sample() -> None:
    picture = np.random.default_rng(1).integers(0, 65536, (37, 23, 3)).astype(np.uint16)
    picture.flat[:65536] = np.arange(picture.size, dtype=np.uint16) * 25
    scaled = scaled_picture(MemorySource(picture), 23, 37)
    assert scaled.dtype == np.float32
    assert np.array_equal(np.rint(scaled * np.float32(65535)).astype(np.uint16), picture)


def test_every_16_bit_value_survives_the_float() -> None:
    picture = np.arange(65536, dtype=np.uint16).reshape(256, 256, 1).repeat(3, axis=2)
    scaled = scaled_picture(MemorySource(picture), 256, 256)
    assert np.array_equal(np.rint(scaled * np.float32(65535)).astype(np.uint16), picture)


@settings(max_examples=25, deadline=None)
@given(
    code=st.integers(0, 65535),
    size=st.tuples(st.integers(1, 60), st.integers(1, 60)),
    to=st.tuples(st.integers(1, 150), st.integers(1, 150)),
)
def test_constant_stays_that_constant(code: int, size: tuple[int, int], to: tuple[int, int]) -> None:
    source = MemorySource(np.full((*size, 3), code, np.uint16))
    scaled = scaled_picture(source, to[1], to[0])
    assert scaled.shape == (*to, 3)
    assert np.unique(scaled).size == 1
    assert np.array_equal(np.unique(np.rint(scaled * np.float32(65535))), [code])


@pytest.mark.parametrize("to", [(131, 90), (20, 31), (40, 100), (45, 9), (47, 61)])
def test_strips_do_not_matter(to: tuple[int, int]) -> None:
    source = photo_like(61, 47)
    whole = scaled_picture(source, *to)
    for rows in (1, 7, 64, 1000):
        strips = list(scaled_strips(source, *to, rows))
        assert all(strip.shape[0] == rows for strip in strips[:-1])
        assert np.array_equal(np.concatenate(strips), whole)


@pytest.mark.parametrize("to", [(141, 183), (17, 21)])
def test_mirror_and_turn(to: tuple[int, int]) -> None:
    """A half-pixel shift would show between a picture and its mirror image."""
    picture = photo_like(61, 47).picture
    plain = scaled_picture(MemorySource(picture), *to)
    mirrored = scaled_picture(MemorySource(picture[::-1, ::-1]), *to)[::-1, ::-1]
    turned = scaled_picture(MemorySource(picture.transpose(1, 0, 2)), to[1], to[0]).transpose(1, 0, 2)
    np.testing.assert_allclose(plain, mirrored, atol=2e-6)
    np.testing.assert_allclose(plain, turned, atol=2e-6)


@pytest.mark.source("Keys1981", "third-order: straight lines are reproduced")
@pytest.mark.parametrize("count", [101, 293, 517])
def test_ramp_lands_where_geometry_says(count: int) -> None:
    ramp = np.linspace(0.1, 0.9, 100)
    scaled = scaled_picture(working(np.tile(ramp, (3, 1))), count, 3)[1, :, 0]
    centre = (np.arange(count) + 0.5) * 100 / count - 0.5
    inside = (centre >= 1) & (centre <= 98)
    expected = 0.1 + 0.8 * centre / 99
    np.testing.assert_allclose(scaled[inside], expected[inside], atol=2e-5)
    assert inside.sum() > 0.95 * count


@pytest.mark.parametrize("to", [(40, 30), (333, 222), (1000, 700), (90, 700)])
def test_disc_keeps_its_centre_and_area(to: tuple[int, int]) -> None:
    row, column = np.mgrid[0:211, 0:301]
    disc = np.clip(60.5 - np.hypot(row - 105, column - 150), 0, 1)
    scaled = scaled_picture(working(disc), *to)[..., 0].astype(np.float64)
    if to[0] < 301:  # areas add up in light
        scaled, disc = y_from_lightness(scaled * 100), y_from_lightness(disc * 100)
    row_out, column_out = np.mgrid[0 : to[1], 0 : to[0]]
    weight = scaled.sum()
    assert (scaled * row_out).sum() / weight == pytest.approx((to[1] - 1) / 2, abs=1e-3)
    assert (scaled * column_out).sum() / weight == pytest.approx((to[0] - 1) / 2, abs=1e-3)
    assert weight * (301 / to[0]) * (211 / to[1]) == pytest.approx(disc.sum(), rel=0.002)


def test_edges_are_not_lost() -> None:
    picture = np.full((40, 60), 0.5)
    picture[0], picture[-1], picture[:, 0], picture[:, -1] = 0.9, 0.1, 0.2, 0.8
    large = scaled_picture(working(picture), 600, 400)[..., 0]
    assert large[0, 300] > 0.89
    assert large[-1, 300] < 0.11
    assert large[200, 0] < 0.21
    assert large[200, -1] > 0.79


@pytest.mark.source("ISOCIE11664-4", "L* of Y = 1/2 is 76.07")
@pytest.mark.parametrize("factor", [2, 4, 25])
def test_smaller_averages_light(factor: int) -> None:
    row, column = np.mgrid[0:200, 0:200]
    scaled = scaled_picture(working(((row + column) % 2).astype(float)), 200 // factor, 200 // factor)
    inner = scaled[2:-2, 2:-2] if factor < 25 else scaled[3:5, 3:5]
    np.testing.assert_allclose(inner, (116 * np.cbrt(0.5) - 16) / 100, atol=2e-3)


def test_very_large_reduction_is_the_mean_of_light() -> None:
    light = np.random.default_rng(3).random((64, 4096)) * 0.5 + 0.25
    source = working((116 * np.cbrt(light) - 16) / 100)
    scaled = scaled_picture(source, 16, 1)[0, :, 0]
    got = ((scaled.astype(np.float64) * 100 + 16) / 116) ** 3
    np.testing.assert_allclose(got, 0.5, atol=0.005)


@pytest.mark.parametrize("counts", [(100, 37), (100, 263), (5, 500), (500, 5), (1, 9), (9, 1)])
def test_blocks_cover_every_output_once(counts: tuple[int, int]) -> None:
    blocks = axis_blocks(*counts)
    assert [b.first_out for b in blocks] == [0, *(b.last_out for b in blocks[:-1])]
    assert blocks[-1].last_out == counts[1]
    assert blocks[0].first_in == 0
    assert blocks[-1].last_in == counts[0]
    for block in blocks:
        np.testing.assert_allclose(block.weights.sum(axis=0, dtype=np.float64), 1, atol=1e-6)


@pytest.mark.parametrize("to", [(200, 300), (20, 30), (60, 80)])
def test_errors_of_the_source_come_out_as_themselves(to: tuple[int, int]) -> None:
    source = MemorySource(photo_like(80, 60).picture, fails_at=70)
    with pytest.raises(InputError, match="ends too early"):
        scaled_picture(source, *to)


PROGRAM = """
import hashlib, sys
sys.path[:0] = [{tests!r}]
from support.memory import photo_like
from wallworthy.raster.scale import scaled_picture
for to in ((1301, 977), (97, 61)):
    print(hashlib.sha256(scaled_picture(photo_like(310, 470), *to).tobytes()).hexdigest())
"""


def test_number_of_threads_changes_no_bit() -> None:
    """The linear algebra library may use one thread or four: the products are too small for it to matter."""
    tests = str(Path(__file__).resolve().parents[1])
    sums = [
        subprocess.run(
            [sys.executable, "-c", PROGRAM.format(tests=tests)],
            env={**os.environ, "OPENBLAS_NUM_THREADS": threads},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for threads in ("1", "4")
    ]
    assert len(sums[0].split()) == 2
    assert sums[0] == sums[1]
