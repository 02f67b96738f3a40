"""Opening a master: what it is, whose colours it holds, and what the person should know about it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

from wallworthy.base.errors import InputError
from wallworthy.base.files import sha256_of
from wallworthy.base.records import Master, Notice
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import display_p3_profile, grey_profile, srgb_profile
from wallworthy.raster.facts import RasterFacts, stamp_of
from wallworthy.raster.read import inspect
from wallworthy.raster.refusals import changed

SOURCE_CLASSES: Final = ("mntr", "scnr", "prtr", "spac")
SPACE_WORDS: Final = {"RGB": "RGB", "GRAY": "grey", "CMYK": "CMYK", "LAB": "Lab"}
ASSUME: Final = {
    "RGB": "Say what it was made in with --assume: srgb, display-p3, or the file of its profile.",
    "GRAY": "Say --assume srgb for the grey curve that most programs use, or name the file of its profile.",
    "CMYK": "Ask who sent it for the ICC profile of the press it was separated for, and name that with --assume "
    "PROFILE; or ask for the picture in RGB.",
}
"""What to do when it is not known what a file's numbers mean, by its space."""
REPLACED: Final = Notice("profile_replaced", "The profile in the file was set aside for the assumed one.")
OUTDONE: Final = ("untagged_srgb", "said_oprgb")
"""What is told of colours that nobody has named a profile for."""


def open_master(path: str | Path, *, assume: bytes | None = None) -> Master:
    """Read a picture file's header, profile and SHA-256; its pixels stay where they are, the file unwritten.

    `assume`: ICC profile bytes to use instead of what the file says (for files without a profile,
    or with a broken one). 8-bit RGB without a profile is taken as sRGB with a notice; other files
    without one are refused, except Lab, which needs none. Raises InputError.
    """
    facts = inspect(path)
    sha256 = sha256_of(facts.path)
    notices = list(facts.notices)
    profile, assumed = _profile_in_force(facts, assume, notices)
    if facts.alpha != "none":
        notices.append(Notice("alpha_on_white", "The picture is partly transparent; it was laid on paper white."))
    if stamp_of(facts.path) != facts.stamp:
        raise changed(facts.path)
    return Master(
        path=str(facts.path),
        sha256=sha256,
        format=facts.format,
        width_px=facts.width_px,
        height_px=facts.height_px,
        bits=facts.bits,
        floating=facts.floating,
        space=facts.space,
        alpha=facts.alpha != "none",
        profile=None if profile is None else profile.data,
        profile_description=None if profile is None else profile.description,
        assumed=assumed,
        capture=dict(facts.capture),
        notices=tuple(notices),
        stamp=(facts.stamp.size_bytes, facts.stamp.mtime_ns, facts.stamp.inode),
    )


def in_space(master: Master, assume: bytes) -> Master:
    """The master as `open_master` tells of it with `assume`, its file left alone. Raises InputError for no profile."""
    if master.space == "LAB" or (master.is_told and master.profile == assume):
        return master
    profile = parse_profile(assume, "the assumed profile")
    notices = [notice for notice in master.notices if notice.code not in OUTDONE]
    if not master.assumed:
        notices.append(REPLACED)
    return replace(
        master,
        profile=profile.data,
        profile_description=profile.description,
        assumed=True,
        notices=tuple(notices),
    )


def _profile_in_force(facts: RasterFacts, assume: bytes | None, notices: list[Notice]) -> tuple[Profile | None, bool]:
    """The profile that says what the samples mean, and whether it came from outside the file."""
    name = facts.path.name
    if facts.space == "LAB":
        return None, False
    if assume is not None:
        profile = parse_profile(assume, "the assumed profile")
        problem = _misfit(profile, facts)
        if problem:
            raise InputError(
                "assumed_profile_misfit",
                f"The assumed profile can't be used for {name}: {problem}.",
                ASSUME["CMYK"]
                if facts.space == "CMYK"
                else f"Name a profile for {SPACE_WORDS[facts.space]} pictures, or say srgb.",
                where="--assume",
            )
        if facts.icc is not None:
            notices.append(REPLACED)
        notices[:] = [notice for notice in notices if notice.code not in OUTDONE]
        return profile, True
    if facts.icc is not None:
        return _embedded(facts, facts.icc), False
    if facts.said_space is not None:
        return _said(facts, facts.said_space), False
    if facts.space == "RGB" and facts.bits == 8 and not facts.floating:
        text = "The file does not say what its colours mean; they were taken as sRGB."
        notices.append(Notice("untagged_srgb", text))
        return parse_profile(srgb_profile()), True
    kind = f"{facts.bits}-bit {'floating-point ' if facts.floating else ''}{SPACE_WORDS[facts.space]}"
    raise InputError(
        "master_untagged",
        f"{name} is {kind} without a profile, so its numbers could mean any colours.",
        ASSUME[facts.space],
        where=str(facts.path),
    )


def _said(facts: RasterFacts, said: str) -> Profile:
    if facts.space == "GRAY" and said == "srgb":
        return parse_profile(grey_profile())
    if facts.space == "RGB":
        return parse_profile(srgb_profile() if said == "srgb" else display_p3_profile())
    raise InputError(
        "master_untagged",
        f"{facts.path.name} says it is {said} but holds {SPACE_WORDS[facts.space]} values.",
        ASSUME[facts.space],
        where=str(facts.path),
    )


def _embedded(facts: RasterFacts, data: bytes) -> Profile:
    name = facts.path.name
    try:
        profile = parse_profile(data, f"the profile in {name}")
    except InputError as error:
        raise InputError("master_profile_broken", error.text, ASSUME[facts.space], where=str(facts.path)) from None
    problem = _misfit(profile, facts)
    if problem:
        raise InputError(
            "master_profile_misfit",
            f"The profile embedded in {name} can't be right: {problem}.",
            ASSUME[facts.space],
            where=str(facts.path),
        )
    return profile


def _misfit(profile: Profile, facts: RasterFacts) -> str:
    """Why a profile can't say what these samples mean; empty when it can."""
    if profile.device_class not in SOURCE_CLASSES:
        return f"it is of class '{profile.device_class}', which describes no picture"
    if profile.space != facts.space:
        theirs = SPACE_WORDS.get(profile.space, profile.space)
        return f"it is for {theirs} values, and the picture is {SPACE_WORDS[facts.space]}"
    try:
        white = to_lab(profile, np.ones((1, profile.channels), dtype=np.float32))
    except InputError:
        return "the colour engine can't read it"
    return "" if bool(np.isfinite(white).all()) else "it gives no colours"
