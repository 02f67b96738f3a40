"""How far ink spreads in a condition's paper: said by the person, or measured from a scan of printed edges."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from wallworthy.base.errors import InputError, UsageError
from wallworthy.base.records import Box, Notice
from wallworthy.base.saying import as_word
from wallworthy.base.units import MM_PER_INCH
from wallworthy.journey.answers import ConditionAnswer
from wallworthy.journey.conditions import condition_fields, condition_notices
from wallworthy.journey.home import opened
from wallworthy.journey.sizing import parse_crop
from wallworthy.master.open import open_master

if TYPE_CHECKING:
    from wallworthy.base.records import Master

COARSEST_PPI: Final = 600.0
"""A coarser scan is softer than most papers, and would be measured in their place."""
FINEST_PPI: Final = 12_800.0
MOST_PIXELS: Final = 40_000_000
LOWEST, HIGHEST = 0.5, 30.0
SHARPEST: Final = 15.0
"""Half the contrast at more cycles per mm than this is not a print that was scanned: papers have 2 to 10."""
LEAST_USUAL: Final = 2.0
SUREST_PER_PX: Final = 0.25
"""Beyond so many cycles per pixel of the scan its own pixels decide as much as the paper."""


def keep_ink_spread(
    home: Path | None,
    name: str,
    *,
    cycles_per_mm: float | None = None,
    scan: Path | None = None,
    ppi: float | None = None,
    crop: str | None = None,
    forget: bool = False,
) -> ConditionAnswer:
    """Keep with a condition at how many cycles per mm its ink and paper keep half the contrast.

    Given, measured from a scan (at `ppi`; crop: row, column, height, width in its pixels), or forgotten: one of
    the three. Raises UsageError for none or several, InputError for a figure no paper has and a scan without edges.
    """
    if sum((cycles_per_mm is not None, scan is not None, forget)) != 1:
        raise UsageError(
            "spread_how",
            "Give one of --cycles, --scan and --forget.",
            "Say a figure, or name a scan of printed edges.",
            where="condition ink-spread",
        )
    if scan is not None and ppi is None:
        raise UsageError(
            "scan_ppi", "It is not said how fine the scan is.", "Add --ppi, what the scanner was set to.", where="--ppi"
        )
    with opened(home) as journal:
        journal.conditions.get(name)
    notices: tuple[Notice, ...] = ()
    spread = checked_spread(cycles_per_mm, where="--cycles")
    if scan is not None and ppi is not None:
        master = open_master(scan)
        spread = measured_spread(master, ppi, parse_crop(crop, master))
        text = (
            f"Measured: half the contrast is kept at {spread:.1f} cycles per mm, the scanner's own softness included."
        )
        if spread < LEAST_USUAL:
            text += " That is little for a paper: was the scan in focus, and is --ppi right?"
        if spread * MM_PER_INCH / ppi > SUREST_PER_PX:
            text += " For so sharp a paper a finer scan would be surer."
        notices = (Notice("spread_measured", text),)
    with opened(home) as journal, journal.write():
        kept = journal.conditions.replace(replace(journal.conditions.get(name), ink_spread_per_mm=spread))
    return ConditionAnswer(
        condition=condition_fields(kept),
        notices=(*notices, *condition_notices(kept)),
        next=f"Appraise a picture on it: 'wallworthy appraise MASTER --size A3 --on {as_word(kept.name)}'.",
    )


def measured_spread(scan: Master, ppi: float, crop: Box | None = None) -> float:
    """Cycles per mm at which the printed edges of a scan keep half the contrast (ISO12233, edge method).

    In linear light by the scan's profile. Raises InputError for a scan too coarse, too large or without edges.
    """
    import numpy as np

    from wallworthy.appraise.resolution import ink_spread
    from wallworthy.master.source import working_source
    from wallworthy.raster.filters import looked_up
    from wallworthy.raster.scale import decoding

    if not COARSEST_PPI <= ppi <= FINEST_PPI:
        raise InputError(
            "scan_ppi_absurd",
            f"A scan of {ppi:g} ppi can't tell how ink spreads.",
            f"Scan at {COARSEST_PPI:.0f} to {FINEST_PPI:.0f} ppi; 1200 or more is better.",
            where="--ppi",
        )
    source = working_source(scan, crop)
    if source.width_px * source.height_px > MOST_PIXELS:
        raise InputError(
            "scan_large",
            f"That is more of a scan than is needed: {source.width_px} x {source.height_px} pixels.",
            "Scan a few centimetres with sharp black edges, or add --crop.",
            where=Path(scan.path).name,
        )
    light = decoding(True)
    tone = np.concatenate([looked_up(light, strip).mean(axis=-1) for strip in source.strips(256)])
    spread = ink_spread(np.ascontiguousarray(tone, dtype=np.float32), ppi / MM_PER_INCH)
    if spread is None:
        raise InputError(
            "scan_edges",
            f"{Path(scan.path).name} shows too few sharp edges to measure.",
            "Print some black bars a little aslant, without sharpening, and scan them flat and in focus.",
            where=Path(scan.path).name,
        )
    if spread > SHARPEST:
        name = Path(scan.path).name
        raise InputError(
            "scan_too_sharp",
            f"{name} keeps half the contrast at {spread:.0f} cycles per mm: no ink on paper is so sharp.",
            "Check --ppi; scan the print itself, not the file it was made from.",
            where=name,
        )
    checked_spread(spread, where=Path(scan.path).name)
    return round(spread, 2)


def checked_spread(cycles_per_mm: float | None, *, where: str = "--ink-spread") -> float | None:
    """Ink spread as it was given. Raises InputError unless it lies between 0.5 and 30 cycles per mm."""
    if cycles_per_mm is not None and not LOWEST <= cycles_per_mm <= HIGHEST:
        raise InputError(
            "ink_spread_absurd",
            f"{cycles_per_mm:g} cycles per mm is no paper's: it must lie between {LOWEST:g} and {HIGHEST:g}.",
            "Photo papers keep half the contrast at 4 to 8 cycles per mm.",
            where=where,
        )
    return cycles_per_mm
