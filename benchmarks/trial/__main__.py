"""One command: `python -m benchmarks.trial` tries every way of printing and writes the tables and drawings."""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from benchmarks.trial.measure import Figures, Run, best_usual, measure
from benchmarks.trial.people import Population
from benchmarks.trial.report import Results, keep, kept, write
from benchmarks.trial.strategies import Adaptive, RingAround, Usual

TUNING_SEED = 9
"""People that usual practice and the ring-around are tuned on; never those reported."""
SEED = 2611
STATED = Population()
STRANGERS = (
    Population("noise doubled", noise=2.0),
    Population("wishes x1.5, undeclared", scale=1.5),
    Population("heavy tails", heavy_tails=True),
    Population("taste not quadratic", quadratic=False),
    Population("blunders 15 %", blunder=0.15),
    Population("other noise family", choice="gauss"),
    Population("'right' only under half a JND", right_jnd=0.5),
    Population("all of these but doubled noise", 1.5, 0.7, True, 0.3, 1.0, 0.15, choice="gauss", quadratic=False),
)


def main() -> None:
    """Tune, measure, write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.trial", description=__doc__)
    parser.add_argument("--people", type=int, default=500)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--out", type=Path, default=Path("docs/reference"))
    parser.add_argument("--keep", type=Path, help="keep all figures in this JSON file")
    parser.add_argument("--again", type=Path, help="write the page again from figures kept")
    chosen = parser.parse_args()
    if chosen.again:
        write(kept(chosen.again), chosen.out)
        return
    if chosen.seed == TUNING_SEED:
        parser.error(f"seed {TUNING_SEED} is the one that ways are tuned on")
    with ProcessPoolExecutor(chosen.jobs) as pool:
        results = run_all(chosen.seed, chosen.people, pool)
    if chosen.keep:
        keep(results, chosen.keep)
    write(results, chosen.out)


def run_all(seed: int, people: int, pool: ProcessPoolExecutor) -> Results:
    """Every row of every table."""
    tuning = max(50, people // 2)

    def tried(
        strategy: Adaptive | Usual | RingAround, population: Population = STATED, pooled: bool = False
    ) -> Figures:
        figure = measure(Run(strategy, population, pooled), seed, people, pool)
        sys.stderr.write(
            f"{population.name}: {strategy.name}: {figure.first_sheets:.2f} {figure.later_sheets:.2f} "
            f"{figure.left_jnd:.3f} bound {figure.bound_held:.3f} axes {figure.axes:.3f}\n"
        )
        return figure

    usual: dict[str, Usual] = {}
    for name, most, rights in (
        ("usual practice", 6, 1),
        ("usual practice, 'right' of two prints running", 6, 2),
        ("usual practice, at most 3 prints", 3, 1),
        ("usual practice, at most 2 prints", 2, 1),
    ):
        way = best_usual(STATED, TUNING_SEED, tuning, most, rights, pool)
        usual[name] = Usual(name, way.step, way.clearly, most, rights)
    tuned = usual["usual practice"]
    usual["usual practice, careful"] = Usual("usual practice, careful", tuned.step / 2, tuned.clearly, 6, 1)
    rings = [RingAround("ring-around", first, 6, ends) for first in (0.5, 0.75, 1.0, 1.4) for ends in (False, True)]
    scored = [(measure(Run(ring, STATED), TUNING_SEED, tuning, pool), ring) for ring in rings]
    ring = min(scored, key=lambda item: item[0].sheets + 5 * item[0].left_jnd)[1]

    standard = [tried(way) for way in usual.values()]
    standard.append(tried(ring))
    stops = [tried(Adaptive(f"adaptive, stop at {stop} JND", stop_jnd=stop)) for stop in (1.2, 1.0, 0.9, 0.8)]
    others = [
        tried(Adaptive("adaptive, 'between' answers, stop at 0.9 JND", stop_jnd=0.9, between=True)),
        tried(Adaptive("adaptive, tiles only (best, next, right or none)", words=0)),
        tried(Adaptive("adaptive, one word on a single print", words=1, tiles=1)),
        tried(Adaptive("adaptive, a word on every tile", words=6)),
        tried(Adaptive("adaptive, no sheet from the 2nd picture on when 1.0 JND is expected", least=0)),
        tried(Adaptive("adaptive, without the house correction", house=False)),
    ]
    two = [
        tried(Adaptive("tiles only", words=0, exact_sheets=2, house=False)),
        tried(Adaptive("and a word on best and next", words=2, exact_sheets=2, house=False)),
        tried(Adaptive("and a word on every tile", words=6, exact_sheets=2, house=False)),
    ]
    pooled = [tried(tuned, pooled=True), tried(Adaptive("adaptive, stop at 1.0 JND"), pooled=True)]
    strangers = [(who, tried(tuned, who), tried(Adaptive("adaptive"), who)) for who in STRANGERS]
    return Results(seed, TUNING_SEED, people, usual, ring, standard, stops, others, two, pooled, strangers)


if __name__ == "__main__":
    main()
