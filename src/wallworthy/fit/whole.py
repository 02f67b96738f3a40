"""The way `whole`: a tone curve and a compression of chroma chosen for this picture and this paper.

Tones first (`fit.tone`), then chroma hue by hue in IPT, along rays that leave the grey axis towards
the paper's strongest colours, from the picture's own reach into the paper's. Greys stay grey, hues
stay, and what the paper holds stays where it is. One smooth function of colour. Defined by this
project (docs/why/fit.md).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, maximum_filter

from wallworthy.colour.float32 import ciede2000_32, planes_of
from wallworthy.colour.working import working_to_lab
from wallworthy.fit.boundary import (
    HUES,
    LEVELS,
    Boundary,
    between,
    hue_of,
    i_of_lightness,
    ipt_to_lab,
    lab_to_ipt,
    lightness_of_i,
)
from wallworthy.fit.eye import TEXTURE_DEG, local_deviation
from wallworthy.fit.tone import KNOTS, Tones, tone_curve

Array = NDArray[np.float64]

FINE: Final = np.linspace(0.0, 100.0, 401)
PER_CHROMA: Final = np.hypot(*(lab_to_ipt(np.stack([FINE, FINE * 0 + 1, FINE * 0], axis=-1)))[:, 1:].T)
"""IPT chroma of one a* at each L* of FINE."""

PERCENTILE: Final = 0.99
"""The picture's own reach holds this share of its colours; what lies beyond is clipped."""
FANS: Final = (0.0, 0.15, 0.35, 0.7)
"""How far rays fan out: 0 keeps lightness, 1 comes from as far behind grey as the strongest colour is before it."""
KNEES: Final = (0.3, 0.7, 1.2)
SOFTEST: Final = 0.25
"""The knee never lies below this share of the paper's reach."""
TEXTURE_PRICE: Final = (1.5, 0.5)
"""dE00 that losing one L* of texture counts for: by lightness, by chroma."""
SECTORS: Final = 24
STEPS: Final = 40
SAMPLE: Final = 60_000
"""Colours that tones and reach are taken from."""
TRIED: Final = 4000
"""Colours that candidates are tried on."""


@dataclass(frozen=True, slots=True, eq=False)
class Whole:
    """The chosen map. Tables are (HUES, LEVELS) over hue and where a ray leaves the grey axis, black to white."""

    boundary: Boundary = field(repr=False)
    tone: Array = field(repr=False)
    """L* of the print at L* 0, 1, ... 100."""
    fan: Array = field(repr=False)
    """(HUES,)."""
    knee: Array = field(repr=False)
    """(HUES,)."""
    paper: Array = field(repr=False)
    """Chroma the paper reaches along each ray."""
    picture: Array = field(repr=False)
    """How many times that the picture reaches, at least 1."""

    def ipt(self, ipt: Array) -> Array:
        """Colours (n, 3) in IPT to IPT in the condition."""
        ipt = toned(ipt, self.tone)
        i = ipt[:, 0]
        chroma = np.hypot(ipt[:, 1], ipt[:, 2])
        hue = hue_of(ipt)
        fan, middle = _around(self.fan, hue), _around(self.boundary.cusp_i, hue)
        strongest = _around(self.boundary.cusp_chroma, hue)
        axis = middle + (i - middle) / (1 + fan * chroma / strongest)
        u = np.clip((axis - self.boundary.black_i) / (1 - self.boundary.black_i), 0, 1)
        paper = between(self.paper, hue, u)
        held = squeezed(chroma, paper, between(self.picture, hue, u), _around(self.knee, hue))
        scale = held / np.maximum(chroma, 1e-12)
        return np.stack(
            [axis + (axis - middle) * fan * held / strongest, ipt[:, 1] * scale, ipt[:, 2] * scale], axis=-1
        )

    def lab(self, lab: NDArray[np.floating[Any]]) -> Array:
        """Media-relative Lab (..., 3) of the corrected master to Lab in the condition."""
        flat = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
        return ipt_to_lab(self.ipt(lab_to_ipt(flat))).reshape(lab.shape)


def toned(ipt: Array, tone: Array) -> Array:
    """IPT (n, 3) through a tone curve given in L*; a* and b* of near-greys stay, above white nothing moves.

    Near black the same P and T stand for little chroma, higher up for much: they are scaled by how
    many of them a step in a* or b* is, there and here.
    """
    lightness = lightness_of_i(ipt[:, 0])
    moved = np.interp(lightness, KNOTS, tone)
    scale = np.interp(moved, FINE, PER_CHROMA) / np.interp(lightness, FINE, PER_CHROMA)
    out = ipt * scale[:, None]
    out[:, 0] = np.where(ipt[:, 0] > 1, ipt[:, 0], i_of_lightness(moved))
    return out


def squeezed(chroma: Array, paper: Array, picture: Array, knee: Array) -> Array:
    """Chroma after compression of 0 ... picture x paper into 0 ... paper, unchanged below the knee."""
    x = chroma / np.maximum(paper, 1e-9)
    start = np.clip(1 - knee * (1 - 1 / picture), SOFTEST, 0.999)
    room = np.maximum(1 - start, 1e-9)
    t, most = (x - start) / room, np.maximum((picture - start) / room, 1.0)
    bent = start + room * t / (1 + np.maximum(t, 0) * (1 - 1 / most))
    return np.minimum(np.where(t > 0, bent, x), 1.0) * paper


def choose_whole(
    lab: Array, deviation: Array, bounds: Boundary, weight: Array | None = None, tones: Tones | None = None
) -> Whole:
    """Choose for a sample of the picture.

    lab: (n, 3) corrected master colours at viewing resolution; deviation: (n,) local standard
    deviation of L* around each; weight: (n,) how much each matters, by default alike. tones: what the
    tone curve is chosen for, by default the picture's own; those of a set, and all of it share one curve.
    """
    weight = np.ones(len(lab)) if weight is None else weight
    tones = Tones.of(lab[:, 0], deviation, weight) if tones is None else tones
    tone = tone_curve(tones, bounds.black_lstar)
    ipt = toned(lab_to_ipt(lab), tone)
    few = slice(None, None, -(-len(ipt) // TRIED))
    tried_ipt, tried_deviation, tried_weight = ipt[few], deviation[few], weight[few]
    plain = np.full(HUES, 0.0)
    candidates: list[tuple[float, float, Array]] = []
    sector = np.minimum((hue_of(tried_ipt) / (360 / SECTORS)).astype(np.int64), SECTORS - 1)
    before = planes_of(ipt_to_lab(tried_ipt))
    for fan in FANS:
        paper = rays(bounds, plain + fan)
        picture = picture_reach(ipt, bounds, plain + fan, paper)
        for knee in KNEES:
            tried = Whole(bounds, KNOTS, plain + fan, plain + knee, paper, picture)
            away = ciede2000_32(before, planes_of(ipt_to_lab(tried.ipt(tried_ipt))))
            away = away + tried_deviation * texture_lost(tried, tried_ipt)
            candidates.append((fan, knee, _by_sector(sector, tried_weight * away)))
    cost = np.stack([c for _, _, c in candidates])
    cost = cost + 0.5 * (np.roll(cost, 1, axis=1) + np.roll(cost, -1, axis=1)) + 1e-3 * cost.sum(1, keepdims=True)
    best = cost.argmin(axis=0)
    fan = _smooth(np.array([candidates[n][0] for n in best]))
    knee = _smooth(np.array([candidates[n][1] for n in best]))
    paper = rays(bounds, fan)
    return Whole(bounds, tone, fan, knee, paper, picture_reach(ipt, bounds, fan, paper))


def _by_sector(sector: NDArray[np.int64], values: Array) -> Array:
    return np.bincount(sector, weights=values, minlength=SECTORS).astype(np.float64)


def texture_lost(tried: Whole, ipt: Array) -> Array:
    """What the map takes from small steps in lightness and in chroma, priced, (n,)."""
    step = 0.01
    now = tried.ipt(ipt)
    lighter = tried.ipt(ipt + np.array([step, 0.0, 0.0]))
    chroma = np.hypot(ipt[:, 1], ipt[:, 2])
    stronger = ipt.copy()
    stronger[:, 1:] *= (1 + step / np.maximum(chroma, 0.02))[:, None]
    wider = np.hypot(stronger[:, 1], stronger[:, 2]) - chroma
    after = tried.ipt(stronger)
    light = (lighter[:, 0] - now[:, 0]) / step
    strong = (np.hypot(after[:, 1], after[:, 2]) - np.hypot(now[:, 1], now[:, 2])) / np.maximum(wider, 1e-9)
    return TEXTURE_PRICE[0] * (1 - np.clip(light, 0, 1)) + TEXTURE_PRICE[1] * (1 - np.clip(strong, 0, 1))


def rays(bounds: Boundary, fan: Array) -> Array:
    """(HUES, LEVELS): the chroma at which each ray leaves the paper's colours."""
    hue = (np.arange(HUES) * (360 / HUES))[:, None, None]
    axis = (bounds.black_i + np.linspace(0, 1, LEVELS) * (1 - bounds.black_i))[None, :, None]
    middle, strongest = bounds.cusp_i[:, None, None], bounds.cusp_chroma[:, None, None]
    chroma = np.linspace(0, 1, STEPS)[None, None, :] * 1.05 * strongest
    i = axis + (axis - middle) * fan[:, None, None] * chroma / strongest
    gap = bounds.reach_at(np.broadcast_to(hue, i.shape), i) - chroma
    out = (gap < 0).argmax(axis=-1)
    out = np.maximum(out, 1)
    near = np.take_along_axis(gap, out[..., None] - 1, -1)[..., 0]
    far = np.take_along_axis(gap, out[..., None], -1)[..., 0]
    share = np.clip(near / np.maximum(near - far, 1e-12), 0, 1)
    step = 1.05 * bounds.cusp_chroma[:, None] / (STEPS - 1)
    return (out - 1 + share) * step


def picture_reach(ipt: Array, bounds: Boundary, fan: Array, paper: Array) -> Array:
    """(HUES, LEVELS): how many times the paper's reach the picture's colours have, 99 % of them; at least 1."""
    hue, chroma = hue_of(ipt), np.hypot(ipt[:, 1], ipt[:, 2])
    middle, strongest = _around(bounds.cusp_i, hue), _around(bounds.cusp_chroma, hue)
    axis = middle + (ipt[:, 0] - middle) / (1 + _around(fan, hue) * chroma / strongest)
    u = np.clip((axis - bounds.black_i) / (1 - bounds.black_i), 0, 1)
    ratio = chroma / np.maximum(between(paper, hue, u), 0.01)
    levels = 24
    level = np.minimum((u * levels).astype(np.int64), levels - 1)
    cell = (hue / (360 / SECTORS)).astype(np.int64) % SECTORS * levels + level
    order = np.lexsort((ratio, cell))
    counts = np.bincount(cell, minlength=SECTORS * levels)
    last = np.cumsum(counts)
    pick = np.clip(last - 1 - np.floor((1 - PERCENTILE) * counts).astype(np.int64), 0, len(ratio) - 1)
    reach = np.where(counts >= 8, ratio[order][pick], 1.0).reshape(SECTORS, levels)
    reach = np.log(np.clip(reach, 1.0, 6.0))
    wide = np.pad(np.pad(reach, ((6, 6), (0, 0)), mode="wrap"), ((0, 0), (6, 6)), mode="edge")
    reach = gaussian_filter(maximum_filter(wide, size=3), 1.0)[6:-6, 6:-6]
    at_hue = (np.arange(HUES) * (360 / HUES) / (360 / SECTORS) - 0.5)[:, None]
    at_level = np.clip(np.linspace(0, 1, LEVELS) * levels - 0.5, 0, levels - 1)[None, :]
    at_hue, at_level = np.broadcast_arrays(at_hue, at_level)
    return np.exp(between(reach, at_hue % SECTORS * (360 / SECTORS), at_level / (levels - 1)))


def _smooth(by_sector: Array) -> Array:
    """Values of sectors, smoothed around the circle, at HUES."""
    soft = gaussian_filter(by_sector, 1.2, mode="wrap")
    at = (np.arange(HUES) * (SECTORS / HUES) - 0.5) % SECTORS
    low = np.floor(at).astype(np.int64)
    return soft[low % SECTORS] * (1 - at + low) + soft[(low + 1) % SECTORS] * (at - low)


def _around(table: Array, hue_deg: Array) -> Array:
    """Linear in a table of hues around the circle."""
    place = hue_deg / (360 / len(table))
    low = np.floor(place).astype(np.int64)
    share = place - low
    return table[low % len(table)] * (1 - share) + table[(low + 1) % len(table)] * share


def choose_for_picture(
    picture: NDArray[np.float32],
    bounds: Boundary,
    px_per_degree: float,
    weight: Array | None = None,
    tones: Tones | None = None,
) -> Whole:
    """Choose for a picture (H, W, 3) in the working encoding, small, at a stated viewing resolution.

    weight: (H, W), how much each pixel matters (`fit.wishes`); all alike by default. tones: as in `choose_whole`.
    """
    lab, deviation, weight = _sampled(picture, px_per_degree, weight)
    return choose_whole(lab, deviation, bounds, weight, tones)


def tones_of(picture: NDArray[np.float32], px_per_degree: float, weight: Array | None = None) -> Tones:
    """The tones that `choose_for_picture` chooses a picture's own curve for."""
    lab, deviation, weight = _sampled(picture, px_per_degree, weight)
    return Tones.of(lab[:, 0], deviation, weight)


def _sampled(
    picture: NDArray[np.float32], px_per_degree: float, weight: Array | None
) -> tuple[Array, Array, Array | None]:
    """Lab (n, 3), local deviation of L* (n,) and weight (n,) of at most SAMPLE pixels, evenly spread."""
    lab = working_to_lab(picture)
    deviation = local_deviation(lab[..., 0], TEXTURE_DEG * px_per_degree)
    few = slice(None, None, -(-deviation.size // SAMPLE))
    weight = None if weight is None else weight.ravel()[few]
    return lab.reshape(-1, 3)[few], deviation.ravel()[few], weight
