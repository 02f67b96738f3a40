"""A chosen way is chosen once for a picture and a paper, whatever the correction; other ways read no picture for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile

from wallworthy.base.records import Correction, Delivery, Way
from wallworthy.colour.working import lab_to_working
from wallworthy.icc.read import parse_profile
from wallworthy.icc.standard import working_profile
from wallworthy.journey.chain import Job, job_of
from wallworthy.journey.choosing import printed_by, printed_source
from wallworthy.journey.conditions import measured
from wallworthy.master.open import open_master

pytestmark = pytest.mark.practice


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory, published_profile: Callable[[str], bytes]) -> Job:
    path: Path = tmp_path_factory.mktemp("master") / "dark.tif"
    y, x = np.mgrid[0:100, 0:150]
    lab = np.stack(
        [14 + 8 * np.sin(x / 2) * np.cos(y / 3) + y / 4, 30 * np.sin(x / 40), 20.0 * np.cos(y / 30)], axis=-1
    )
    pixels = np.rint(np.clip(lab_to_working(lab), 0, 1) * 65535).astype(np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=working_profile())
    output = parse_profile(published_profile("fogra39"))
    condition = measured("press", output, paper=None, delivery=Delivery.NUMBERS, media=None)
    return job_of(open_master(path), condition, size_mm=(300.0, 200.0), distance_mm=500.0, way=Way.WHOLE)


def test_a_map_is_shared_by_corrections_and_each_way_has_its_own(job: Job) -> None:
    assert job.source.chosen is not None
    assert replace(job, correction=Correction(lightness=4)).source.chosen is job.source.chosen
    detail = replace(job, way=Way.DETAIL).source.chosen
    assert detail is not None
    assert detail.tone[0] == job.source.chosen.tone[0], "one black"
    assert np.all(detail.tone <= job.source.chosen.tone + 1e-9), "shadows rise less where detail is drawn out"
    assert detail.tone[20] < job.source.chosen.tone[20] - 0.5
    assert replace(replace(job, way=Way.DETAIL), correction=Correction(lightness=4)).source.chosen is detail
    assert replace(job, way=Way.RELATIVE_BPC).source.chosen is None
    nearer = replace(job, distance_mm=250.0).source.chosen
    assert nearer is not None
    assert nearer is not job.source.chosen, "another distance shows other texture"


def test_only_detail_changes_pixels_on_their_way(job: Job) -> None:
    plain = np.concatenate(list(printed_source(job, None).strips(40)))
    drawn = np.concatenate(list(printed_source(replace(job, way=Way.DETAIL), None).strips(40)))
    assert plain.shape == drawn.shape == (100, 150, 3)
    finer = [np.diff(picture[:60].astype(np.float64), axis=1).std() for picture in (plain, drawn)]
    assert finer[1] > 1.05 * finer[0], "as much as the map takes of it: of these tones about a tenth"

    def same(picture: np.ndarray) -> np.ndarray:
        return picture

    floats = plain.astype(np.float32) / np.float32(65535)
    assert printed_by(job, same, 0.5) is same
    shown = printed_by(replace(job, way=Way.DETAIL), same, 0.5)(floats)
    assert shown == pytest.approx(drawn / 65535, abs=2e-5)
