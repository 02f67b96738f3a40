"""The diagnosis in words: what the patches say, in the units a person can check with."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.trial.expected import ExpectedSheet
from wallworthy.trial.faults import EVIDENCE, MEND, Fault, FaultKind
from wallworthy.trial.reading import light_to_lab

if TYPE_CHECKING:
    from wallworthy.trial.diagnose import Evidence

Array = NDArray[np.float64]

NO_OTHER: Final = "Not weighed: no other paper's profile is here to compare with."
NOT_PLAYED: Final = "Not weighed: what it would do to a file of this kind can't be played through."
"""Said of kinds without a model, as when only one condition is known, or of conversions of a file of inks."""

CLOSE: Final = "steps and colours lie within about 2 units of it"


def told(
    expected: ExpectedSheet,
    measured: Array,
    as_expected: Array,
    by_kind: Mapping[FaultKind, tuple[float, Evidence]],
    banding_lstar: float | None,
    scale_error_pct: float | None,
) -> tuple[Fault, ...]:
    """Faults by falling probability with their evidence in words."""
    best = max(log for log, _ in by_kind.values())
    weights = {kind: float(np.exp(log - best)) for kind, (log, _) in by_kind.items()}
    total = sum(weights.values())
    patches = _patches_say(expected, measured, light_to_lab(as_expected))
    faults: list[Fault] = []
    for kind in sorted(FaultKind, key=lambda kind: -weights.get(kind, 0.0)):
        if kind not in by_kind:
            words = NO_OTHER if kind is FaultKind.WRONG_PROFILE else NOT_PLAYED
            faults.append(Fault(kind, 0.0, words, MEND[kind]))
            continue
        detail = by_kind[kind][1].model.detail
        if kind in (FaultKind.BANDING, FaultKind.WRONG_SIZE):
            detail = None
        words = EVIDENCE[kind].format(detail=detail)
        if kind is FaultKind.BANDING:
            measured_words = (
                "they could not be measured on this sheet"
                if banding_lstar is None
                else (f"{banding_lstar:.1f} L* of unevenness where tiles should agree")
            )
        elif kind is FaultKind.WRONG_SIZE:
            measured_words = (
                "this picture can't tell the size"
                if scale_error_pct is None
                else (f"lengths are {abs(scale_error_pct):.1f} % {'too long' if scale_error_pct > 0 else 'too short'}")
            )
        elif kind is FaultKind.AS_EXPECTED and patches != CLOSE:
            measured_words = f"what little they differ is what printers and scanners do ({patches})"
        else:
            measured_words = patches
        faults.append(Fault(kind, weights[kind] / total, f"{words}: {measured_words}.", MEND[kind], detail))
    return tuple(faults)


def _patches_say(expected: ExpectedSheet, measured: Array, meant: Array) -> str:
    """The two or three largest plain observations about steps and colours."""
    off = measured - meant
    seen = np.asarray(np.isfinite(off).all(axis=1))
    kinds = np.array([patch.kind for patch in expected.patches])
    neutral, said = seen & (kinds == "neutral"), list[tuple[float, str]]()
    if not neutral.any():
        return "the neutral steps could not be read"
    middle = off[neutral & (meant[:, 0] > 25) & (meant[:, 0] < 85)]
    if len(middle):
        said += _lean(middle.mean(axis=0))
    dark = off[neutral & (meant[:, 0] < 25)]
    if len(dark):
        lift = float(dark[:, 0].mean())
        said.append((abs(lift), f"the darkest steps are {abs(lift):.0f} L* too {'light' if lift > 0 else 'dark'}"))
    for i in np.flatnonzero(kinds == "colour"):
        said += _patch(expected.patches[i].name, off[i], meant[i])
    telling = sorted((one for one in said if one[0] >= 2.5), reverse=True)[:3]
    if not telling:
        return CLOSE
    return "; ".join(words for _, words in telling)


def _lean(mean: Array) -> list[tuple[float, str]]:
    said: list[tuple[float, str]] = []
    lift, red, yellow = (float(value) for value in mean)
    said.append((abs(lift), f"the greys are {abs(lift):.0f} L* too {'light' if lift > 0 else 'dark'}"))
    said.append((1.3 * abs(red), f"the greys lean {'red' if red > 0 else 'green'} by {abs(red):.0f} a*"))
    said.append((1.3 * abs(yellow), f"the greys lean {'yellow' if yellow > 0 else 'blue'} by {abs(yellow):.0f} b*"))
    return said


def _patch(name: str, off: Array, meant: Array) -> list[tuple[float, str]]:
    if not np.isfinite(off).all():
        return []
    chroma = float(np.hypot(*(meant[1:] + off[1:])) - np.hypot(*meant[1:]))
    lift = float(off[0])
    return [
        (abs(lift), f"the {name} patch is {abs(lift):.0f} L* too {'light' if lift > 0 else 'dark'}"),
        (0.6 * abs(chroma), f"the {name} patch is {abs(chroma):.0f} C* too {'strong' if chroma > 0 else 'weak'}"),
    ]
