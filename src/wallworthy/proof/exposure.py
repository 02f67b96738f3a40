"""Lux from a photo of a blank sheet and its exposure facts.

The reflected-light relation L = K N^2 / (t S) tells the luminance that a meter places in the middle of the
scale; how far the sheet came out from there tells the rest. Source: ISO2720.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.proof.lights import GENERIC_PAPER_REFLECTANCE

METER_K: Final = 12.5
"""cd s / m2, the usual one; ISO2720 recommends 10.6 to 13.4 (second-hand, several public texts agree)."""
METER_K_RANGE: Final = (10.6, 13.4)
MIDDLE_LEVEL: Final = 0.18
"""Share of full light that a metered tone comes out at."""
STOPS_OF_SPEED: Final = 1 / 3
STOPS_OF_SHUTTER_AND_STOP: Final = 1 / 4
STOPS_OF_MIDDLE: Final = 1 / 4
CURVE_SHARE: Final = 0.5
"""Of the stops between the sheet's level and the middle, how much a camera's own curve may hide."""
WHITE_SHEETS: Final = (0.75, 0.95)
"""All of these: common practice, no source. Taken as one standard deviation each, half a range."""
BRIGHTEST_LEVEL: Final = 0.9
DARKEST_LEVEL: Final = 0.01
UNEVEN: Final = 0.35


@dataclass(frozen=True, slots=True)
class SheetLight:
    """Lux at a photographed sheet; right within `factor` nineteen times in twenty."""

    illuminance_lx: float
    factor: float
    level: float
    """Share of full light (linear, 0-1) that the sheet came out at."""


def metered_luminance_cd_m2(f_number: float, seconds: float, speed: float) -> float:
    """The luminance a reflected-light meter gives these settings for, cd/m2. Source: ISO2720.

    >>> metered_luminance_cd_m2(16, 1 / 125, 125)
    3200.0
    """
    return METER_K * f_number**2 / (seconds * speed)


def sheet_light(luminance: NDArray[np.floating], capture: Mapping[str, str]) -> SheetLight:
    """Lux from the sheet's photo.

    luminance: (H, W) linear, 0-1; the middle half each way is taken to be the sheet. capture: `exposure`,
    `aperture` and `iso` as masters tell them. Raises InputError when a fact is missing, the sheet is burnt out, black
    or uneven. Source: ISO2720; the factor of error is this project's.
    """
    f_number, seconds, speed = _facts(capture)
    height, width = luminance.shape
    middle = luminance[height // 4 : height - height // 4, width // 4 : width - width // 4].astype(np.float64)
    level = float(np.median(middle))
    if level > BRIGHTEST_LEVEL or level < DARKEST_LEVEL:
        what = "burnt out" if level > BRIGHTEST_LEVEL else "nearly black"
        raise _refuse("sheet_level", f"The sheet is {what} in this photo: it tells nothing of the light.")
    low, high = np.quantile(middle, [0.1, 0.9])
    if high - low > 2 * UNEVEN * level:
        raise _refuse("sheet_uneven", "The middle of this photo is no evenly lit blank sheet.")
    lit = metered_luminance_cd_m2(f_number, seconds, speed) * level / MIDDLE_LEVEL
    return SheetLight(math.pi * lit / GENERIC_PAPER_REFLECTANCE, factor_of_error(level), level)


def factor_of_error(level: float) -> float:
    """By how much too high or too low the lux may be, nineteen times in twenty; grows away from the middle level.

    Source: this project's sum of what is usual.
    """
    stops = (
        math.log2(METER_K_RANGE[1] / METER_K_RANGE[0]) / 2,
        STOPS_OF_SPEED,
        STOPS_OF_SHUTTER_AND_STOP,
        math.hypot(STOPS_OF_MIDDLE, CURVE_SHARE * math.log2(level / MIDDLE_LEVEL)),
        math.log2(WHITE_SHEETS[1] / WHITE_SHEETS[0]) / 2,
    )
    return 2 ** (2 * math.hypot(*stops))


def _facts(capture: Mapping[str, str]) -> tuple[float, float, float]:
    exposure = re.fullmatch(r"(?:1/)?([\d.]+) s", capture.get("exposure", ""))
    aperture = re.fullmatch(r"f/([\d.]+)", capture.get("aperture", ""))
    speed = re.fullmatch(r"\d+", capture.get("iso", ""))
    named = {"exposure time": exposure, "aperture": aperture, "ISO speed": speed}
    missing = [name for name, found in named.items() if found is None]
    if exposure is None or aperture is None or speed is None:
        raise _refuse("exposure_unknown", f"The photo does not tell its {' and its '.join(missing)}.")
    seconds = float(exposure[1])
    return float(aperture[1]), 1 / seconds if capture["exposure"].startswith("1/") else seconds, float(speed[0])


def _refuse(code: str, text: str) -> InputError:
    return InputError(
        code,
        text,
        "Photograph a blank sheet where the print will hang, filling the frame, and give the camera's own file; "
        "or read a meter and use --lux.",
        where="--photo",
    )
