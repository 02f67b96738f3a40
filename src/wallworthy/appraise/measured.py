"""What is measured of a looked-at picture itself, whatever size it is printed at and from wherever it is seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.appraise.blemishes import Spot, find_dust
from wallworthy.appraise.enlarged import top_band_ratio
from wallworthy.appraise.jpeg import Compression, find_compression
from wallworthy.appraise.look import Look
from wallworthy.appraise.noise import ToneNoise, noise_by_tone, overall_sigma
from wallworthy.appraise.resolution import Calm, Resolution, measure_resolution
from wallworthy.appraise.tones import Cast, Ends, Gaps, cast_of, ends_of, gaps_of

Floats = NDArray[np.float32]

COARSE: Final = 0.35
STRONG_LSTAR: Final = 2.5
"""What is called noise but is both coarser and stronger than this is even texture, such as grass."""


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Facts of the picture. sigma: its noise, on the scale of the tone; top_band: see `enlarged`."""

    tones: tuple[ToneNoise, ...]
    sigma: float
    compression: Compression | None
    resolution: Resolution
    top_band: float | None
    ends: Ends
    gaps: Gaps | None
    cast: Cast | None
    dust: tuple[Spot, ...]


def measured(look: Look, lab: Floats, bits: int) -> Measured:
    """Measure a looked-at picture. lab: (n, 3) some of its colours, D50; bits: of its samples."""
    tones = noise_by_tone(look.blocks)
    sigma = overall_sigma(tones)
    code = 0.0 if bits > 8 or look.floating else 1 / 255
    compression = find_compression(look.patches)
    return Measured(
        tones=tones,
        sigma=sigma,
        compression=compression,
        resolution=measure_resolution(list(look.tiles), sigma, calm=calm_of(look.squares, tones, code, compression)),
        top_band=top_band_ratio(look.squares, code),
        ends=ends_of(look.counts, look.floating),
        gaps=gaps_of(look.counts),
        cast=cast_of(lab),
        dust=find_dust(look.tone, look.plan.factor, sigma),
    )


def calm_of(squares: Floats, tones: tuple[ToneNoise, ...], code: float, compression: Compression | None) -> Calm:
    """The calmest squares, with the noise of each tone: as measured, and what rounding to codes (0: none) and
    compression leave everywhere."""
    step = 0.0 if compression is None else compression.step / 255
    # codes twice: the curve from codes to tone steepens the darks
    noise = np.full(101, (2 * code**2 + step**2) / 12)
    fine = [one for one in tones if one.neighbours <= COARSE or one.sigma_lstar <= STRONG_LSTAR]
    if fine:
        measured = [(one.sigma_lstar / 100) ** 2 for one in fine]
        noise = np.maximum(noise, np.interp(np.arange(101), [one.l_lstar for one in fine], measured))
    return Calm(squares, noise, compression is not None)
