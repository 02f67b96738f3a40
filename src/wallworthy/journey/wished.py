"""What was wished on the proof: a tile of the next test sheet, until a verdict takes its place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import CORRECTION_AXES, Correction, Notice
from wallworthy.base.saying import seen_correction_words
from wallworthy.base.ticket import Ticket
from wallworthy.trial.axes import correction_of, vector
from wallworthy.trial.belief import Belief, Prior
from wallworthy.trial.design import legal

Array = NDArray[np.float64]


def prior_about(prior: Prior, ticket: Ticket) -> Prior:
    """What a first sheet starts from: about the correction that was wished, when one was."""
    return prior.moved_to(vector(ticket.correction)) if ticket.correction_origin == "user" else prior


def wished_of(ticket: Ticket, belief: Belief) -> Correction | None:
    """The correction that was wished on the proof; None when there is none, or it is what the verdicts taught."""
    if ticket.correction_origin != "user":
        return None
    learned = correction_of(legal(belief.mean, np.zeros(len(CORRECTION_AXES))))
    return None if belief.sheets and learned == ticket.correction else ticket.correction


def shown_anyway(wished: Correction | None, belief: Belief) -> Array | None:
    """Tiles (m, 6) that the next sheet must have: what was wished, and on the first sheet the plain fit."""
    asked = [] if wished is None else [vector(wished)]
    if belief.sheets == 0:
        asked.append(np.zeros(len(CORRECTION_AXES)))
    return np.array(asked) if asked else None


def against(correction: Correction, wished: Correction) -> dict[str, float]:
    """What a correction asks for beyond what was wished."""
    return correction_of(vector(correction) - vector(wished)).as_dict()


def wish_shown(wished: Correction | None, code: str) -> tuple[str, ...]:
    """Said of a sheet with the wish on it, before it is judged."""
    if wished is None:
        return ()
    words = seen_correction_words(wished.as_dict())
    return (f"{code} is the print as it was wished on the proof: {words}. A verdict takes the place of that wish.",)


def wish_replaced(wished: Correction | None, learned: Correction) -> tuple[Notice, ...]:
    """Said of a verdict that takes the place of a wish."""
    if wished is None:
        return ()
    change = seen_correction_words(against(learned, wished))
    change = "which it keeps" if change == "no correction" else f"and changes it: {change}"
    words = seen_correction_words(wished.as_dict())
    return (
        Notice("wish_replaced", f"The verdict takes the place of what was wished on the proof, {words}, {change}."),
    )


def wished_record(wished: Correction | None) -> dict[str, float] | None:
    """A sheet's wish as plain JSON values."""
    return None if wished is None else dict(wished.as_dict())


def wished_from(design: Mapping[str, Any]) -> Correction | None:
    """The wish that a sheet was made with; None of sheets that had none, or of before it was kept."""
    record = design.get("wished")
    return None if record is None else Correction(**record)
