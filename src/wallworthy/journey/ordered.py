"""A picture that has no ticket yet and the order laid on it: how large, from where it is seen, in which light."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wallworthy.base.records import Box, Light, Master, Pair
from wallworthy.base.units import diagonal_mm, parse_length_mm, parse_size
from wallworthy.journal.journal import Journal
from wallworthy.journey.incoming import assumed_path, master_path
from wallworthy.journey.sizing import placed
from wallworthy.journey.tickets import light_of
from wallworthy.master.open import open_master


@dataclass(frozen=True, slots=True)
class OrderAsked:
    """An order in the person's words; without a distance the print is seen from as far as it is long."""

    size: str
    fill: bool = False
    distance: str | None = None
    light: str | None = None
    assume: str | None = None

    def light_in(self, journal: Journal) -> Light | None:
        """The light it is to hang in. Raises InputError for one that is unknown."""
        return light_of(journal, self.light) if self.light else None


@dataclass(frozen=True, slots=True)
class Ordered:
    """A master with the part of it that is printed (None: all of it), how large, and from where it is seen."""

    master: Master
    crop_px: Box | None
    size_mm: Pair
    distance_mm: float


def ordered(home: Path, sha256: str, asked: OrderAsked) -> Ordered:
    """Read a master that lies here and lay an order on it. Raises InputError as reading does, and for what can't be."""
    path = master_path(home, sha256)
    master = open_master(path, assume=None if not asked.assume else assumed_path(home, asked.assume).read_bytes())
    crop, size_mm = placed(master, parse_size(asked.size), None, fill=asked.fill)
    far = parse_length_mm(asked.distance, "distance") if asked.distance else round(diagonal_mm(*size_mm), 1)
    return Ordered(master, crop, size_mm, far)
