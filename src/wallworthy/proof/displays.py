"""The screen in front of the person: which profile, how bright, calibrated when."""

from __future__ import annotations

import datetime
import math
from typing import Final

from wallworthy.base.records import Display, Notice
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import display_p3_profile, srgb_profile
from wallworthy.proof import words as say

CALIBRATION_DAYS: Final = 31
"""Calibrate monthly: common practice, no source."""

DIMMEST_CD_M2: Final = 10.0
BRIGHTEST_CD_M2: Final = 5000.0

SPACES: Final = ("srgb", "display-p3")


def display_from(
    name: str,
    profile: bytes | None = None,
    space: str | None = None,
    white_cd_m2: float | None = None,
    calibrated_on: str | None = None,
    today: datetime.date | None = None,
) -> Display:
    """A display from its own ICC profile, or from a standard space ('srgb', 'display-p3'; sRGB when neither is given).

    white_cd_m2: luminance of its white, 10 to 5000. calibrated_on: an ISO date, not in the future.
    Raises InputError: the profile must be an RGB display profile.
    """
    if profile is not None and space is not None:
        raise say.refuse("display_twice")
    if profile is None and (space or "srgb") not in SPACES:
        raise say.refuse("space_unknown", given=str(space))
    data = profile if profile is not None else (display_p3_profile() if space == "display-p3" else srgb_profile())
    parsed = parse_profile(data, "the display's profile")
    require_display(parsed)
    if white_cd_m2 is not None and not (math.isfinite(white_cd_m2) and DIMMEST_CD_M2 <= white_cd_m2 <= BRIGHTEST_CD_M2):
        raise say.refuse("white_absurd", white=white_cd_m2)
    if calibrated_on is not None:
        calibrated_on = _checked_date(calibrated_on, today or datetime.date.today()).isoformat()
    return Display(name, data, parsed.description, white_cd_m2, calibrated_on)


def require_display(profile: Profile) -> None:
    """Raise InputError, saying what it is instead, unless this is an RGB display profile."""
    if profile.device_class != "mntr":
        raise say.refuse("display_class", description=profile.description, kind=say.CLASS_WORDS[profile.device_class])
    if profile.space != "RGB":
        raise say.refuse("display_space", description=profile.description, space=profile.space)


def display_notices(
    display: Display, light_white_cd_m2: float | None = None, today: datetime.date | None = None
) -> tuple[Notice, ...]:
    """What the person should know of this display now: calibrated long ago or never, brighter than the paper."""
    notices: list[Notice] = []
    if display.calibrated_on is not None:
        days = ((today or datetime.date.today()) - datetime.date.fromisoformat(display.calibrated_on)).days
        if days > CALIBRATION_DAYS:
            notices.append(Notice("display_calibration_old", say.calibration_old(display.name, days)))
    white = display.white_cd_m2
    if white is not None and light_white_cd_m2 is not None and not 0.7 <= white / light_white_cd_m2 <= 1.4:
        notices.append(Notice("display_white_far", say.display_white_far(white, light_white_cd_m2)))
    return tuple(notices)


def first_use_sentences() -> tuple[str, ...]:
    """The sheet-of-blank-paper check, told when a display is first used."""
    return say.BLANK_SHEET_CHECK


def _checked_date(text: str, today: datetime.date) -> datetime.date:
    try:
        date = datetime.date.fromisoformat(text.strip()[:10])
    except ValueError:
        raise say.refuse("date_unclear", given=text) from None
    if date > today:
        raise say.refuse("date_future", given=text)
    return date
