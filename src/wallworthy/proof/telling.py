"""From the figures of a place to a sentence: which colour, where, what happens to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Triple
from wallworthy.base.saying import share_words
from wallworthy.colour.float32 import planes_of
from wallworthy.proof import words as say
from wallworthy.proof.cells import Grid, family_of
from wallworthy.proof.naming import NEUTRAL_CHROMA, Name, colour_name, hue_angle, hue_direction, place_name, tint_name
from wallworthy.proof.places import Place

Float = NDArray[np.float32]

LIGHTNESS_SEEN: Final = 1.5
TINT_SEEN: Final = 2.0
HUE_METRIC_SEEN: Final = 3.0
HUE_DEGREES_SEEN: Final = 4.0
COLOURED_CHROMA: Final = 8.0
SHADOW_LSTAR: Final = 25.0
TEXTURE_STEP: Final = 0.4
"""Mean L* step between neighbouring pixels above which one speaks of texture."""

ALL_NEIGHBOURS: Final = slice(None)
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


def subject_of(grid: Grid, place: Place, change: Change) -> str:
    """What and where: 'bright blue-green at the lower right'."""
    return f"{colour_name(change.before).text} {_where(grid, place)}"


def same_noun(one: Change, other: Change) -> bool:
    """Whether two colours go by the same noun, whatever their adjectives."""
    return colour_name(one.before).text.split()[-1] == colour_name(other.before).text.split()[-1]


def tell(grid: Grid, place: Place, change: Change, also: Change | None = None) -> str:
    """The sentences for a place: 'The bright blue-green at the lower right loses half its colour. ...'."""
    name = colour_name(change.before)
    share = place.region.share
    also_said = ""
    if also is not None and place.also is not None:
        also_name = colour_name(also.before)
        clauses = happenings(also, also_name)
        if not same_noun(change, also) and clauses != [say.only_slightly(also_name.many)]:
            also_said = say.also_there(also_name.text, clauses)
            share += place.also.share
    return say.place_sentence(
        subject_of(grid, place, change),
        happenings(change, name),
        (texture_words(change, name.many), also_said),
        place.loss_mean_de00,
        share,
    )


def change_of(
    before: Float, after: Float, loss: Float, family: int, neighbours: slice = ALL_NEIGHBOURS
) -> Change | None:
    """What happens to one family of colours within a place; None when none of its pixels are here.

    before, after: Lab (h, w, 3) of whole rows of the place; loss: (h, w). Means are weighted by the
    loss; texture is taken between horizontal neighbours that both belong. neighbours: of the steps from each column to
    the next, those that are between neighbours.
    """
    chosen = family_of(planes_of(before)).reshape(loss.shape) == family
    if not chosen.any():
        return None
    share = loss[chosen].astype(np.float64) + 1e-6
    share /= share.sum()
    both = (chosen[:, 1:] & chosen[:, :-1])[:, neighbours]
    return Change(
        _mean(before[chosen], share),
        _mean(after[chosen], share),
        _texture(before[..., 0], both, neighbours),
        _texture(after[..., 0], both, neighbours),
    )


def _mean(lab: Float, share: NDArray[np.float64]) -> Triple:
    lightness, a, b = share @ lab.astype(np.float64)
    return float(lightness), float(a), float(b)


def _texture(lightness: Float, both: NDArray[np.bool_], neighbours: slice) -> float:
    steps = np.diff(lightness, axis=1)[:, neighbours][both]
    return float(np.sqrt(np.mean(steps * steps, dtype=np.float64))) if steps.size else 0.0


def happenings(change: Change, name: Name) -> list[str]:
    """What happens, as clauses; the strongest ones only, at most three, and never none."""
    many = name.many
    chroma_before, chroma_after = (math.hypot(a, b) for _, a, b in (change.before, change.after))
    lighter = change.after[0] - change.before[0]
    said: list[str] = []
    dark = change.before[0] < SHADOW_LSTAR
    if chroma_before >= COLOURED_CHROMA:
        share = share_words(1 - chroma_after / chroma_before)
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


def _where(grid: Grid, place: Place) -> str:
    top, left, bottom, right = place.cells_box
    rows, columns = grid.rows, grid.columns
    height, width = float(rows[-1]), float(columns[-1])
    return place_name(
        float(rows[top]) / height,
        float(columns[left]) / width,
        float(rows[bottom] - rows[top]) / height,
        float(columns[right] - columns[left]) / width,
    )
