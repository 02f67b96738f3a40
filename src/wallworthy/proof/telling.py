"""From the figures of a place to a sentence: which colour, where, what happens to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from wallworthy.base.records import Triple
from wallworthy.proof import words as say
from wallworthy.proof.cells import Cells
from wallworthy.proof.naming import NEUTRAL_CHROMA, Name, colour_name, hue_angle, hue_direction, place_name, tint_name
from wallworthy.proof.places import Place

LIGHTNESS_SEEN: Final = 1.5
TINT_SEEN: Final = 2.0
HUE_METRIC_SEEN: Final = 3.0
HUE_DEGREES_SEEN: Final = 4.0
COLOURED_CHROMA: Final = 8.0
SHADOW_LSTAR: Final = 25.0
HIGHLIGHT_LSTAR: Final = 90.0
TEXTURE_STEP: Final = 0.4
"""Mean L* step between neighbouring pixels above which one speaks of texture."""

FLATTENED: Final = 0.7
KEPT: Final = 0.88


@dataclass(frozen=True, slots=True)
class Change:
    """What happens to a colour: Lab before (relative to the master's white) and after (relative to the paper)."""

    before: Triple
    after: Triple
    texture_before: float
    """Root mean square L* step between neighbouring pixels."""
    texture_after: float

    @property
    def texture_ratio(self) -> float:
        return self.texture_after / self.texture_before if self.texture_before > 0 else 1.0


def tell(cells: Cells, place: Place) -> tuple[str, str]:
    """The subject ('bright blue-green at the lower right') and the sentence ('The ... loses half its colour. ...')."""
    change = _change(cells, place)
    name = colour_name(change.before)
    texture = texture_words(change, name.many)
    subject = f"{name.text} {_where(cells, place)}"
    return subject, say.place_sentence(subject, happenings(change, name), texture, place.loss_max_de00, place.share)


def happenings(change: Change, name: Name) -> list[str]:
    """What happens, as clauses; the strongest ones only, at most three, and never none."""
    many = name.many
    chroma_before, chroma_after = (math.hypot(a, b) for _, a, b in (change.before, change.after))
    lighter = change.after[0] - change.before[0]
    said: list[str] = []
    dark = change.before[0] < SHADOW_LSTAR
    if chroma_before >= COLOURED_CHROMA:
        share = say.share_words(1 - chroma_after / chroma_before)
        if share is not None:
            said.append(say.chroma_lost(share, many))
        elif chroma_after > chroma_before * 1.12:
            said.append(say.chroma_gained(many))
    if abs(lighter) >= LIGHTNESS_SEEN:
        if dark and lighter > 0 and change.texture_ratio < FLATTENED:
            said.append(say.shadows_close(many))
        elif dark and lighter > 0:
            said.append(say.shadows_lift(many))
        else:
            said.append(say.lightness_changed(lighter, many))
    said.extend(_hue_clause(change, chroma_before, chroma_after, many))
    if not said:
        return [say.only_slightly(many)]
    # the clause with a colon ends the list
    return sorted(said[:3], key=lambda clause: ":" in clause)


def texture_words(change: Change, many: bool) -> str:
    """Whether the fine texture stays or flattens; nothing where there is none to speak of."""
    if change.texture_before < TEXTURE_STEP:
        return ""
    if change.texture_ratio < FLATTENED:
        return say.texture_flattens(many)
    return say.texture_kept(many) if change.texture_ratio >= KEPT else ""


def _hue_clause(change: Change, chroma_before: float, chroma_after: float, many: bool) -> list[str]:
    (_, a0, b0), (_, a1, b1) = change.before, change.after
    if chroma_before < max(COLOURED_CHROMA, NEUTRAL_CHROMA):
        tinted = math.hypot(a1 - a0, b1 - b0) >= TINT_SEEN and chroma_after > chroma_before
        return [say.tint_taken(tint_name(a1 - a0, b1 - b0), many)] if tinted else []
    turn = (hue_angle(a1, b1) - hue_angle(a0, b0) + 180) % 360 - 180
    metric = 2 * math.sqrt(chroma_before * chroma_after) * math.sin(math.radians(abs(turn)) / 2)
    if abs(turn) < HUE_DEGREES_SEEN or metric < HUE_METRIC_SEEN:
        return []
    return [say.hue_moves(hue_direction(hue_angle(a0, b0), turn), many)]


def _change(cells: Cells, place: Place) -> Change:
    """The loss-weighted colour of the region within the box, before and after, and its texture."""
    top, left, bottom, right = place.cells_box
    within = np.zeros_like(place.region)
    within[top:bottom, left:right] = True
    within &= place.region
    weight = float(cells.weight[within].sum())
    pixels = float(cells.grid.counts()[within].sum())
    before = cells.before[within].sum(axis=0) / weight
    after = cells.after[within].sum(axis=0) / weight
    return Change(
        (float(before[0]), float(before[1]), float(before[2])),
        (float(after[0]), float(after[1]), float(after[2])),
        math.sqrt(float(cells.step_before[within].sum()) / pixels),
        math.sqrt(float(cells.step_after[within].sum()) / pixels),
    )


def _where(cells: Cells, place: Place) -> str:
    top, left, bottom, right = place.cells_box
    rows, columns = cells.grid.rows, cells.grid.columns
    height, width = float(rows[-1]), float(columns[-1])
    return place_name(
        float(rows[top]) / height,
        float(columns[left]) / width,
        float(rows[bottom] - rows[top]) / height,
        float(columns[right] - columns[left]) / width,
    )
