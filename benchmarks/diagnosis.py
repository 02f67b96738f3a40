"""Write docs/reference/diagnosis.md: prints that went wrong on the demo's printer, scanned, read back and explained.

    .venv/bin/python -m benchmarks.diagnosis [--seeds N] [--first SEED]

Every print, scanner and phone is virtual: the figures say how well the diagnosis tells this
program's own invented faults apart, on machines that drift, through scanners that are off.
"""

from __future__ import annotations

import argparse
import platform
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Way
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.demo.faulty import Mishap, Workshop, draw_mishap
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scan import draw_viewing, scan_file
from wallworthy.demo.scene import render_scene
from wallworthy.demo.trial_sheet import DemoSheet, demo_sheet
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.trial.diagnose import Book, diagnose, open_book
from wallworthy.trial.expected import ExpectedSheet, expect_sheet
from wallworthy.trial.faults import FaultKind
from wallworthy.trial.mishaps import OtherPaper, Printing, printing_of
from wallworthy.trial.readback import readback
from wallworthy.trial.scanfile import XYZ_TO_LIGHT, read_scan

Array = NDArray[np.float64]

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "diagnosis.md"
PAPERS = ("gloss", "lab", "matt")
REPORTED_SEED = 2_000_000
SEEDS = 25
GOOD_FOR_EACH = 4
"""Good prints for every print of a fault: false alarms are rare and want counting."""
LEAST_DE00 = 1.5
"""Mean change of the sheet's patches by which a fault counts as one."""
IN_COLOUR = (
    FaultKind.WRONG_PROFILE,
    FaultKind.DRIVER_ADJUSTMENT,
    FaultKind.INK_MISSING,
    FaultKind.INK_WEAK,
    FaultKind.LAB_AUTO_CORRECTION,
)
WITHOUT_PRINTS = (FaultKind.AS_EXPECTED,)


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """One paper, ready: its profile's two directions, its sheet, and every explanation played through."""

    workshop: Workshop
    profile: Profile
    printing: Printing
    sheet: DemoSheet
    expected: ExpectedSheet
    book: Book


@dataclass(frozen=True, slots=True)
class Job:
    paper: str
    kind: FaultKind
    seed: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """One print: what it was, what it was taken for and how surely, on both routes; how true its colours were read."""

    job: Job
    viewing: str
    detail: str | None
    found: bool
    said: FaultKind | None
    surely: float
    said_detail: str | None
    spectro: FaultKind
    spectro_surely: float
    error_de00: float | None
    banding: float | None
    redrawn: int


@cache
def scene() -> NDArray[np.uint16]:
    return render_scene(900, 600)


@cache
def printings() -> dict[str, tuple[Profile, Printing]]:
    """Each paper by its own measured profile; the others beside it."""
    profiles = {paper: parse_profile(characterised(VirtualPrinter(paper)), paper) for paper in PAPERS}
    device_of = {
        paper: lab_to_device(profile, Way.RELATIVE_BPC, source_of(None)) for paper, profile in profiles.items()
    }
    plain = {paper: printing_of(profiles[paper], device_of[paper]) for paper in PAPERS}
    whole: dict[str, tuple[Profile, Printing]] = {}
    for paper in PAPERS:
        others = tuple(
            OtherPaper(name, plain[name].print_lab, plain[name].device_of) for name in PAPERS if name != paper
        )
        whole[paper] = profiles[paper], printing_of(profiles[paper], device_of[paper], others)
    return whole


@cache
def bench(paper: str) -> Bench:
    profile, printing = printings()[paper]
    sheet = demo_sheet(profile, picture=scene(), ticket="T1", sheet_no=1)
    expected = expect_sheet(sheet.layout, sheet.mark, sheet.device, lambda device: to_lab(profile, device))
    return Bench(Workshop(paper), profile, printing, sheet, expected, open_book(expected, printing))


def run(job: Job) -> Outcome:
    """Print, scan, read back, explain."""
    here = bench(job.paper)
    random = np.random.default_rng([job.seed, PAPERS.index(job.paper), list(FaultKind).index(job.kind)])
    others = {name: printing for name, (_, printing) in printings().items() if name != job.paper}
    mishap, redrawn = _visible(here, job.kind, random, others)
    ppi = here.sheet.layout.ppi
    lab = here.workshop.print(here.sheet.device, mishap, here.printing, others, ppi)
    # A photo can't tell a size: prints of the wrong size lie on a flatbed.
    flat = job.kind is FaultKind.WRONG_SIZE or random.random() < 0.5
    viewing = draw_viewing("flatbed" if flat else "phone", random)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.jpg"
        path.write_bytes(scan_file(lab, ppi, viewing, job.seed))
        answer = readback(read_scan(path), here.expected, here.book, here.profile.white_xyz)
    truth = _truth(lab, here.expected, mishap.amounts if job.kind is FaultKind.WRONG_SIZE else np.ones(1))
    by_instrument = diagnose(here.book, _instrument(truth, random), route="spectro")
    error = None
    if answer.found and answer.patch_lab is not None:
        tile = np.array([patch.kind == "tile" for patch in here.expected.patches])
        error = float(ciede2000(truth[tile], answer.patch_lab[tile]).mean())
    first = answer.faults[0] if answer.faults else None
    return Outcome(
        job, viewing.kind, mishap.ink or mishap.other, answer.found, first.kind if first else None,
        first.probability if first else 0.0, first.detail if first else None, by_instrument[0].kind,
        by_instrument[0].probability, error, answer.banding_lstar, redrawn,
    )  # fmt: skip


def _visible(
    here: Bench, kind: FaultKind, random: np.random.Generator, others: dict[str, Printing]
) -> tuple[Mishap, int]:
    """A mishap that changes the sheet by what a person would see; weaker draws are thrown back, and counted."""
    device = np.concatenate([patch.device[::2] for patch in here.expected.patches]).astype(np.float32)
    for redrawn in range(20):
        mishap = draw_mishap(kind, random, tuple(others))
        if kind not in IN_COLOUR or here.workshop.effect_de00(device, mishap, here.printing, others) >= LEAST_DE00:
            return mishap, redrawn
    return mishap, 20


def _truth(lab: NDArray[np.float32], expected: ExpectedSheet, scale: Array) -> Array:
    """The print's own Lab (n, 3) under each patch, relative to its bare paper."""
    white = lab_to_xyz(lab[3, 3])
    ppi = expected.layout.ppi
    middle = np.array([lab.shape[1], lab.shape[0]]) / 2
    values: list[Array] = []
    for patch in expected.patches:
        x, y, width, height = patch.box_mm
        inset = 0.0 if patch.kind == "tile" else 0.22 * min(width, height)
        low = middle + (np.array([x + inset, y + inset]) / 25.4 * ppi - middle) * scale
        high = middle + (np.array([x + width - inset, y + height - inset]) / 25.4 * ppi - middle) * scale
        (left, top), (right, bottom) = np.rint(low).astype(int), np.rint(high).astype(int)
        xyz = lab_to_xyz(lab[top:bottom, left:right].reshape(-1, 3)).mean(axis=0)
        values.append(xyz_to_lab(xyz / white * PCS_WHITE))
    return np.array(values)


def _instrument(truth: Array, random: np.random.Generator) -> Array:
    """A spectrophotometer on steps and colours only, each read within about 0.3."""
    light = np.maximum(lab_to_xyz(truth + random.normal(0, 0.25, truth.shape)) @ XYZ_TO_LIGHT.T, 0)
    light[22:] = np.nan
    return light


def jobs_of(first_seed: int, seeds: int) -> list[Job]:
    """Every paper x fault x seed, and several good prints for each of them."""
    jobs = [
        Job(paper, kind, first_seed + seed)
        for paper in PAPERS for kind in FaultKind if kind not in WITHOUT_PRINTS for seed in range(seeds)
    ]  # fmt: skip
    good = [
        Job(paper, FaultKind.AS_EXPECTED, first_seed + seed)
        for paper in PAPERS
        for seed in range(seeds * GOOD_FOR_EACH)
    ]
    return jobs + good


def measured(first_seed: int, seeds: int, workers: int = 2) -> list[Outcome]:
    """All outcomes, in the order of the jobs, whatever the number of workers."""
    jobs = jobs_of(first_seed, seeds)
    for paper in PAPERS:
        bench(paper)
    cv2.setNumThreads(1)
    with get_context("fork").Pool(workers) as pool:
        outcomes: list[Outcome] = []
        for outcome in pool.imap(run, jobs, chunksize=4):
            outcomes.append(outcome)
            if len(outcomes) % 50 == 0:
                sys.stderr.write(f"{len(outcomes)} of {len(jobs)}\n")
        return outcomes


def page_of(outcomes: list[Outcome], seconds: float, first_seed: int) -> Iterator[str]:
    """The page's lines."""
    faults = [one for one in outcomes if one.job.kind is not FaultKind.AS_EXPECTED]
    good = [one for one in outcomes if one.job.kind is FaultKind.AS_EXPECTED]
    yield "# How well the read-back explains prints"
    yield ""
    yield "Made by `.venv/bin/python -m benchmarks.diagnosis`; do not edit. "
    yield f"{len(outcomes)} virtual prints on {len(PAPERS)} papers, seeds from {first_seed}, {seconds:.0f} s,"
    yield f"Python {platform.python_version()}, {platform.machine()}."
    yield "Every print, scanner and phone is invented."
    yield ""
    yield "Two prints in five are of a second machine that has drifted; every print has its day's unsteadiness."
    yield "Scans are JPEG, quality 80, untagged; phones at any turn, corners displaced up to 3 %, light falling off up"
    yield "to 10 %."
    yield f"Faults of colour that change the patches by less than {LEAST_DE00} dE00 in the mean were drawn again "
    yield f"({sum(one.redrawn for one in outcomes)} times)."
    yield "A photo can't tell a size, so prints of the wrong size lie on a flatbed."
    yield ""
    yield "| | wanted | measured |"
    yield "|---|---|---|"
    yield _line("sheets found", ">= 99 %", _share([one.found for one in outcomes]))
    right = [one.said is one.job.kind for one in outcomes]
    yield _line("right class, all prints, scanner", ">= 95 %", _share(right))
    each = np.mean([np.mean([o.said is kind for o in outcomes if o.job.kind is kind]) for kind in FaultKind])
    yield _line("right class, mean over the classes, scanner", "", f"{each * 100:.1f} %")
    yield _line("right class, prints with a fault, scanner", "", _share([o.said is o.job.kind for o in faults]))
    alarms = _share([o.found and o.said is not FaultKind.AS_EXPECTED for o in good])
    yield _line("false alarms on good prints, scanner", "<= 5 %", alarms)
    sure = [o for o in outcomes if o.surely > 0.8]
    yield _line(
        f"right when surer than .8 ({len(sure) / len(outcomes) * 100:.0f} % of prints)", ">= 99 %",
        _share([o.said is o.job.kind for o in sure]),
    )  # fmt: skip
    blind = (FaultKind.WRONG_SIZE, FaultKind.BANDING)
    spot = [o for o in outcomes if o.job.kind not in blind]
    yield _line(
        "right class by spectrophotometer (steps and colours; stripes and size left out)", "",
        _share([o.spectro is o.job.kind for o in spot]),
    )  # fmt: skip
    errors = np.array([o.error_de00 for o in good if o.error_de00 is not None and o.said is FaultKind.AS_EXPECTED])
    yield _line("relative colour error of tiles, good prints, mean dE00", "<= 1.0", f"{errors.mean():.2f}")
    yield _line("the same, 95 % of sheets within", "", f"{np.quantile(errors, 0.95):.2f}")
    other = np.array([o.error_de00 for o in faults if o.error_de00 is not None])
    yield _line("relative colour error of tiles, prints with a fault, mean dE00", "", f"{other.mean():.2f}")
    yield ""
    yield from _table(outcomes)


def _table(outcomes: list[Outcome]) -> Iterator[str]:
    yield "## What was taken for what (scanner and phone), per cent of each row"
    yield ""
    names = [kind.value.replace("_", " ") for kind in FaultKind]
    yield "| print | count | " + " | ".join(names) + " |"
    yield "|---|---|" + "---|" * len(names)
    for kind in FaultKind:
        row = [o for o in outcomes if o.job.kind is kind]
        shares = [np.mean([o.said is other for o in row]) * 100 for other in FaultKind]
        cells = " | ".join(f"{share:.0f}" if share else "" for share in shares)
        yield f"| {kind.value.replace('_', ' ')} | {len(row)} | {cells} |"
    yield ""
    ink_kinds = (FaultKind.INK_MISSING, FaultKind.INK_WEAK)
    inks = [o for o in outcomes if o.job.kind in ink_kinds and o.said is o.job.kind]
    named = [(o.said_detail or "").split()[-1] == (o.detail or "").replace("_", " ").split()[-1] for o in inks]
    if named:
        yield f"Of the ink faults rightly classed, {np.mean(named) * 100:.0f} % name the ink's colour, light or not."
    yield ""
    yield "| paper | right class | false alarms |"
    yield "|---|---|---|"
    for paper in PAPERS:
        here = [o for o in outcomes if o.job.paper == paper]
        good = [o for o in here if o.job.kind is FaultKind.AS_EXPECTED]
        alarms = _share([o.said is not FaultKind.AS_EXPECTED for o in good])
        yield f"| {paper} | {_share([o.said is o.job.kind for o in here])} | {alarms} |"


def _line(what: str, wanted: str, got: str) -> str:
    return f"| {what} | {wanted} | {got} |"


def _share(hits: list[bool]) -> str:
    return f"{np.mean(hits) * 100:.1f} % ({sum(hits)} of {len(hits)})"


def main() -> None:
    """Measure and write the page."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=SEEDS)
    parser.add_argument("--first", type=int, default=REPORTED_SEED)
    parser.add_argument("--dry", action="store_true", help="print only")
    asked = parser.parse_args()
    began = time.monotonic()
    outcomes = measured(asked.first, asked.seeds)
    text = "\n".join(page_of(outcomes, time.monotonic() - began, asked.first)) + "\n"
    if not asked.dry:
        PAGE.write_text(text)
    sys.stdout.write(text)
    for one in outcomes if asked.dry else []:
        if one.said is not one.job.kind:
            said = f"{one.said} {one.surely:.2f} {one.said_detail}, stripes {one.banding}"
            sys.stdout.write(f"{one.job.paper} {one.viewing} {one.job.kind} {one.detail} -> {said}\n")


if __name__ == "__main__":
    main()
