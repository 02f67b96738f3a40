"""The faults a print can have, how likely each is beforehand, and what to do about it, in words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class FaultKind(StrEnum):
    """What went wrong with a print, or that nothing did."""

    AS_EXPECTED = "as_expected"
    PROFILE_TWICE = "profile_twice"
    PROFILE_NOT_APPLIED = "profile_not_applied"
    WRONG_PROFILE = "wrong_profile"
    DRIVER_ADJUSTMENT = "driver_adjustment"
    INK_MISSING = "ink_missing"
    INK_WEAK = "ink_weak"
    BANDING = "banding"
    WRONG_SIZE = "wrong_size"
    WRONG_SIDE = "wrong_side"
    LAB_AUTO_CORRECTION = "lab_auto_correction"


@dataclass(frozen=True, slots=True)
class Fault:
    """One explanation of a print. probability: all of a diagnosis sum to 1. evidence and mend: sentences.

    detail: which ink, or whose profile, where that applies.
    """

    kind: FaultKind
    probability: float
    evidence: str
    mend: str
    detail: str | None = None


PRIOR: Final[dict[FaultKind, float]] = {
    FaultKind.AS_EXPECTED: 0.8,
    FaultKind.PROFILE_TWICE: 0.025,
    FaultKind.PROFILE_NOT_APPLIED: 0.025,
    FaultKind.WRONG_PROFILE: 0.02,
    FaultKind.DRIVER_ADJUSTMENT: 0.025,
    FaultKind.INK_MISSING: 0.02,
    FaultKind.INK_WEAK: 0.02,
    FaultKind.BANDING: 0.02,
    FaultKind.WRONG_SIZE: 0.015,
    FaultKind.WRONG_SIDE: 0.01,
    FaultKind.LAB_AUTO_CORRECTION: 0.02,
}
"""Good prints are the rule: without that, one in ten of them would be called faulty. Common practice, no source."""

MEND: Final[dict[FaultKind, str]] = {
    FaultKind.AS_EXPECTED: "Nothing needs mending; judge the tiles.",
    FaultKind.PROFILE_TWICE: (
        "Colour was converted a second time: switch colour conversion off in the printer's driver and in the program "
        "that prints."
    ),
    FaultKind.PROFILE_NOT_APPLIED: (
        "The numbers were printed as plain RGB: see that the program that prints sends the file's own numbers and "
        "converts nothing to a standard space on the way."
    ),
    FaultKind.WRONG_PROFILE: (
        "Compare profile, paper setting and the paper in the tray; gloss and its neighbours are the ones confused."
    ),
    FaultKind.DRIVER_ADJUSTMENT: (
        "Set contrast, saturation, brightness and every 'enhancing' to none in the printer's driver."
    ),
    FaultKind.INK_MISSING: "Print the nozzle check and clean the head until every nozzle fires.",
    FaultKind.INK_WEAK: "Print the nozzle check; clean the head, change the cartridge if it is old, and print again.",
    FaultKind.BANDING: "Clean and align the head, and use the finer quality setting or one-way printing.",
    FaultKind.WRONG_SIZE: "Print at 100 %: switch off 'fit to page' and borderless enlargement.",
    FaultKind.WRONG_SIDE: "Turn the paper over: the coated side takes the ink.",
    FaultKind.LAB_AUTO_CORRECTION: "Order again with the lab's automatic correction switched off.",
}

EVIDENCE: Final[dict[FaultKind, str]] = {
    FaultKind.AS_EXPECTED: "The patches are what the profile promised",
    FaultKind.PROFILE_TWICE: "The pattern is that of numbers converted twice",
    FaultKind.PROFILE_NOT_APPLIED: "The pattern is that of numbers meant for a standard space",
    FaultKind.WRONG_PROFILE: "The pattern fits {detail} better than this paper's own profile",
    FaultKind.DRIVER_ADJUSTMENT: "Tones and colours are stretched alike everywhere, as by a driver's controls",
    FaultKind.INK_MISSING: "The pattern is that of no {detail} ink at all",
    FaultKind.INK_WEAK: "The pattern is that of too little {detail} ink",
    FaultKind.BANDING: "Fine stripes run across the tiles",
    FaultKind.WRONG_SIZE: "The sheet's measures are off",
    FaultKind.WRONG_SIDE: "Everything is pale and dull and no dark is deep, as on the uncoated side",
    FaultKind.LAB_AUTO_CORRECTION: "The channels are shifted against each other towards an average grey",
}
