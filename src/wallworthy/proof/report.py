"""The proof's report: figures from the arrays, the worst places as boxes, and the sentences above them.

Every figure is defined in docs/reference/proof.md; none is ever NaN.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box, Light, Pair, ProofReport, WorstPlace
from wallworthy.colour.float32 import planes_of, working_to_lab32
from wallworthy.colour.lab import lightness_from_y, y_from_lightness
from wallworthy.proof import words as say
from wallworthy.proof.cells import Cells
from wallworthy.proof.light_words import screen_cannot
from wallworthy.proof.lights import paper_white_cd_m2
from wallworthy.proof.places import VISIBLE_DE00, CellBox, Place, Region, choose_places, overlap, place_box, touching
from wallworthy.proof.telling import Change, change_of, same_noun, subject_of, tell

Float = NDArray[np.float32]

RANGE_PERCENTILES: Final = (0.1, 99.9)
MOST_PLACES: Final = 5
ALL_TOLD: Final = 0.9
"""When the places speak for this much of what is visibly lost, the remainder is called 'all the rest'."""

SAMPLE: Final = 40_000

NEARLY_ALL: Final = 0.999
"""More than this share within a difference one would not see counts as nothing lost."""


@dataclass(frozen=True, slots=True)
class Findings:
    """What the proof measured, to be put into figures and words. Shares are 0-1, pictures (H, W)."""

    picture: Float = field(repr=False)
    """Working RGB before correction, (H, W, 3)."""
    lab: Float = field(repr=False)
    """The predicted print, relative to its paper, (H, W, 3)."""
    loss: Float = field(repr=False)
    lightness_before: Float = field(repr=False)
    cells: Cells = field(repr=False)
    out_of_range_share: float
    out_of_display_share: float
    dimming: float
    light: Light | None
    paper_y: float
    shown_px: Box
    in_pairs: bool = False
    """Whether only each two columns, from the first on, are neighbours in the picture."""
    places: bool = True
    """Whether places are looked for."""


def figures(findings: Findings) -> tuple[ProofReport, tuple[str, ...]]:
    """The report, and the findings as a whole in sentences, most important first."""
    loss = findings.loss
    seen_share = float(np.count_nonzero(loss >= VISIBLE_DE00)) / max(1, loss.size)
    seen = findings.places and seen_share > 1 - NEARLY_ALL
    worst, told_share = _worst_places(findings) if seen else ((), 0.0)
    light = findings.light
    report = ProofReport(
        out_of_range_pct=findings.out_of_range_share * 100,
        loss_mean_de00=float(loss.mean(dtype=np.float64)),
        loss_p95_de00=float(np.percentile(loss, 95)),
        loss_max_de00=float(loss.max()),
        range_before_lstar=_range(findings.lightness_before),
        range_after_lstar=_absolute(_range(findings.lab[..., 0]), findings.paper_y),
        out_of_display_pct=findings.out_of_display_share * 100,
        display_white_match_cd_m2=paper_white_cd_m2(light.illuminance_lx, findings.paper_y) if light else None,
        worst=worst,
    )
    return report, _sentences(findings, report, seen_share, told_share)


def _worst_places(findings: Findings) -> tuple[tuple[WorstPlace, ...], float]:
    """The worst places, and the share of the picture they speak for."""
    grid = findings.cells.grid
    known: dict[tuple[CellBox, int], Change | None] = {}

    def change_in(place: Place) -> Change | None:
        key = place.cells_box, place.region.family
        if key not in known:
            known[key] = _change(findings, place, place.region)
        return known[key]

    def box_of(place: Place) -> Box:
        return place_box(place, grid, findings.loss.shape, findings.shown_px)

    def accept(place: Place, others: Sequence[Place]) -> bool:
        change = change_in(place)
        if change is None:
            return False
        for other in others:
            # the same thing need not be told twice; and of a master smaller than its proof two boxes may round to one
            if (other_change := change_in(other)) is None:
                continue
            alike = same_noun(change, other_change) and touching(place, other)
            same = subject_of(grid, place, change) == subject_of(grid, other, other_change)
            if same or alike or overlap(box_of(place), box_of(other)):
                return False
        return True

    worst: list[WorstPlace] = []
    places = choose_places(findings.cells, MOST_PLACES, accept)
    for place in places:
        also = _change(findings, place, place.also) if place.also else None
        if (change := change_in(place)) is not None:
            worst.append(WorstPlace(box_of(place), place.loss_mean_de00, tell(grid, place, change, also)))
    told = sum(place.region.share + (place.also.share if place.also else 0.0) for place in places)
    return tuple(sorted(worst, key=lambda place: -place.loss_mean_de00)), told


def _change(findings: Findings, place: Place, region: Region) -> Change | None:
    """What happens to a region's colours in a place, from whole rows with about SAMPLE of its pixels, evenly spread."""
    top, left, bottom, right = place.cells_box
    rows, columns = findings.cells.grid.rows, findings.cells.grid.columns
    box = np.s_[int(rows[top]) : int(rows[bottom]), int(columns[left]) : int(columns[right])]
    step = max(1, findings.loss[box].size // SAMPLE)
    picture = findings.picture[box][::step]
    before = working_to_lab32(planes_of(picture)).T.reshape(picture.shape)
    neighbours = np.s_[int(columns[left]) % 2 :: 2] if findings.in_pairs else np.s_[:]
    return change_of(before, findings.lab[box][::step], findings.loss[box][::step], region.family, neighbours)


def _range(lightness: Float) -> Pair:
    """Darkest and lightest tone: the 0.1 and 99.9 percentiles of L*, so that a stray pixel does not speak for all."""
    darkest, lightest = np.percentile(lightness, RANGE_PERCENTILES)
    return float(darkest), float(lightest)


def _absolute(lightness: Pair, paper_y: float) -> Pair:
    """L* relative to a paper to L* of its own light; what is darker stays darker, so percentiles stay what they are."""
    darkest, lightest = lightness_from_y(y_from_lightness(lightness) * paper_y)
    return float(darkest), float(lightest)


def _sentences(findings: Findings, report: ProofReport, seen_share: float, told_share: float) -> tuple[str, ...]:
    said: list[str] = []
    if seen_share <= 1 - NEARLY_ALL:
        said.append(say.nothing_lost())
    else:
        all_told = bool(report.worst) and told_share >= ALL_TOLD * seen_share
        if report.worst:
            said.append(say.places_differ(len(report.worst), all_told))
        said.append(say.unseen_share(1 - seen_share, rest=all_told))
    if report.out_of_range_pct > 0:
        said.append(say.beyond_paper(report.out_of_range_pct / 100))
    before, after = report.range_before_lstar[0], report.range_after_lstar[0]
    if after - before >= 2:
        said.append(say.black_lifts(before, after))
    if report.out_of_display_pct > 0:
        said.append(say.beyond_display(report.out_of_display_pct / 100))
    else:
        said.append(say.display_shows_all())
    if findings.dimming < 1:
        said.append(say.paper_dimmed(1 - findings.dimming))
    match = report.display_white_match_cd_m2
    if findings.light is not None and match is not None and screen_cannot(match) is None:
        said.append(say.match_white(match, findings.light.name))
    return tuple(said)
