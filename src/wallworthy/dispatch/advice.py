"""What mistakes look like on paper, and how to treat a fresh print. Common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Mistake:
    """A mistake in printing: a stable word, its name, its look on paper, what to do."""

    kind: str
    name: str
    looks_like: str
    mend: str


TWICE: Final = Mistake(
    "profile_twice",
    "Profile applied twice",
    "one cast over everything, reddish or magenta most often, greys tinted and skin wrong, while the size is right "
    "and the detail is there.",
    "Switch off the conversion in the driver or in the program, whichever is not meant to convert.",
)
NOT_APPLIED_NUMBERS: Final = Mistake(
    "profile_not_applied",
    "File taken for sRGB",
    "flat or gaudy colours and tones too light or too dark throughout, because the printer's own values were read as "
    "a screen's.",
    "See that nothing assigns, discards or converts a profile after this file.",
)
NOT_APPLIED_STANDARD: Final = Mistake(
    "profile_not_applied",
    "Profile not applied",
    "off in no single direction: often dull and too dark, greys with a tint, saturated colours sunk.",
    "Switch the driver's conversion from sRGB on, or convert with the paper's profile.",
)
INKS_AS_RGB: Final = Mistake(
    "ink_values_converted",
    "Ink values turned into RGB on the way",
    "blacks grey and thin, pure yellow and cyan dirty.",
    "Use printing software that passes ink values unchanged.",
)
COMMON: Final = (
    Mistake(
        "wrong_media",
        "Wrong media setting",
        "too much ink: filled shadows, puddles or bands, slow drying; too little: grey blacks, weak colours, grain.",
        "Set the media type the profile was made with.",
    ),
    Mistake(
        "scaled_to_fit",
        "Scaled to fit",
        "a few per cent too small or large by the ruler, unequal margins, fine detail softer than it should be.",
        "Print at 100 %.",
    ),
    Mistake(
        "wrong_side",
        "Wrong side of the paper",
        "ink that spreads and smears, pale soft colours, no gloss; it stays damp.",
        "Turn the paper; on most, a moistened fingertip sticks to the coated side at a corner.",
    ),
    Mistake(
        "automatic_correction",
        "Automatic correction",
        "greys neutral, but contrast, faces or skies differ from the proof, and from print to print.",
        "Switch every enhancement off.",
    ),
    Mistake(
        "screen_too_bright",
        "Nothing wrong with the print, screen too bright",
        "all of it darker than on screen, colours right.",
        "Hold blank paper beside a white patch on the screen and dim the screen until they match.",
    ),
)

CAUTIONS: Final = (
    "Pigment inks are dry to the touch after about a quarter of an hour, dye inks on coated papers after minutes to "
    "hours; judge colour after an hour at the earliest.",
    "Let the print lie open, face up, for 24 hours before it goes behind glass or into a sleeve, with plain absorbent "
    "paper on top for the last of them.",
    "Hold it by the edges, with clean cotton gloves if it is large; matt surfaces scuff at a touch.",
    "Don't stack fresh prints face to face, don't bend them, and keep them from sun, damp and open ozone sources.",
)


def mistakes_for(*, numbers: bool, ink_values: bool) -> tuple[Mistake, ...]:
    """The mistakes that can happen with a delivery, likeliest first."""
    if not numbers:
        return (TWICE, NOT_APPLIED_STANDARD, *COMMON)
    return (TWICE, NOT_APPLIED_NUMBERS, *((INKS_AS_RGB,) if ink_values else ()), *COMMON)
