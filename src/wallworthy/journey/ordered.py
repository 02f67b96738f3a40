"""A picture as the page asks after it: with the order laid on it before there is a ticket, or as its ticket stands."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wallworthy.base.records import Light
from wallworthy.base.ticket import Ticket
from wallworthy.base.units import parse_length_mm, parse_size
from wallworthy.journal.journal import Journal
from wallworthy.journey.chain import found_master
from wallworthy.journey.incoming import assumed_path, master_path
from wallworthy.journey.laid import require_content
from wallworthy.journey.sizing import Shot, placed, shot_of
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


def ordered(home: Path, sha256: str, asked: OrderAsked) -> Shot:
    """Read a master that lies here and lay an order on it. Raises InputError as reading does, and for what can't be."""
    path = master_path(home, sha256)
    master = open_master(path, assume=None if not asked.assume else assumed_path(home, asked.assume).read_bytes())
    far = parse_length_mm(asked.distance, "distance") if asked.distance else None
    require_content(master, sha256)
    return shot_of(master, placed(master, parse_size(asked.size), None, fill=asked.fill), far)


def shot_of_ticket(journal: Journal, ticket: Ticket) -> Shot:
    """A ticket's picture as it stands. Raises InputError when its master is gone or changed."""
    return Shot(found_master(journal, ticket), ticket.crop_px, ticket.size_mm, ticket.distance_mm)
