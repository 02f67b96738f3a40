"""A test sheet of the demo, printed on its virtual printer and ready to be scanned, made once for all tests."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Way
from wallworthy.colour.lab import PCS_WHITE, lab_to_xyz, xyz_to_lab
from wallworthy.demo.faulty import Mishap, Workshop
from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.profiling import characterised
from wallworthy.demo.scan import Viewing, scan_file
from wallworthy.demo.trial_sheet import DemoSheet, demo_sheet
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.engine import to_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.trial.diagnose import Book, open_book
from wallworthy.trial.expected import ExpectedSheet, expect_sheet
from wallworthy.trial.faults import FaultKind
from wallworthy.trial.mishaps import Printing, printing_of
from wallworthy.trial.readback import Readback, readback
from wallworthy.trial.reference import ReferenceCard
from wallworthy.trial.scanfile import read_scan

PAPER = "matt"


@dataclass(frozen=True, slots=True, eq=False)
class Printed:
    """The sheet, its expectations and explanations, and the workshop that prints it."""

    profile: Profile
    printing: Printing
    sheet: DemoSheet
    expected: ExpectedSheet
    book: Book
    workshop: Workshop


@cache
def printed() -> Printed:
    """One sheet on matt paper; about five seconds the first time."""
    profile = parse_profile(characterised(VirtualPrinter(PAPER)), PAPER)
    printing = printing_of(profile, lab_to_device(profile, Way.RELATIVE_BPC, source_of(None)))
    rows, columns = np.mgrid[0:240, 0:360] / np.array([240, 360])[:, None, None]
    picture = np.stack([0.15 + 0.7 * columns, 0.2 + 0.5 * rows, 0.6 - 0.4 * columns * rows], axis=-1)
    sheet = demo_sheet(profile, picture=(picture * 65535).astype(np.uint16))
    expected = expect_sheet(sheet.layout, sheet.mark, sheet.device, lambda device: to_lab(profile, device))
    return Printed(profile, printing, sheet, expected, open_book(expected, printing), Workshop(PAPER))


@cache
def good_print() -> NDArray[np.float32]:
    """ICC-absolute Lab of the sheet printed well."""
    return print_of(Mishap(FaultKind.AS_EXPECTED, None, np.zeros(0), seed=5))


def print_of(mishap: Mishap) -> NDArray[np.float32]:
    """ICC-absolute Lab of the sheet printed with a mishap."""
    here = printed()
    return here.workshop.print(here.sheet.device, mishap, here.printing, {}, here.sheet.layout.ppi)


def read_back(
    lab: NDArray[np.float32], viewing: Viewing, folder: Path, seed: int = 0, card: ReferenceCard | None = None
) -> Readback:
    """Scan a print into a file, and read that back."""
    here = printed()
    path = folder / "scan.jpg"
    path.write_bytes(scan_file(lab, here.sheet.layout.ppi, viewing, seed))
    return readback(read_scan(path), here.expected, here.book, here.profile.white_xyz, card=card)


def truth(lab: NDArray[np.float32]) -> NDArray[np.float64]:
    """The print's own Lab (n, 3) under each patch, relative to its bare paper."""
    here = printed()
    per_mm = here.sheet.layout.ppi / 25.4
    white = lab_to_xyz(lab[3, 3])
    values: list[NDArray[np.float64]] = []
    for patch in here.expected.patches:
        x, y, width, height = (value * per_mm for value in patch.box_mm)
        part = lab[round(y) : round(y + height), round(x) : round(x + width)]
        values.append(xyz_to_lab(lab_to_xyz(part.reshape(-1, 3)).mean(axis=0) / white * PCS_WHITE))
    return np.array(values)
