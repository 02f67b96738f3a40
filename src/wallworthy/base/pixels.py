"""The agreement by which pictures travel between rooms: strips of working RGB, top to bottom."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Strip = NDArray[np.uint16]


class PixelSource(Protocol):
    """A picture in the working encoding (`colour.working`), upright and cropped, read in strips.

    Samples are uint16, 0-65535 for 0-1, shape (rows, width, 3). `strips` may be called again and
    starts at the top each time; the strips cover every row once, in order; the last may be shorter.
    """

    @property
    def width_px(self) -> int: ...

    @property
    def height_px(self) -> int: ...

    def strips(self, rows: int) -> Iterator[Strip]: ...
