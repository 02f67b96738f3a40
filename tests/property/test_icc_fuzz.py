"""Whatever happens to a profile's bytes, reading them gives a profile or one sentence, never anything else."""

from __future__ import annotations

import struct
import tracemalloc

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from support.small_profiles import all_kinds
from wallworthy.base.errors import InputError
from wallworthy.icc.curves import read_curve
from wallworthy.icc.luts import Curves
from wallworthy.icc.read import parse_profile, read_lut, require_output, tag_span
from wallworthy.icc.text import read_text

pytestmark = pytest.mark.practice

KINDS = all_kinds()
EXTREMES = [0, 1, 2, 3, 0x7F, 0xFF, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFF0, 0xFFFFFFFF, 128, 132]
MOST_MEMORY = 40 << 20

kinds = st.sampled_from(sorted(KINDS))
places = st.one_of(st.integers(0, 400), st.integers(0, 20_000))
bytes_changed = st.lists(st.tuples(places, st.integers(0, 255)), min_size=1, max_size=12)
words_changed = st.lists(st.tuples(places, st.sampled_from(EXTREMES)), min_size=1, max_size=4)

often = settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


def use_everything(data: bytes, changed: int | None = None) -> bool:
    """Read all there is; True when the profile is sound enough. Anything but InputError escapes.

    changed: the one place where it is not as it was; elements that lie elsewhere need not be read again.
    """
    try:
        profile = parse_profile(data)
    except InputError as refusal:
        assert_one_sentence(refusal)
        return False
    assert profile.data == data
    assert all(np.isfinite(profile.white_xyz))
    elements = {(offset, size, signature[:3]): signature for signature, (offset, size, _) in profile.tags.items()}
    for (offset, size, _), signature in elements.items():
        in_directory = changed is None or changed < 132 + 12 * len(profile.tags)
        if not in_directory and not offset - 4 < changed < offset + size:
            continue
        for read in (read_text, read_curve):
            try:
                read(tag_span(profile, signature))
            except InputError as refusal:
                assert_one_sentence(refusal)
        if signature[:3] in ("A2B", "B2A", "gam"):
            try:
                check_table(profile, signature)
            except InputError as refusal:
                assert_one_sentence(refusal)
    try:
        require_output(profile)
    except InputError as refusal:
        assert_one_sentence(refusal)
    return True


def check_table(profile: object, signature: str) -> None:
    table = read_lut(profile, signature)  # type: ignore[arg-type]
    x = np.linspace(0, 1, 5)
    for stage in table.stages:
        if isinstance(stage, Curves):
            for curve in stage.curves:
                y = curve(x)
                assert ((y >= 0) & (y <= 1)).all()


def assert_one_sentence(refusal: InputError) -> None:
    assert refusal.text.endswith(".")
    assert "\n" not in refusal.text
    assert refusal.text.isprintable()
    assert refusal.mend


@often
@given(kinds, bytes_changed)
def test_changed_bytes(kind: str, changes: list[tuple[int, int]]) -> None:
    data = bytearray(KINDS[kind])
    for place, value in changes:
        data[place % len(data)] = value
    assert use_everything(bytes(data)) in (True, False)


@often
@given(kinds, words_changed)
def test_changed_numbers(kind: str, changes: list[tuple[int, int]]) -> None:
    data = bytearray(KINDS[kind])
    for place, value in changes:
        place = place % (len(data) - 4) // 4 * 4
        data[place : place + 4] = struct.pack(">I", value)
    assert use_everything(bytes(data)) in (True, False)


@often
@given(kinds, places)
def test_cut_short(kind: str, length: int) -> None:
    data = KINDS[kind]
    with pytest.raises(InputError) as refusal:
        parse_profile(data[: length % (len(data) - 4)])
    assert_one_sentence(refusal.value)


@often
@given(st.binary(max_size=400), st.booleans())
def test_noise(noise: bytes, with_signature: bool) -> None:
    data = noise[:36] + b"acsp" + noise[40:] if with_signature else noise
    assert use_everything(data) is False


@often
@given(kinds, places, st.binary(min_size=1, max_size=64))
def test_pieces_put_in_and_trailing_bytes(kind: str, place: int, piece: bytes) -> None:
    data = KINDS[kind]
    place = place % len(data)
    assert use_everything(data[:place] + piece + data[place:]) in (True, False)
    assert use_everything(data + piece) is True


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_no_single_claim_takes_memory(kind: str) -> None:
    """Every aligned number in the first 600 bytes and in every tag's head, blown up in turn."""
    data = KINDS[kind]
    profile = parse_profile(data)
    heads = {at for offset, _, _ in profile.tags.values() for at in range(offset + 4, offset + 56, 4)}
    tracemalloc.start()
    for at in sorted(heads | set(range(128, 600, 4))):
        if at + 4 <= len(data):
            for value in (0xFFFFFFFF, 0x00FFFFFF):
                use_everything(data[:at] + struct.pack(">I", value) + data[at + 4 :], changed=at)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < MOST_MEMORY
