"""Marks, perspective and colour differences of the read-back against the libraries that know them."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from support.printed_sheets import good_print, printed, read_back
from wallworthy.demo.scan import draw_viewing, scan_pixels
from wallworthy.raster.vision import apply_perspective, bent, find_marks, find_template, fit_perspective, straightened
from wallworthy.trial.marks import mark_text
from wallworthy.trial.scanfile import Scan, srgb_light
from wallworthy.trial.straighten import marks_in


@pytest.mark.source("ISO18004", "decoded by OpenCV's reader")
def test_the_printed_mark_is_read_by_the_librarys_own_reader() -> None:
    device = printed().sheet.device
    grey = (device.min(axis=2) * 255).astype(np.uint8)
    text, corners, _ = cv2.QRCodeDetector().detectAndDecode(grey)
    assert text == printed().sheet.mark == mark_text("T1", 1)
    scan = Scan(srgb_light(np.repeat(grey[..., None], 3, axis=2).astype(np.float32) / np.float32(255)), None, "sheet")
    [mark] = marks_in(scan)
    assert mark.text == text == find_marks(grey)[0].text
    assert np.abs(mark.corners - corners[0]).max() < 3.0


@pytest.mark.source("Hartley1997", "normalised direct linear transform, against OpenCV")
@pytest.mark.parametrize("seed", range(5))
def test_perspective_fits_as_the_library_fits_it(seed: int) -> None:
    random = np.random.default_rng(seed)
    points = random.uniform(0, 150, (12, 2))
    true = np.array([[8.0, 1.2, 90], [-0.7, 7.5, 60], [0.0008, -0.0005, 1]])
    places = apply_perspective(true, points) + random.normal(0, 0.3, points.shape)
    own = fit_perspective(points, places)
    other, _ = cv2.findHomography(points, places, 0)
    assert np.abs(apply_perspective(own, points) - apply_perspective(other, points)).max() < 0.02


@pytest.mark.source("Hartley1997", "warping, against OpenCV")
def test_straightening_looks_up_what_the_librarys_warp_does() -> None:
    random = np.random.default_rng(0)
    picture = cv2.GaussianBlur(random.random((300, 400, 3), dtype=np.float32), (0, 0), 3)
    to_picture = fit_perspective([(0, 0), (50, 0), (50, 30), (0, 30)], [(40, 50), (350, 30), (360, 250), (30, 240)])
    own = straightened(picture, to_picture, (0, 0, 50, 30), 8.0)
    centres = np.array([[1 / 8, 0, 1 / 16], [0, 1 / 8, 1 / 16], [0, 0, 1]])
    other = cv2.warpPerspective(
        picture, to_picture @ centres, (400, 240), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    assert np.abs(own - other).max() < 0.01


@pytest.mark.source("Brown1966", "first radial term, as OpenCV projects it")
@pytest.mark.parametrize("bend", [-0.02, 0.0, 0.013])
def test_the_lens_bends_as_the_librarys_does(bend: float) -> None:
    points = np.random.default_rng(1).uniform(0, 299, (20, 2))
    centre, half_diagonal = np.array([199.5, 149.5]), float(np.hypot(199.5, 149.5))
    camera = np.array([[half_diagonal, 0, centre[0]], [0, half_diagonal, centre[1]], [0, 0, 1]])
    rays = np.concatenate([(points - centre) / half_diagonal, np.ones((20, 1))], axis=1)
    other, _ = cv2.projectPoints(rays, np.zeros(3), np.zeros(3), camera, np.array([bend, 0, 0, 0]))
    assert np.abs(bent(points, (300, 400), bend) - other[:, 0]).max() < 1e-6


@pytest.mark.practice
@pytest.mark.parametrize(("x", "y"), [(7.0, 5.0), (7.3, 5.6), (9.75, 4.25)])
def test_a_template_is_found_to_a_tenth_of_a_pixel(x: float, y: float) -> None:
    u, v = np.meshgrid(np.arange(40.0), np.arange(40.0))

    def bump(left: float, top: float) -> np.ndarray:
        return np.exp(-(((u - left - 6) / 3) ** 2) - ((v - top - 6) / 2.5) ** 2).astype(np.float32)

    left, top, likeness = find_template(bump(x, y), bump(0, 0)[:13, :13])
    assert (left, top) == pytest.approx((x, y), abs=0.1)
    assert likeness > 0.97


@pytest.mark.source("Sharma2005", "as scikit-image computes it")
def test_the_tiles_differences_are_the_published_formulas(tmp_path: Path) -> None:
    answer = read_back(good_print(), draw_viewing("flatbed", np.random.default_rng(41)), tmp_path)
    here = printed().expected
    assert answer.patch_lab is not None
    for tile in answer.tiles:
        cells = [i for i, patch in enumerate(here.patches) if patch.kind == "tile" and patch.name == tile.code]
        other = deltaE_ciede2000(here.lab[cells], answer.patch_lab[cells]).mean()
        assert tile.de00 == pytest.approx(float(other), abs=1e-6)


@pytest.mark.practice
def test_scans_differ_only_by_their_seed() -> None:
    viewing = draw_viewing("flatbed", np.random.default_rng(1))
    one, same, other = (scan_pixels(good_print(), 200.0, viewing, seed) for seed in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)
