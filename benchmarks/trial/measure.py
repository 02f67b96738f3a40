"""Run ways of printing on simulated people and count what came of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from benchmarks.trial.people import Person, Population, picture_roots
from benchmarks.trial.strategies import Outcome, Strategy, Usual

Array = NDArray[np.float64]

PICTURES = 5
CHUNK = 25


@dataclass(frozen=True, slots=True)
class Figures:
    """What a way of printing came to, over people and pictures."""

    name: str
    people: int
    first_sheets: float
    later_sheets: float
    fifth_sheets: float
    by_picture: tuple[float, ...]
    """Mean sheets of the first picture, the second and so on."""
    left_jnd: float
    left_sd: float
    """Standard error of the mean distance left, over people."""
    under_1: float
    under_15: float
    first_under_1: float
    later_under_1: float
    first_left_jnd: float
    later_left_jnd: float
    left_rms_jnd: float
    expected_jnd: float
    bound_held: float
    bound_jnd: float
    axes_held: tuple[float, ...]
    axes_width: tuple[float, ...]
    log_score: float
    contradictions: float
    """Share of sheets whose verdict was taken for a contradiction."""

    @property
    def sheets(self) -> float:
        return (self.first_sheets + (PICTURES - 1) * self.later_sheets) / PICTURES

    @property
    def axes(self) -> float:
        """Mean coverage of the axes' 90 % intervals."""
        return float(np.mean(self.axes_held)) if self.axes_held else float("nan")


@dataclass(frozen=True, slots=True)
class Run:
    """One row of a table: a way of printing, tried on a population."""

    strategy: Strategy
    population: Population
    pooled: bool = False
    """All pictures are judged and measured by the mean of the six kinds' metrics."""


def walks(run: Run, seeds: Sequence[int]) -> list[list[Outcome]]:
    """Every person's pictures."""
    roots = picture_roots()
    if run.pooled:
        roots = [np.linalg.cholesky(np.mean([root @ root.T for root in roots], axis=0))]
    return [run.strategy.walk(Person(run.population, seed, PICTURES, roots), PICTURES) for seed in seeds]


def measure(run: Run, seed: int, people: int, pool: ProcessPoolExecutor | None = None) -> Figures:
    """Figures of one run; the same people for every run with the same seed and population."""
    seeds = [seed * 1_000_000 + number for number in range(people)]
    chunks = [seeds[begin : begin + CHUNK] for begin in range(0, people, CHUNK)]
    found = pool.map(walks, [run] * len(chunks), chunks) if pool else (walks(run, chunk) for chunk in chunks)
    return figures(run.strategy.name, [walk for chunk in found for walk in chunk])


def figures(name: str, outcomes: Sequence[Sequence[Outcome]]) -> Figures:
    """Sum up the walks of all people."""

    def table(value: Callable[[Outcome], float]) -> Array:
        return np.array([[value(one) for one in walk] for walk in outcomes], dtype=np.float64)

    sheets, left = table(lambda one: one.sheets), table(lambda one: one.left_jnd)
    told = all(one.axes_held for walk in outcomes for one in walk)
    every = [one for walk in outcomes for one in walk]
    return Figures(
        name,
        len(outcomes),
        float(sheets[:, 0].mean()),
        float(sheets[:, 1:].mean()),
        float(sheets[:, -1].mean()),
        tuple(sheets.mean(axis=0).tolist()),
        float(left.mean()),
        float(left.mean(axis=1).std() / np.sqrt(len(left))),
        float((left < 1).mean()),
        float((left < 1.5).mean()),
        float((left[:, 0] < 1).mean()),
        float((left[:, 1:] < 1).mean()),
        float(left[:, 0].mean()),
        float(left[:, 1:].mean()),
        float(np.sqrt((left**2).mean())),
        float(np.sqrt((table(lambda one: one.expected_jnd) ** 2).mean())),
        float(table(lambda one: one.left_jnd <= one.bound_jnd).mean()),
        float(table(lambda one: one.bound_jnd).mean()),
        tuple(np.mean([one.axes_held for one in every], axis=0).tolist()) if told else (),
        tuple(np.mean([one.axes_width for one in every], axis=0).tolist()) if told else (),
        float(table(lambda one: one.log_score).mean()),
        float(table(lambda one: one.contradictions).sum() / max(sheets.sum(), 1)),
    )


def best_usual(
    population: Population, seed: int, people: int, most: int, rights: int, pool: ProcessPoolExecutor | None
) -> Usual:
    """The steps that serve usual practice best: one sheet is held to be worth .2 JND."""
    found: list[tuple[float, Usual]] = []
    for step in (0.45, 0.6, 0.8, 1.0, 1.3):
        for clearly in (1.0, 1.3, 1.6, 2.0):
            way = Usual(step=step, clearly=clearly, most=most, rights=rights)
            figure = measure(Run(way, population), seed, people, pool)
            found.append((figure.sheets + 5 * figure.left_jnd, way))
    return min(found, key=lambda item: item[0])[1]
