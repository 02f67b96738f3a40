"""Ways of getting to a good print: ours, usual practice, and the ring-around."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from benchmarks.trial.people import Person
from wallworthy.trial.advice import is_enough
from wallworthy.trial.axes import PRIOR_SD
from wallworthy.trial.belief import Belief, start, update
from wallworthy.trial.design import design
from wallworthy.trial.house import Lesson, learn, lesson
from wallworthy.trial.verdict import Grade

Array = NDArray[np.float64]
LONGEST = 6
"""No way makes more sheets than this for one picture."""


@dataclass(slots=True)
class Outcome:
    """One picture's walk: sheets, the distance left, and whether the stated intervals held."""

    sheets: int
    left_jnd: float
    expected_jnd: float = float("nan")
    bound_jnd: float = float("nan")
    axes_held: tuple[bool, ...] = ()
    axes_width: tuple[float, ...] = ()
    log_score: float = float("nan")
    contradictions: int = 0


class Strategy(Protocol):
    @property
    def name(self) -> str: ...

    def walk(self, person: Person, pictures: int) -> list[Outcome]: ...


@dataclass(frozen=True, slots=True)
class Adaptive:
    """Test sheets of six tiles, best, next, graded words; print when the expected distance is small enough."""

    name: str = "adaptive"
    stop_jnd: float = 1.0
    tiles: int = 6
    words: int = 2
    between: bool = False
    house: bool = True
    least: int = 1
    """Sheets made at least, whatever is expected."""
    exact_sheets: int | None = None

    def walk(self, person: Person, pictures: int) -> list[Outcome]:
        lessons: list[Lesson] = []
        out: list[Outcome] = []
        for picture in range(pictures):
            prior = learn(lessons if self.house else ()).prior
            belief = start(prior, person.roots[picture], seed=picture)
            contradictions = 0
            while self._another(belief):
                tiles = self._tiles(belief)
                verdict = person.judge(picture, tiles, words=self.words, between=self.between)
                belief = update(belief, verdict, seed=picture)
                contradictions += belief.contradicts
            lessons.append(lesson(belief))
            out.append(outcome(person, picture, belief, contradictions))
        return out

    def _tiles(self, belief: Belief) -> Array:
        if self.tiles == 1:
            return (belief.mean if belief.sheets else belief.prior.mean)[None]
        # On sheet 1 the picture as it stands: the plain fit, or where the house correction starts.
        return design(belief, self.tiles, fixed=None if belief.sheets else belief.prior.mean)

    def _another(self, belief: Belief) -> bool:
        if self.exact_sheets is not None:
            return belief.sheets < self.exact_sheets
        if belief.sheets < self.least:
            return True
        return belief.sheets < LONGEST and not is_enough(belief, self.stop_jnd)


@dataclass(frozen=True, slots=True)
class Usual:
    """One print at a time: name the worst fault, change that axis by a step, turning back by half, until 'right'."""

    name: str = "usual practice"
    step: float = 0.8
    """First step of each axis, in standard deviations of what people want: better known than in practice."""
    clearly: float = 1.3
    """How much larger the step is when the fault was 'clearly' there."""
    most: int = LONGEST
    rights: int = 1
    """How often 'right' must be said running, each time of a fresh print, before it is believed."""

    def walk(self, person: Person, pictures: int) -> list[Outcome]:
        start_at = np.zeros(6)
        out: list[Outcome] = []
        for picture in range(pictures):
            offset = start_at.copy()
            last = np.zeros(6)
            step = np.full(6, self.step) * PRIOR_SD
            sheets, rights = 0, 0
            while sheets < self.most:
                sheets += 1
                verdict = person.judge(picture, offset[None], words=1, choose=False)
                rights = 0 if verdict.words else rights + 1
                if rights == self.rights:
                    break
                if rights:
                    continue
                word = verdict.words[0]
                if last[word.axis] == word.sign:
                    step[word.axis] /= 2
                last[word.axis] = -word.sign
                size = step[word.axis] * (self.clearly if word.grade is Grade.CLEARLY else 1.0)
                offset[word.axis] -= word.sign * size
            start_at = offset.copy()
            out.append(Outcome(sheets, person.distance(picture, offset)))
        return out


@dataclass(frozen=True, slots=True)
class RingAround:
    """Centre, lighter and darker, and four hues on a sheet; take the best, halve the steps, until the centre wins."""

    name: str = "ring-around"
    first: float = 1.0
    most: int = LONGEST
    ends_right: bool = False
    """Stops too when the best tile is called right."""

    def walk(self, person: Person, pictures: int) -> list[Outcome]:
        out: list[Outcome] = []
        begin = np.zeros(6)
        for picture in range(pictures):
            centre, size, sheets = begin.copy(), self.first, 0
            while sheets < self.most:
                sheets += 1
                ring = [np.zeros(6)]
                for axis in (0, 3, 4):
                    for sign in (-1, 1):
                        one = np.zeros(6)
                        one[axis] = sign * size * PRIOR_SD[axis]
                        ring.append(one)
                tiles = centre + np.array(ring)
                verdict = person.judge(picture, tiles, words=0, right=self.ends_right)
                best = verdict.best or 0
                centre = tiles[best]
                if best in verdict.right or (best == 0 and size <= self.first / 2):
                    break
                if best == 0:
                    size /= 2
            begin = centre.copy()
            out.append(Outcome(sheets, person.distance(picture, centre)))
        return out


def outcome(person: Person, picture: int, belief: Belief, contradictions: int) -> Outcome:
    """What the belief promised, held against what the person really wants."""
    wanted = person.wanted[picture]
    held: list[bool] = []
    width: list[float] = []
    for axis in range(6):
        low, high = belief.interval(axis)
        held.append(bool(low <= wanted[axis] <= high))
        width.append(float((high - low) / PRIOR_SD[axis]))
    gap = (wanted - belief.mean) / PRIOR_SD
    covariance = belief.covariance / np.outer(PRIOR_SD, PRIOR_SD)
    _, logdet = np.linalg.slogdet(2 * np.pi * covariance)
    score = float(-0.5 * gap @ np.linalg.solve(covariance, gap) - 0.5 * logdet)
    left = person.distance(picture, belief.mean)
    return Outcome(
        belief.sheets,
        left,
        belief.expected_jnd(),
        belief.bound_jnd(),
        tuple(held),
        tuple(width),
        score,
        contradictions,
    )
