"""The tables of an output profile, from any forward model of a condition."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.progress import Progress, silent
from wallworthy.characterise.backward import Backward, LabGrid, build_backward, gamut_table, lab_grid
from wallworthy.characterise.black import BlackAmount, black_rule
from wallworthy.characterise.grid import DeviceGrid, grid_points, refined
from wallworthy.characterise.inverse import Inverter, Targets, colour_measure, kept_to_limit
from wallworthy.characterise.measurements import DeviceSpace
from wallworthy.characterise.perceptual import perceptual_targets, surface_points
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.icc.tables import FromLab, OutputTables, ToLab

Array = NDArray[np.float64]
Forward = Callable[[Array], Array]

GRID_STEPS: Final[dict[DeviceSpace, int]] = {"RGB": 33, "CMYK": 17}
STEP: Final = "making its profile"


@dataclass(frozen=True, slots=True)
class TableOptions:
    """Texts and limits that go into the tables; see `build.BuildOptions`."""

    description: str
    copyright: str
    total_ink: float = 3.0
    black_start_lstar: float = 75.0
    black_amount: BlackAmount = "medium"
    matt: bool = False
    measurements: str | None = None


def output_tables(
    forward: Forward, space: DeviceSpace, white_xyz: Array, options: TableOptions, progress: Progress = silent
) -> OutputTables:
    """All tables for a forward model (device (N, K) 0-1 -> media-relative Lab (N, 3), paper at (100, 0, 0)).

    One A2B table serves all intents. B2A1 is media-relative, B2A0 perceptual, B2A2 the same as B2A0.
    """
    channels, steps = (3 if space == "RGB" else 4), GRID_STEPS[space]
    nodes = forward(grid_points(steps, channels)).reshape((steps,) * channels + (3,))
    grid = DeviceGrid(nodes)
    white_device = 1.0 if space == "RGB" else 0.0
    limit = None if space == "RGB" else options.total_ink
    inverter = Inverter(refined(grid) if space == "RGB" else grid, limit)

    surface = inverter.grid.lab(kept_to_limit(surface_points(channels), limit))
    black_lab = _darkest_neutral(inverter)
    nodes_lab = lab_grid(surface, float(black_lab[0]))
    points = nodes_lab.points()

    def wanted(lab: Array) -> Targets:
        black = None
        if space == "CMYK":
            black = black_rule(lab, options.black_start_lstar, float(black_lab[0]), options.black_amount)
        return Targets(lab, colour_measure(lab), black)

    progress(STEP, 0.25)
    relative = build_backward(inverter, nodes_lab, wanted(points), white_device)
    progress(STEP, 0.5)
    squeezed = perceptual_targets(points, surface, float(black_lab[0]))
    perceptual = build_backward(inverter, nodes_lab, wanted(squeezed), white_device)
    progress(STEP, 0.85)
    gamut, gamut_curve = gamut_table(relative, points, inverter.grid.lab(relative.device))

    to_lab = ToLab(nodes)
    soft = _from_lab(nodes_lab, perceptual)
    return OutputTables(
        description=options.description,
        copyright=options.copyright,
        space=space,
        white_xyz=_triple(white_xyz),
        black_xyz=_triple(lab_to_xyz(black_lab) * white_xyz / lab_to_xyz(np.array([100.0, 0.0, 0.0]))),
        to_lab={"perceptual": to_lab, "relative": to_lab, "saturation": to_lab},
        from_lab={"perceptual": soft, "relative": _from_lab(nodes_lab, relative), "saturation": soft},
        gamut=FromLab(gamut, (nodes_lab.lightness, nodes_lab.a, nodes_lab.b), gamut_curve),
        measurements=options.measurements,
        matt=options.matt,
    )


def _from_lab(grid: LabGrid, table: Backward) -> FromLab:
    return FromLab(table.clut, (grid.lightness, grid.a, grid.b), table.curves)


def _darkest_neutral(inverter: Inverter) -> Array:
    """(3,) the printed colour for Lab (0, 0, 0)."""
    lab = np.zeros((1, 3))
    black = None if inverter.ink_limit is None else np.ones(1)
    targets = Targets(lab, colour_measure(lab), black)
    device, _ = inverter.solve(targets, inverter.nearest_start(targets, 17 if black is None else 9))
    return inverter.grid.lab(device)[0]


def _triple(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in values)
    return x, y, z
