"""A master as a picture in the working encoding, read in strips: what every other room works on."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.files import sha256_of
from wallworthy.base.pixels import Light
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Box, Master, Way
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.master.convert import Route, light_route, route_of
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.read import check_crop, inspect, read_strips
from wallworthy.raster.refusals import changed

Samples = NDArray[Any]
Strip = NDArray[np.uint16]

RANGE_TOLERANCE: Final = 0.5 / 65535
"""A float this little outside 0-1 is rounding."""

EXAMINED_ROWS: Final = 128


class WorkingSource:
    """A `PixelSource` over a master: upright, cropped, alpha laid on white, in the working encoding.

    After `strips` has been read to its end, `clamped_share` is the share of pixels that the working
    cube could not hold and `out_of_range_share` that of float pixels with a sample outside 0-1
    (Lab: outside L* 0-100, a*, b* -128 to 128); None before. NaN and infinity are refused while streaming.
    """

    def __init__(self, facts: RasterFacts, profile: Profile | None, crop: Box | None, way: Way) -> None:
        self._facts = facts
        self._profile = profile
        self._way = way
        self._box = crop or (0, 0, facts.height_px, facts.width_px)
        check_crop(facts, self._box)
        self._routes: dict[str, Route] = {}
        self._clamped: int | None = None
        self._outside: int | None = None

    @property
    def width_px(self) -> int:
        return self._box[3]

    @property
    def height_px(self) -> int:
        return self._box[2]

    @property
    def clamped_share(self) -> float | None:
        """Share of pixels outside the working cube, 0-1; None until all strips were read."""
        return None if self._clamped is None else self._clamped / (self.width_px * self.height_px)

    @property
    def out_of_range_share(self) -> float | None:
        """Share of float pixels outside their nominal range, 0-1; None until all strips were read."""
        return None if self._outside is None else self._outside / (self.width_px * self.height_px)

    def strips(self, rows: int) -> Iterator[Strip]:
        """Strips of `rows` from the top, (rows, width, 3) uint16; the next is decoded while one is worked on.

        Raises InputError when the picture is damaged, cut short, was changed, or holds NaN or infinity.
        """
        for _, working in self.pairs(rows):
            yield working

    def pairs(self, rows: int) -> Generator[tuple[Samples, Strip]]:
        """The file's own samples, (rows, width, channels), each strip with what it is in the working encoding.

        For whoever must know what stands in the file itself; otherwise as `strips`.
        """
        clamped = outside = 0
        for samples in _ahead(read_strips(self._facts, rows, self._box)):
            outside += self._check_floats(samples)
            working, beyond = self._route(samples.dtype)(samples)
            clamped += beyond
            yield samples, working
        self._clamped, self._outside = clamped, outside

    def light(self, rows: int) -> Light | None:
        """The same picture as linear light, before it is brought to codes; None when it needs the way by `strips`.

        For whoever averages light anyway. Only for whole-number samples of profiles made of curves and a
        matrix that the working cube holds wholly, so that nothing can be clamped. Raises as `strips` does.
        """
        samples = _ahead(read_strips(self._facts, rows, self._box))
        first = next(samples, None)
        found = None if first is None else light_route(self._profile, first.dtype)
        if first is None or found is None:
            samples.close()
            return None

        def strips() -> Iterator[Samples]:
            yield first
            yield from samples
            self._clamped = self._outside = 0

        return Light(strips(), found.light, found.matrix)

    def examine(self, progress: Progress = silent) -> float:
        """Decode every pixel once without converting it: the share of float pixels out of range, 0 for integers.

        Raises InputError as `strips` does; for whoever wants to know before anything is written.
        """
        outside = done = 0
        for samples in _ahead(read_strips(self._facts, EXAMINED_ROWS, self._box)):
            outside += self._check_floats(samples)
            done += len(samples)
            progress("looking through the picture", done / self.height_px)
        return outside / (self.width_px * self.height_px)

    def _route(self, dtype: np.dtype[Any]) -> Route:
        if dtype.str not in self._routes:
            self._routes[dtype.str] = route_of(self._profile, dtype, self._way)
        return self._routes[dtype.str]

    def _check_floats(self, samples: Samples) -> int:
        """How many pixels lie outside the nominal range; NaN and infinity are refused."""
        if samples.dtype.kind != "f":
            return 0
        low, high = float(samples.min()), float(samples.max())
        if not (np.isfinite(low) and np.isfinite(high)):
            raise InputError(
                "master_not_finite",
                f"{self._facts.path.name} holds values that are no numbers (NaN or infinity).",
                "Export the picture again; a filter or a merge went wrong in it.",
                where=str(self._facts.path),
            )
        floor: Any = -RANGE_TOLERANCE
        ceiling: Any = 1 + RANGE_TOLERANCE
        if self._profile is None:
            floor = np.array([-1e-3, -128.001, -128.001], dtype=np.float32)
            ceiling = np.array([100.001, 128.001, 128.001], dtype=np.float32)
        elif floor <= low and high <= ceiling:
            return 0
        return int(np.count_nonzero(((samples < floor) | (samples > ceiling)).any(axis=-1)))


def working_source(master: Master, crop: Box | None = None, way: Way = Way.RELATIVE_BPC) -> WorkingSource:
    """The master's pixels in the working encoding, the whole picture or a crop (row, column, height, width).

    Colours are media-relative by the master's profile (its A2B0 when the way is perceptual and the
    profile has tables). Raises InputError when the file is not the one that was opened, or the crop
    is empty or not inside the upright picture.
    """
    facts = inspect(master.path)
    stamp = (facts.stamp.size_bytes, facts.stamp.mtime_ns, facts.stamp.inode)
    if stamp != master.stamp and sha256_of(Path(master.path)) != master.sha256:
        raise changed(master.path)
    profile = None if master.space == "LAB" or master.profile is None else parse_profile(master.profile)
    if profile is not None and profile.space != facts.space:
        raise changed(master.path)
    return WorkingSource(facts, profile, crop, way)


def _ahead(strips: Iterator[Samples]) -> Generator[Samples]:
    """The same strips, each one read in a thread of its own while the one before is used.

    The iterator is made, moved on and closed in that one thread: decoders want that.
    """
    with ThreadPoolExecutor(1) as reader:
        try:
            following = reader.submit(next, strips, None)
            while (strip := following.result()) is not None:
                following = reader.submit(next, strips, None)
                yield strip
        finally:
            if isinstance(strips, Generator):
                reader.submit(strips.close).result()
