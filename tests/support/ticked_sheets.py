"""Sheets made by the command, ticked in pencil, printed on the virtual printer, scanned."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from wallworthy.demo.printer import VirtualPrinter
from wallworthy.demo.scan import draw_viewing, scan_file
from wallworthy.journal.journal import Journal
from wallworthy.trial.expected import expected_from

Device = np.ndarray[Any, Any]


def scanned(machine: VirtualPrinter, device: Device, folder: Path, seed: int = 1) -> Path:
    """A flatbed's scan of the print, a JPEG in the folder."""
    path = folder / f"scan-{seed}.jpg"
    viewing = draw_viewing("flatbed", np.random.default_rng(seed))
    path.write_bytes(scan_file(machine.print(device), 200.0, viewing, seed))
    return path


def ticked(sheet: Any, device: Device, home: Path, wanted: list[tuple[Any, ...]], number: int = 0) -> Device:
    """The sheet with pencil strokes in some boxes: (kind, tile code) each, or (kind, None, axis, sign) of a word.

    number: which one, of separate prints.
    """
    with Journal.open(home) as journal:
        record = journal.sheets.get(sheet["ticket"], sheet["sheet_no"]).layout["sheets"][number]
    asked = [(*one, None, None)[:4] for one in wanted]
    drawn = device.copy()
    for box in expected_from(record).layout.ticks:
        if (box.kind, box.code, box.axis, box.sign) in asked:
            x, y, width, height = (round(edge / 25.4 * 200) for edge in box.box_mm)
            steps = np.linspace(0.15, 0.85, 200)
            for offset in range(-1, 2):
                rows, columns = (y + steps * height).astype(int), (x + steps * width).astype(int) + offset
                drawn[rows, columns] = 9000
                drawn[rows, x + width - (columns - x)] = 9000
    return drawn
