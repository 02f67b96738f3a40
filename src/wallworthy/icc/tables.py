"""What an output profile is to hold, in Lab units and ink shares; `icc.write` turns it into bytes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating]
Intent = Literal["perceptual", "relative", "saturation"]

INTENTS: Final[tuple[Intent, ...]] = ("perceptual", "relative", "saturation")


@dataclass(frozen=True, slots=True)
class ToLab:
    """Device to media-relative Lab (an A2B table).

    `clut`: (g, ..., g, 3), one axis a channel in the profile's order, the first slowest; L* 0-100,
    a* and b* -128 to 127. `curves`: (channels, n), each channel's samples at n equal steps of
    device 0-1, giving 0-1 along its grid axis; None for straight ones. 2 <= n <= 4096.
    """

    clut: Array
    curves: Array | None = None


@dataclass(frozen=True, slots=True)
class FromLab:
    """Media-relative Lab to device (a B2A table), or to 'how far out of range' (the gamut table).

    `clut`: (gL, ga, gb, outputs), device values 0-1 (the gamut table: one output, 0 inside, more
    outside); gL = ga = gb. `nodes`: the L*, a* and b* at which the grid's points stand, three
    rising arrays (g,); between nodes the table runs straight in L*, a*, b*, and outside the first
    and last it stays. None for `even_nodes(g)`. `curves`: (outputs, n), samples at n equal steps
    of the grid's values, giving device values 0-1; None for straight ones. 2 <= n <= 4096.
    """

    clut: Array
    nodes: tuple[Array, Array, Array] | None = None
    curves: Array | None = None


def even_nodes(grid: int) -> tuple[Array, Array, Array]:
    """L* 0 to 100 and a*, b* -128 to 127 in `grid` equal steps, the middle one moved to 0 when `grid` is odd.

    >>> [float(a[16]) for a in even_nodes(33)]
    [50.0, 0.0, 0.0]
    """
    lightness = np.linspace(0.0, 100.0, grid)
    if grid % 2 == 0:
        chroma = np.linspace(-128.0, 127.0, grid)
    else:
        half = grid // 2 + 1
        chroma = np.concatenate([np.linspace(-128.0, 0.0, half), np.linspace(0.0, 127.0, half)[1:]])
    return lightness, chroma, chroma


@dataclass(frozen=True, slots=True)
class OutputTables:
    """Everything an output profile says.

    `space`: 'GRAY', 'RGB', 'CMYK' or '2CLR' to 'FCLR'. `white_xyz` and `black_xyz`: paper and
    darkest colour, D50, Y 0-1, against the perfect diffuser. An intent missing in `to_lab` or
    `from_lab` borrows the relative table (or whichever is there). The same object under two
    intents is stored once. `measurements`: text of the 'targ' tag, such as CGATS.
    """

    description: str
    copyright: str
    space: str
    white_xyz: tuple[float, float, float]
    to_lab: Mapping[Intent, ToLab]
    from_lab: Mapping[Intent, FromLab]
    gamut: FromLab | None = None
    black_xyz: tuple[float, float, float] | None = None
    measurements: str | None = None
    matt: bool = False
    """The paper's surface, for the header's media attribute."""
    extra: Mapping[str, bytes] = field(default_factory=dict[str, bytes])
    """Further tags, whole elements by their signature."""
