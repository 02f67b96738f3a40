"""Reading a printed sheet back: where it lies, what its tiles measure, what is ticked, what went wrong."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Notice, Triple
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.lab import absolute_to_relative, lab_to_xyz, relative_to_absolute, xyz_to_lab
from wallworthy.trial.diagnose import Book, diagnose
from wallworthy.trial.expected import ExpectedSheet
from wallworthy.trial.faults import Fault, FaultKind
from wallworthy.trial.marks import Mark, parse_mark
from wallworthy.trial.reading import ReadTick, SheetReading, read_sheet
from wallworthy.trial.reference import ReferenceCard, card_light
from wallworthy.trial.scanfile import XYZ_TO_LIGHT, Scan
from wallworthy.trial.scanner import Calibration, card_calibration, own_calibration, plain_calibration
from wallworthy.trial.straighten import NotThere, StraightSheet, marks_in, straighten

Array = NDArray[np.float64]

PLAIN_ERROR_DE00: Final = 4.0
"""What taking an unknown scanner's numbers as sRGB usually costs, mean. Common practice, no source; the demo's
virtual scanners are truer than that."""
MACHINE_DRIFT_DE00: Final = 0.6
"""What a machine's drift from its profile hides when its own steps are trusted; measured on the demo's two machines."""
SOUND: Final = (FaultKind.AS_EXPECTED, FaultKind.BANDING, FaultKind.WRONG_SIZE)
"""What leaves the steps and colours fit to calibrate the scanner by."""


@dataclass(frozen=True, slots=True)
class TileReading:
    """A tile: what it should be and what was measured, means over its cells; de00 is the mean of the cells'.

    Lab is relative to the bare paper, or absolute (D50) when the read-back is.
    """

    code: str
    expected_lab: Triple
    measured_lab: Triple
    de00: float


@dataclass(frozen=True, slots=True, eq=False)
class Readback:
    """The answer. When `found` is False, `text` and `mend` say why and what to do, and all else is empty."""

    found: bool
    text: str
    mend: str
    scale_error_pct: float | None = None
    absolute: bool = False
    measurement_error_de00: float | None = None
    tiles: tuple[TileReading, ...] = ()
    faults: tuple[Fault, ...] = ()
    ticks: tuple[ReadTick, ...] = ()
    banding_lstar: float | None = None
    unevenness_pct: float | None = None
    notices: tuple[Notice, ...] = ()
    patch_lab: Array | None = field(default=None, repr=False)
    """Every patch and cell as measured, in the expected sheet's order."""


def sheets_seen(scan: Scan, *, every: bool = False) -> tuple[Mark, ...]:
    """Which of our sheets a scan shows, by their marks; every: of several prints in one scan."""
    marks = (parse_mark(mark.text) for mark in marks_in(scan, every=every))
    return tuple(mark for mark in marks if mark is not None)


def readback(
    scan: Scan,
    expected: ExpectedSheet,
    book: Book,
    white_xyz: tuple[float, float, float],
    *,
    card: ReferenceCard | None = None,
) -> Readback:
    """Read a sheet back from its scan or photo.

    book: the explanations played through for this sheet (`diagnose.open_book`); white_xyz: the
    condition's media white, Y 0-1, for absolute answers. A sheet that isn't there is an answer with
    `found` False, never an exception; a card that can't be used raises InputError.
    """
    straight = _laid(scan, expected)
    if isinstance(straight, NotThere):
        return Readback(False, straight.text, straight.mend, notices=scan.notices)
    reading = read_sheet(straight, expected)
    neutral = np.array([patch.kind == "neutral" for patch in expected.patches])
    # A scan without colour says nothing about the lightness of coloured patches: its maker mixed them as it liked.
    known = reading.light if scan.colour else np.where(neutral[:, None], reading.light, np.nan)
    faults = diagnose(
        book,
        known,
        stripes=reading.stripes,
        scale_error_pct=reading.scale_error_pct,
        use_colour=scan.colour,
    )
    calibration, notices = _calibrated(scan, straight, reading, expected, faults, card)
    measured = calibration.to_lab(reading.light * straight.paper_light if calibration.absolute else reading.light)
    tiles = _tiles(expected, measured, calibration.absolute, white_xyz) if scan.colour else ()
    return Readback(
        True,
        _said(faults, tiles, calibration),
        faults[0].mend,
        straight.scale_error_pct,
        calibration.absolute,
        calibration.error_de00,
        tiles,
        faults,
        reading.ticks,
        reading.stripes.lstar,
        straight.unevenness_pct,
        (*straight.notices, *notices),
        measured,
    )


def _laid(scan: Scan, expected: ExpectedSheet) -> StraightSheet | NotThere:
    meant = parse_mark(expected.mark)
    marks = marks_in(scan)
    if meant is not None and meant.code is not None and all(mark.text != expected.mark for mark in marks):
        marks = marks_in(scan, every=True)
    for mark in marks:
        if mark.text == expected.mark:
            return straighten(scan, expected.layout, mark)
    others = [parsed for mark in marks if (parsed := parse_mark(mark.text)) is not None]
    asked = f"sheet {meant.sheet_no} of {meant.ticket}" if meant else "the sheet asked for"
    if others:
        shown = ", ".join(f"sheet {one.sheet_no} of {one.ticket}" for one in others)
        return NotThere(
            f"This picture shows {shown}, not {asked}.",
            f"Give the scan of {asked}, or name the ticket and sheet the picture shows.",
        )
    if marks:
        return NotThere(
            "The picture holds a mark, but not one of a test sheet.",
            f"Give a scan or photo of {asked}, its square mark in the picture.",
        )
    return NotThere(
        f"{scan.name} shows no test sheet's mark: another picture, too small, out of focus, or the mark is cut off.",
        "Scan the sheet at 300 ppi, or photograph all of it, sharp and filling the picture.",
    )


def _calibrated(
    scan: Scan,
    straight: StraightSheet,
    reading: SheetReading,
    expected: ExpectedSheet,
    faults: tuple[Fault, ...],
    card: ReferenceCard | None,
) -> tuple[Calibration, tuple[Notice, ...]]:
    if card is not None:
        light, doubt = card_light(scan, card, straight)
        fitted = card_calibration(light, card.lab)
        return Calibration(fitted.to_lab, float(np.hypot(fitted.error_de00, doubt)), absolute=True), ()
    kinds = np.array([patch.kind for patch in expected.patches])
    use = (kinds != "tile") & np.isfinite(reading.light).all(axis=1)
    sound = sum(fault.probability for fault in faults if fault.kind in SOUND)
    if sound >= 0.5 and scan.colour and (use & (kinds == "neutral")).sum() >= 6:
        own = own_calibration(reading.light[use], expected.lab[use], (kinds == "neutral")[use])
        error = float(np.hypot(own.error_de00, MACHINE_DRIFT_DE00))
        return Calibration(own.to_lab, error, absolute=False), (
            Notice("relative", "Colours are relative to the bare paper and to the sheet's own grey steps and colours."),
        )
    if not scan.colour:
        return plain_calibration(PLAIN_ERROR_DE00), ()
    return plain_calibration(PLAIN_ERROR_DE00), (
        Notice(
            "scanner_unknown",
            "The sheet's own patches are not as they should be, so the scanner's numbers were taken as they stand.",
        ),
    )


def _tiles(
    expected: ExpectedSheet, measured: Array, absolute: bool, white_xyz: tuple[float, float, float]
) -> tuple[TileReading, ...]:
    meant = relative_to_absolute(expected.lab, white_xyz) if absolute else expected.lab
    seen = np.asarray(np.isfinite(measured).all(axis=1))
    off = ciede2000(meant, np.where(seen[:, None], measured, meant))
    tiles: list[TileReading] = []
    for tile in expected.layout.tiles:
        cells = seen & np.array([p.kind == "tile" and p.name == tile.code for p in expected.patches])
        if cells.any():
            mean = float(off[cells].mean())
            tiles.append(TileReading(tile.code, _mean_lab(meant[cells]), _mean_lab(measured[cells]), mean))
    return tuple(tiles)


def _mean_lab(lab: Array) -> Triple:
    mean = xyz_to_lab(lab_to_xyz(lab).mean(axis=0))
    return float(mean[0]), float(mean[1]), float(mean[2])


def _said(faults: tuple[Fault, ...], tiles: tuple[TileReading, ...], calibration: Calibration) -> str:
    if not tiles:
        return faults[0].evidence
    mean = float(np.mean([tile.de00 for tile in tiles]))
    how = "absolute" if calibration.absolute else "relative to the paper"
    return (
        f"{faults[0].evidence} The tiles lie {mean:.1f} dE00 from what was promised, {how}, "
        f"measured to about {calibration.error_de00:.1f}."
    )


def light_of_values(lab: Array, white_xyz: tuple[float, float, float]) -> Array:
    """A spectrophotometer's absolute Lab (n, 3) of the sheet's patches as `diagnose` takes them: light over paper."""
    return np.maximum(lab_to_xyz(absolute_to_relative(lab, white_xyz)) @ XYZ_TO_LIGHT.T, 0.0)
