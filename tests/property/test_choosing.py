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
from wallworthy.journey.choosing import drawn_codes, drawn_window, printed_by, printed_source
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


def test_a_part_is_drawn_out_as_the_whole_is(job: Job) -> None:
    """On the page from near, and on test sheets: what lies around a part counts, and where it lies."""
    plain = np.concatenate(list(printed_source(job, None).strips(40)))
    detail = replace(job, way=Way.DETAIL)
    whole = np.concatenate(list(printed_source(detail, None).strips(40)))
    assert np.array_equal(drawn_codes(job, plain), plain)
    assert np.array_equal(drawn_codes(detail, plain), whole)
    near = replace(detail, size_mm=(3000.0, 2000.0))
    whole = drawn_codes(near, plain)
    asked: list[tuple[int, int, int, int]] = []

    def window(box: tuple[int, int, int, int]) -> np.ndarray:
        asked.append(box)
        return plain[box[0] : box[0] + box[2], box[1] : box[1] + box[3]]

    part = drawn_window(near, window, (150, 100), (37, 61, 20, 30))
    assert np.array_equal(part, whole[37:57, 61:91])
    assert np.abs(part.astype(int) - plain[37:57, 61:91]).max() > 300
    assert asked[0][2] * asked[0][3] < 0.5 * plain[..., 0].size, "not all of it is read for a part"


def test_a_crop_of_the_shown_picture_knows_where_it_lies(job: Job) -> None:
    detail = replace(job, way=Way.DETAIL, size_mm=(3000.0, 2000.0))
    whole = np.concatenate(list(printed_source(detail, None).strips(40))).astype(int)
    for top, left, height, width in ((20, 40, 60, 80), (3, 7, 11, 13), (90, 120, 10, 30), (0, 0, 100, 1)):
        strips = list(printed_source(detail, (top, left, height, width)).strips(8))
        assert [len(strip) for strip in strips[:-1]] == [8] * (len(strips) - 1)
        tile = np.concatenate(strips).astype(int)
        assert np.array_equal(tile, whole[top : top + height, left : left + width]), "as the whole print has it there"
    shown = replace(detail, crop_px=(20, 40, 60, 80), size_mm=(1600.0, 1200.0))
    alone = np.concatenate(list(printed_source(shown, (20, 40, 60, 80)).strips(40))).astype(int)
    assert np.array_equal(alone, drawn_codes(shown, np.concatenate(list(plain_strips(shown)))))


def plain_strips(job: Job) -> list[np.ndarray]:
    """The shown pixels as they are."""
    return list(printed_source(replace(job, way=Way.WHOLE), job.crop_px).strips(40))
