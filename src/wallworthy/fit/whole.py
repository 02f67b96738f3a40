"""The way `whole`: a tone curve and a compression of chroma chosen for this picture and this paper.

Tones first (`fit.tone`), then chroma hue by hue in IPT, along rays that leave the grey axis, from the
picture's own reach into the paper's. Greys stay grey, hues stay, and what the paper holds stays where
it is. How the rays lie and where the squeeze begins is tried and looked at from the viewing distance.
One smooth function of colour. Defined by this project (docs/why/fit.md).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, maximum_filter

from wallworthy.base.records import Way
from wallworthy.colour.float32 import Planes, ciede2000_32, planes_of
from wallworthy.colour.working import working_to_lab
from wallworthy.fit.boundary import (
    HUES,
    LEVELS,
    Boundary,
    between,
    calmed,
    hue_of,
    i_of_lightness,
    jpt_to_lab,
    lab_to_jpt,
    lightness_of_i,
)
from wallworthy.fit.eye import TEXTURE_DEG, local_deviation, seen_lab
from wallworthy.fit.tone import KNOTS, Tones, tone_curve

Array = NDArray[np.float64]

FINE: Final = np.linspace(0.0, 100.0, 401)
PER_CHROMA: Final = np.hypot(*(lab_to_jpt(np.stack([FINE, FINE * 0 + 1, FINE * 0], axis=-1)))[:, 1:].T)
"""IPT chroma of one a* at each L* of FINE."""

PERCENTILE: Final = 0.99
"""The picture's own reach holds this share of its colours; what lies beyond is clipped."""
FANS: Final = (-0.45, -0.3, -0.15, 0.0, 0.15, 0.35, 0.7, 1.5, 3.0)
"""How rays lie: 0 keeps lightness, above it they fan out from grey, below it they draw together: strong colours go
towards black and white as they lose chroma."""
LATE_FANS: Final = (0.35, 0.7, 1.5, 3.0)
"""The same for rays that turn late."""
EARLY: Final = 2
LATE: Final = 4
"""Rays turn by one of these powers of chroma, in the paper's strongest colours: colours that a paper holds keep their
lightness among neighbours of other strength; late ones lead up to where it holds most, over a cliff below that."""
PARALLEL: Final = 0.4
"""Share of the way from the strongest colour's lightness to black or white in which rays become parallel again."""
PLAIN: Final = 0.01
"""dE00 that a fan of 1 counts for, however little of the picture has that hue: without reason lightness is kept."""
KNEE: Final = 0.1
"""Share of what is to be squeezed that the squeeze begins before the paper's reach."""
TEXTURE_PRICE: Final = (0.5, 0.2)
"""dE00 that losing one L* of texture counts for: by lightness, by chroma."""
RAY_STEEPEST: Final = 3.1
"""Chroma that the paper may gain from ray to ray, on a step in J: one may just miss a corner that the next meets."""
FAINT_LSTAR: Final = 28.0
"""L* of the master below which colours are lifted from black with less chroma."""
SECTORS: Final = 24
STEPS: Final = 40
SAMPLE: Final = 60_000
"""Colours that tones and reach are taken from."""
TRIED: Final = 12_000
"""Pixels of the picture that candidates are looked at on."""
TEXTURED: Final = 3
"""Every third of them is asked what texture it loses."""


@dataclass(frozen=True, slots=True, eq=False)
class Turns:
    """How rays lie. Tables are (2, HUES): below and above the strongest colour's lightness."""

    fan: Array = field(repr=False)
    late: Array = field(repr=False)
    """How much of it is of the late kind, 0 to 1."""

    def at(self, hue_deg: Array, above: NDArray[np.bool_]) -> tuple[Array, Array]:
        """Fan and share of the late kind of hues, below or above."""
        return _sided(self.fan, hue_deg, above), _sided(self.late, hue_deg, above)


CANDIDATES: Final = (*((fan, 0.0) for fan in FANS), *((fan, 1.0) for fan in LATE_FANS))


@dataclass(frozen=True, slots=True, eq=False)
class Whole:
    """The chosen map. Tables are (HUES, LEVELS) over hue and where a ray leaves the grey axis, black to white."""

    boundary: Boundary = field(repr=False)
    tone: Array = field(repr=False)
    """L* of the print at L* 0, 1, ... 100."""
    turns: Turns = field(repr=False)
    paper: Array = field(repr=False)
    """Chroma the paper reaches along each ray."""
    picture: Array = field(repr=False)
    """How many times that the picture reaches, at least 1."""

    def jpt(self, jpt: Array) -> Array:
        """Colours (n, 3) in J, P, T (`fit.boundary`) to J, P, T in the condition."""
        jpt = toned(jpt, self.tone)
        at = _on_rays(jpt, self.boundary, self.turns)
        paper = between(self.paper, at.hue, at.level)
        held = squeezed(at.chroma, paper, between(self.picture, at.hue, at.level))
        scale = held / np.maximum(at.chroma, 1e-12)
        light = at.middle + at.end * along_ray(at.axis, at.fan * _turned(held / at.strongest, at.late))
        return np.stack([light, jpt[:, 1] * scale, jpt[:, 2] * scale], axis=-1)

    def lab(self, lab: NDArray[np.floating[Any]]) -> Array:
        """Media-relative Lab (..., 3) of the corrected master to Lab in the condition."""
        flat = np.asarray(lab, dtype=np.float64).reshape(-1, 3)
        return jpt_to_lab(self.jpt(lab_to_jpt(flat))).reshape(lab.shape)


def toned(jpt: Array, tone: Array) -> Array:
    """J, P, T (n, 3) through a tone curve given in L*; a* and b* of near-greys stay, above white nothing moves.

    Near black the same P and T stand for little chroma, higher up for much: they are scaled by how
    many of them a step in a* or b* is, there and here. The nearer to black, the more of this becomes as little as the
    same light is there: else colour would set in from black at once, faster than any master's.
    """
    lightness = lightness_of_i(jpt[:, 0])
    moved = np.interp(lightness, KNOTS, tone)
    scale = np.interp(moved, FINE, PER_CHROMA) / np.interp(lightness, FINE, PER_CHROMA)
    fainter = np.minimum((np.maximum(lightness + 16, 24) / np.maximum(moved + 16, 24)) ** 2, 1.0)
    scale *= 1 - (1 - fainter) * np.clip(1 - lightness / FAINT_LSTAR, 0, 1) ** 2
    out = jpt * scale[:, None]
    out[:, 0] = np.where(jpt[:, 0] > 1, jpt[:, 0], i_of_lightness(moved))
    return out


def squeezed(chroma: Array, paper: Array, picture: Array) -> Array:
    """Chroma after compression of 0 ... picture x paper into 0 ... paper, unchanged below the knee."""
    x = chroma / np.maximum(paper, 1e-9)
    start = np.minimum(1 - KNEE * (1 - 1 / picture), 0.999)
    room = np.maximum(1 - start, 1e-9)
    t, most = (x - start) / room, np.maximum((picture - start) / room, 1.0)
    bent = start + room * t / (1 + np.maximum(t, 0) * (1 - 1 / most))
    return np.minimum(np.where(t > 0, bent, x), 1.0) * paper


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A picture as candidates are looked at: (h, w, ...) each."""

    lab: Array
    deviation: Array
    """Local standard deviation of L* around each pixel, at the viewing resolution."""
    weight: Array
    px_per_degree: float

    @staticmethod
    def of(lab: Array, deviation: Array, weight: Array, px_per_degree: float) -> Look:
        """By means over blocks, so that about TRIED pixels are left."""
        step = max(1, math.ceil(math.sqrt(deviation.size / TRIED)))
        step = min(step, *deviation.shape)
        return Look(
            _means(lab, step), _means(deviation, step)[..., 0], _means(weight, step)[..., 0], px_per_degree / step
        )

    def seen(self, lab: Array) -> Planes:
        """Its pixels, given other colours (n, 3), as the eye sees them."""
        return planes_of(seen_lab(lab.reshape(self.lab.shape), self.px_per_degree).reshape(-1, 3))


def choose_whole(look: Look, sample: Array, bounds: Boundary, tone: Array) -> Whole:
    """Choose rays by hue: the least that the eye sees, S-CIELAB, plus texture lost, priced.

    sample: (n, 3) J, P, T of the picture's colours after the tone curve, for its reach.
    """
    jpt = toned(lab_to_jpt(look.lab.reshape(-1, 3)), tone)
    master = look.seen(look.lab)
    hue = hue_of(jpt)
    sector = np.minimum((hue / (360 / SECTORS)).astype(np.int64), SECTORS - 1)
    place = sector + SECTORS * (jpt[:, 0] > _around(bounds.cusp_i, hue))
    weight, some = look.weight.ravel(), slice(None, None, TEXTURED)
    dear = TEXTURED * (weight * look.deviation.ravel())[some]
    plain = np.zeros((2, HUES))
    cost = np.zeros((len(CANDIDATES), 2, SECTORS))
    for n, (fan, late) in enumerate(CANDIDATES):
        turns = Turns(plain + fan, plain + late)
        paper = rays(bounds, turns)
        tried = Whole(bounds, KNOTS, turns, paper, picture_reach(sample[::TEXTURED], bounds, turns, paper))
        away = weight * ciede2000_32(master, look.seen(jpt_to_lab(tried.jpt(jpt))))
        lost = dear * texture_lost(tried, jpt[some])
        total = np.bincount(place, away, 2 * SECTORS) + np.bincount(place[some], lost, 2 * SECTORS)
        cost[n] = total.reshape(2, SECTORS) + PLAIN * weight.sum() / SECTORS * abs(fan)
    cost = cost + 0.5 * (np.roll(cost, 1, axis=-1) + np.roll(cost, -1, axis=-1)) + 1e-3 * cost.sum(-1, keepdims=True)
    best = np.array(CANDIDATES)[cost.argmin(axis=0)]
    turns = Turns(*(np.stack([_smooth(side[:, n]) for side in best]) for n in range(2)))
    paper = rays(bounds, turns)
    return Whole(bounds, tone, turns, paper, picture_reach(sample, bounds, turns, paper))


def _means(plane: Array, step: int) -> Array:
    """Means over blocks of a plane (H, W, ...), (h, w, K)."""
    height, width = (n // step for n in plane.shape[:2])
    cut = plane[: height * step, : width * step]
    return np.asarray(cut.reshape(height, step, width, step, -1).mean(axis=(1, 3)))


def _turned(strength: Array, late: Array) -> Array:
    """How much of its turn a ray has made at a chroma, in strongest ones."""
    return np.asarray((1 - late) * np.tanh(strength**EARLY) + late * np.tanh(strength**LATE))


def along_ray(axis: Array, turn: Array) -> Array:
    """How far a ray is from the strongest colour's lightness, black or white 1, from how far it is on the axis.

    Rays that draw together do so less and less in the part of PARALLEL beside black or white: none comes from
    beyond, where a colour would lose all it has.
    """
    return axis * (1 + turn * np.where(turn < 0, np.clip((1 - axis) / PARALLEL, 0, 1), 1.0))


def axis_of_ray(light: Array, turn: Array) -> Array:
    """The inverse of `along_ray`."""
    plain = light / (1 + turn)
    bend = np.minimum(turn, -1e-6) / PARALLEL
    bent = (1 + bend - np.sqrt((1 + bend) ** 2 - 4 * bend * np.minimum(light, 1))) / (2 * bend)
    return np.where((turn < 0) & (plain > 1 - PARALLEL), bent, plain)


@dataclass(frozen=True, slots=True)
class _OnRays:
    """Where colours lie among the rays, each (n,)."""

    hue: Array
    chroma: Array
    strongest: Array
    """Chroma of their hue's strongest colour on the paper, and its lightness:"""
    middle: Array
    end: Array
    """From there to black or white, whichever they lie towards."""
    fan: Array
    late: Array
    axis: Array
    """Where their rays start on the axis, in shares of `end`."""
    level: Array
    """The same from black, 0, to white, 1."""


def _on_rays(jpt: Array, bounds: Boundary, turns: Turns) -> _OnRays:
    hue, chroma = hue_of(jpt), np.hypot(jpt[:, 1], jpt[:, 2])
    middle, strongest = _around(bounds.cusp_i, hue), _around(bounds.cusp_chroma, hue)
    above = jpt[:, 0] > middle
    end, (fan, late) = np.where(above, 1 - middle, bounds.black_i - middle), turns.at(hue, above)
    axis = axis_of_ray((jpt[:, 0] - middle) / end, fan * _turned(chroma / strongest, late))
    level = np.clip((middle + end * axis - bounds.black_i) / (1 - bounds.black_i), 0, 1)
    return _OnRays(hue, chroma, strongest, middle, end, fan, late, axis, level)


def _sided(table: Array, hue_deg: Array, above: NDArray[np.bool_]) -> Array:
    """Of a table (2, HUES), below or above the strongest colour's lightness."""
    return np.where(above, _around(table[1], hue_deg), _around(table[0], hue_deg))


def texture_lost(tried: Whole, jpt: Array) -> Array:
    """What the map takes from small steps in lightness and in chroma, priced, (n,)."""
    step = 0.01
    now = tried.jpt(jpt)
    lighter = tried.jpt(jpt + np.array([step, 0.0, 0.0]))
    chroma = np.hypot(jpt[:, 1], jpt[:, 2])
    stronger = jpt.copy()
    stronger[:, 1:] *= (1 + step / np.maximum(chroma, 0.02))[:, None]
    wider = np.hypot(stronger[:, 1], stronger[:, 2]) - chroma
    after = tried.jpt(stronger)
    light = (lighter[:, 0] - now[:, 0]) / step
    strong = (np.hypot(after[:, 1], after[:, 2]) - np.hypot(now[:, 1], now[:, 2])) / np.maximum(wider, 1e-9)
    return TEXTURE_PRICE[0] * (1 - np.clip(light, 0, 1)) + TEXTURE_PRICE[1] * (1 - np.clip(strong, 0, 1))


def rays(bounds: Boundary, turns: Turns) -> Array:
    """(HUES, LEVELS): the chroma at which each ray leaves the paper's colours."""
    hue: Array = (np.arange(HUES, dtype=np.float64) * (360 / HUES))[:, None, None]
    axis = (bounds.black_i + np.linspace(0, 1, LEVELS) * (1 - bounds.black_i))[None, :, None]
    middle, strongest = bounds.cusp_i[:, None, None], bounds.cusp_chroma[:, None, None]
    chroma = np.linspace(0, 1, STEPS)[None, None, :] * 1.05 * strongest
    fan, late = turns.at(hue, axis > middle)
    turn = fan * _turned(chroma / strongest, late)
    end = np.where(axis > middle, 1 - middle, bounds.black_i - middle)
    i = middle + end * along_ray((axis - middle) / end, turn)
    gap = bounds.reach_at(np.broadcast_to(hue, i.shape), i) - chroma
    out = (gap < 0).argmax(axis=-1)
    out = np.maximum(out, 1)
    near = np.take_along_axis(gap, out[..., None] - 1, -1)[..., 0]
    far = np.take_along_axis(gap, out[..., None], -1)[..., 0]
    share = np.clip(near / np.maximum(near - far, 1e-12), 0, 1)
    step = 1.05 * bounds.cusp_chroma[:, None] / (STEPS - 1)
    return calmed((out - 1 + share) * step, 1 - bounds.black_i, RAY_STEEPEST)


def picture_reach(jpt: Array, bounds: Boundary, turns: Turns, paper: Array) -> Array:
    """(HUES, LEVELS): how many times the paper's reach the picture's colours have, 99 % of them; at least 1."""
    at = _on_rays(jpt, bounds, turns)
    ratio = at.chroma / np.maximum(between(paper, at.hue, at.level), 0.01)
    levels = 24
    level = np.minimum((at.level * levels).astype(np.int64), levels - 1)
    cell = (at.hue / (360 / SECTORS)).astype(np.int64) % SECTORS * levels + level
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
    way: Way = Way.WHOLE,
) -> Whole:
    """Choose for a picture (H, W, 3) in the working encoding, small, at a stated viewing resolution.

    weight: (H, W), how much each pixel matters (`fit.wishes`); all alike by default. tones: what the
    tone curve is chosen for, by default the picture's own; those of a set, and all of it share one curve.
    way: `whole` or `detail`, whose curves are priced differently (`fit.detail` has the rest).
    """
    lab, deviation, weight = _looked_at(picture, px_per_degree, weight)
    colours, around, matters = _sample(lab, deviation, weight)
    tones = Tones.of(colours[:, 0], around, matters) if tones is None else tones
    tone = tone_curve(tones, bounds.black_lstar, way)
    look = Look.of(lab, deviation, weight, px_per_degree)
    return choose_whole(look, toned(lab_to_jpt(colours), tone), bounds, tone)


def tones_of(picture: NDArray[np.float32], px_per_degree: float, weight: Array | None = None) -> Tones:
    """The tones that `choose_for_picture` chooses a picture's own curve for."""
    colours, around, matters = _sample(*_looked_at(picture, px_per_degree, weight))
    return Tones.of(colours[:, 0], around, matters)


def _looked_at(picture: NDArray[np.float32], px_per_degree: float, weight: Array | None) -> tuple[Array, Array, Array]:
    """Lab (H, W, 3), local deviation of L* (H, W) and weight (H, W)."""
    lab = working_to_lab(picture)
    deviation = local_deviation(lab[..., 0], TEXTURE_DEG * px_per_degree)
    return lab, deviation, np.ones(deviation.shape) if weight is None else weight


def _sample(lab: Array, deviation: Array, weight: Array) -> tuple[Array, Array, Array]:
    """Of at most SAMPLE pixels, evenly spread: (n, 3), (n,), (n,)."""
    few = slice(None, None, -(-deviation.size // SAMPLE))
    return lab.reshape(-1, 3)[few], deviation.ravel()[few], weight.ravel()[few]
