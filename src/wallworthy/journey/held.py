"""A master held ready for the page: at screen size in memory, and as a pyramid of halves in a file without a name."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Self

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.files import disk_trouble, make_folder
from wallworthy.base.pixels import PixelSource
from wallworthy.base.records import Box, Master, Way
from wallworthy.journey.calm import calmly
from wallworthy.journey.recent import Recent
from wallworthy.journey.reduced import LONG_EDGE_PX, reduced, size_within
from wallworthy.master.source import working_source
from wallworthy.raster.scale import scaled_codes
from wallworthy.raster.stream import rechunk, rows_for
from wallworthy.raster.window import halved, scaled_window

Working = NDArray[np.uint16]

SCREEN_PX: Final = LONG_EDGE_PX
"""The longer edge of what is held in memory; as large as a proof is written."""
SIZES_KEPT: Final = 8
"""As the page asks for them: quick looks at three widths, the fine one, the report, the papers side by side."""
COARSER: Final = (0.5**0.5, 0.5)
"""The shares of a width that the page asks for where the whole comes too slowly for it (`pace.ts`)."""
READY_AFTER_S: Final = 1.5
"""So long after a look its coarser sizes are made; the first is 0.2 s of work at the width of a large screen."""
SMALL_PX: Final = 1024
"""A picture no wider is not asked for more coarsely: the papers lie side by side so."""
VIEWS: Final = "views"


@dataclass(frozen=True, slots=True)
class InMemory:
    """An array as a `PixelSource`."""

    pixels: Working = field(repr=False)

    @property
    def width_px(self) -> int:
        return self.pixels.shape[1]

    @property
    def height_px(self) -> int:
        return self.pixels.shape[0]

    def strips(self, rows: int) -> Iterator[Working]:
        for top in range(0, self.height_px, rows):
            yield self.pixels[top : top + rows]


class Held:
    """One master, or the printed part of it, in the working encoding. Threads may share it."""

    def __init__(self, master: Master, crop: Box | None, way: Way, home: Path) -> None:
        self.master = master
        self._crop = crop
        self._way = way
        self._home = home
        _, _, height, width = crop or (0, 0, master.height_px, master.width_px)
        self.width_px, self.height_px = width, height
        self.clamped_share = 0.0
        self._sizes: Recent[Working] = Recent(SIZES_KEPT)
        self._readied: set[int] = set()
        self._lock = threading.Lock()
        self._screen: Working | None = None
        self._whole: Working | None = None
        """Every pixel, mapped from a file, once a deep zoom asked for it."""
        self._levels: list[Working] | None = None

    def now(self, master: Master) -> Self:
        """The same picture, wherever its file is by now and whenever it was written."""
        self.master = master
        return self

    def size_at(self, width: int) -> tuple[int, int]:
        """Width and height in pixels, never more than the master has."""
        width = max(1, min(width, self.width_px))
        return width, max(1, round(width * self.height_px / self.width_px))

    def size_of_edge(self, long_edge: int) -> tuple[int, int]:
        """Width and height with that longer edge, as `proof` rounds them; never more than the master has."""
        return size_within(self.width_px, self.height_px, long_edge)

    def screen(self) -> Working:
        """The picture at screen size, (H, W, 3)."""
        with self._lock:
            if self._screen is None:
                read = reduced(self.master, self._crop, self._way, home=self._home, long_edge_px=SCREEN_PX)
                self._screen, self.clamped_share = read.codes, read.clamped_share
            return self._screen

    def _source(self) -> PixelSource:
        """Every pixel: as a deep zoom has kept it, else the master read again."""
        whole = self._whole
        return working_source(self.master, self._crop, self._way) if whole is None else InMemory(whole)

    def quick(self, size: tuple[int, int]) -> Working:
        """The picture at a size, from the one at screen size where that is larger."""
        screen = self.screen()
        if size == (screen.shape[1], screen.shape[0]):
            return screen
        if size[0] > screen.shape[1]:
            return self.exact(size)
        return self._sizes.get(("quick", size), lambda: scaled_codes(InMemory(screen), *size))

    def ready_coarser(self, width: int) -> None:
        """Begin to make, calmly and once, the sizes that are asked for where looks of this width come too slowly."""
        if width <= SMALL_PX or width in self._readied:
            return
        self._readied.add(width)

        def make() -> None:
            for share in COARSER:
                self.quick(self.size_at(int(width * share + 0.5)))

        later = threading.Timer(READY_AFTER_S, lambda: calmly(make))
        later.daemon = True
        later.start()

    def exact(self, size: tuple[int, int]) -> Working:
        """The picture at a size, straight from the master: what a proof of that size is made from."""
        screen = self.screen()
        if size == (screen.shape[1], screen.shape[0]):
            return screen

        def make() -> Working:
            return scaled_codes(self._source(), *size)

        return self._sizes.get(("exact", size), make)

    def window(self, size: tuple[int, int], box: Box) -> Working:
        """A window (row, column, height, width) of the picture at any size, also larger than the master."""
        screen = self.screen()
        if size[0] <= screen.shape[1] or (screen.shape[1], screen.shape[0]) == (self.width_px, self.height_px):
            return scaled_window(screen, size, box)
        levels = self._pyramid()
        enough = [level for level in levels if level.shape[1] >= size[0]]
        return scaled_window(enough[-1] if enough else levels[0], size, box)

    def _pyramid(self) -> list[Working]:
        """The picture and its halves down to screen size, mapped from a file that goes when they do."""
        with self._lock:
            if self._levels is None:
                self._levels = self._build()
            return self._levels

    def _build(self) -> list[Working]:
        shapes = [(self.height_px, self.width_px)]
        while max(shapes[-1]) > SCREEN_PX * 2:
            shapes.append((-(-shapes[-1][0] // 2), -(-shapes[-1][1] // 2)))
        step = 2 ** (len(shapes) - 1)
        rows = max(2, rows_for(self.width_px) // step) * step
        source = working_source(self.master, self._crop, self._way)
        make_folder(self._home / VIEWS)
        try:
            with ExitStack() as files:
                levels = [files.enter_context(tempfile.TemporaryFile(dir=self._home / VIEWS)) for _ in shapes]
                for strip in rechunk(source.strips(rows_for(self.width_px)), rows):
                    piece = np.ascontiguousarray(strip)
                    levels[0].write(piece.data)
                    for level in levels[1:]:
                        piece = halved(piece)
                        level.write(piece.data)
                for level in levels:
                    level.flush()
                mapped = [
                    np.memmap(level, dtype=np.uint16, mode="r", shape=(*shape, 3))
                    for level, shape in zip(levels, shapes, strict=True)
                ]
        except OSError as error:
            raise disk_trouble(error, self._home / VIEWS) from error
        self._whole = mapped[0]
        return list(mapped)
