"""A picture as papers are tried on it: small, and as pairs of the pixels that its proof looks at."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.journey.chain import Job
from wallworthy.journey.choosing import as_printed, viewed
from wallworthy.journey.reduced import floats, reduced

Float = NDArray[np.float32]

PAIRS_ALONG: Final = 427
"""Pixels along the longer edge: every sixth row and, of twelve columns, two, of a proof 2560 pixels long."""


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """Both (H, W, 3) in the working encoding, as the picture is meant.

    small: at viewing resolution, averaged. pairs: pixels of the proof's own picture, evenly spread, each with its
    neighbour: grain and fine texture are in them as in the proof, and what it says of places can be said of them.
    """

    small: Float = field(repr=False)
    px_per_degree: float
    pairs: Float = field(repr=False)


def looked_at(job: Job, home: Path | None) -> Looked:
    """A job's picture, read once for all its papers; home: where it may be kept as proofs read it.

    Raises InputError as reading a master does.
    """
    codes = reduced(job.master, job.crop_px, job.way, home=home).codes
    small, px_per_degree = viewed(job, None if job.way.is_chosen else codes)
    return Looked(small, px_per_degree, as_printed(job, floats(_in_pairs(codes))))


def _in_pairs(codes: NDArray[np.uint16]) -> NDArray[np.uint16]:
    height, width = codes.shape[:2]
    step = max(1, round(max(height, width) / PAIRS_ALONG))
    first = np.arange(0, max(1, width - 1), 2 * step)
    columns = np.stack([first, np.minimum(first + 1, width - 1)], axis=1).ravel()
    return np.ascontiguousarray(codes[step // 2 :: step][:, columns])
