"""What proof and final share: the master found again, its profile, the chain to the paper, safe targets."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from wallworthy.base.errors import InputError
from wallworthy.base.files import sha256_of
from wallworthy.base.records import Condition, Fitted, Master
from wallworthy.base.ticket import Ticket
from wallworthy.fit.compose import compose
from wallworthy.fit.ways import Source, source_of
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.journal.journal import Journal


@dataclass(frozen=True, slots=True)
class Loaded:
    """A ticket with all it names, ready to be computed."""

    ticket: Ticket
    master: Master
    condition: Condition
    output: Profile = field(repr=False)
    source: Source = field(repr=False)

    def fitted(self) -> Fitted:
        """The chain of the ticket's way and correction, composed once."""
        return compose(self.output, self.ticket.way, self.ticket.correction, self.source)


def load(journal: Journal, ticket: Ticket) -> Loaded:
    """Find the ticket's master on disk, unchanged, and parse the profiles. Raises InputError."""
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
    condition = journal.conditions.get(ticket.condition)
    source = source_of(None if master.profile is None else parse_profile(master.profile, path.name))
    return Loaded(ticket, master, condition, parse_profile(condition.profile, condition.name), source)


def guard_masters(journal: Journal, target: Path) -> None:
    """Refuse to write over any file that is a master of this journal, wherever it lies now."""
    if not target.is_file():
        return
    resolved = target.resolve()
    by_path = any(Path(master.path).resolve() == resolved for master in journal.masters.list())
    if by_path or sha256_of(resolved) in journal.masters:
        raise InputError(
            "target_is_master",
            f"{target} is a master and is never written to.",
            "Choose another name with -o.",
            where=str(target),
        )


def free_name(folder: Path, stem: str, suffix: str) -> Path:
    """`stem.suffix` in the folder, or with the first free number behind the stem."""
    target, number = folder / f"{stem}{suffix}", 1
    while target.exists():
        number += 1
        target = folder / f"{stem}-{number}{suffix}"
    return target
