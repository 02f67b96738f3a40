"""A profile of a virtual machine, made as one makes it of a real one: charts printed, read and fitted."""

from __future__ import annotations

from typing import Final

from wallworthy.base.progress import Progress, silent
from wallworthy.characterise.build import BuildOptions, build_profile
from wallworthy.characterise.chart import rgb_chart
from wallworthy.characterise.measurements import average_measurements
from wallworthy.demo.printer import VirtualPrinter, measurements_of

CHART_PATCHES: Final = 1000
READINGS: Final = 3


def characterised(printer: VirtualPrinter, progress: Progress = silent) -> bytes:
    """An ICC output profile of the machine and its paper, from three noisy readings of a chart."""
    progress("printing and reading a chart", 0.0)
    readings = measurements_of(printer, rgb_chart(CHART_PATCHES), READINGS)
    mean, _ = average_measurements(readings)
    return build_profile(mean, BuildOptions(description=f"Invented inkjet on {printer.paper_name}"), progress)
