"""Fine detail and halos against scenes whose sharpness, noise and sharpening are known because they were drawn so."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from support.appraised import appraised, corners, kinds, natural, photo_of
from wallworthy.appraise.edges import FINE, GRID, crossing, find_crossings
from wallworthy.appraise.halos import halo_pct, overshoots
from wallworthy.appraise.resolution import Calm, Tile, measure_resolution
from wallworthy.appraise.spectrum import RINGS, noise_floor, reach_of, spectra_of

Field = NDArray[np.float64]
QUIET = np.full(101, 1e-7)


def squares_of(field: Field) -> NDArray[np.float32]:
    return field.reshape(field.shape[0] // 32, 32, -1, 32).swapaxes(1, 2).reshape(-1, 32, 32).astype(np.float32)


@pytest.mark.practice
def test_white_noise_has_its_variance_in_every_ring() -> None:
    noise = np.random.default_rng(4).normal(0, 0.03, (640, 640))
    spectra = spectra_of(squares_of(noise + 0.4))
    np.testing.assert_allclose(spectra[:, 1:17].mean(axis=0), 0.03**2, rtol=0.06)
    np.testing.assert_allclose(noise_floor(spectra)[3:], 0.03**2, rtol=0.2)
    np.testing.assert_allclose(spectra[:, -1], 0.4, atol=0.01)


@pytest.mark.source("Field1987", "power that falls with frequency to 2.4, under a Gaussian of known width")
@pytest.mark.parametrize("blur", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("fall", [2.1, 2.4, 2.7])
def test_blurred_texture_reaches_as_far_as_its_blur_lets_it(blur: float, fall: float) -> None:
    calm = np.random.default_rng(1).normal(0.5, 3e-4, (128, 128))
    found = reach_of(
        spectra_of(squares_of(natural(3, 512, blur, fall))), spectra_of(squares_of(calm)), QUIET, last_seen=0.15
    )
    assert found is not None
    assert not found.natural
    true = crossing(np.exp(-2 * (math.pi * blur * GRID) ** 2), 0.15)
    assert found.cycles_per_px == pytest.approx(true, rel=0.12)


@pytest.mark.source("Field1987", "the same unblurred")
def test_sharp_texture_reaches_all_the_way() -> None:
    calm = np.random.default_rng(1).normal(0.5, 3e-4, (128, 128))
    found = reach_of(spectra_of(squares_of(natural(5, 512))), spectra_of(squares_of(calm)), QUIET, last_seen=0.15)
    assert found is not None
    assert found.natural
    assert found.cycles_per_px == 0.5


@pytest.mark.source("ISO12233", "a scene of known blur, with noise that differs from tone to tone")
@pytest.mark.parametrize("grain", [0.0, 0.6])
@pytest.mark.parametrize("level", [0.01, 0.03, 0.08])
def test_noise_is_never_taken_for_detail(grain: float, level: float) -> None:
    """Noise alone, coarse or fine, and noise stronger in the shadows over a scene far out of focus."""
    random = np.random.default_rng(7)
    noise = random.normal(0, 1, (512, 512))
    noise = gaussian_filter(noise, grain) if grain else noise
    noise *= level / noise.std()
    alone = spectra_of(squares_of(0.5 + noise))
    assert reach_of(alone, alone, QUIET, last_seen=0.15) is None
    scene = gaussian_filter(corners(size=512), 4.0)
    found = appraised(photo_of(scene + noise * np.linspace(1.0, 0.2, 512)[:, None]))
    assert found.resolution.fraction is None or found.resolution.fraction < 0.3


@pytest.mark.source("ISO12233", "texture without edges, native and under a blur of 2 pixels")
@pytest.mark.parametrize(("blur", "low", "high"), [(0.0, 0.9, 1.0), (2.0, 0.05, 0.14)])
def test_a_picture_of_texture_alone_is_read(blur: float, low: float, high: float) -> None:
    """Texture that is stronger in some places than in others, as grass and stone are, under a plain sky."""
    patches = np.exp(gaussian_filter(np.random.default_rng(6).normal(0, 1, (512, 512)), 30) * 80)
    field = 0.5 + (natural(9, 512) - 0.5) * np.minimum(patches, 2.5)
    field[:160] = 0.6
    field = gaussian_filter(field, blur) if blur else field
    found = appraised(photo_of(field + np.random.default_rng(2).normal(0, 0.003, field.shape))).resolution
    assert found.fraction is not None
    assert low <= found.fraction <= high
    assert found.textured


@pytest.mark.source("ISO12233", "without calm squares only edges are asked")
def test_without_calm_squares_edges_alone_tell() -> None:
    tiles = [Tile(0, 0, natural(9, 256).astype(np.float32))]
    calm = np.random.default_rng(1).normal(0.5, 3e-4, (16, 32, 32)).astype(np.float32)
    assert not measure_resolution(tiles).textured
    assert measure_resolution(tiles, calm=Calm(calm, QUIET, lossy=False)).fraction == 1.0


@pytest.mark.source("ISO12233", "an edge with a halo of known depth on both sides, on one side, on none")
def test_halos_are_what_lies_on_both_sides_of_edges() -> None:
    t = np.arange(-48, 49) * FINE
    step = 0.3 + 0.4 / (1 + np.exp(-t / 0.3))
    ripple = 0.1 * 0.4 * np.sign(t) * ((np.abs(t) > 0.75) & (np.abs(t) < 3))
    random = np.random.default_rng(3)

    def many(shape: Field) -> Field:
        return shape + random.normal(0, 0.01, (40, len(t)))

    assert halo_pct(overshoots(many(step), FINE)) == 0
    expected = 100 * 0.04 / (0.4 + 2 * 0.04)
    assert halo_pct(overshoots(many(step + ripple), FINE)) == pytest.approx(expected, rel=0.2)
    assert halo_pct(overshoots(many((1 - step) - ripple), FINE)) == pytest.approx(expected, rel=0.2)
    assert halo_pct(overshoots(many(step + np.where(t > 0, ripple, 0)), FINE)) == 0
    assert halo_pct(overshoots(many(step + ripple)[:8], FINE)) == 0
    assert halo_pct(np.zeros((0, 2))) == 0


@pytest.mark.source("ISO12233", "a scene sharpened by a mask of known width and strength")
def test_a_sharpened_scene_has_halos_and_the_scene_has_none() -> None:
    scene = corners()
    mask = scene + 1.5 * (scene - gaussian_filter(scene, 1.5))
    assert "halos" not in kinds(appraised(photo_of(scene)))
    assert "halos" in kinds(appraised(photo_of(mask)))
    _, profiles = find_crossings(scene.astype(np.float32))
    assert profiles.shape[1] == 97
    assert len(RINGS) == 16
