"""Strips on their way: same rows, same order, errors as themselves, nothing left running."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.raster.pipe import piped_image, strips_of
from wallworthy.raster.stream import ordered_map, prefetched, rechunk, windows


def cut(picture: NDArray[np.int64], heights: list[int]) -> Iterator[NDArray[np.int64]]:
    row = 0
    while row < len(picture):
        height = heights[row % len(heights)] or 1
        yield picture[row : row + height]
        row += height


def failing(after: int) -> Iterator[NDArray[np.uint8]]:
    for _ in range(after):
        yield np.zeros((10, 40, 3), np.uint8)
    raise InputError("cut", "The picture ends too early.", "Save it again.")


@given(rows=st.integers(1, 40), heights=st.lists(st.integers(1, 9), min_size=1), want=st.integers(1, 50))
def test_rechunk_keeps_rows(rows: int, heights: list[int], want: int) -> None:
    picture = np.arange(rows * 2).reshape(rows, 2, 1)
    strips = list(rechunk(cut(picture, heights), want))
    assert np.array_equal(np.concatenate(strips), picture)
    assert [len(s) for s in strips[:-1]] == [want] * (len(strips) - 1)
    assert 1 <= len(strips[-1]) <= want


@given(rows=st.integers(1, 40), want=st.integers(3, 12), halo=st.integers(0, 3))
def test_windows_see_their_neighbours(rows: int, want: int, halo: int) -> None:
    picture = np.arange(rows).reshape(rows, 1, 1)
    padded = np.pad(picture, ((halo, halo), (0, 0), (0, 0)), mode="edge")
    seen = 0
    for first, window in windows(rechunk([picture], want), halo):
        count = len(window) - 2 * halo
        assert first == seen
        assert np.array_equal(window, padded[first : first + count + 2 * halo])
        seen += count
    assert seen == rows


def test_ordered_map_keeps_order_and_bounds_the_work() -> None:
    under_way: list[int] = []

    def work(n: int) -> int:
        time.sleep(0.001 * (n % 3))
        return n * n

    def items() -> Iterator[int]:
        for n in range(50):
            under_way.append(n)
            yield n

    got = []
    for value in ordered_map(work, items(), ahead=4):
        got.append(value)
        assert len(under_way) - len(got) <= 4
    assert got == [n * n for n in range(50)]


def test_errors_come_out_as_themselves_and_threads_end() -> None:
    before = threading.active_count()
    with pytest.raises(InputError, match="too early"):
        list(prefetched(failing(3)))
    with pytest.raises(InputError, match="too early"):
        list(ordered_map(lambda strip: strip, failing(3)))
    with pytest.raises(ZeroDivisionError):
        list(ordered_map(lambda n: 1 // n, [2, 1, 0, 3]))
    assert threading.active_count() == before


def test_leaving_early_ends_the_thread_ahead() -> None:
    before = threading.active_count()
    ahead = prefetched(iter(range(10**9)))
    assert next(ahead) == 0
    ahead.close()
    assert threading.active_count() == before


@pytest.mark.parametrize(("channels", "bits"), [(1, 8), (3, 8), (1, 16), (3, 16)])
def test_through_libvips_and_back(channels: int, bits: int) -> None:
    dtype = np.uint8 if bits == 8 else np.uint16
    picture = np.random.default_rng(2).integers(0, 2**bits, (333, 57, channels)).astype(dtype)
    with piped_image(rechunk([picture], 20), 57, 333, channels=channels, bits=bits) as image:  # type: ignore[arg-type]
        back = np.concatenate(list(strips_of(image, 31)))
    assert back.dtype == dtype
    assert np.array_equal(back, picture)


@pytest.mark.parametrize("after", [0, 1, 7])
def test_failing_source_surfaces_through_libvips(after: int) -> None:
    with (
        pytest.raises(InputError, match="too early"),
        piped_image(failing(after), 40, 200, channels=3, bits=8) as image,
    ):
        image.avg()
