"""The quick routes into the working encoding against the colour engine's full float pipeline."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from support.pictures import scene
from wallworthy.base.records import Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import display_p3_profile, grey_profile, srgb_profile, wide_profile
from wallworthy.master.open import open_master
from wallworthy.master.source import WorkingSource, working_source

PHOTOMETRIC = {1: "minisblack", 3: "rgb", 4: "separated"}
TOP = {"u": 65535.0, "f": 1.0}


def read(path: Path, samples: np.ndarray, icc: bytes, way: Way = Way.RELATIVE_BPC) -> tuple[np.ndarray, WorkingSource]:
    stored = samples[..., 0] if samples.shape[2] == 1 else samples
    tifffile.imwrite(path, stored, photometric=PHOTOMETRIC[samples.shape[2]], iccprofile=icc)
    source = working_source(open_master(path), way=way)
    return np.concatenate(list(source.strips(64))), source


def device_of(samples: np.ndarray) -> np.ndarray:
    top = 1.0 if samples.dtype.kind == "f" else float(np.iinfo(samples.dtype).max)
    return samples.astype(np.float32) / np.float32(top)


@pytest.mark.source("littleCMS", "unoptimised float transform")
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16, np.float32])
@pytest.mark.parametrize(
    "name", ["srgb", "p3", "wide", "grey", "gs_romm", "gs_a98", "lstar_rgb", "gs_gray", "fogra39", "vips_cmyk"]
)
def test_route_agrees_with_the_engine(
    tmp_path: Path, published_profile: Callable[[str], bytes], name: str, dtype: Any
) -> None:
    own = {"srgb": srgb_profile, "p3": display_p3_profile, "wide": wide_profile, "grey": grey_profile}
    icc = own[name]() if name in own else published_profile(name)
    profile = parse_profile(icc)
    top = 1 if dtype is np.float32 else np.iinfo(dtype).max
    samples = (np.random.default_rng(4).random((200, 150, profile.channels)) * top).astype(dtype)
    samples[0, 0], samples[0, 1] = 0, top
    working, source = read(tmp_path / "a.tif", samples, icc)
    exact = to_lab(profile, device_of(samples))
    inside = np.clip(lab_to_working(exact), 0, 1)
    error = ciede2000(working_to_lab(inside), working_to_lab(working / 65535))
    # 0.02 mean is the figure asked for; the tables are far better
    assert error.mean() <= 0.002
    assert error.max() <= 0.03
    lost = (np.abs(lab_to_working(exact) - inside).max(axis=-1) > 5.5e-4).mean()
    assert source.clamped_share == pytest.approx(lost, abs=2e-4)


@pytest.mark.source("littleCMS", "unoptimised float transform")
def test_perceptual_goes_by_the_perceptual_table(tmp_path: Path, published_profile: Callable[[str], bytes]) -> None:
    icc = published_profile("fogra39")
    samples = scene(40, 50, 4, np.uint16)
    profile = parse_profile(icc)
    labs = {}
    for way, intent in ((Way.PERCEPTUAL, "perceptual"), (Way.RELATIVE, "relative"), (Way.RELATIVE_BPC, "relative")):
        working, _ = read(tmp_path / "a.tif", samples, icc, way)
        labs[way] = working_to_lab(working / 65535)
        cube = np.clip(lab_to_working(to_lab(profile, device_of(samples), intent)), 0, 1)
        assert ciede2000(labs[way], working_to_lab(cube)).max() <= 0.02
    assert ciede2000(labs[Way.PERCEPTUAL], labs[Way.RELATIVE]).mean() > 0.3


@pytest.mark.source("littleCMS", "unoptimised float transform")
def test_floats_beyond_white_are_counted_and_clamped(tmp_path: Path, published_profile: Callable[[str], bytes]) -> None:
    samples = scene(20, 50, 3, np.float32)
    samples[:2] = 1.5
    samples[2, :25, 0] = -0.2
    samples[3, 0] = 1.000001
    for icc in (srgb_profile(), wide_profile(), published_profile("gs_a98"), published_profile("lstar_rgb")):
        working, source = read(tmp_path / "a.tif", samples, icc)
        assert (np.abs(working[:2].astype(int) - 65535) < 4).all()
        assert source.out_of_range_share == pytest.approx(2 / 20 + 0.5 / 20)
        assert source.clamped_share == pytest.approx(2 / 20 + 0.5 / 20)
        assert working[4:].max() < 65535
