"""A master as it was laid down: known by its content, and read in the space that was told for it."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.records import Master
from wallworthy.icc.standard import display_p3_profile, grey_profile, srgb_profile
from wallworthy.journey.page import SpaceTold

SPACES: Final = {"srgb": srgb_profile, "display-p3": display_p3_profile, "grey": grey_profile}
"""What can be told by name."""


def require_content(master: Master, sha256: str) -> Master:
    """The master, when it still is the picture of that content. Raises InputError."""
    if master.sha256 != sha256:
        raise InputError(
            "master_unknown",
            f"{Path(master.path).name} is another picture by now than the one that was laid down.",
            "Drop its file on the page again, as it was.",
            where=sha256,
        )
    return master


def space_told(master: Master) -> SpaceTold | None:
    """The space somebody told for a master, by name or by its profile's SHA-256; None where nobody had to."""
    if not master.is_told or master.profile is None:
        return None
    named = next((name for name, profile in SPACES.items() if profile() == master.profile), None)
    description = master.profile_description or "a profile without a name"
    return SpaceTold(named or hashlib.sha256(master.profile).hexdigest(), description)
