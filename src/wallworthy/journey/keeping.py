"""What a fit keeps of a picture: the figures of every way, computed alike, and the sentences that matter."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Way
from wallworthy.colour.correction import correct
from wallworthy.colour.working import lab_to_working, working_to_lab
from wallworthy.fit.compose import direct
from wallworthy.icc.gamut import surface
from wallworthy.icc.quick import print_lab
from wallworthy.journey.choosing import as_wanted, printed_by, viewed
from wallworthy.journey.parts import FigureFields

if TYPE_CHECKING:
    from wallworthy.journey.chain import Job

Array = NDArray[np.float64]

SHADOW_STEPS: Final = np.arange(0.0, 26.0)
"""L* of dark greys, one apart: 25 steps."""
RAMP_PX: Final = 256


@dataclass(frozen=True, slots=True)
class Kept:
    """The figures, and those that matter in sentences."""

    figures: FigureFields
    sentences: tuple[str, ...]


def kept_of(job: Job) -> Kept:
    """What a job's way keeps of its picture, at viewing resolution; the master is taken after its correction."""
    from wallworthy.fit.figures import distinct_steps, figures_of, largest_step, ramps
    from wallworthy.fit.telling import Charted, families, spoken_of, what_it_keeps

    picture, px_per_degree = viewed(job)
    master = correct(working_to_lab(as_wanted(job, picture)), job.correction)
    lab_of = printed_by(job, lambda pixels: _printed(job, pixels), picture.shape[1] / job.size_mm[0])
    printed = lab_of(picture).astype(np.float64)
    beyond = ~surface(job.output).inside(master)
    found = figures_of(master, printed, beyond, px_per_degree)
    lines = np.clip(lab_to_working(ramps(RAMP_PX)), 0, 1).astype(np.float32)
    greys = lab_to_working(np.stack([SHADOW_STEPS, 0 * SHADOW_STEPS, 0 * SHADOW_STEPS], axis=-1)[None])
    own = replace(job, way=Way.RELATIVE)
    charted = Charted(
        largest_step_de00=largest_step(_printed(job, lines).astype(np.float64)),
        own_step_de00=largest_step(_printed(own, lines).astype(np.float64)),
        shadow_steps=distinct_steps(_printed(job, np.clip(greys, 0, 1).astype(np.float32))[0, :, 0].astype(np.float64)),
        shadow_steps_of=len(SHADOW_STEPS) - 1,
    )
    fields = FigureFields(
        scielab_mean_de00=found.scielab_mean,
        scielab_p95_de00=found.scielab_p95,
        similarity=found.similarity,
        texture_shadows_pct=_percent(found.texture_shadows),
        texture_out_of_range_pct=_percent(found.texture_beyond),
        hue_shift_deg=found.hue_shift_deg,
        halo_lstar=found.halo_lstar,
        largest_step_de00=charted.largest_step_de00,
        own_step_de00=charted.own_step_de00,
        shadow_steps=charted.shadow_steps,
        shadow_steps_of=charted.shadow_steps_of,
    )
    hues = families(master, printed, px_per_degree)
    spoken = spoken_of(found, master, beyond, px_per_degree)
    return Kept(fields, what_it_keeps(spoken, charted, hues, job.distance_mm))


def _printed(job: Job, pixels: NDArray[np.float32]) -> NDArray[np.float32]:
    return print_lab(job.output, direct(job.output, job.way, job.correction, job.source)(pixels))


def _percent(share: float) -> float | None:
    return None if math.isnan(share) else 100 * share
