"""Black and white: greys of a stated tone, neutral along the ramp, leaning to the paper's own black only at its end.

A grey is asked for in Lab relative to the paper: the eye takes the paper for white, so 'neutral' is the paper's own
tint all the way down. What is asked goes to inks by our own inversion, which keeps greys closer than a profile's
table does.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Pair
from wallworthy.colour.float32 import Planes, planes_of, working_to_lab32
from wallworthy.colour.working import lab_to_working
from wallworthy.fit.inverse import nearest_device
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile, parse_profile

Floats = NDArray[np.float32]

TONES: Final[dict[str, tuple[Pair, Pair]]] = {
    "neutral": ((0.0, 0.0), (0.0, 0.0)),
    "paper-warm": ((1.0, 5.0), (1.0, 5.0)),
    "cool": ((-0.5, -4.0), (-0.5, -4.0)),
    "split": ((-0.5, -4.0), (0.5, 4.0)),
}
"""a* and b* of dark and of light middle tones at their strongest; none at both ends (common practice, no source)."""
LEAN_LSTAR: Final = 12.0
"""Over so many L* above the paper's black greys lean to its own tint: a corner there would show as a coloured edge."""


@dataclass(frozen=True, slots=True)
class Greys:
    """A tone on one paper."""

    tone: str
    black_lstar: float
    """The darkest grey, relative to the paper."""
    black_ab: Pair
    """Its own tint."""

    def tint(self, lightness: Floats) -> Floats:
        """a*, b* (2, n) asked of greys at L* (n,) of the print, without the lean to black."""
        dark, light = TONES[self.tone]
        t = np.clip((lightness - self.black_lstar) / (100 - self.black_lstar), 0, 1)
        if dark == light:
            weight = 4 * t * (1 - t)
            return np.stack([weight * part for part in dark]).astype(np.float32)
        wave = np.sin(2 * np.pi * t)
        halves = [np.where(t < 0.5, low * wave, -high * wave) for low, high in zip(dark, light, strict=True)]
        return np.stack(halves).astype(np.float32)

    def asked(self, lab: Planes) -> Planes:
        """Lab planes (3, n) in the condition, near-grey, with the tone and the lean to black laid over."""
        out = lab.copy()
        share = np.clip((lab[0] - self.black_lstar) / LEAN_LSTAR, 0, 1)
        lean = 1 - share * share * (3 - 2 * share)
        tint = self.tint(lab[0])
        for n in (0, 1):
            out[n + 1] = (out[n + 1] + tint[n]) * (1 - lean) + np.float32(self.black_ab[n]) * lean
        return out


def tone_of(text: str) -> str:
    """A tone from its name. Raises InputError.

    >>> tone_of("Neutral")
    'neutral'
    """
    tone = text.strip().lower().replace(" ", "-")
    if tone not in TONES:
        raise InputError(
            "tone_unknown",
            f"'{text}' is no tone I know for black and white.",
            f"The tones are {', '.join(TONES)}.",
            where="--black-and-white",
        )
    return tone


def greys_for(tone: str, output: Profile) -> Greys:
    """The tone on a paper."""
    lightness, a, b = _darkest(output.data)
    return Greys(tone, lightness, (a, b))


@lru_cache(maxsize=16)
def _darkest(data: bytes) -> tuple[float, float, float]:
    output = parse_profile(data)
    printed = print_lab(output, nearest_device(output, np.zeros((1, 3), np.float32)))[0]
    return float(printed[0]), float(printed[1]), float(printed[2])


def in_grey(picture: Floats) -> Floats:
    """A picture in the working encoding (..., 3), 0-1, in greys of the same L*.

    >>> in_grey(np.array([[0.5, 0.5, 0.5]], np.float32)).round(4).tolist()
    [[0.5, 0.5, 0.5]]
    """
    lightness = working_to_lab32(planes_of(picture))[0] / 100
    return np.repeat(lightness.reshape(*picture.shape[:-1], 1), 3, axis=-1)


def in_tone(greys: Floats, tone: str) -> Floats:
    """Greys in the working encoding (..., 3), 0-1, in the tone wanted of them: what their print is held against.

    >>> grey = np.full((1, 3), 0.5, np.float32)
    >>> bool((in_tone(grey, "neutral") == grey).all()), bool(in_tone(grey, "cool")[0, 2] > 0.5)
    (True, True)
    """
    if all(part == (0.0, 0.0) for part in TONES[tone]):
        return greys
    lightness = np.ascontiguousarray(greys[..., 0], dtype=np.float32).reshape(-1) * 100
    lab = np.stack([lightness, *Greys(tone, 0.0, (0.0, 0.0)).tint(lightness)], axis=-1)
    return np.clip(lab_to_working(lab), 0, 1).astype(np.float32).reshape(greys.shape)
