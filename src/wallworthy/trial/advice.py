"""Print now, or make another sheet: what each is expected to leave, in figures and in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import CORRECTION_AXES, Correction
from wallworthy.trial.axes import correction_of
from wallworthy.trial.belief import Belief
from wallworthy.trial.design import design, legal
from wallworthy.trial.metric import DE00_PER_JND
from wallworthy.trial.simulate import left_after_another_jnd

Array = NDArray[np.float64]

STOP_DE00: Final = 1.0 * DE00_PER_JND
"""Print when no more than this is expected to be left: one just noticeable difference."""
REPEAT_JND: Final = 0.4
"""Room that stopping leaves for what differs from print to print and in the eye from day to day; common practice."""
HARDLY_DE00: Final = 0.1 * DE00_PER_JND
"""Another sheet that brings less than this is not worth its paper."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do, and what each way is expected to leave (dE00, rms over the picture)."""

    advice: Literal["print", "test"]
    correction: Correction
    sd: dict[str, float]
    expected_de00: float
    p90_de00: float
    expected_after_another_de00: float
    after_another_p90_de00: float
    text: str
    """What printing now would leave."""
    another_text: str
    """What another sheet would bring and cost."""
    contradiction_text: str | None
    """Said when the last verdict contradicted what was known before it."""


def advise(
    belief: Belief,
    *,
    stop_de00: float = STOP_DE00,
    tiles: int = 6,
    words: int = 2,
    minutes: float = 40.0,
    seed: int = 0,
) -> Advice:
    """Weigh printing now against one more sheet of `tiles` tiles that takes `minutes`. Deterministic for a seed."""
    printed = legal(belief.mean, np.zeros(len(CORRECTION_AXES)))
    expected = belief.expected_jnd(printed) * DE00_PER_JND
    bound = belief.bound_jnd(0.9, printed) * DE00_PER_JND
    following = design(belief, tiles, fixed=None if belief.sheets else belief.prior.mean, seed=seed)
    left = left_after_another_jnd(belief, following, words=words, seed=seed) * DE00_PER_JND
    another = min(float(np.sqrt(np.mean(np.square(left)))), expected)
    enough = is_enough(belief, stop_de00 / DE00_PER_JND) or expected - another < HARDLY_DE00
    return Advice(
        "print" if enough else "test",
        correction_of(printed),
        {axis: float(value) for axis, value in zip(CORRECTION_AXES, belief.sd, strict=True)},
        expected,
        bound,
        another,
        min(float(np.quantile(left, 0.9)), bound),
        print_text(expected, bound, belief.sheets),
        another_text(expected, another, minutes),
        CONTRADICTION if belief.contradicts else None,
    )


def is_enough(belief: Belief, stop_jnd: float = STOP_DE00 / DE00_PER_JND) -> bool:
    """Whether no more than `stop_jnd` is expected to be left, `REPEAT_JND` allowed for.

    Never straight after a verdict that contradicts the others.
    """
    return not belief.contradicts and float(np.hypot(belief.expected_jnd(), REPEAT_JND)) <= stop_jnd


CONTRADICTION: Final = (
    "This contradicts what was said before. Both are now believed less, and the expected error has grown; "
    "look again in the light the print will hang in, or make one more sheet."
)


def print_text(expected_de00: float, bound_de00: float, sheets: int) -> str:
    """What printing now would leave.

    >>> print_text(1.74, 2.58, 1)
    'Print it now: expected 1.7 dE00, nine times in ten within 2.6.'
    """
    opening = "Print it now" if sheets else "No test sheet at all"
    return f"{opening}: expected {expected_de00:.1f} dE00, nine times in ten within {bound_de00:.1f}."


def another_text(expected_de00: float, another_de00: float, minutes: float) -> str:
    """What another sheet would bring and cost.

    >>> another_text(1.74, 1.31, 40)
    'One more sheet brings it to 1.3, for one sheet and 40 minutes.'
    """
    if expected_de00 - another_de00 < HARDLY_DE00:
        return "Another sheet would hardly bring it closer."
    return f"One more sheet brings it to {another_de00:.1f}, for one sheet and {minutes:.0f} minutes."
