"""What the door to the colour engine promises: shapes, units, values outside 0-1, refusals."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from wallworthy.base.errors import InputError
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.icc.engine import channels_of, convert, from_lab, in_slices, to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import grey_profile, lab_profile, srgb_profile, working_profile

pytestmark = pytest.mark.practice


@pytest.mark.parametrize(
    ("space", "channels"), [("GRAY", 1), ("RGB", 3), ("LAB", 3), ("CMYK", 4), ("5CLR", 5), ("FCLR", 15)]
)
def test_channels(space: str, channels: int) -> None:
    assert channels_of(space) == channels


@pytest.mark.parametrize("shape", [(3,), (5, 3), (4, 5, 3), (2, 3, 4, 3), (0, 3)])
def test_shapes_are_kept(shape: tuple[int, ...], published_profile: Callable[[str], bytes]) -> None:
    fogra = parse_profile(published_profile("fogra39"))
    inks = from_lab(fogra, np.full(shape, 40.0))
    assert inks.shape == (*shape[:-1], 4)
    assert inks.dtype == np.float32
    assert to_lab(fogra, inks).shape == shape


def test_slices_change_nothing(published_profile: Callable[[str], bytes]) -> None:
    fogra = parse_profile(published_profile("fogra39"))
    lab = np.random.default_rng(3).uniform([0, -60, -60], [100, 60, 60], (200_000, 3))
    whole = from_lab(fogra, lab)
    assert np.array_equal(whole[90_000:110_000], from_lab(fogra, lab[90_000:110_000]))


def test_every_row_is_worked_once() -> None:
    seen = np.zeros(100_001, dtype=int)

    def work(part: slice) -> None:
        seen[part] += 1

    in_slices(len(seen), work, smallest=10)
    assert np.all(seen == 1)


def test_a_failing_slice_is_heard() -> None:
    def work(part: slice) -> None:
        raise KeyError(part.start)

    with pytest.raises(KeyError):
        in_slices(100, work, smallest=1)


def test_what_becomes_of_values_outside_0_to_1(published_profile: Callable[[str], bytes]) -> None:
    """Parametric curves go on at both ends, a pure gamma above 1 only, sampled curves not at all."""
    parametric, gamma = parse_profile(working_profile()), parse_profile(published_profile("gs_romm"))
    sampled = parse_profile(srgb_profile())
    outside = [[1.1, 1.1, 1.1], [-0.1, -0.1, -0.1]]
    assert to_lab(parametric, outside)[:, 0] == pytest.approx([110, -10], abs=0.01)
    assert to_lab(gamma, outside)[:, 0] == pytest.approx([106.83, 0], abs=0.01)
    assert to_lab(sampled, outside)[:, 0] == pytest.approx([100, 0], abs=0.01)
    beyond = [[108.0, 0, 0], [50, -120, 0]]
    assert from_lab(parametric, beyond)[[0, 1], [0, 0]] == pytest.approx([1.08, -0.0781], abs=1e-3)
    assert from_lab(gamma, beyond)[0].min() > 1.1
    assert from_lab(gamma, beyond)[1, 0] == 0
    assert from_lab(sampled, beyond).min() >= 0
    assert from_lab(sampled, beyond).max() <= 1


def test_tables_are_clamped(published_profile: Callable[[str], bytes]) -> None:
    fogra = parse_profile(published_profile("fogra39"))
    assert np.array_equal(to_lab(fogra, [[1.3, 0, 0, -0.2]]), to_lab(fogra, [[1.0, 0, 0, 0]]))
    assert np.array_equal(from_lab(fogra, [[130.0, 0, 0]]), from_lab(fogra, [[100.0, 0, 0]]))


def test_grey_and_lab_go_both_ways() -> None:
    grey = parse_profile(grey_profile())
    levels = np.linspace(0, 1, 11)[:, None]
    assert from_lab(grey, to_lab(grey, levels)) == pytest.approx(levels, abs=1e-3)
    identity = parse_profile(lab_profile())
    lab = np.array([[50.0, 20, -30], [0, 0, 0], [100, 0, 0]])
    assert to_lab(identity, lab) == pytest.approx(lab, abs=0.01)
    assert from_lab(identity, lab) == pytest.approx(lab, abs=0.01)


def test_integers_convert_as_floats_do(published_profile: Callable[[str], bytes]) -> None:
    screen, fogra = parse_profile(srgb_profile()), parse_profile(published_profile("fogra39"))
    words = np.random.default_rng(9).integers(0, 65536, (3000, 3)).astype(np.uint16)
    from_words = convert(screen, fogra, words, "relative")
    from_bytes = convert(screen, fogra, (words >> 8).astype(np.uint8), "relative")
    from_floats = convert(screen, fogra, words / 65535, "relative")
    assert from_words.dtype == np.uint16
    assert from_bytes.dtype == np.uint8
    away = ciede2000(to_lab(fogra, from_words / 65535), to_lab(fogra, from_floats))
    assert away.mean() <= 0.02
    assert away.max() <= 0.2


def test_six_inks() -> None:
    def device_to_lab(device: np.ndarray) -> np.ndarray:
        light = 1 - device.mean(axis=1)
        return np.stack([100 * light, 60 * (device[:, 0] - device[:, 5]), 60 * (device[:, 1] - device[:, 4])], axis=1)

    def lab_to_device(lab: np.ndarray) -> np.ndarray:
        return np.repeat(1 - lab[:, :1] / 100, 6, axis=1)

    six = parse_profile(synthetic_profile("6CLR", device_to_lab, lab_to_device, a2b_nodes=3, b2a_nodes=17))
    device = np.random.default_rng(4).uniform(0, 1, (500, 6))
    assert ciede2000(to_lab(six, device), device_to_lab(device)).max() <= 0.05
    # L* 100 lies just below the last node (FF00h of FFFFh), where ink 0 is held: a slanted cell.
    assert from_lab(six, [[100.0, 0, 0], [0, 0, 0]]) == pytest.approx(np.array([[0] * 6, [1] * 6]), abs=4e-3)


def test_the_wrong_number_of_channels_is_noticed(published_profile: Callable[[str], bytes]) -> None:
    with pytest.raises(ValueError, match="4 channels"):
        to_lab(parse_profile(published_profile("fogra39")), np.zeros((2, 3)))


def test_a_profile_the_engine_can_not_use_is_refused(published_profile: Callable[[str], bytes]) -> None:
    fogra = parse_profile(published_profile("fogra39"))
    broken = fogra.data.replace(b"mft2", b"nope")
    with pytest.raises(InputError) as refused:
        to_lab(replace(fogra, data=broken), np.zeros((1, 4)))
    assert refused.value.code == "profile_unusable"


def test_the_codec_still_has_the_list_that_many_inks_are_entered_in() -> None:
    """A private name of imagecodecs; when a new release moves it, this says so before a user does."""
    from imagecodecs import _cms

    assert _cms._CMS_FORMATS["cmyk"] == (6, 4, 0, 0, 0)


def test_without_that_list_only_many_inks_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    from imagecodecs import _cms

    from wallworthy.icc.engine import _codec_space

    _codec_space.cache_clear()
    monkeypatch.delattr(_cms, "_CMS_FORMATS")
    assert _codec_space("CMYK") == "cmyk"
    with pytest.raises(InputError, match="can't take profiles of many inks") as refusal:
        _codec_space("7CLR")
    assert refusal.value.code == "many_inks_unsupported"
    monkeypatch.undo()
    assert _codec_space("7CLR") == "inks7"
