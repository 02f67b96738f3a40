"""What a correction asks for and how much is lost, in the words of a printmaker."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

DIRECTIONS: Final = {
    "lightness": ("lighter", "darker"),
    "shadow": ("more open in the shadows", "deeper in the shadows"),
    "green_red": ("redder", "greener"),
    "blue_yellow": ("yellower", "bluer"),
}
"""Axes counted from zero, in L*, a* or b*; contrast and chroma are ratios."""


def correction_words(correction: Mapping[str, float]) -> str:
    """A correction as one would say it; 'no correction' when nothing is asked.

    >>> correction_words({"lightness": 2.0, "contrast": 1.0, "blue_yellow": -1.5, "chroma": 1.05})
    '2 L* lighter, 1.5 b* bluer, colours x 1.05'
    """
    said: list[str] = []
    for axis, unit in (("lightness", "L*"), ("shadow", "L*"), ("green_red", "a*"), ("blue_yellow", "b*")):
        value = correction.get(axis, 0.0)
        if value:
            said.append(f"{abs(value):.2g} {unit} {DIRECTIONS[axis][value < 0]}")
    for axis, name in (("contrast", "contrast"), ("chroma", "colours")):
        value = correction.get(axis, 1.0)
        if value != 1:
            said.append(f"{name} x {value:.3g}")
    return ", ".join(said) or "no correction"


def seen_correction_words(correction: Mapping[str, float]) -> str:
    """The same, only as finely as an eye could tell: a tenth of a unit, a hundredth of a ratio.

    >>> seen_correction_words({"lightness": 0.457, "contrast": 0.998, "green_red": 0.042, "chroma": 1.003})
    '0.5 L* lighter'
    """
    ratios = ("contrast", "chroma")
    return correction_words({axis: round(value, 2 if axis in ratios else 1) for axis, value in correction.items()})


# share lost from -> words
SHARES: Final[tuple[tuple[float, str], ...]] = (
    (0.70, "most"),
    (0.58, "almost two thirds"),
    (0.42, "half"),
    (0.29, "a third"),
    (0.225, "a quarter"),
    (0.15, "a fifth"),
    (0.07, "a tenth"),
)


def share_words(share: float) -> str | None:
    """'a fifth' for 0.2; None when less than a fourteenth is lost."""
    return next((said for least, said in SHARES if share >= least), None)
