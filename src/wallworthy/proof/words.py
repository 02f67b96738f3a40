"""Everything this room says. No sentence stands anywhere else in `proof`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Light

# ---- refusals: code -> (what is wrong, what to do) ----

REFUSALS: Final[dict[str, tuple[str, str]]] = {
    "cct_out_of_range": (
        "{cct_k:g} K is no lamp's colour temperature.",
        "Give a temperature between 1667 K and 25000 K, such as 3000 for a warm lamp or 6500 for an overcast sky.",
    ),
    "light_unknown": (
        "'{given}' is not a light I know by words.",
        "Try {known}, or give its brightness with --lux.",
    ),
    "light_without_lux": (
        "I do not know how bright this light is.",
        "Say it in words, such as {known}, or give what a meter reads with --lux.",
    ),
    "lux_absurd": (
        "{lux:g} lux is no light to look at a print in: it must lie between 1 and 120,000.",
        "Check the number; a living room in the evening has about 80 lux, a bright viewing booth 2,000.",
    ),
    "surround_unknown": ("'{given}' is not a surround I know.", "Choose dark, dim or average."),
    "spectrum_unreadable": ("The spectrum could not be read: {why}.", "Check the path and the file's permissions."),
    "spectrum_unclear": (
        "The spectrum is not two columns of rising wavelengths and powers of 0 or more.",
        "Write one line for each wavelength: nanometres, a comma, the relative power.",
    ),
    "spectrum_narrow": (
        "The spectrum does not cover the visible range: it must run from 400 nm to 700 nm in steps of at most 20 nm.",
        "Measure or export a wider range, or give the colour temperature with --cct instead.",
    ),
    "display_twice": (
        "A display has either its own profile or a standard space, not both.",
        "Leave one of --profile and --space out; the display's own profile is the better of the two.",
    ),
    "space_unknown": ("'{given}' is not a display space I know.", "Choose srgb or display-p3, or give a profile."),
    "display_class": (
        "'{description}' can't stand for a screen: it is {kind}.",
        "Give the profile made when the screen was calibrated, or --space srgb.",
    ),
    "display_space": (
        "'{description}' can't stand for a screen: it describes {space} values, and screens take RGB.",
        "Give the profile made when the screen was calibrated, or --space srgb.",
    ),
    "white_absurd": (
        "{white:g} cd/m² is no screen's white: it must lie between 10 and 5000.",
        "Check the number; screens for proofing are often set between 80 and 160.",
    ),
    "date_unclear": ("'{given}' is not a date I can read.", "Write it as year-month-day, such as 2026-03-31."),
    "date_future": ("The display can't have been calibrated on {given}: that day is still to come.", "Check the date."),
    "proof_shape": (
        "The picture and the printer's values do not belong together: {picture} against {device} pixels.",
        "This is a fault of the program; please report it.",
    ),
}

CLASS_WORDS: Final[dict[str, str]] = {
    "prtr": "a printer's profile",
    "mntr": "a display's profile",
    "scnr": "a scanner's or camera's profile",
    "spac": "a colour space, not a device",
    "link": "a link between two devices",
    "abst": "an abstract profile",
    "nmcl": "a list of named colours",
}

WHERE: Final[dict[str, str]] = {
    "cct_out_of_range": "--cct",
    "light_unknown": "--words",
    "light_without_lux": "--lux",
    "lux_absurd": "--lux",
    "surround_unknown": "--surround",
    "display_twice": "--profile",
    "space_unknown": "--space",
    "display_class": "--profile",
    "display_space": "--profile",
    "white_absurd": "--white",
    "date_unclear": "--calibrated",
    "date_future": "--calibrated",
}


def refuse(code: str, *, where: str | None = None, **facts: object) -> InputError:
    """The refusal for a code, with its facts filled in, ready to be raised."""
    text, mend = REFUSALS[code]
    return InputError(code, text.format(**facts), mend.format(**facts), where=where or WHERE.get(code))


def listed(items: Sequence[str], joint: str = "and") -> str:
    """'a', 'a and b', 'a, b and c'."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joint} {items[-1]}"


# ---- displays ----

BLANK_SHEET_CHECK: Final = (
    "Once, before you trust a proof: lay a sheet of the blank paper beside a white patch on the screen, "
    "under the light you work in.",
    "Dim the screen until the patch is no brighter than the sheet; then leave the brightness alone.",
    "When prints look too dark, it is most often the screen that is too bright, not the print that is wrong.",
)


def calibration_old(name: str, days: int) -> str:
    ago = f"{days} days" if days < 100 else f"{round(days / 30.4)} months"
    return f"'{name}' was calibrated {ago} ago; screens drift, and common practice is to calibrate monthly."


def display_white_far(white: float, match: float) -> str:
    way = "brighter" if white > match else "dimmer"
    return (
        f"The screen's white is {white:.0f} cd/m², {way} than blank paper in this light, about {match:.0f}; "
        f"the print will look {'darker' if white > match else 'lighter'} than its proof until they match."
    )


# ---- lights ----


def light_sentences(light: Light, *, paper: bool = True) -> tuple[str, ...]:
    low, high = light.illuminance_interval_lx
    bright = f"{light.name}: about {light.illuminance_lx:.0f} lux, between {low:.0f} and {high:.0f}"
    if paper:
        bright += f"; a usual paper's white there is as bright as a screen's at {light.paper_white_cd_m2:.0f} cd/m²"
    return f"{bright}.", _colour_sentence(light.cct_k, light.duv_from_d50)


def _colour_sentence(cct_k: float | None, distance: float) -> str:
    if cct_k is None and distance == 0:
        return "Its colour is not known; the proof takes it as D50, the light profiles are measured for."
    named = "Its colour" if cct_k is None else f"Its colour, about {cct_k:.0f} K,"
    number = f"{distance:.4f} in u'v'"
    if distance < 0.002:
        return f"{named} is D50, the light profiles are measured for."
    if distance <= 0.005:
        return f"{named} is close to D50, the light profiles are measured for: {number}."
    side = "" if cct_k is None else " warmer" if cct_k < 5003 else " bluer"
    return (
        f"{named} is not the D50 profiles are measured for but{side or ' off'} by {number}: the eye settles to it, "
        "yet some inks may shift against each other."
    )


# ---- colours: a name for every Lab ----

# hue angle up to (degrees), name; CIELAB h_ab, our own words
HUES: Final[tuple[tuple[float, str], ...]] = (
    (20, "rose"),
    (49, "red"),
    (76, "orange"),
    (88, "golden yellow"),
    (108, "yellow"),
    (127, "yellow-green"),
    (160, "green"),
    (215, "blue-green"),
    (309, "blue"),
    (324, "violet"),
    (348, "magenta"),
    (360, "rose"),
)

# where a hue goes when it moves: anchors at h_ab in degrees
HUE_ANCHORS: Final[tuple[tuple[float, str], ...]] = (
    (5, "rose"),
    (38, "red"),
    (65, "orange"),
    (98, "yellow"),
    (140, "green"),
    (195, "blue-green"),
    (270, "blue"),
    (318, "violet"),
    (338, "magenta"),
)

TINTS: Final[tuple[tuple[float, str], ...]] = (
    (20, "rosy"),
    (60, "reddish"),
    (85, "warm"),
    (110, "yellowish"),
    (190, "greenish"),
    (225, "cool"),
    (300, "bluish"),
    (335, "violet"),
    (360, "rosy"),
)

# L* up to, name of a neutral tone (all plural) with room for a tint
NEUTRALS: Final[tuple[tuple[float, str], ...]] = (
    (8, "deepest {}shadows"),
    (22, "deep {}shadows"),
    (42, "dark {}greys"),
    (64, "middle {}greys"),
    (84, "light {}greys"),
    (96, "palest {}tones"),
    (101, "{}whites"),
)

BROWN, LIGHT_BROWN, OLIVE, BEIGE = "brown", "light brown", "olive", "beige"
PINK, PURPLE, VIOLET = "pink", "purple", "violet"
SHINING: Final = ("blue-green", "green", "blue", "violet", "magenta")
"""Hues called bright from a lower chroma on: they reach less of it."""

PALE, VERY_PALE, DARK, VERY_DARK = "pale", "very pale", "dark", "very dark"
BRIGHT, STRONG, MUTED = "bright", "strong", "muted"

# ---- places: [row][column] ----

PLACES: Final = (
    ("at the upper left", "at the upper centre", "at the upper right"),
    ("at the left", "in the middle", "at the right"),
    ("at the lower left", "at the lower centre", "at the lower right"),
)
ACROSS: Final = ("across the upper part", "across the middle", "across the lower part")
DOWN: Final = ("down the left side", "down the middle", "down the right side")
EVERYWHERE: Final = "over most of the picture"

# ---- what happens: (one thing, many things) ----


def chroma_lost(share: str, many: bool) -> str:
    own = "their" if many else "its"
    thing = "colour" if share in ("half", "most", "almost two thirds") else "strength"
    joint = " " if share == "half" else " of "
    return f"{'lose' if many else 'loses'} {share}{joint}{own} {thing}"


def chroma_gained(many: bool) -> str:
    return f"{'come' if many else 'comes'} out stronger"


def lightness_changed(change: float, many: bool) -> str:
    size = "a little " if abs(change) < 4 else "" if abs(change) < 8 else "clearly " if abs(change) < 14 else "much "
    return f"{'come' if many else 'comes'} out {size}{'lighter' if change > 0 else 'darker'}"


def shadows_close(many: bool) -> str:
    return f"{'close' if many else 'closes'} up: the paper's black is lighter"


def shadows_lift(many: bool) -> str:
    return f"{'come' if many else 'comes'} out lighter: the paper's black is not as dark"


def hue_moves(towards: str, many: bool) -> str:
    return f"{'shift' if many else 'shifts'} towards {towards}"


def tint_taken(tint: str, many: bool) -> str:
    return f"{'take' if many else 'takes'} on a {tint} tinge"


def only_slightly(many: bool) -> str:
    return f"{'change' if many else 'changes'} visibly, though in no single direction"


def texture_kept(many: bool) -> str:
    return f"{'Their' if many else 'Its'} texture stays."


def texture_flattens(many: bool) -> str:
    return f"{'Their' if many else 'Its'} fine texture flattens."


def also_there(name: str, happenings: Sequence[str]) -> str:
    return f"The {name} there {listed(happenings)}."


def place_sentence(subject: str, happenings: Sequence[str], more: Sequence[str], mean_de00: float, share: float) -> str:
    """'The rose at the upper right loses a fifth of its strength. Its texture stays. 4.6 ΔE00 on average, 6 % ...'"""
    numbers = f"{mean_de00:.1f} ΔE00 on average, {share_of_picture(share)}."
    return " ".join([f"The {subject} {listed(happenings)}.", *filter(None, more), numbers])


def share_of_picture(share: float) -> str:
    if share >= 0.995:
        return "all of the picture"
    return "under 1 % of the picture" if share < 0.01 else f"{share * 100:.0f} % of the picture"


# ---- the proof as a whole ----


def nothing_lost() -> str:
    return "Nothing visible is lost: all of it lands within a difference you would not see."


def places_differ(count: int, all_told: bool) -> str:
    """The heading above the places; `all_told` when they account for nearly all that is visibly lost."""
    number = ("no", "one", "two", "three", "four", "five")[min(count, 5)]
    things = f"{number.capitalize()} {'place' if count == 1 else 'places'}"
    return f"{things} will look {'' if all_told else 'most '}different on this paper."


def unseen_share(share: float, rest: bool) -> str:
    """How much lands within 2 ΔE00; `rest` when the places named are all the others."""
    shown = min(int(share * 100), 99)
    if shown < 1:
        return "Hardly anything lands within a difference you would not see: all of it changes."
    if rest:
        return f"All the rest, {shown} % of it, lands within a difference you would not see."
    return f"{shown} % of the picture lands within a difference you would not see."


def beyond_paper(share: float) -> str:
    return f"The paper can't hold {percent(share)} of the picture's colours as they are."


def beyond_display(share: float) -> str:
    return (
        f"This screen can't show {percent(share)} of the print: there the print itself will be stronger than the proof."
    )


def display_shows_all() -> str:
    return "This screen can show all of the print's colours."


def black_lifts(before: float, after: float) -> str:
    return f"The darkest tone lands at L* {after:.0f}; in the master it is {before:.0f}."


def paper_dimmed(share: float) -> str:
    return f"To show the tint of the paper's white, the whole proof is {percent(share)} darker than the screen can be."


def match_white(cd_m2: float, light: str) -> str:
    return f"To match blank paper under '{light}', set the screen's white to about {cd_m2:.0f} cd/m²."


def percent(share: float) -> str:
    if share <= 0:
        return "0 %"
    return "under 1 %" if share < 0.01 else f"{share * 100:.0f} %"
