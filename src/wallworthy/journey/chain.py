"""What proof and final share: the master found again, its profile, the chain to the paper, safe targets."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.base.files import sha256_of
from wallworthy.base.records import NO_MARGINS, Box, Condition, Correction, Fitted, Margins, Master, Pair, Way
from wallworthy.base.ticket import HangsWith, Ticket
from wallworthy.fit.compose import compose
from wallworthy.fit.greys import greys_for
from wallworthy.fit.ways import Source, source_of
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.journal.journal import Journal
from wallworthy.journey.choosing import chosen_for

NO_CORRECTION: Final = Correction()


@dataclass(frozen=True, slots=True)
class Job:
    """One picture going to one paper, with everything that decides its pixels; no journal is needed."""

    master: Master
    condition: Condition
    output: Profile = field(repr=False)
    source: Source = field(repr=False)
    size_mm: Pair
    distance_mm: float
    way: Way = Way.RELATIVE_BPC
    correction: Correction = NO_CORRECTION
    crop_px: Box | None = None
    margins_mm: Margins = NO_MARGINS
    black_and_white: str | None = None
    """The tone it is printed in, as `fit.greys` names them; None for colour."""
    must_not_suffer: tuple[str, ...] = ()
    """What the choice of a map looks after, as tickets keep it."""
    hangs_with: HangsWith | None = None
    """The set whose tones the map's curve is chosen for; None for the picture's own."""

    def __post_init__(self) -> None:
        chosen = chosen_for(self) if self.way.is_chosen else None
        greys = None if self.black_and_white is None else greys_for(self.black_and_white, self.output)
        object.__setattr__(self, "source", replace(self.source, chosen=chosen, greys=greys))

    def fitted(self) -> Fitted:
        """The chain of this way and correction, composed once: the last few are remembered."""
        return _composed(self.output.data, self.way, self.correction, self.source)

    @property
    def shown_px(self) -> Box:
        """The part of the master that is printed."""
        return self.crop_px or (0, 0, self.master.height_px, self.master.width_px)


@lru_cache(maxsize=4)
def _composed(output: bytes, way: Way, correction: Correction, source: Source) -> Fitted:
    return compose(parse_profile(output), way, correction, source)


def load(journal: Journal, ticket: Ticket) -> Job:
    """Find the ticket's master on disk, unchanged, and parse the profiles. Raises InputError."""
    return job_of(
        found_master(journal, ticket),
        journal.conditions.get(ticket.condition),
        size_mm=ticket.size_mm,
        distance_mm=ticket.distance_mm,
        way=ticket.way,
        correction=ticket.correction,
        crop_px=ticket.crop_px,
        margins_mm=ticket.margins_mm,
        black_and_white=ticket.black_and_white,
        must_not_suffer=ticket.must_not_suffer,
        hangs_with=ticket.hangs_with,
    )


def shown_as(ticket: Ticket) -> tuple[object, ...]:
    """Everything of a ticket that decides what its proof shows of the print, but the master, which stays."""
    names = ["condition", "size_mm", "crop_px", "way", "correction", "black_and_white", "must_not_suffer"]
    if ticket.way.is_chosen:  # for the picture as it is seen from there, and with those beside it
        names += ["distance_mm", "hangs_with"]
    return tuple(getattr(ticket, name) for name in names)


def printed_as(ticket: Ticket) -> tuple[object, ...]:
    """Everything of a ticket that decides the pixels of its final, but the master."""
    return *shown_as(ticket), ticket.margins_mm


def found_master(journal: Journal, ticket: Ticket) -> Master:
    """The ticket's master where it was, read and unchanged. Raises InputError."""
    from wallworthy.master.open import open_master

    path = Path(ticket.master_path)
    if not path.is_file():
        raise InputError(
            "master_missing",
            f"The master of {ticket.id} is no longer at {path}.",
            "Put it back there, or start a new ticket from where it is now.",
            where=str(path),
        )
    assumed = ticket.assumed_profile_sha256
    master = open_master(path, assume=None if assumed is None else journal.store.get(assumed))
    if master.sha256 != ticket.master_sha256:
        raise InputError(
            "master_changed",
            f"{path.name} has changed since {ticket.id} was started.",
            "Start a new ticket with the file as it is now, so that what was promised stays true.",
            where=str(path),
        )
    return master


def job_of(
    master: Master,
    condition: Condition,
    *,
    size_mm: Pair,
    distance_mm: float,
    way: Way = Way.RELATIVE_BPC,
    correction: Correction = NO_CORRECTION,
    crop_px: Box | None = None,
    margins_mm: Margins = NO_MARGINS,
    black_and_white: str | None = None,
    must_not_suffer: tuple[str, ...] = (),
    hangs_with: HangsWith | None = None,
) -> Job:
    """A job with its profiles parsed and the master's black and white found. Raises InputError."""
    source = source_of(None if master.profile is None else parse_profile(master.profile, Path(master.path).name))
    return Job(
        master=master,
        condition=condition,
        output=parse_profile(condition.profile, condition.name),
        source=source,
        size_mm=size_mm,
        distance_mm=distance_mm,
        way=way,
        correction=correction,
        crop_px=crop_px,
        margins_mm=margins_mm,
        black_and_white=black_and_white,
        must_not_suffer=must_not_suffer,
        hangs_with=hangs_with,
    )


def guard_masters(journal: Journal, target: Path) -> None:
    """Refuse to write over any file that is a master of this journal, wherever it lies now."""
    if not target.is_file():
        return
    for path in journal.masters.paths():
        refuse_master(target, path)
    if sha256_of(target) in journal.masters:
        raise _is_master(target)


def refuse_master(target: Path, master_path: str) -> None:
    """Refuse a target that is this master, by whatever name."""
    master = Path(master_path)
    if target.exists() and master.exists() and target.samefile(master):
        raise _is_master(target)


def refuse_existing(target: Path, *, force: bool) -> None:
    """Refuse a target that is there already, unless asked to replace it."""
    if target.exists() and not force:
        raise InputError(
            "file_exists",
            f"{target} is there already and was left alone.",
            "Choose another name with -o, or add --force to replace it.",
            where=str(target),
        )


def _is_master(target: Path) -> InputError:
    return InputError(
        "target_is_master",
        f"{target} is a master and is never written to.",
        "Choose another name with -o.",
        where=str(target),
    )
