"""A picture in black and white: how near its greys come to their tone, the tone ladder, and what another light does."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.records import Light
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.float32 import planes_of, working_to_lab32
from wallworthy.colour.illuminants import spectrum_of
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.colour.observer import reflection_xyz
from wallworthy.fit.compose import direct
from wallworthy.fit.greys import LEAN_LSTAR, Greys
from wallworthy.icc.quick import print_lab
from wallworthy.journey.choosing import viewed
from wallworthy.journey.parts import GreyFields, ToneStep
from wallworthy.proof.lights import light_spectrum

if TYPE_CHECKING:
    from wallworthy.icc.read import Profile
    from wallworthy.journey.chain import Job

Array = NDArray[np.float64]

RAMP: Final = 256
LADDER_STEP: Final = 10
KEYS: Final = (35.0, 65.0)
"""L* of the picture's median below which it is low-key, and above which high-key (common practice, no source)."""
GREY_CHROMA: Final = 6.0
FEWEST_GREYS: Final = 8
SEEN_DE00: Final = 1.0


def grey_fields(job: Job, light: Light | None, lightness: NDArray[np.float32] | None = None) -> GreyFields | None:
    """The facts and sentences of a picture in black and white; None for one in colour.

    lightness: L* (n,) of pixels evenly spread, when they are at hand.
    """
    if job.source.greys is None:
        return None
    lstar = working_to_lab32(planes_of(viewed(job)[0]))[0] if lightness is None else lightness
    ramp = np.linspace(0, 1, RAMP, dtype=np.float32)
    printed = _printed(job, ramp)
    asked = np.column_stack([printed[:, 0], job.source.greys.tint(printed[:, 0].astype(np.float32)).T])
    off = ciede2000(printed, asked)
    steps = np.arange(0, 101, LADDER_STEP)
    landed = _printed(job, (steps / 100).astype(np.float32))[:, 0]
    share = np.histogram(lstar, bins=[-1e9, *(steps[1:] - LADDER_STEP / 2), 1e9])[0] / lstar.size
    median = float(np.median(lstar))
    key = "low" if median < KEYS[0] else "high" if median > KEYS[1] else "middle"
    shift = grey_shift(job.output, light)
    return GreyFields(
        tone=job.source.greys.tone,
        off_mean_de00=float(off.mean()),
        off_max_de00=float(off.max()),
        largest_step_de00=float(ciede2000(printed[1:], printed[:-1]).max()),
        key=key,
        ladder=tuple(
            ToneStep(float(tone), float(where), 100 * float(part))
            for tone, where, part in zip(steps, landed, share, strict=True)
        ),
        shift_mean_de00=None if shift is None else shift[0],
        shift_max_de00=None if shift is None else shift[1],
        sentences=(
            _tone_sentence(job.source.greys, printed, off),
            _key_sentence(key, median, steps, landed),
            *_light_sentence(light, shift),
        ),
    )


def _printed(job: Job, greys: NDArray[np.float32]) -> Array:
    """Media-relative Lab (n, 3) of greys (n,), working encoding."""
    pixels = np.repeat(greys[:, None], 3, axis=1)
    return print_lab(job.output, direct(job.output, job.way, job.correction, job.source)(pixels)).astype(np.float64)


def grey_shift(output: Profile, light: Light | None) -> tuple[float, float] | None:
    """How printed greys shift, dE00 mean and largest, from D50 to a light, each relative to the paper there.

    Of the near-grey patches in the profile's own measurements, when it carries spectra; None when either spectrum is
    not known.
    """
    power = None if light is None else light_spectrum(light)
    d50 = spectrum_of("D50")
    if power is None or d50 is None:
        return None
    measured = _spectra(output)
    if measured is None:
        return None
    wavelengths, spectra = measured
    under = [_relative_lab(reflection_xyz(wavelengths, spectra, each)) for each in (d50, power)]
    grey = (np.hypot(under[0][:, 1], under[0][:, 2]) < GREY_CHROMA) & (under[0][:, 0] < 95)
    if grey.sum() < FEWEST_GREYS:
        return None
    away = ciede2000(under[0][grey], under[1][grey])
    return float(away.mean()), float(away.max())


def _relative_lab(xyz: Array) -> Array:
    """Lab relative to the lightest patch, the paper."""
    return xyz_to_lab(xyz / xyz[int(xyz[:, 1].argmax())] * PCS_WHITE)


def _spectra(output: Profile) -> tuple[Array, Array] | None:
    """Wavelengths and reflectances of the patches that stand in the profile."""
    from wallworthy.characterise.measurements import parse_measurements
    from wallworthy.icc.read import tag_span

    try:
        span = tag_span(output, "targ")
        text = span.bytes(8, span.size - 8)
        found = parse_measurements(text.split(b"\0")[0], "the profile's measurements")
    except InputError:
        return None
    if found.spectra is None or found.wavelengths_nm is None:
        return None
    return found.wavelengths_nm, found.spectra


def _tone_sentence(greys: Greys, printed: Array, off: Array) -> str:
    start = f"Greys hold the tone '{greys.tone}' to {off.mean():.1f} ΔE00 on average"
    if off.max() < SEEN_DE00:
        return f"{start} and {off.max():.1f} at most, all along the ramp."
    where = float(printed[int(off.argmax()), 0])
    dark = where < greys.black_lstar + LEAN_LSTAR
    why = "they lean to the paper's own black" if dark else "these inks can't follow"
    return f"{start}; at L* {where:.0f}, where {why}, they are {off.max():.1f} off."


def _key_sentence(key: str, median: float, steps: NDArray[np.int64], landed: Array) -> str:
    low, high = (int(np.searchsorted(steps, edge)) for edge in ((10, 30) if key == "low" else (70, 90)))
    if key == "middle":
        low, high = int(np.searchsorted(steps, 30)), int(np.searchsorted(steps, 70))
    kept = (landed[high] - landed[low]) / (steps[high] - steps[low])
    name = {"low": "low-key, dark", "high": "high-key, light", "middle": "of middle key"}[key]
    side = "above" if key == "high" else "below"
    return (
        f"The picture is {name}: half of it lies {side} L* {median:.0f}. L* {steps[low]} lands at {landed[low]:.0f} "
        f"and {steps[high]} at {landed[high]:.0f}: its tones keep {100 * kept:.0f} % of their separation there."
    )


def _light_sentence(light: Light | None, shift: tuple[float, float] | None) -> tuple[str, ...]:
    if light is None or (light.duv_from_d50 == 0 and light.cct_k is not None):
        return ()
    if shift is None:
        return (
            f"How greys shift from daylight to '{light.name}' is not known without spectra of the lamp and of these "
            "inks: greys mixed of coloured inks may turn greenish or rosy there. Look at a test print in that light.",
        )
    return (
        f"From D50 to '{light.name}' greys shift by {shift[0]:.1f} ΔE00 on average and {shift[1]:.1f} at most, by the "
        "spectra in the profile.",
    )
