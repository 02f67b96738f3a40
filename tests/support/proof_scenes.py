"""Small invented pictures with known places, for the proof's tests."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Display
from wallworthy.colour.working import lab_to_working
from wallworthy.icc.engine import from_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import srgb_profile

Float = NDArray[np.float32]


def srgb_display() -> Display:
    return Display("screen", srgb_profile(), "sRGB")


def picture_of(lab: NDArray[np.float64]) -> Float:
    """Working RGB, clamped to the cube, of a Lab picture (H, W, 3)."""
    return np.clip(lab_to_working(lab), 0, 1).astype(np.float32)


def fitted(picture: Float, output: Profile) -> Float:
    """Device values by the profile's own media-relative tables: the plainest fit there is."""
    from wallworthy.colour.working import working_to_lab

    return from_lab(output, working_to_lab(picture), "relative")


def hard_places(height: int = 160, width: int = 240) -> NDArray[np.float64]:
    """A quiet grey ground with deep textured shadows at the lower left, an orange band across the
    upper part and a strong blue-green at the lower right, (H, W, 3) Lab."""
    y, x = np.mgrid[0:height, 0:width]
    dice = np.random.default_rng(7)
    lab = np.zeros((height, width, 3))
    lab[..., 0] = 60 + 5 * np.sin(x / 9)
    shadows = (y > 0.7 * height) & (x < 0.3 * width)
    lab[shadows, 0] = 4 + 3 * np.sin(2.0 * x[shadows])
    band = (y > 0.2 * height) & (y < 0.32 * height) & (x > 0.1 * width) & (x < 0.9 * width)
    lab[band] = (65, 60, 90)
    corner = (y > 0.72 * height) & (x > 0.72 * width)
    lab[corner] = (60, -62, -26)
    lab[corner, 0] += dice.normal(0, 2, int(corner.sum()))
    return lab


def noise(shape: tuple[int, int], seed: int = 1) -> Float:
    return np.random.default_rng(seed).random((*shape, 3), dtype=np.float32)


def profile_named(published_profile: Callable[[str], bytes], name: str) -> Profile:
    return parse_profile(published_profile(name))
