"""The surface of what can be printed: against a solid whose answer is known, voxels and brute force."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from support.synthetic_profile import synthetic_profile
from wallworthy.base.records import Correction
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.correction import correct
from wallworthy.colour.probes import probe_colours
from wallworthy.colour.working import working_to_lab
from wallworthy.icc.engine import to_lab
from wallworthy.icc.gamut import surface
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import grey_profile, srgb_profile
from wallworthy.proof.beyond import share_beyond

pytestmark = pytest.mark.practice

LOW, HIGH = np.array([20.0, -40.0, -30.0]), np.array([90.0, 35.0, 45.0])


@pytest.fixture(scope="module")
def box() -> Profile:
    """RGB whose colours fill a box in Lab exactly."""
    span = HIGH - LOW
    return parse_profile(
        synthetic_profile("RGB", lambda rgb: LOW + rgb * span, lambda lab: np.clip((lab - LOW) / span, 0, 1))
    )


def test_a_box_has_its_volume_and_its_inside(box: Profile) -> None:
    gamut = surface(box)
    assert gamut.volume_lab3 == pytest.approx(np.prod(HIGH - LOW), rel=0.005)
    dice = np.random.default_rng(1)
    inner = dice.uniform(LOW + 0.6, HIGH - 0.6, (20_000, 3))
    assert gamut.inside(inner).all()
    around = dice.uniform(LOW - 30, HIGH + 30, (20_000, 3))
    outer = ((around < LOW - 0.6) | (around > HIGH + 0.6)).any(axis=1)
    assert not gamut.inside(around[outer]).any()


def test_beyond_a_box_against_brute_force(box: Profile) -> None:
    dice = np.random.default_rng(2)
    steps = np.linspace(0, 1, 76)
    u, v = (grid.ravel() for grid in np.meshgrid(steps, steps))
    square = np.stack([u, v], axis=1)
    sides = [np.insert(square, axis, end, axis=1) for axis in range(3) for end in (0.0, 1.0)]
    walls = LOW + np.concatenate(sides) * (HIGH - LOW)
    lab = dice.uniform(LOW - 12, HIGH + 12, (300, 3))
    outside = ((lab < LOW) | (lab > HIGH)).any(axis=1)
    expected = np.array(
        [ciede2000(colour, walls).min() if out else 0 for colour, out in zip(lab, outside, strict=True)]
    )
    got = surface(box).beyond_de00(lab)
    assert np.abs(got - expected).mean() <= 0.1
    assert np.abs(got - expected).max() <= 0.6
    assert np.all(got[~outside] <= 0.5)


@pytest.mark.parametrize("name", ["fogra39", "gs_cmyk", "vips_cmyk", "gs_srgb", "gs_a98"])
def test_what_the_device_makes_lies_inside(name: str, published_profile: Callable[[str], bytes]) -> None:
    profile = parse_profile(published_profile(name))
    device = np.random.default_rng(5).uniform(0, 1, (20_000, profile.channels))
    beyond = surface(profile).beyond_de00(to_lab(profile, device))
    assert np.quantile(beyond, 0.999) <= 0.6
    assert beyond.max() <= 1.5
    assert (beyond > 1).mean() <= 1e-3


def test_volume_of_a_screen_against_the_divergence_of_its_mesh() -> None:
    """The signed volumes of tetrahedra over the six faces of the RGB cube, a sum with no directions in it."""
    screen = parse_profile(srgb_profile())
    steps = np.linspace(0, 1, 201)
    total = 0.0
    for axis in range(3):
        for end, sign in ((0.0, -1.0), (1.0, 1.0)):
            u, v = np.meshgrid(steps, steps, indexing="ij")
            mesh = np.empty((201, 201, 3))
            mesh[..., axis], mesh[..., (axis + 1) % 3], mesh[..., (axis + 2) % 3] = end, u, v
            lab = to_lab(screen, mesh).astype(float)
            a, b, c, d = lab[:-1, :-1], lab[1:, :-1], lab[:-1, 1:], lab[1:, 1:]
            for first, second, third in ((a, b, c), (d, c, b)):
                total += sign * np.einsum("...i,...i", first, np.cross(second, third)).sum() / 6
    assert surface(screen).volume_lab3 == pytest.approx(abs(total), rel=0.01)


def test_volume_of_four_inks_against_voxels(published_profile: Callable[[str], bytes]) -> None:
    """Voxels that any of 8 million printed colours falls in; three sizes, extrapolated to none by a parabola."""
    profile = parse_profile(published_profile("fogra39"))
    dice = np.random.default_rng(6)
    sizes, offset = (2.0, 4.0, 8.0), np.array([0, 150, 150])
    filled = [np.zeros((160, 160, 160), dtype=bool) for _ in sizes]
    for _ in range(8):
        device = dice.uniform(0, 1, (1_000_000, 4)).astype(np.float32)
        device[:, 3] *= dice.uniform(0, 1, len(device)) ** 2
        extreme = dice.uniform(0, 1, device.shape) < 0.15
        lab = to_lab(profile, np.where(extreme, np.round(device), device))
        for size, voxels in zip(sizes, filled, strict=True):
            voxels[tuple(np.floor((lab + offset) / size).astype(int).T)] = True
    fine, middle, coarse = (voxels.sum() * size**3 for size, voxels in zip(sizes, filled, strict=True))
    assert surface(profile).volume_lab3 == pytest.approx((8 * fine - 6 * middle + coarse) / 3, rel=0.02)


def test_a_grey_scale_has_no_inside() -> None:
    gamut = surface(parse_profile(grey_profile()))
    assert gamut.volume_lab3 == 0
    assert gamut.beyond_de00([[50.0, 0, 0]])[0] <= 0.1
    assert gamut.beyond_de00([[50.0, 10, 0]])[0] > 5


@pytest.mark.parametrize("correction", [Correction(), Correction(lightness=4, chroma=1.2)])
def test_the_baked_share_outside(correction: Correction, published_profile: Callable[[str], bytes]) -> None:
    """Of colours of all kinds, half far beyond print: the table's share against asking for every colour."""
    gamut = surface(parse_profile(published_profile("fogra39")))
    probes = probe_colours()[:20_000]
    expected = gamut.beyond_de00(correct(working_to_lab(probes), correction))
    for tolerance in (1.4, 3.0):
        got = share_beyond(probes.reshape(100, 200, 3), gamut.signed_de00, correction, tolerance)
        assert got == pytest.approx((expected > tolerance).mean(), abs=0.003)


def test_six_inks_have_a_surface() -> None:
    def device_to_lab(device: np.ndarray) -> np.ndarray:
        light = 1 - device.mean(axis=1)
        return np.stack([100 * light, 60 * (device[:, 0] - device[:, 5]), 60 * (device[:, 1] - device[:, 4])], axis=1)

    data = synthetic_profile("6CLR", device_to_lab, lambda lab: np.repeat(1 - lab[:, :1] / 100, 6, axis=1), a2b_nodes=3)
    profile = parse_profile(data)
    lab = to_lab(profile, np.random.default_rng(8).uniform(0, 1, (5000, 6)))
    assert surface(profile).beyond_de00(lab).max() <= 0.5
    assert surface(profile).beyond_de00([[50.0, 90, 0]])[0] > 5
