"""What a test sheet is made with: each step the very one of the final, handed to the sheet as functions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box, Correction, Delivery, Way
from wallworthy.fit.compose import direct
from wallworthy.fit.ways import lab_to_device, source_of
from wallworthy.icc.blackpoint import NO_BLACK, compensate, destination_black
from wallworthy.icc.engine import to_lab
from wallworthy.icc.quick import print_lab
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.chain import Job
from wallworthy.journey.choosing import as_printed, printed_source
from wallworthy.raster.scale import scaled_picture
from wallworthy.render.delivery import carrier
from wallworthy.render.sharpen import plan_sharpening, sharpen_window
from wallworthy.trial.cutting import cut_from, reading_px
from wallworthy.trial.drawing import Inks, plain_inks
from wallworthy.trial.layout import SheetLayout
from wallworthy.trial.metric import metric, root_of
from wallworthy.trial.sheet import Engine

Floats = NDArray[np.float32]
Array = NDArray[np.float64]

METRIC_SAMPLES = 2000


@dataclass(frozen=True, slots=True, eq=False)
class Press:
    """A job's file space: what is written, what it is drawn in, and what it prints as."""

    file_profile: Profile = field(repr=False)
    inks: Inks
    carry: Callable[[Floats], Floats]
    """The condition's device values to the file's."""
    printed: Callable[[NDArray[Any]], Array]
    """The file's values (n, K) to the print's Lab, media-relative (n, 3)."""


def press_for(job: Job, delivery: Delivery) -> Press:
    """The condition's own numbers, or a standard space that the lab converts back (decision 1)."""
    if delivery is Delivery.NUMBERS:
        inks = _own_inks(job.output)
        return Press(
            job.output, inks, lambda device: device, lambda values: print_lab(job.output, values).astype(np.float64)
        )
    standard = parse_profile(srgb_profile(), "sRGB")
    carry = carrier(job.output, standard)
    black = destination_black(job.output, "relative")
    return Press(
        standard,
        plain_inks("RGB", 3),
        lambda device: carry(device)[0],
        lambda values: compensate(to_lab(standard, values), NO_BLACK, black),
    )


def engine_for(job: Job, press: Press, ppi: float, picture: Floats) -> Engine:
    """The sheet's engine for a job. `picture`: what is printed of the master, as `reading` gives it."""
    ask = lab_to_device(job.output, Way.RELATIVE_BPC, source_of(None))

    def device_of(correction: Correction) -> Callable[[NDArray[Any]], Floats]:
        chain = direct(job.output, job.way, correction, job.source)
        return lambda pixels: press.carry(chain(pixels))

    def strip_of(box: Box, width: int, height: int) -> Floats:
        sharpening = plan_sharpening(ppi, width / box[3], auto=True)
        window = np.pad(_scaled(job, box, width, height), ((sharpening.halo,) * 2, (0, 0), (0, 0)), mode="edge")
        return device_of(job.correction)(sharpen_window(window, sharpening))

    return Engine(
        working_of=cut_from(picture, job.shown_px),
        device_of=device_of,
        patches=lambda lab: press.carry(np.asarray(ask(lab), dtype=np.float32)),
        inks=press.inks,
        strip_of=strip_of,
    )


def reading(job: Job, layout: SheetLayout) -> Floats:
    """The printed part of the master as large as the sheet's tiles need it, working encoding (H, W, 3); one read."""
    return _scaled(job, job.shown_px, *reading_px(layout, job.shown_px))


def root_for(job: Job, picture_lab: Array) -> Array:
    """How far corrections lie apart to the eye for this picture on this paper, (6, 6)."""
    flat = picture_lab.reshape(-1, 3)
    rng = np.random.default_rng(6)
    sample = flat[rng.choice(len(flat), min(METRIC_SAMPLES, len(flat)), replace=False)]
    ask = lab_to_device(job.output, job.way, job.source)
    return root_of(metric(sample, lambda lab: np.asarray(to_lab(job.output, ask(lab)), dtype=np.float64)))


def _scaled(job: Job, box: Box, width: int, height: int) -> Floats:
    return as_printed(job, scaled_picture(printed_source(job, box), width, height))


def _own_inks(output: Profile) -> Inks:
    """Bare paper and the darkest neutral for ink sets whose pure black can't be guessed."""
    if output.space in ("RGB", "GRAY", "CMYK"):
        return plain_inks(output.space, output.channels)
    ask = lab_to_device(output, Way.RELATIVE_BPC, source_of(None))
    return Inks(np.zeros(output.channels, np.float32), np.asarray(ask(np.zeros((1, 3)))[0], np.float32))
