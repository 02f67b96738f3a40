"""The map of a way that is chosen for the picture: read the picture small, look at it, choose."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from wallworthy.base.records import Box, Master, Way

if TYPE_CHECKING:
    from wallworthy.fit.whole import Whole
    from wallworthy.icc.read import Profile
    from wallworthy.journey.chain import Job

SAMPLE_PIXELS: Final = 250_000
MOST_PER_DEGREE: Final = 30.0
"""Finer than this the eye tells little apart in texture of low contrast."""


def chosen_for(job: Job) -> Whole:
    """The map for a job's picture, paper, size and distance; remembered. Raises InputError as reading a master does.

    The picture is taken before any correction, so that a test sheet's tiles and the final share one map.
    """
    rows, columns = job.shown_px[2], job.shown_px[3]
    per_degree = columns / job.size_mm[0] * job.distance_mm * math.tan(math.radians(1))
    shrink = min(1.0, math.sqrt(SAMPLE_PIXELS / (rows * columns)), MOST_PER_DEGREE / per_degree)
    size = max(1, round(columns * shrink)), max(1, round(rows * shrink))
    return _chosen(_Picture(job.master, job.crop_px, size), _Paper(job.output), round(per_degree * shrink, 3))


class _Picture:
    """A master by its contents: what a choice is remembered by."""

    def __init__(self, master: Master, crop: Box | None, size_px: tuple[int, int]) -> None:
        self.master, self.crop, self.size_px = master, crop, size_px

    @property
    def _key(self) -> tuple[object, ...]:
        return self.master.sha256, hash(self.master.profile), self.crop, self.size_px

    def __hash__(self) -> int:
        return hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Picture) and self._key == other._key


class _Paper:
    def __init__(self, output: Profile) -> None:
        self.output = output

    def __hash__(self) -> int:
        return hash(self.output.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Paper) and self.output.sha256 == other.output.sha256


@lru_cache(maxsize=8)
def _small(picture: _Picture) -> Any:
    from wallworthy.master.source import working_source
    from wallworthy.raster.scale import scaled_picture

    return scaled_picture(working_source(picture.master, picture.crop, Way.WHOLE), *picture.size_px)


@lru_cache(maxsize=32)
def _chosen(picture: _Picture, paper: _Paper, px_per_degree: float) -> Whole:
    from wallworthy.fit.boundary import boundary
    from wallworthy.fit.whole import choose_for_picture

    return choose_for_picture(_small(picture), boundary(paper.output), px_per_degree)
