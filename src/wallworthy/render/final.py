"""The final: one pass from working strips to the print-ready file."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.pixels import PixelSource
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Box, Delivery, Fitted, LutFigures, Pair
from wallworthy.icc.read import Profile, parse_profile
from wallworthy.raster.dither import to_bits
from wallworthy.raster.form import FileForm, Format, density_in_file
from wallworthy.raster.scale import scaled_strips
from wallworthy.raster.stream import ordered_map, rows_for, windows
from wallworthy.raster.write import write_picture
from wallworthy.render.delivery import BEYOND_DE00, Carriage, DeviceOf, by_numbers, by_standard, sampled
from wallworthy.render.sharpen import Sharpening, plan_sharpening, sharpen_window

Floats = NDArray[np.float32]
Edges = tuple[int, int, int, int]
"""top, right, bottom, left in pixels."""

WHITE_BY_LIGHT: Final = ("RGB", "GRAY")
"""Device spaces in which bare paper is 1; in inks it is 0."""


@dataclass(frozen=True, slots=True)
class FinalPlan:
    """What the print-ready file is to be.

    width_px, height_px: the picture area, without the border. size_mm and distance_mm belong to the
    record of the print; the sharpening depends on ppi and enlargement only, so that it also holds
    for somebody who steps closer.
    """

    width_px: int
    height_px: int
    border_px: Edges
    ppi: float
    bits: Literal[8, 16]
    format: Format
    sharpen: Literal["none", "auto"]
    size_mm: Pair
    distance_mm: float
    delivery: Delivery
    output_profile: bytes = field(repr=False)
    standard_profile: bytes | None = field(repr=False, default=None)
    """The space for delivery `standard`, sRGB for most labs."""

    @property
    def file_px(self) -> tuple[int, int]:
        """Width and height of the file, border included."""
        top, right, bottom, left = self.border_px
        return self.width_px + left + right, self.height_px + top + bottom


@dataclass(frozen=True, slots=True)
class FinalFacts:
    """What was written."""

    width_px: int
    height_px: int
    picture_box_px: Box
    density_ppi: float
    """As the file says it; PNG and JPEG hold whole numbers."""
    bits: int
    space: str
    profile_sha256: str
    sharpen_gain: float
    overshoot_pct: float
    pixels_sha256: str
    beyond_delivery_pct: float
    """Share of the picture that the delivery space can't hold, out by more than 1 dE00."""
    delivery_figures: LutFigures | None
    """How well a table stood in for the way back to the standard space; None for `numbers` or no table."""


def render_final(
    source: PixelSource,
    fitted: Fitted,
    plan: FinalPlan,
    target: Path,
    *,
    progress: Progress = silent,
    overwrite: bool = False,
    device_of: DeviceOf | None = None,
) -> FinalFacts:
    """Scale, sharpen, fit, carry to the delivery, bring to whole codes and write, strip by strip.

    `device_of` is the direct path (working strip to device strip), needed when `fitted` holds no table.
    Memory holds a few strips only. Raises InputError for a plan that can't be carried out or an
    existing target, TroubleError when the disk refuses; nothing half-written is left.
    """
    paper = parse_profile(plan.output_profile, "the condition's profile")
    carriage, embedded, white = _carriage(fitted, plan, paper, device_of)
    sharpening = plan_sharpening(plan.ppi, _enlargement(source, plan), auto=plan.sharpen == "auto")
    width, height = plan.file_px
    channels = embedded.channels
    form = FileForm(plan.format, width, height, channels, plan.bits, embedded.space, plan.ppi, embedded.data)
    count = _Count()
    # `finish` runs on two threads; the whole-code strips come back in order.
    with contextlib.closing(_finished(source, plan, carriage, sharpening, count)) as strips:
        told = _told(strips, plan.height_px, progress)
        blank = np.uint8(255 * white) if plan.bits == 8 else np.uint16(65535 * white)
        pixels_sha256 = write_picture(target, _framed(told, plan, channels, blank), form, overwrite=overwrite)
    top, _, _, left = plan.border_px
    return FinalFacts(
        width_px=width,
        height_px=height,
        picture_box_px=(top, left, plan.height_px, plan.width_px),
        density_ppi=density_in_file(form),
        bits=plan.bits,
        space=embedded.space,
        profile_sha256=hashlib.sha256(embedded.data).hexdigest(),
        sharpen_gain=sharpening.gain,
        overshoot_pct=sharpening.overshoot_pct,
        pixels_sha256=pixels_sha256,
        beyond_delivery_pct=count.beyond_pct,
        delivery_figures=carriage.figures,
    )


def _carriage(
    fitted: Fitted, plan: FinalPlan, paper: Profile, device_of: DeviceOf | None
) -> tuple[Carriage, Profile, int]:
    """The conversion, the profile to embed, and what bare paper is in the file, 0 or 1."""
    if plan.delivery is Delivery.NUMBERS:
        return by_numbers(fitted.nodes, device_of), paper, int(paper.space in WHITE_BY_LIGHT)
    if plan.standard_profile is None:
        raise InputError(
            "standard_space_missing",
            "A standard delivery needs a standard space to deliver in.",
            "Name one, sRGB for most labs, or deliver the numbers.",
            where="--delivery",
        )
    standard = parse_profile(plan.standard_profile, "the delivery space's profile")
    if standard.space not in WHITE_BY_LIGHT:
        raise InputError(
            "standard_space_inks",
            f"{standard.description} is no space for a standard delivery.",
            "Choose an RGB or grey space, sRGB for most labs.",
            where="--delivery",
        )
    return by_standard(fitted.nodes, device_of, paper, standard), standard, 1


def _enlargement(source: PixelSource, plan: FinalPlan) -> float:
    return min(plan.width_px / source.width_px, plan.height_px / source.height_px)


class _Count:
    """Sampled pixels and how many of them lie beyond the delivery space."""

    def __init__(self) -> None:
        self.pixels = 0
        self.beyond = 0

    @property
    def beyond_pct(self) -> float:
        return 100 * self.beyond / self.pixels if self.pixels else 0.0


def _finished(source: PixelSource, plan: FinalPlan, carriage: Carriage, sharpening: Sharpening, count: _Count) -> Any:
    """Whole-code strips of the picture area, in order, made on two threads."""

    def finish(item: tuple[int, Floats]) -> tuple[NDArray[Any], int, int]:
        first, window = item
        strip = sharpen_window(window, sharpening)
        pixels = beyond = 0
        if carriage.beyond_de00 is not None:
            lost = carriage.beyond_de00(sampled(strip, first))
            pixels, beyond = lost.size, int((lost > BEYOND_DE00).sum())
        return to_bits(carriage.to_file(strip), plan.bits, first), pixels, beyond

    rows = max(rows_for(plan.width_px), sharpening.halo)
    scaled = scaled_strips(source, plan.width_px, plan.height_px, rows)
    for codes, pixels, beyond in ordered_map(finish, windows(scaled, sharpening.halo)):
        count.pixels += pixels
        count.beyond += beyond
        yield codes


def _told(strips: Iterable[NDArray[Any]], height_px: int, progress: Progress) -> Iterator[NDArray[Any]]:
    done = 0
    progress("final", 0.0)
    for strip in strips:
        yield strip
        done += strip.shape[0]
        progress("final", done / height_px)


def _framed(
    strips: Iterable[NDArray[Any]], plan: FinalPlan, channels: int, blank: np.unsignedinteger[Any]
) -> Iterator[NDArray[Any]]:
    """The picture's strips with bare paper around them."""
    top, right, bottom, left = plan.border_px
    width = plan.file_px[0]
    rows = rows_for(width)

    def bare(count: int) -> Iterator[NDArray[Any]]:
        for first in range(0, count, rows):
            yield np.full((min(rows, count - first), width, channels), blank, blank.dtype)

    yield from bare(top)
    for strip in strips:
        if left or right:
            yield np.pad(strip, ((0, 0), (left, right), (0, 0)), constant_values=blank)
        else:
            yield strip
    yield from bare(bottom)
