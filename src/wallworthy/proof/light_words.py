"""What this room says of the light a print is seen in; with `proof.words` all of its sentences."""

from __future__ import annotations

import math
from typing import Final

from wallworthy.base.records import Light

DIMMEST_SCREEN_CD_M2: Final = 40.0
BRIGHTEST_SCREEN_CD_M2: Final = 350.0
"""Screens are rarely even below the one, and rarely reach the other (common practice, no source)."""
BRIGHTENED_B: Final = -3.0
"""b* of a white from which brighteners are likely (common practice, no source)."""


def looks_there(light: Light, colourfulness: float, cast: tuple[float, float], dimmed: float) -> str:
    """What the room does to the look of the print; cast: a*, b* that white keeps, dimmed: share the proof is darker."""
    share = round(100 * abs(1 - colourfulness))
    colours = (
        "colours look as strong as under 500 lux"
        if share < 2
        else f"colours look {share} % {'duller' if colourfulness < 1 else 'stronger'} than under 500 lux"
    )
    tint = math.hypot(*cast)
    white = (
        "the eye settles to its white"
        if tint < 1.5
        else f"the eye does not settle wholly: white keeps {'a warm' if cast[1] > 0 else 'a cool'} tinge"
    )
    darker = f" To show that tinge the proof is {100 * dimmed:.0f} % darker than the screen could be." if dimmed else ""
    return f"Shown as it looks under '{light.name}': {colours}, and {white}.{darker}"


def wants(light: Light, lightness: float, command: str) -> str:
    way, why = ("lighter", "dark tones merge there") if lightness > 0 else ("darker", "dark tones part well there")
    return (
        f"'{light.name}' wants the print about {abs(lightness):g} L* {way}: {why}. Nothing was changed; to take it: "
        f"{command}"
    )


def screen_cannot(match_cd_m2: float) -> str | None:
    """The sentence when no usual screen's white matches the paper's; None when one can."""
    if match_cd_m2 < DIMMEST_SCREEN_CD_M2:
        return (
            f"Blank paper there has {match_cd_m2:.0f} cd/m², dimmer than screens stay even: no screen matches it side "
            "by side. Trust a small test print in that room more than the screen, or light the print better."
        )
    if match_cd_m2 > BRIGHTEST_SCREEN_CD_M2:
        return (
            f"Blank paper there has {match_cd_m2:.0f} cd/m², brighter than most screens: the print will look more "
            "brilliant than its proof."
        )
    return None


def brighteners(white_b: float) -> str | None:
    """A caution, with no number, for a bluish paper white."""
    if white_b > BRIGHTENED_B:
        return None
    return (
        f"The paper's white is bluish (b* {white_b:.1f}), so it likely holds brighteners: they glow by ultraviolet, "
        "and under lamps without it, or behind glass, white and light tones turn yellower than this proof shows."
    )


def lux_from_photo(lux: float, factor: float, level: float) -> str:
    return (
        f"The photo tells about {lux:.0f} lux, right within a factor of {factor:.1f}: "
        f"{lux / factor:.0f} to {lux * factor:.0f}. The sheet came out at {100 * level:.0f} % of full light."
        + (
            " Let the camera choose the exposure, the sheet filling the frame: it is surer near 18 %."
            if factor > 3
            else ""
        )
    )
