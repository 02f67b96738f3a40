"""What to do, said for the page: the command line's advice names options that are not here."""

from __future__ import annotations

import re
from typing import Final

from wallworthy.base.errors import WallworthyError

_OF_THE_COMMAND_LINE: Final = re.compile(r"--[a-z]|'wallworthy ")

MENDS: Final = {
    "ticket_unknown": "Go to the shelves: every print that was begun stands there.",
    "master_missing": "Go to the master and lay its file on the table again, from wherever it is now.",
    "master_changed": "Go to the master and lay the file down as it was, or begin a new print with it as it is now.",
    "sheet_unknown": "Make a test sheet first.",
    "name_taken": "Choose another name.",
    "no_final_yet": "Make the file once; after that it can be made again exactly.",
    "profile_choice": "Choose one of the profiles in the file.",
    "surface_unknown": "Choose gloss, lustre or matt, or drop the paper's profile.",
    "paper_needed": "Choose a paper you own, drop its profile, or take gloss, lustre or matt.",
    "nothing_said": "Tap the best tile, say a word of one, or say that none is right.",
    "master_untagged": "Say what its colours mean: sRGB, Display P3, or the profile it was made in.",
    "master_profile_broken": "Say what its colours mean: sRGB, Display P3, or the profile it was made in.",
    "master_profile_misfit": "Save it once more with the right profile, or say what its colours mean.",
    "assumed_profile_misfit": "Name a profile for pictures of its kind; for a grey one, grey as in sRGB.",
    "format_inks": "Choose TIFF, or let the driver or the lab convert: the file is sRGB then.",
    "format_too_large": "Choose TIFF, a smaller size or fewer pixels to the inch.",
    "final_too_large": "Ask for fewer pixels to the inch, or a smaller size.",
    "way_has_no_choice": "Let the map be chosen for this picture first.",
    "light_unknown": "Choose one of the lights, or say how many lux it has.",
    "light_without_lux": "Choose one of the lights, or say how many lux it has.",
    "spectrum_narrow": "Give its colour temperature instead.",
    "display_twice": "Give one of the two; the display's own profile is the better.",
    "display_class": "Give the profile made when the screen was calibrated, or take sRGB.",
    "display_space": "Give the profile made when the screen was calibrated, or take sRGB.",
    "lan_closed": "Close the page in the terminal and open it with 'wallworthy open --lan', in a network you trust.",
}
OTHERWISE: Final = "Choose something else and try again; nothing was changed."


def mend_for_page(error: WallworthyError) -> str:
    """The error's own advice, or the page's when that is for the command line."""
    if error.code in MENDS:
        return MENDS[error.code]
    return OTHERWISE if _OF_THE_COMMAND_LINE.search(error.mend) else error.mend


def where_on_page(error: WallworthyError) -> str | None:
    """Where it is wrong: the option's name as the page's field, never a path on this computer."""
    where = error.where
    if where is None or "/" in where or "\\" in where:
        return None
    return where.removeprefix("--").replace("-", "_")
