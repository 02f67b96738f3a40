"""Whatever happens to a picture's bytes, reading gives the whole picture or one sentence, and nothing else."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.pictures import exif, small_files
from wallworthy.base.errors import InputError
from wallworthy.master.open import open_master
from wallworthy.master.source import working_source
from wallworthy.raster.capture import exif_facts

pytestmark = pytest.mark.practice

FILES = small_files()
EXTREMES = [0, 1, 2, 8, 0x7F, 0xFF, 0xFFFF, 0x10000, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF]

names = st.sampled_from(sorted(FILES))
places = st.one_of(st.integers(0, 200), st.integers(0, 20_000))
bytes_changed = st.lists(st.tuples(places, st.integers(0, 255)), min_size=1, max_size=8)
words_changed = st.lists(st.tuples(places, st.sampled_from(EXTREMES), st.sampled_from("<>")), max_size=3)
often = settings(
    max_examples=250,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
    derandomize=True,
)


def outcome(path: Path) -> str:
    """'read' when every pixel came, the code of the refusal otherwise; anything else escapes."""
    try:
        master = open_master(path)
        source = working_source(master)
        rows = 0
        for strip in source.strips(13):
            assert strip.shape[1:] == (master.width_px, 3)
            assert strip.dtype == np.uint16
            rows += len(strip)
        assert rows == master.height_px
    except InputError as error:
        plain = error.text.endswith(".") and error.mend.endswith(".") and "\n" not in error.text
        return error.code if plain else f"not a sentence: {error.text!r} {error.mend!r}"
    return "read"


@often
@given(names, bytes_changed, words_changed)
def test_changed_bytes(
    tmp_path: Path, name: str, changes: list[tuple[int, int]], words: list[tuple[int, int, str]]
) -> None:
    data = bytearray(FILES[name])
    for place, value in changes:
        data[place % len(data)] = value
    for place, value, order in words:
        struct.pack_into(order + "I", data, place % (len(data) - 4), value)
    path = tmp_path / name
    path.write_bytes(data)
    assert outcome(path) == "read" or outcome(path).startswith("master_")


@often
@given(names, places, places)
def test_pieces_taken_out(tmp_path: Path, name: str, first: int, second: int) -> None:
    data = FILES[name]
    start, end = sorted((first % len(data), second % len(data)))
    path = tmp_path / name
    path.write_bytes(data[:start] + data[end:])
    assert outcome(path) == "read" or outcome(path).startswith("master_")


@often
@given(names, names, places)
def test_one_file_run_into_another(tmp_path: Path, name: str, other: str, place: int) -> None:
    path = tmp_path / name
    path.write_bytes(FILES[name][: place % len(FILES[name])] + FILES[other])
    assert outcome(path) == "read" or outcome(path).startswith("master_")


@settings(max_examples=400, deadline=None, derandomize=True)
@given(st.binary(max_size=400), bytes_changed)
def test_exif_never_fails(noise: bytes, changes: list[tuple[int, int]]) -> None:
    block = bytearray(exif(3, more=True, colour_space=1))
    for place, value in changes:
        block[place % len(block)] = value
    for data in (bytes(block), noise, b"II*\0\x08\0\0\0" + noise, b"MM\0*\0\0\0\x08" + noise):
        facts = exif_facts(data)
        assert 1 <= facts.orientation <= 8
        assert all(text and len(text) <= 250 and text.isprintable() for text in facts.capture.values())
