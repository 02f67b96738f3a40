"""What the appraisal finds in pictures with one known fault, and that it imagines none in clean ones."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import convolve1d, gaussian_filter

from support.appraised import appraised, corners, kinds, looked_at, photo_of, sky
from wallworthy.appraise.blemishes import find_dust
from wallworthy.appraise.enlarged import repeats_of
from wallworthy.appraise.eye import Seeing
from wallworthy.appraise.finding import FOLD, Finding, OnPaper, fold, worst_first
from wallworthy.appraise.look import ROWS, Plan, look_at
from wallworthy.appraise.noise import noise_by_tone
from wallworthy.appraise.tones import cast_of, ends_of, gaps_of
from wallworthy.icc.standard import wide_profile

pytestmark = pytest.mark.practice

SCENE = corners()


def grey(codes: np.ndarray) -> np.ndarray:
    return photo_of(codes / 255)


def test_a_sharp_scene_reads_as_sharp_and_shows_nothing() -> None:
    found = appraised(photo_of(SCENE + np.random.default_rng(1).normal(0, 0.004, SCENE.shape)))
    assert found.resolution.fraction is not None
    assert found.resolution.fraction >= 0.9
    assert not kinds(found) & {"enlarged", "soft", "motion", "halos", "posterised", "jpeg_blocks", "line", "hot_pixel"}


@pytest.mark.parametrize("times", [2, 3])
def test_repeated_pixels_are_counted(times: int) -> None:
    large = photo_of(SCENE).repeat(times, axis=0).repeat(times, axis=1)
    assert repeats_of(large) == times
    found = appraised(large)
    assert found.resolution.fraction == pytest.approx(1 / times**2)
    assert "enlarged" in kinds(found)
    assert repeats_of(photo_of(SCENE + np.random.default_rng(1).normal(0, 0.01, SCENE.shape))) == 1


def test_an_enlarged_picture_is_told_and_loses_more() -> None:
    from PIL import Image

    noisy = photo_of(SCENE + np.random.default_rng(4).normal(0, 0.012, SCENE.shape))
    height, width = noisy.shape[:2]
    large = np.asarray(Image.fromarray(noisy).resize((2 * width, 2 * height), Image.Resampling.BICUBIC))
    native, found = appraised(noisy), appraised(large)
    assert found.resolution.fraction is not None
    assert found.resolution.fraction <= 0.6
    told = [one for one in found.findings if one.kind == "enlarged"]
    assert len(told) == 1
    assert "was enlarged" in told[0].text
    assert "enlarged" not in kinds(native)
    assert found.deficit_jnd == pytest.approx(native.deficit_jnd, rel=0.25)


def test_a_soft_picture_with_fresh_noise_is_soft_not_enlarged() -> None:
    soft = gaussian_filter(SCENE, 1.6) + np.random.default_rng(4).normal(0, 0.012, SCENE.shape)
    assert "soft" in kinds(appraised(photo_of(soft)))
    assert "enlarged" not in kinds(appraised(photo_of(soft)))


def test_a_picture_mostly_out_of_focus_is_read_by_its_sharp_part() -> None:
    scene = corners(size=600)
    field = gaussian_filter(scene, 3.0)
    field[:250, :250] = scene[:250, :250]
    found = appraised(photo_of(field), subject=(270, 270, 300, 300))
    assert found.resolution.fraction is not None
    assert found.resolution.fraction >= 0.9
    assert found.resolution.sharpest == (0, 0, 256, 256)
    told = {one.kind: one for one in found.findings}
    assert told["subject_soft"].box_px == (270, 270, 300, 300)
    assert told["sharpest"].box_px == (0, 0, 256, 256)
    assert "subject_soft" not in kinds(appraised(photo_of(field), subject=(20, 20, 200, 200)))


def test_a_picture_without_edges_can_not_be_told() -> None:
    found = appraised(grey(sky(3)))
    assert found.resolution.fraction is None
    assert found.resolution.confidence == 0
    assert any("can't be told" in sentence for sentence in found.sentences)


def test_motion_is_a_perhaps() -> None:
    found = appraised(photo_of(convolve1d(SCENE, np.full(11, 1 / 11), axis=1)))
    [motion] = [one for one in found.findings if one.kind == "motion"]
    assert "Perhaps" in motion.text
    assert "from side to side" in motion.text
    assert found.resolution.motion is not None
    assert found.resolution.motion.length_px == pytest.approx(11, abs=1)
    assert appraised(photo_of(SCENE)).resolution.motion is None
    [held] = [sentence for sentence in found.sentences if "megapixels" in sentence and "if nothing moved" in sentence]
    assert not any("nothing moved" in sentence for sentence in appraised(photo_of(SCENE)).sentences)
    assert held.startswith("The 0.15 megapixels")


def test_clipping_is_counted_in_the_files_own_samples() -> None:
    """A channel that stands at its end in a wide space counts, and its colour in a small space does not matter."""
    samples = np.full((256, 320, 3), 30_000, np.uint16)
    samples[:64, :80, 0] = 65_535
    samples[128:192, 160:240, 2] = 0
    look = looked_at(samples, wide_profile())
    ends = ends_of(look.counts)
    assert ends.high_pct == pytest.approx((100 * 64 * 80 / (256 * 320), 0, 0))
    assert ends.low_pct == pytest.approx((0, 0, 100 * 64 * 80 / (256 * 320)))
    found = {one.kind: one for one in appraised(samples, profile=wide_profile()).findings}
    assert found["clipped_high"].box_px == (0, 0, 64, 80)
    assert "red" in found["clipped_high"].text
    assert found["clipped_low"].box_px == (128, 160, 64, 80)
    assert "blue" in found["clipped_low"].text


@pytest.mark.parametrize("step", [4, 8, 16])
def test_steps_are_found_and_clean_tones_are_not(step: int) -> None:
    random = np.random.default_rng(6)
    clean = photo_of(gaussian_filter(SCENE, 12) + random.normal(0, 0.01, SCENE.shape))
    assert gaps_of(looked_at(clean).counts) is None
    found = gaps_of(looked_at((clean // step * step).astype(np.uint8)).counts)
    assert found is not None
    assert found.spacing_codes == pytest.approx(step, rel=0.1)


def test_stretched_tones_leave_gaps() -> None:
    clean = gaussian_filter(SCENE, 12) + np.random.default_rng(6).normal(0, 0.01, SCENE.shape)
    codes = photo_of(clean).astype(float)
    stretched = np.clip((codes - 60) * 1.4, 0, 255).astype(np.uint8)
    assert gaps_of(looked_at(stretched).counts) is not None
    assert "posterised" in kinds(appraised((photo_of(clean) // 16 * 16).astype(np.uint8)))


def test_eight_bits_in_a_wide_space_are_told() -> None:
    photo = photo_of(SCENE)
    assert "wide_gamut_8_bit" in kinds(appraised(photo, ratio=2.9))
    assert "wide_gamut_8_bit" not in kinds(appraised(photo, ratio=1.35))
    assert "wide_gamut_8_bit" not in kinds(appraised(photo.astype(np.uint16) * 257, ratio=2.9))


def test_greys_that_lean_are_asked_about() -> None:
    random = np.random.default_rng(5)
    lab = np.stack([random.uniform(20, 95, 5000), random.normal(0, 1, 5000), random.normal(-6, 1, 5000)], axis=1)
    lean = cast_of(lab.astype(np.float32))
    assert lean is not None
    assert lean.b == pytest.approx(-6, abs=0.5)
    assert lean.agreement > 0.9
    lab[:, 2] += 6
    level = cast_of(lab.astype(np.float32))
    assert level is None or level.chroma < 1
    lab[:, 1:] += 40
    assert cast_of(lab.astype(np.float32)) is None


def test_dust_is_found_where_it_lies_and_nowhere_else() -> None:
    field = sky(1)
    assert find_dust(looked_at(grey(field)).tone, 1, 0.004) == ()
    y, x = np.mgrid[0 : field.shape[0], 0 : field.shape[1]]
    spots = [(150, 150, 12.0), (150, 450, 24.0), (450, 300, 36.0)]
    for row, column, size in spots:
        away = np.hypot(y - row, x - column)
        field = field * (1 - 0.03 / (1 + np.exp(np.clip((away - size / 2) / (size / 10), -50, 50))))
    found = [one for one in appraised(grey(field)).findings if one.kind == "dust"]
    assert len(found) == 3
    for row, column, size in spots:
        [near] = [
            one
            for one in found
            if one.box_px is not None
            and abs(one.box_px[0] + one.box_px[2] / 2 - row) < size / 2
            and abs(one.box_px[1] + one.box_px[3] / 2 - column) < size / 2
        ]
        assert near.size_mm is not None
        assert near.size_mm[0] == pytest.approx(size * 300 / field.shape[1], rel=0.5)


def test_single_pixels_and_lines_are_found() -> None:
    field = sky(2)
    clean = kinds(appraised(grey(field)))
    assert not clean & {"hot_pixel", "line", "dust"}
    field[200, 300] += 70
    field[401] -= 4
    field[:, 77] += 4
    found = appraised(grey(field)).findings
    assert [one.box_px for one in found if one.kind == "hot_pixel"] == [(200, 300, 1, 1)]
    lines = {one.box_px for one in found if one.kind == "line"}
    assert lines == {(401, 0, 1, field.shape[1]), (0, 77, field.shape[0], 1)}


def test_soft_spots_both_light_and_dark_are_texture_not_dust() -> None:
    random = np.random.default_rng(6)
    blobs = gaussian_filter(random.normal(0, 1, (640, 640)) * (random.random((640, 640)) < 4e-4), 5.0)
    blobs *= 0.02 / np.abs(blobs).max()
    smooth = (0.6 + random.normal(0, 0.003, blobs.shape)).astype(np.float32)
    assert len(find_dust((smooth - np.abs(blobs)).astype(np.float32), 1, 0.003)) > 10
    assert find_dust((smooth - blobs).astype(np.float32), 1, 0.003) == ()


def test_a_last_strip_of_a_single_row_is_looked_at() -> None:
    """Reduced pictures have no pixel for it."""
    field = sky(2, 1281)
    look = looked_at(grey(np.pad(field, ((0, 0), (0, 100)), mode="reflect")))
    assert look.plan.factor == 2
    assert look.small.shape == (640, 690, 3)
    assert look.ends.shape == (640, 690, 2)


def test_a_long_list_is_folded() -> None:
    many = [Finding("dust", (i, i, 4, 4), None, 1 + i / 100, 0.9, "spot") for i in range(50)]
    folded = fold(many, "And {count} more.")
    assert len(folded) == FOLD + 1
    assert folded[-1].text == "And 30 more."
    assert folded[-1].box_px == (0, 0, 33, 33)
    assert fold(many[:FOLD], "And {count} more.") == many[:FOLD]


def test_findings_come_worst_first() -> None:
    found = worst_first(Finding("a", None, None, jnd, sure, "") for jnd, sure in ((1, 1), (3, 0.5), (9, 0.1)))
    assert [one.visibility_jnd for one in found] == [3, 1, 9]


def test_noise_is_more_visible_in_a_smaller_picture_of_more_noise() -> None:
    """Base against high gain, three sizes: order only."""

    def seen(sigma: float, width_mm: float) -> float:
        field = np.linspace(60, 190, 512)[None, :] * np.ones((512, 1))
        noisy = field + np.random.default_rng(9).normal(0, sigma, field.shape)
        return max(one.visible_jnd for one in appraised(grey(noisy), width_mm, 500).noise)

    rows = [[seen(sigma, width) for width in (60.0, 200.0, 600.0)] for sigma in (1.0, 8.0)]
    for base, high in zip(*rows, strict=True):
        assert high > 1.5 * base
    for row in rows:
        assert row == sorted(row)


def test_a_larger_factor_is_taken_for_a_larger_picture() -> None:
    assert Plan.of(800, 600).factor == 1
    assert Plan.of(6000, 4000).factor == 4
    assert Plan.of(20_000, 10_000).factor == 16


def test_boxes_are_those_of_the_master_when_only_a_part_is_looked_at() -> None:
    paper = OnPaper(300, 500, Seeing(), origin_px=(100, 40))
    assert paper.box((5, 6, 7, 8)) == (105, 46, 7, 8)
    assert paper.size((0, 0, 300, 600)) == (50.8, 25.4)


def test_strips_of_any_last_height_are_looked_at() -> None:
    for rows in (20, ROWS, ROWS + 3, 2 * ROWS + 60):
        working = np.full((rows, 130, 3), 30_000, np.uint16)
        look = look_at(((working[r : r + ROWS],) * 2 for r in range(0, rows, ROWS)), 130, rows)
        assert look.counts.sum() == rows * 130 * 3
        assert look.small.shape == (rows, 130, 3)
        assert noise_by_tone(look.blocks) is not None
