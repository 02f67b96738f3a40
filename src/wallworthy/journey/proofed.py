"""Whether what a ticket's last proof showed is still what prints."""

from __future__ import annotations

from collections.abc import Sequence

from wallworthy.base.records import Notice
from wallworthy.base.ticket import ProofEntry, Stage, Ticket


def changed_since(ticket: Ticket, proofs: Sequence[ProofEntry]) -> str | None:
    """What of the print has changed since the last proof was made, in words; None when nothing has, or none was made.

    A proof keeps its way and correction; whatever else decides the print sets its ticket back to started.
    """
    if not proofs:
        return None
    kept = proofs[-1].figures
    if any(kept.get(axis, value) != value for axis, value in ticket.correction.as_dict().items()):
        return "The correction"
    if kept.get("way", str(ticket.way)) != str(ticket.way):
        return "The way"
    return "What prints" if ticket.stage is Stage.STARTED else None


def proof_notices(ticket: Ticket, proofs: Sequence[ProofEntry], *, again: bool = False) -> tuple[Notice, ...]:
    """A word when nobody has looked at a proof of what prints. again: it is a print of before, proofed then or not."""
    if not proofs:
        text = f"Nobody has looked at a proof of this: 'wallworthy proof {ticket.id}' shows it."
        return (Notice("not_proofed", text),)
    changed = None if again else changed_since(ticket, proofs)
    if changed is None:
        return ()
    text = f"{changed} has changed since the last proof: 'wallworthy proof {ticket.id}' shows it as it prints now."
    return (Notice("proof_stale", text),)
