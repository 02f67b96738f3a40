"""Resampling against Pillow's kernels and a plain evaluation of the formula in double precision."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from support.memory import photo_like
from wallworthy.colour.lab import lightness_from_y, y_from_lightness
from wallworthy.raster.scale import scaled_picture, scaled_strips


@pytest.mark.source("PillowImage", "resize, BICUBIC")
def test_larger_against_pillow() -> None:
    source = photo_like(70, 90)
    mine = scaled_picture(source, 263, 201)
    for channel in range(3):
        plane = Image.fromarray((source.picture[..., channel] / 65535).astype(np.float32))
        theirs = np.clip(np.asarray(plane.resize((263, 201), Image.Resampling.BICUBIC)), 0, 1)
        np.testing.assert_allclose(mine[8:-8, 8:-8, channel], theirs[8:-8, 8:-8], atol=3e-6)


@pytest.mark.source("PillowImage", "resize, LANCZOS")
@pytest.mark.parametrize("size", [(61, 43), (30, 20), (89, 69)])
def test_smaller_against_pillow_in_linear_light(size: tuple[int, int]) -> None:
    source = photo_like(140, 180)
    mine = scaled_picture(source, *size)
    light = y_from_lightness(source.picture / 655.35).astype(np.float32)
    edge = 5
    for channel in range(3):
        theirs = np.asarray(Image.fromarray(light[..., channel]).resize(size, Image.Resampling.LANCZOS))
        expected = np.clip(lightness_from_y(theirs) / 100, 0, 1)
        inside = (slice(edge, -edge), slice(edge, -edge), channel)
        np.testing.assert_allclose(mine[inside], expected[edge:-edge, edge:-edge], atol=3e-6)


@pytest.mark.source("Duchon1979", "sinc times sinc window")
def test_edge_rows_repeat_the_edge() -> None:
    """Against the formula written out for each output, with the edge pixel repeated outside."""
    line = photo_like(1, 50).picture[:, :, :1].astype(np.float64)[0, :, 0] / 65535
    source = photo_like(1, 50)
    mine = scaled_picture(source, 19, 1)[0, :, 0]
    assert np.array_equal(np.concatenate(list(scaled_strips(source, 19, 1, 1)))[0, :, 0], mine)
    light = y_from_lightness(line * 100)
    ratio = 50 / 19
    for out in range(19):
        centre = (out + 0.5) * ratio - 0.5
        taps = np.arange(-20, 71)
        x = (taps - centre) / ratio
        weight = np.where(np.abs(x) < 3, np.sinc(x) * np.sinc(x / 3), 0)
        value = (weight * light[np.clip(taps, 0, 49)]).sum() / weight.sum()
        assert mine[out] == pytest.approx(float(lightness_from_y(value)) / 100, abs=2e-6)
