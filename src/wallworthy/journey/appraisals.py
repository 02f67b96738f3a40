"""Appraisals for the page: a picture is looked through once, and an appraisal is kept by all it depends on."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wallworthy.appraise.finding import SURELY, Finding
from wallworthy.appraise.grade import INDICATIVE_MM, NEAREST_MM, Grade
from wallworthy.base.records import Box, Condition, Light, Master, Pair
from wallworthy.base.units import FARTHEST_MM, LARGEST_MM
from wallworthy.journey.appraising import Appraised, Seen, appraised, seen_through, surface_of
from wallworthy.journey.home import opened
from wallworthy.journey.ordered import OrderAsked, ordered, shot_of_ticket
from wallworthy.journey.page import LengthUnit
from wallworthy.journey.page_appraisal import (
    AppraisalView,
    AppraisedFinding,
    AppraisedMaster,
    AppraisedRung,
    AppraisedTone,
    GradeName,
    Sure,
    Visible,
)
from wallworthy.journey.recent import Recent
from wallworthy.journey.sizing import Shot
from wallworthy.journey.standing import units_of
from wallworthy.journey.tickets import light_of
from wallworthy.journey.wanting import UnwantedError, Wanted, always, need, turn

LEAST_MM: Final = 20.0
"""A picture whose longer edge is smaller is no print."""
KEPT: Final = 200
"""Appraisals kept; one takes a few kilobytes."""

SEEN: Final = 2
"""Looks kept; one of a large picture takes some 45 MB."""

MOST_PLACES: Final = 30
PERHAPS: Final = 0.55
CM_PER_INCH: Final = 2.54

METRIC_CM: Final[tuple[Pair, ...]] = ((10, 15), (13, 18), (20, 30), (30, 40), (40, 60), (60, 90), (100, 150))
INCHES: Final[tuple[Pair, ...]] = ((4, 6), (5, 7), (8, 12), (12, 16), (16, 24), (24, 36), (40, 60))

GRADES: Final[dict[Grade, GradeName]] = {
    Grade.AS_GOOD: "as_good",
    Grade.FINE: "fine",
    Grade.LITTLE_SOFT: "little_soft",
    Grade.SOFT: "soft",
    Grade.TOO_SOFT: "too_soft",
}

Looked = Callable[[str, float], None]
"""Told of a master's SHA-256 and the share of it that has been looked through, 0-1."""


@dataclass(frozen=True, slots=True)
class _Question:
    """Everything an appraisal depends on."""

    shot: Shot
    condition: Condition | None
    light: Light | None
    surface: str | None
    unit: LengthUnit

    @property
    def key(self) -> str:
        shot, inches = self.shot, self.unit == "in"
        held = self.condition
        paper = None if held is None else (held.name, held.profile_sha256, held.ink_spread_per_mm)
        return repr((shot.part, shot.size_mm, shot.distance_mm, paper, self.light, self.surface, inches))


class Appraisals:
    """Appraisals of the running program. Threads may share it; one picture is looked through at a time."""

    def __init__(self) -> None:
        self._kept: Recent[AppraisalView] = Recent(KEPT)
        self._seen: Recent[Seen] = Recent(SEEN)
        self._slow = threading.Lock()
        self._waiting: set[str] = set()
        """Parts whose turn has not come."""
        self._ended = threading.Event()

    def end(self) -> None:
        """Give up a look that is under way."""
        self._ended.set()

    def of_master(
        self, home: Path, sha256: str, asked: OrderAsked, wanted: Wanted = always, looked: Looked | None = None
    ) -> AppraisalView:
        """A picture that has no ticket yet, on a good photo inkjet. Raises InputError, and UnwantedError."""
        shot = ordered(home, sha256, asked)
        with opened(home) as journal:
            light = asked.light_in(journal)
        return self._answer(_Question(shot, None, light, None, units_of(home).length), wanted, looked)

    def of_ticket(
        self, home: Path, ticket_id: str, wanted: Wanted = always, looked: Looked | None = None
    ) -> AppraisalView:
        """A ticket's picture as it stands, on its paper. Raises InputError, and UnwantedError."""
        with opened(home) as journal:
            ticket = journal.tickets.get(ticket_id)
            shot = shot_of_ticket(journal, ticket)
            condition = journal.conditions.get(ticket.condition)
            light = light_of(journal, ticket.light) if ticket.light else None
            surface = surface_of(journal, condition)
        return self._answer(_Question(shot, condition, light, surface, units_of(home).length), wanted, looked)

    def _answer(self, question: _Question, wanted: Wanted, looked: Looked | None) -> AppraisalView:
        def make() -> AppraisalView:
            need(wanted)
            seen = self._seen.get(question.shot.part, lambda: self._look(question, wanted, looked), wanted)
            need(wanted)
            sizes = METRIC_CM if question.unit != "in" else tuple(_centimetres(size) for size in INCHES)
            return _told(
                appraised(
                    question.shot.master,
                    size_mm=question.shot.size_mm,
                    distance_mm=question.shot.distance_mm,
                    crop=question.shot.crop_px,
                    condition=question.condition,
                    light=question.light,
                    surface=question.surface,
                    seen=seen,
                    ladder_cm=sizes,
                ),
                question,
            )

        return self._kept.get(question.key, make, wanted)

    def _look(self, question: _Question, wanted: Wanted, looked: Looked | None) -> Seen:
        """Look through the picture. Begun, it is finished even when nobody waits: whoever comes back finds it, unless
        another picture waits for its turn."""

        def progress(_step: str, share: float, /) -> None:
            if self._ended.is_set() or (self._waiting and not wanted()):
                raise UnwantedError
            if looked is not None:
                looked(question.shot.master.sha256, share)

        self._waiting.add(question.shot.part)
        try:
            with turn(self._slow, wanted):
                self._waiting.discard(question.shot.part)
                return seen_through(question.shot.master, question.shot.crop_px, progress)
        finally:
            self._waiting.discard(question.shot.part)


def _centimetres(inches: Pair) -> Pair:
    return inches[0] * CM_PER_INCH, inches[1] * CM_PER_INCH


def _from_where(nearest_good_mm: float) -> float | None:
    """The distance; None where the search for one ended with none."""
    return nearest_good_mm if nearest_good_mm < 0.99 * FARTHEST_MM else None


def _told(done: Appraised, question: _Question) -> AppraisalView:
    found, master = done.appraisal, done.master
    shown = question.shot.crop_px or (0, 0, master.height_px, master.width_px)
    return AppraisalView(
        master_sha256=master.sha256,
        size_mm=done.size_mm,
        distance_mm=done.distance_mm,
        density_ppi=found.density_ppi,
        deficit_jnd=found.deficit_jnd,
        deficit_interval_jnd=found.interval_jnd,
        indicative=done.distance_mm < INDICATIVE_MM,
        grade=GRADES[found.grade],
        largest_good_mm=found.largest_good_mm if max(found.largest_good_mm) >= LEAST_MM else None,
        any_size=max(found.largest_good_mm) >= 0.99 * LARGEST_MM,
        nearest_good_mm=_from_where(found.nearest_good_mm),
        any_distance=found.nearest_good_mm <= NEAREST_MM,
        pixels=shown[2] * shown[3],
        effective_fraction=found.resolution.fraction,
        effective_confidence=found.resolution.confidence,
        findings=grouped(found.findings, master),
        ladder=tuple(
            AppraisedRung(
                rung.size_mm,
                rung.distance_mm,
                rung.density_ppi,
                rung.deficit_jnd,
                GRADES[rung.grade],
                _from_where(rung.nearest_good_distance_mm),
            )
            for rung in found.ladder
        ),
        other_masters=tuple(AppraisedMaster(one.megapixels, one.deficit_jnd, one.gain_jnd) for one in found.others),
        noise=tuple(AppraisedTone(one.noise.l_lstar, one.noise.sigma_lstar, one.visible_jnd) for one in found.noise),
        clipped_high_pct=tuple(found.ends.high_pct),
        clipped_low_pct=tuple(found.ends.low_pct),
        condition=done.condition,
        light=None if question.light is None else question.light.name,
        notices=master.notices,
    )


def grouped(findings: tuple[Finding, ...], master: Master) -> tuple[AppraisedFinding, ...]:
    """Findings worst first, all of a kind told together by the worst of them."""
    kinds: dict[str, list[Finding]] = {}
    for one in findings:
        kinds.setdefault(one.kind, []).append(one)
    return tuple(_of_kind(n, found, master) for n, found in enumerate(kinds.values(), 1))


def _of_kind(n: int, found: list[Finding], master: Master) -> AppraisedFinding:
    worst = found[0]
    places = [one.box_px for one in found if one.box_px is not None and one.count == 1]
    return AppraisedFinding(
        n=n,
        kind=worst.kind,
        text=worst.text,
        more=sum(one.count for one in found) - 1,
        boxes=tuple(_shares(box, master) for box in places[:MOST_PLACES]),
        size_mm=worst.size_mm,
        visibility_jnd=worst.visibility_jnd,
        visible=_visible(worst.visibility_jnd),
        sure=_sure(worst.confidence),
    )


def _shares(box: Box, master: Master) -> tuple[float, float, float, float]:
    row, column, height, width = box
    across, down = master.width_px, master.height_px
    return column / across, row / down, width / across, height / down


def _visible(jnd: float) -> Visible:
    return "not" if jnd < 1 else "looked_for" if jnd < 2 else "plain" if jnd < 4 else "striking"


def _sure(confidence: float) -> Sure:
    return "sure" if confidence >= SURELY else "likely" if confidence >= PERHAPS else "perhaps"
