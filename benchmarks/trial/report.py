"""The tables and drawings of the proof of worth."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from benchmarks.trial.measure import Figures
from benchmarks.trial.people import PAPER_BLACK_LSTAR, Population
from benchmarks.trial.plots import distance_by_sheets, sheets_by_picture
from benchmarks.trial.strategies import RingAround, Usual
from wallworthy.base.records import CORRECTION_AXES

OPENING = Path(__file__).with_name("opening.md")
"""What was done, with places for the figures."""


@dataclass(frozen=True, slots=True)
class Results:
    """All figures of one call."""

    seed: int
    tuning_seed: int
    people: int
    usual: dict[str, Usual]
    ring: RingAround
    standard: list[Figures]
    stops: list[Figures]
    others: list[Figures]
    two: list[Figures]
    pooled: list[Figures]
    strangers: list[tuple[Population, Figures, Figures]]


def keep(results: Results, path: Path) -> None:
    """All figures as JSON, so that the page can be written again without the hours."""
    path.write_text(json.dumps(asdict(results)), "utf-8")


def kept(path: Path) -> Results:
    """What `keep` wrote."""
    record = json.loads(path.read_text("utf-8"))
    rows = {name: [Figures(**one) for one in record[name]] for name in ("standard", "stops", "others", "two", "pooled")}
    strangers = [(Population(**who), Figures(**usual), Figures(**ours)) for who, usual, ours in record["strangers"]]
    return Results(
        record["seed"],
        record["tuning_seed"],
        record["people"],
        {name: Usual(**way) for name, way in record["usual"].items()},
        RingAround(**record["ring"]),
        **rows,
        strangers=strangers,
    )


def write(results: Results, folder: Path) -> None:
    """trial.md and its drawings."""
    folder.mkdir(parents=True, exist_ok=True)
    usual = [one for one in results.standard if one.name.startswith("usual")]
    ring = [one for one in results.standard if not one.name.startswith("usual")]
    short = {"at most 3 prints": "at most 3", "at most 2 prints": "at most 2", "usual practice": "until right"}

    def label(figure: Figures) -> str:
        tail = figure.name.rpartition(", ")[2]
        return short.get(tail, tail.replace("stop at ", "").replace("'right' of two prints running", "right twice"))

    drawing = distance_by_sheets(
        [
            ("adaptive", [(label(one), one) for one in results.stops]),
            ("usual practice", [(label(one), one) for one in usual]),
            ("ring-around", [("", one) for one in ring]),
        ]
    )
    (folder / "trial-distance.svg").write_text(drawing, "utf-8")
    lines = [(one.name.split(",")[0], one.by_picture) for one in (results.stops[1], results.standard[0], ring[0])]
    (folder / "trial-sheets.svg").write_text(sheets_by_picture(lines), "utf-8")
    (folder / "trial.md").write_text(page(results), "utf-8")


def page(results: Results) -> str:
    """The whole page."""
    ours, usual = results.stops[1], results.standard[0]
    parts = [
        _opening(results),
        "## Ways of printing, population as stated\n",
        _table([*results.stops, *results.others[:1], *results.standard, *results.others[1:]]),
        "![Distance left after how much paper](trial-distance.svg)\n\n![Sheets by picture](trial-sheets.svg)\n",
        _held_against(ours, usual),
        "## After exactly two sheets of a first picture\n",
        _two(results.two),
        "## How far the stated intervals hold\n",
        _calibration(ours),
        "## People who are not in the model\n",
        _strangers(results.strangers),
        "## One metric for all pictures\n",
        "The same with the mean of the six kinds' metrics for every picture, for judging and for measuring.\n",
        _table(results.pooled),
    ]
    return "\n".join(parts)


def _opening(results: Results) -> str:
    tuned = results.usual["usual practice"]
    return OPENING.read_text("utf-8").format(
        people=results.people,
        seed=results.seed,
        tuning_seed=results.tuning_seed,
        paper_black=PAPER_BLACK_LSTAR,
        step=tuned.step,
        clearly=tuned.clearly,
        ring=results.ring.first,
    )


def _table(rows: Sequence[Figures]) -> str:
    lines = [
        "| way | sheets, 1st picture | 2nd-5th | 5th | d left | its error | d < 1 (1st, later) | d < 1.5 |",
        "|---|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {one.name} | {one.first_sheets:.2f} | {one.later_sheets:.2f} | {one.fifth_sheets:.2f} | "
        f"{one.left_jnd:.3f} | {one.left_sd:.3f} | "
        f"{_pct(one.under_1)} ({_pct(one.first_under_1)}, {_pct(one.later_under_1)}) | {_pct(one.under_15)} |"
        for one in rows
    ]
    return "\n".join(lines) + "\n"


def _held_against(ours: Figures, usual: Figures) -> str:
    rows = (
        ("sheets, first picture", f"{ours.first_sheets:.2f}", "2.1 or less", ours.first_sheets <= 2.1),
        ("sheets, 2nd-5th", f"{ours.later_sheets:.2f}", "1.35 or less", ours.later_sheets <= 1.35),
        ("d left, JND", f"{ours.left_jnd:.3f}", ".95 or less", ours.left_jnd <= 0.95),
        ("share under 1 JND", _pct(ours.under_1), "65 % or more", ours.under_1 >= 0.65),
        ("share under 1.5 JND", _pct(ours.under_15), "93 % or more", ours.under_15 >= 0.93),
        *_ratios(ours, usual),
        ("90 % intervals of the axes hold", _pct(ours.axes), "86-94 %", 0.86 <= ours.axes <= 0.94),
        ("90 % bound of the distance holds", _pct(ours.bound_held), "86-94 %", 0.86 <= ours.bound_held <= 0.94),
    )
    lines = ["## Stop at 1.0 JND against what was asked of it\n", "| figure | found | asked | |", "|---|---|---|---|"]
    lines += [f"| {name} | {found} | {asked} | {'met' if met else '**not met**'} |" for name, found, asked, met in rows]
    return "\n".join(lines) + "\n"


def _ratios(ours: Figures, usual: Figures) -> tuple[tuple[str, str, str, bool], ...]:
    first, later = ours.first_sheets / usual.first_sheets, ours.later_sheets / usual.later_sheets
    left = ours.left_jnd / usual.left_jnd
    return (
        ("sheets over usual practice's, first picture", f"{first:.2f}", ".80 or less", first <= 0.80),
        ("sheets over usual practice's, 2nd-5th", f"{later:.2f}", ".60 or less", later <= 0.60),
        ("distance left over usual practice's", f"{left:.3f}", ".85 or less", left <= 0.85),
    )


def _two(rows: Sequence[Figures]) -> str:
    lines = ["| asked | d left | d < 1 | d < 1.5 |", "|---|---|---|---|"]
    lines += [f"| {one.name} | {one.left_jnd:.3f} | {_pct(one.under_1)} | {_pct(one.under_15)} |" for one in rows]
    return "\n".join(lines) + "\n\nEvery picture is a first one here: nothing is learned from the others.\n"


def _calibration(ours: Figures) -> str:
    lines = ["| axis | 90 % interval holds | mean width, prior standard deviations |", "|---|---|---|"]
    lines += [
        f"| {axis} | {_pct(held)} | {width:.2f} |"
        for axis, held, width in zip(CORRECTION_AXES, ours.axes_held, ours.axes_width, strict=True)
    ]
    lines += [
        f"| all | {_pct(ours.axes)} | {np.mean(ours.axes_width):.2f} |",
        "",
        f"Expected distance at the last sheet {ours.expected_jnd:.3f} JND (root mean square), found "
        f"{ours.left_rms_jnd:.3f}. 90 % bound of the distance: holds {_pct(ours.bound_held)}, mean "
        f"{ours.bound_jnd:.2f} JND. Mean log score of the six axes (Gaussian of the belief's mean and covariance, in "
        f"prior standard deviations) {ours.log_score:.2f}; the true prior alone would score "
        f"{-3 * (1 + np.log(2 * np.pi)):.2f}. {100 * ours.contradictions:.1f} % of honest verdicts were taken for "
        "contradictions.",
    ]
    return "\n".join(lines) + "\n"


def _strangers(rows: Sequence[tuple[Population, Figures, Figures]]) -> str:
    lines = [
        "Neither way knows of the change. 'Taste not quadratic': each direction counts .7 to 1.4 times what the "
        "metric says, and large distances saturate. 'Other noise family': Gaussian for Gumbel in choices. "
        "'Heavy tails': Student's t with 4 degrees of freedom.\n",
        "| people | adaptive: sheets 1st, later | d | usual: sheets 1st, later | d | bound holds | axes hold | |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for who, usual, ours in rows:
        faults: list[str] = []
        if ours.bound_held < 0.77:
            faults.append("bound too narrow")
        if ours.first_sheets >= usual.first_sheets or ours.later_sheets >= usual.later_sheets:
            faults.append("not fewer sheets")
        if ours.left_jnd >= usual.left_jnd:
            faults.append("not nearer")
        lines.append(
            f"| {who.name} | {ours.first_sheets:.2f}, {ours.later_sheets:.2f} | {ours.left_jnd:.3f} | "
            f"{usual.first_sheets:.2f}, {usual.later_sheets:.2f} | {usual.left_jnd:.3f} | "
            f"{_pct(ours.bound_held)} | {_pct(ours.axes)} | "
            f"{'**' + ', '.join(faults) + '**' if faults else 'fewer sheets, nearer'} |"
        )
    return "\n".join(lines) + "\n"


def _pct(share: float) -> str:
    """Whole per cent; close to all with a digit more, and never rounded up to all."""
    if share == 1 or share < 0.995:
        return f"{100 * share:.0f} %"
    return f"{min(100 * share, 99.9):.1f} %"
