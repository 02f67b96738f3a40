"""The agreement by which pictures travel between rooms: strips of working RGB, top to bottom."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Strip = NDArray[np.uint16]


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """A picture as light: strips of its own samples (rows, width, 3), what makes them linear, and a matrix.

    `linear` gives float32 of the same shape, 0-1, in the picture's own primaries; times `matrix` (3, 3) it is
    linear working RGB, 0-1 but for rounding.
    """

    strips: Iterator[NDArray[Any]]
    linear: Callable[[NDArray[Any]], NDArray[np.float32]]
    matrix: NDArray[np.float32]


@runtime_checkable
class LightSource(Protocol):
    """A picture that may be had as light too; `light` answers None when it can't."""

    def light(self, rows: int) -> Light | None: ...


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
