"""Pictures made of other pictures while they are read, strip by strip."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray

    from wallworthy.base.pixels import PixelSource
    from wallworthy.base.records import Box


class GreySource:
    """A `PixelSource` in greys of the same lightness."""

    def __init__(self, source: PixelSource) -> None:
        self._source = source

    @property
    def width_px(self) -> int:
        return self._source.width_px

    @property
    def height_px(self) -> int:
        return self._source.height_px

    def strips(self, rows: int) -> Iterator[NDArray[np.uint16]]:
        """Strips of `rows` from the top, (rows, width, 3) uint16. Errors of the source pass through."""
        import numpy as np

        from wallworthy.fit.greys import in_grey

        full = np.float32(65535)
        for strip in self._source.strips(rows):
            floats = strip.astype(np.float32) / full
            yield np.rint(in_grey(floats) * full).astype(np.uint16)


class PartSource:
    """A part of a `PixelSource`: its box lies in the source's pixels. All of the source's rows down to it are read."""

    def __init__(self, source: PixelSource, box: Box) -> None:
        self._source, self._box = source, box

    @property
    def width_px(self) -> int:
        return self._box[3]

    @property
    def height_px(self) -> int:
        return self._box[2]

    def strips(self, rows: int) -> Iterator[NDArray[np.uint16]]:
        """Strips of `rows` from the top, (rows, width, 3) uint16. Errors of the source pass through."""
        from wallworthy.raster.stream import rechunk

        return rechunk(self._cut(rows), rows)

    def _cut(self, rows: int) -> Iterator[NDArray[np.uint16]]:
        top, left, height, width = self._box
        first = 0
        for strip in self._source.strips(rows):
            part = strip[max(0, top - first) : top + height - first, left : left + width]
            first += len(strip)
            if len(part):
                yield part
            if first >= top + height:
                return
