"""Masters kept at the size of a proof: the same pixels, found by content, bounded, no trouble when they can't be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile

from wallworthy.base.records import Way
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.journey import reduced as module
from wallworthy.journey.reduced import FOLDER, MOST, reduced
from wallworthy.master import source as source_module
from wallworthy.master.open import open_master

WAY = Way.RELATIVE_BPC


def a_master(folder: Path, name: str = "a.tif", seed: int = 1, size: tuple[int, int] = (60, 90)) -> Path:
    path = folder / name
    pixels = np.random.default_rng(seed).integers(0, 65536, (*size, 3), dtype=np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=srgb_profile())
    return path


def kept(home: Path) -> list[Path]:
    return sorted((home / FOLDER).glob("*"))


def test_what_was_kept_is_the_same_and_needs_no_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    master = open_master(a_master(tmp_path))
    plain = reduced(master, None, WAY, home=None, long_edge_px=45)
    first = reduced(master, None, WAY, home=tmp_path, long_edge_px=45)
    assert first.codes.shape == (30, 45, 3)
    assert np.array_equal(first.codes, plain.codes)
    assert len(kept(tmp_path)) == 1

    def refuse(*_: object) -> None:
        raise AssertionError("the master was read again")

    monkeypatch.setattr(source_module, "working_source", refuse)
    again = reduced(master, None, WAY, home=tmp_path, long_edge_px=45)
    assert np.array_equal(again.codes, plain.codes)
    assert again.clamped_share == plain.clamped_share
    with pytest.raises(AssertionError, match="read again"):
        reduced(master, (0, 0, 60, 60), WAY, home=tmp_path, long_edge_px=45)
    with pytest.raises(AssertionError, match="read again"):
        reduced(master, None, WAY, home=tmp_path, long_edge_px=40)


def test_another_content_never_meets_what_was_kept(tmp_path: Path) -> None:
    path = a_master(tmp_path)
    before = reduced(open_master(path), None, WAY, home=tmp_path, long_edge_px=45)
    a_master(tmp_path, seed=2)
    after = reduced(open_master(path), None, WAY, home=tmp_path, long_edge_px=45)
    assert not np.array_equal(before.codes, after.codes)
    assert np.array_equal(after.codes, reduced(open_master(path), None, WAY, home=None, long_edge_px=45).codes)


def test_another_profile_is_another_picture(tmp_path: Path) -> None:
    path = tmp_path / "plain.tif"
    tifffile.imwrite(path, np.random.default_rng(3).integers(0, 65536, (60, 90, 3), dtype=np.uint16), photometric="rgb")
    looks = [
        reduced(open_master(path, assume=profile), None, WAY, home=tmp_path, long_edge_px=45)
        for profile in (srgb_profile(), display_p3_profile())
    ]
    assert not np.array_equal(looks[0].codes, looks[1].codes)


def test_a_picture_no_larger_is_not_kept(tmp_path: Path) -> None:
    found = reduced(open_master(a_master(tmp_path)), None, WAY, home=tmp_path, long_edge_px=90)
    assert found.codes.shape == (60, 90, 3)
    assert kept(tmp_path) == []


@pytest.mark.parametrize("harm", ["cut", "changed", "empty"])
def test_what_was_damaged_is_read_again(tmp_path: Path, harm: str) -> None:
    master = open_master(a_master(tmp_path))
    plain = reduced(master, None, WAY, home=tmp_path, long_edge_px=45)
    (place,) = kept(tmp_path)
    data = bytearray(place.read_bytes())
    data[-5] ^= 1
    place.write_bytes({"cut": bytes(data[:-7]), "changed": bytes(data), "empty": b""}[harm])
    again = reduced(master, None, WAY, home=tmp_path, long_edge_px=45)
    assert np.array_equal(again.codes, plain.codes)
    assert place.read_bytes() != bytes(data)


def test_only_the_latest_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST", 3)
    assert MOST > 3
    masters = [open_master(a_master(tmp_path, f"{n}.tif", seed=n)) for n in range(5)]
    for master in masters:
        reduced(master, None, WAY, home=tmp_path, long_edge_px=45)
    assert len(kept(tmp_path)) == 3


def test_a_home_that_refuses_is_no_trouble(tmp_path: Path) -> None:
    (tmp_path / FOLDER).write_text("in the way", "utf-8")
    found = reduced(open_master(a_master(tmp_path)), None, WAY, home=tmp_path, long_edge_px=45)
    assert found.codes.shape == (30, 45, 3)
    assert (tmp_path / FOLDER).read_text("utf-8") == "in the way"


def test_the_last_of_a_disk_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "ROOM", 10**15)
    found = reduced(open_master(a_master(tmp_path)), None, WAY, home=tmp_path, long_edge_px=45)
    assert found.codes.shape == (30, 45, 3)
    assert kept(tmp_path) == []
