"""Write docs/reference/deficit.md: the product's model of lost detail, its parameters, and what it should answer.

.venv/bin/python scripts/pages/deficit.py
"""

from __future__ import annotations

import math
from dataclasses import fields
from pathlib import Path

import numpy as np

from wallworthy.appraise.eye import PAPERS, RANGES, SHARP, Seeing, bare_deficit, deficits, parameter_sets
from wallworthy.appraise.grade import LIMITS, File, deficit_at, interval, largest_size, nearest_distance, setting_of

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "deficit.md"
SETS = 400

PLACES = (
    ("A3, 42 x 28 cm, from 51 cm", (420.0, 280.0), 510.0),
    ("A3 from 25 cm", (420.0, 280.0), 250.0),
    ("A3 under a glass of 8 times (indicative)", (420.0, 280.0), 31.25),
    ("150 x 100 cm from 180 cm", (1500.0, 1000.0), 1800.0),
    ("150 x 100 cm from 60 cm", (1500.0, 1000.0), 600.0),
)
MASTERS = (3.0, 8.0, 12.7, 20.0, 42.0)
MEANING = {
    "mean_cd_m2": "mean luminance of the print, cd/m²: 0.22 of paper white; paper white is 135 under 500 lux",
    "paper_mtf50_per_mm": "cycles per mm at which ink and paper keep half the contrast; the transfer is Gaussian",
    "sharpening_cap": "most that output sharpening amplifies any frequency",
    "k": "signal to noise at the eye's threshold (Barten)",
    "output_ppi": "density the printer is fed with; nothing finer is printed",
}

TEXT = """# How much detail a print loses: the model

Made by `.venv/bin/python scripts/pages/deficit.py`; the tests make it again and compare.

The deficit is the sharpness, in just noticeable differences (JND), by which a print falls short of an ideal one: an
unlimited file at the same size on the same paper. Sharpness is Barten's square-root integral (Barten 1999),

    J = (1 / ln 2) * integral of sqrt(M(u) S(u)) du / u,   u from 0.5 to 60 cycles per degree, 385 steps even in ln u,

S is Barten's contrast sensitivity at the print's mean luminance for a square field of the print's own angular size
(side = 2 atan(sqrt(width * height) / 2 distance)). M is, at f = u / (distance tan 1 degree) cycles per mm,

    M = file(f) * resampling(f) * paper(f) * gain(f),   nothing beyond output_ppi / 50.8 cycles per mm
    gain = min(sharpening_cap, 1 / (pixel(f) * resampling(f) * paper(f)))
    ideal = min(1, sharpening_cap * paper(f)),   paper = 2 ** -((f / paper_mtf50) ** 2)

`file` is what was measured of the picture, or `pixel`, the transfer of a square pixel up to half a cycle per pixel,
when nothing could be measured; `resampling` is the enlarging cubic's transfer when the file has fewer pixels to the
inch than the printer is fed with, else 1. Output sharpening gives back what pixels, resampling and paper take, up to
its cap; it does not mend the picture's own softness. The deficit is J(ideal) - J(min(M, ideal)), so it is never
negative; J(max(M, ideal)) - J(ideal) is told apart as overshoot.

An interval goes with every deficit: the middle nine tenths of 96 parameter sets drawn from the ranges below (always
the same ones), with the picture's own measured uncertainty; narrower where light, paper or ink spread are known. A
figure for less than 10 cm is indicative: a glass has faults of its own.

## Parameters

"""


def masters_of(megapixels: float) -> File:
    width = math.sqrt(megapixels * 1.5e6)
    return File((round(width), round(width / 1.5)), SHARP)


def parameter_rows() -> list[str]:
    lines = ["| parameter | value | range | meaning |", "|---|---|---|---|"]
    for field in fields(Seeing):
        span = RANGES.get(field.name)
        told = f"{span[0]:g} to {span[1]:g}" if span else "fixed"
        lines.append(f"| `{field.name}` | {getattr(Seeing(), field.name):g} | {told} | {MEANING[field.name]} |")
    measured = "until it is measured from a printed edge (`condition ink-spread`)"
    lines += ["", f"Ink spread by surface, cycles per mm, {measured}:", ""]
    lines += ["| surface | value | range |", "|---|---|---|"]
    lines += [f"| {name} | {value:g} | {low:g} to {high:g} |" for name, (value, low, high) in PAPERS.items()]
    grades = ", ".join(f"`{grade}` below {limit:g}" for grade, limit in LIMITS.items())
    return [*lines, "", f"Grades by deficit in JND: {grades}, `too_soft` beyond. Good means `fine` or better.", ""]


def expected_rows() -> list[str]:
    setting = setting_of(None, None)
    lines = ["## Expected values", "", "Deficit in JND of sharp masters, 3:2, with the parameters above:", ""]
    lines += [f"| print | {' | '.join(f'{mp:g} MP' for mp in MASTERS)} | interval at 12.7 MP |", "|---" * 7 + "|"]
    for name, size, distance in PLACES:
        values = [deficit_at(masters_of(mp), size, distance, setting.model) for mp in MASTERS]
        low, high = interval(masters_of(12.7), size, distance, setting)
        lines.append(f"| {name} | {' | '.join(f'{v:.2f}' for v in values)} | {low:.2f} to {high:.2f} |")
    sharp = masters_of(12.7)
    large = largest_size(sharp, 1800.0, setting.model)
    near = nearest_distance(sharp, (1500.0, 1000.0), setting.model)
    lines += [
        "",
        f"A sharp 12.7 MP master is good up to {large[0] / 10:.0f} x {large[1] / 10:.0f} cm from 180 cm, and at "
        f"150 x 100 cm from {near / 10:.0f} cm on.",
        "",
    ]
    return lines


def trade_facts() -> dict[str, np.ndarray]:
    """What the trade says, over the parameter sets: differences in JND, (SETS,) each."""
    sets = parameter_sets(RANGES, SETS)

    def lost(megapixels: float, size: tuple[float, float], distance: float) -> np.ndarray:
        file = masters_of(megapixels)
        return deficits(SHARP, file.ppi(size), size, distance, sets)[0]

    a3, large = (420.0, 280.0), (1500.0, 1000.0)
    return {
        "A3 from 51 cm: 12.7 against 42 MP differ by less than 1": lost(12.7, a3, 510) - lost(42, a3, 510),
        "150 x 100 cm from 180 cm: 12.7 MP loses less than 1": lost(12.7, large, 1800),
        "A3 under a glass of 8 times: 12.7 against 42 MP differ by more than 5": lost(12.7, a3, 31.25)
        - lost(42, a3, 31.25),
    }


def trade_rows() -> list[str]:
    lines = [
        "## What the trade says, over parameter sets",
        "",
        f"{SETS} sets drawn from the ranges above; nothing was tuned. JND; 'worst' and '90 %' towards the limit.",
        "",
        "| fact | median | 90 % | worst | holds in |",
        "|---|---|---|---|---|",
    ]
    for fact, values in trade_facts().items():
        more = "more" in fact
        limit = 5.0 if more else 1.0
        holds = values > limit if more else values < limit
        edge, worst = (np.quantile(values, 0.1), values.min()) if more else (np.quantile(values, 0.9), values.max())
        row = f"{np.median(values):.2f} | {edge:.2f} | {worst:.2f} | {int(holds.sum())} of {SETS}"
        lines.append(f"| {fact} | {row} |")
    return [*lines, ""]


def bare_rows() -> list[str]:
    lines = [
        "## The bare model",
        "",
        "Only to be checked with: pixels as boxes cut at half a cycle, no paper, no sharpening, 135 cd/m², a field of",
        "40 degrees, 3:2. JND:",
        "",
        "| seen from | 6 MP | 12 MP | 12.7 MP | 24 MP | 42 MP |",
        "|---|---|---|---|---|---|",
    ]
    for diagonals in (0.5, 1.0, 1.5):
        values = " | ".join(f"{bare_deficit(mp, diagonals):.2f}" for mp in (6, 12, 12.7, 24, 42))
        lines.append(f"| {diagonals:g} of its diagonal | {values} |")
    return [*lines, ""]


def page() -> str:
    return TEXT + "\n".join([*parameter_rows(), *expected_rows(), *trade_rows(), *bare_rows()])


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
