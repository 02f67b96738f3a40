"""One plain sentence for each figure of a fit that matters in this picture; none for what nobody would see."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.saying import share_words
from wallworthy.fit.eye import TEXTURE_DEG, local_deviation
from wallworthy.fit.figures import SHADOWS_LSTAR, FitFigures, TextureKept
from wallworthy.fit.wishes import HUES, LEAST_CHROMA

Array = NDArray[np.float64]

SEEN_DE00: Final = 3.0
"""S-CIELAB differences of a twentieth of the picture from which they are told."""
STRUCTURE: Final = 0.98
TEXTURE: Final = 0.92
TURNED_DEG: Final = 2.0
HALO_LSTAR: Final = 1.0
STEP_OVER: Final = 1.25
STEP_DE00: Final = 1.0
LEAST_SHARE: Final = 0.01
TEXTURE_LSTAR: Final = 0.4
"""Mean local deviation of L* from which a place has texture to speak of."""
LOST_STRENGTH: Final = 0.15
KEPT_TEXTURE: Final = 0.88
FLATTENED: Final = 0.7
DEEP_LSTAR: Final = 40.0
MOST_FAMILIES: Final = 3
"""All of these: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Charted:
    """What the map does to charts: the largest step of a ramp and the paper's own, dE00; shadow steps left of all."""

    largest_step_de00: float
    own_step_de00: float
    shadow_steps: int
    shadow_steps_of: int


@dataclass(frozen=True, slots=True)
class Family:
    """A hue of the picture, deep or light: its share of it and what it keeps, 0-1; NaN without texture to speak of."""

    name: str
    share: float
    strength: float
    texture: float


def families(master: Array, printed: Array, px_per_degree: float) -> tuple[Family, ...]:
    """The hues of a picture (H, W, 3), media-relative Lab, each in a deep and a light half, the largest loss first.

    Weighted by how much of the picture they are. Source: this project's rule.
    """
    kept = TextureKept(master[..., 0], printed[..., 0], TEXTURE_DEG * px_per_degree)
    chroma, after = (np.hypot(lab[..., 1], lab[..., 2]) for lab in (master, printed))
    hue = np.degrees(np.arctan2(master[..., 2], master[..., 1])) % 360
    deep = master[..., 0] < DEEP_LSTAR
    found: list[Family] = []
    for name, (first, last) in HUES.items():
        of_hue = (chroma > LEAST_CHROMA) & ((hue - first) % 360 < last - first)
        for half, said in ((deep, f"deep {name}"), (~deep, f"light {name}")):
            place = of_hue & half
            share = float(place.mean())
            if share >= LEAST_SHARE:
                strength = float(after[place].sum() / chroma[place].sum())
                spoken = kept.before[place].mean() >= TEXTURE_LSTAR
                found.append(Family(said, share, strength, kept.within(place) if spoken else math.nan))
    return tuple(sorted(found, key=lambda one: -(1 - one.strength) * math.sqrt(one.share)))


def spoken_of(figures: FitFigures, master: Array, beyond: NDArray[np.bool_], px_per_degree: float) -> FitFigures:
    """The figures without those of texture where the picture (H, W, 3) has none to speak of.

    beyond: (H, W), where its colours lie outside the condition's range. Source: this project's rule.
    """
    deviation = local_deviation(master[..., 0], TEXTURE_DEG * px_per_degree)
    shadows = master[..., 0] < SHADOWS_LSTAR
    told = [
        value if place.any() and deviation[place].mean() >= TEXTURE_LSTAR else math.nan
        for value, place in ((figures.texture_shadows, shadows), (figures.texture_beyond, beyond & ~shadows))
    ]
    return replace(figures, texture_shadows=told[0], texture_beyond=told[1])


def what_it_keeps(figures: FitFigures, charted: Charted, of: tuple[Family, ...], distance_mm: float) -> tuple[str, ...]:
    """The sentences, each figure's own, in a fixed order; one that all is kept when none is due."""
    said = [_strength(one) for one in of if 1 - one.strength >= LOST_STRENGTH][:MOST_FAMILIES]
    if figures.scielab_p95 >= SEEN_DE00:
        said.append(
            f"Seen from {distance_mm / 10:.0f} cm, a twentieth of the picture differs by {figures.scielab_p95:.0f} "
            f"ΔE00 or more from the master; on average it is {figures.scielab_mean:.1f}."
        )
    if figures.similarity < STRUCTURE:
        said.append(f"Light and dark keep {100 * figures.similarity:.0f} % of their structure.")
    places = {"In the shadows": figures.texture_shadows, "Beyond the paper's colours": figures.texture_beyond}
    for place, kept in places.items():
        if kept < TEXTURE:
            said.append(f"{place}, {100 * kept:.0f} % of the fine texture is left.")
    if figures.hue_shift_deg >= TURNED_DEG:
        said.append(f"Colours turn in hue by {figures.hue_shift_deg:.0f} degrees on average.")
    if figures.halo_lstar >= HALO_LSTAR:
        said.append(f"Beside edges, tones overshoot by up to {figures.halo_lstar:.1f} L*: a faint rim may show.")
    own, step = charted.own_step_de00, charted.largest_step_de00
    if step > max(STEP_DE00, STEP_OVER * own):
        said.append(f"A smooth gradient may show a step of {step:.1f} ΔE00; the paper's own largest is {own:.1f}.")
    if charted.shadow_steps < charted.shadow_steps_of:
        said.append(
            f"Of {charted.shadow_steps_of} dark steps that the master tells apart, "
            f"{charted.shadow_steps or 'none'} can still be told apart."
        )
    return tuple(said) or ("Nothing one would see is lost: colours, texture and tones are all kept.",)


def _strength(one: Family) -> str:
    """'The deep blues lose a third of their strength; their texture stays.'"""
    start = f"The {one.name} lose {share_words(1 - one.strength)} of their strength"
    if one.texture >= KEPT_TEXTURE:
        return f"{start}; their texture stays."
    return f"{start}, and their texture flattens." if one.texture < FLATTENED else f"{start}."
