"""A ticket's belief, rebuilt from the journal: the prior and metric of its first sheet, and every verdict since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.ticket import SheetEntry, Ticket, VerdictEntry
from wallworthy.trial.belief import Belief, Prior, believe
from wallworthy.trial.verdict import Verdict
from wallworthy.trial.words import read_verdict

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """What was asked and said about one picture so far."""

    prior: Prior
    root: Array = field(repr=False)
    sheets: tuple[SheetEntry, ...]
    verdicts: tuple[VerdictEntry, ...]
    house_sentence: str | None = None

    @classmethod
    def read(cls, sheets: Sequence[SheetEntry], verdicts: Sequence[VerdictEntry]) -> Asked:
        """From the journal; there must be a sheet."""
        first = sheets[0].design
        return cls(prior_from(first["prior"]), np.array(first["root"]), tuple(sheets), tuple(verdicts))

    def said(self, entry: VerdictEntry) -> Verdict:
        """A verdict as it was said of its sheet."""
        sheet = next(sheet for sheet in self.sheets if sheet.no == entry.sheet_no)
        return verdict_on(sheet, entry.said)


def belief_of(asked: Asked, ticket: Ticket) -> Belief:
    """The belief after every verdict, sheet by sheet. The same journal gives the same belief."""
    verdicts = [asked.said(entry) for entry in asked.verdicts]
    return believe(asked.prior, verdicts, asked.root, seed=int(ticket.id[1:]))


def verdict_on(sheet: SheetEntry, said: Mapping[str, Any]) -> Verdict:
    """The verdict meant by what was said of a sheet. Raises InputError for what is not understood."""
    return read_verdict(
        np.array(sheet.design["offsets"]),
        sheet.design["codes"],
        best=said.get("best"),
        next_best=said.get("next"),
        say=said.get("say", ()),
        none_right=bool(said.get("none_right")),
    )


def prior_record(prior: Prior) -> dict[str, Any]:
    """A prior as plain JSON values."""
    return {
        "weights": prior.weights.tolist(),
        "means": prior.means.tolist(),
        "covariances": prior.covariances.tolist(),
        "log_k_mean": prior.log_k_mean,
        "log_k_sd": prior.log_k_sd,
    }


def prior_from(record: Mapping[str, Any]) -> Prior:
    """The prior of `prior_record`."""
    return Prior(
        np.array(record["weights"]),
        np.array(record["means"]),
        np.array(record["covariances"]),
        record["log_k_mean"],
        record["log_k_sd"],
    )
