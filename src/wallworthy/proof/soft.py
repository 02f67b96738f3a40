"""The soft proof: what the print will look like, for the display in front of the person, and what it will lose.

Device values go through the profile's A2B1 always, whatever the way they were made by: that is what
the printer will print (a measured table may stand for both steps). With the paper's white shown, Lab
stays ICC-absolute and is given to the display relative to its own white, so that paper white is darker
than the screen's white and black no darker than the paper's; without, Lab is relative to the paper and
its white fills the screen's.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Box, Correction, Display, Light, ProofReport
from wallworthy.colour.float32 import (
    Planes,
    ciede2000_32,
    lab_to_xyz_ratio32,
    pixels_of,
    planes_of,
    scale_white32,
    working_to_lab32,
    xyz_ratio_to_lab32,
)
from wallworthy.colour.lab import PCS_WHITE, xyz_to_lab
from wallworthy.icc.engine import THREADS, in_slices, to_lab
from wallworthy.icc.read import Profile
from wallworthy.proof import words as say
from wallworthy.proof.beyond import Beyond, share_beyond
from wallworthy.proof.cells import Cells, Grid, grid_for
from wallworthy.proof.report import Findings, figures
from wallworthy.proof.screen import Screen, screen_of
from wallworthy.proof.seen import Eye, seen_table
from wallworthy.raster.dither import to_8_bits

Float = NDArray[np.float32]

Printed = Callable[[Float], Float]
"""Working pixels (..., 3) to the print's media-relative Lab (..., 3)."""

NO_CORRECTION: Final = Correction()

PIECE: Final = 1 << 16
"""Pixels worked at a time: fewer, and the threads wait for each other between their many small steps."""


@dataclass(frozen=True, slots=True)
class Proof:
    """The proof's picture for the display, the predicted print, the loss, and what there is to say.

    image: (H, W, 3) uint8 in the display's space. lab: (H, W, 3) float32, the print relative to its paper.
    white_scale: the paper's white over D50, X, Y, Z. loss: (H, W) float32, dE00. `sentences`: the findings as a
    whole, most important first.
    """

    image: NDArray[np.uint8] = field(repr=False)
    lab: Float = field(repr=False)
    white_scale: NDArray[np.float64] = field(repr=False)
    loss: Float = field(repr=False)
    report: ProofReport
    sentences: tuple[str, ...]

    @property
    def lab_absolute(self) -> Float:
        """The predicted print as media-absolute Lab, D50, (H, W, 3) float32; worked out each time it is asked for."""
        relative = self.lab.reshape(-1, 3)
        absolute = np.empty_like(relative)

        def work(part: slice) -> None:
            for start in range(part.start, part.stop, PIECE):
                piece = slice(start, min(start + PIECE, part.stop))
                absolute[piece] = scale_white32(planes_of(relative[piece]), self.white_scale).T

        in_slices(len(relative), work)
        return absolute.reshape(self.lab.shape)


@dataclass(frozen=True, slots=True)
class _Shown:
    """From Lab relative to the paper to light relative to the display's white."""

    white_scale: NDArray[np.float64]
    seen: Callable[[Float], Float] | None
    dimming: float

    def of(self, relative: Planes) -> Planes:
        """Lab planes (3, n) to planes of X/Xn, Y/Yn, Z/Zn."""
        light = lab_to_xyz_ratio32(relative)
        light *= self.white_scale.astype(np.float32)[:, None]
        if self.seen is None:
            return light
        light = lab_to_xyz_ratio32(planes_of(self.seen(pixels_of(xyz_ratio_to_lab32(light)))))
        light *= np.float32(self.dimming)
        return light


@dataclass(frozen=True, slots=True)
class _Canvas:
    """Everything a band of rows reads from and writes to."""

    picture: Float
    lab: Float
    """The print's Lab, relative to the paper."""
    shown: _Shown
    screen: Screen
    grid: Grid
    cells: Cells
    image: NDArray[np.uint8]
    loss: Float
    lightness: Float


def make_proof(
    picture_working: Float,
    printed: Float | Printed,
    output: Profile,
    display: Display,
    *,
    correction: Correction = NO_CORRECTION,
    beyond: Beyond | None = None,
    roundtrip_p95_de00: float = 0.0,
    paper_white: bool = True,
    light: Light | None = None,
    eye: Eye | None = None,
    shown_px: Box | None = None,
    px_per_mm: float | None = None,
    in_pairs: bool = False,
    places: bool = True,
    drawn: Callable[[NDArray[np.uint8]], object] | None = None,
) -> Proof:
    """Proof a fitted picture.

    picture_working: (H, W, 3) in the working encoding, 0-1, before any correction. printed: the same picture fitted to
    `output`, (H, W, K) 0-1, which goes through A2B1 here; or a function that does all that in one, as
    `fit.compose.predicted` gives it. correction: what was applied on the way (for `out_of_range_pct` only). beyond: Lab
    (n, 3) to dE00 outside the condition's colours, negative inside, as `signed_de00` of `icc.gamut` gives it; without
    it nothing is counted as out of range. shown_px: the part of the master that the picture shows, in master pixels; by
    default the picture is the master, pixel for pixel. px_per_mm: the picture's pixels on a millimetre of paper. light:
    named in the findings; eye: how print and display are looked at, when the display is to show the print as it looks
    in its light (`proof.seen`). Neither touches the predicted print or its loss. in_pairs: the picture's columns are no
    neighbours but two by two, from the first on: texture is looked for between those alone. places: whether the worst
    places are looked for.
    drawn: called with the picture for the display as soon as that is there, before the loss is put into words.
    """
    picture = np.ascontiguousarray(picture_working, dtype=np.float32)
    height, width = picture.shape[:2]
    relative = printed(picture) if callable(printed) else to_lab(output, printed, "relative")
    _require_shape(relative, width, height)
    white_scale = np.asarray(output.white_xyz, dtype=np.float64) / PCS_WHITE
    screen = screen_of(display.profile)
    shown = _shown(screen, white_scale, eye, paper_white=paper_white)
    lab = np.ascontiguousarray(relative, dtype=np.float32)
    canvas = _blank(picture, lab, shown, screen, grid_for(height, width, px_per_mm))
    missed = _drawn(canvas)
    if drawn is not None:
        drawn(canvas.image)
    findings = Findings(
        picture=picture,
        lab=lab,
        loss=canvas.loss,
        lightness_before=canvas.lightness,
        cells=canvas.cells,
        out_of_range_share=_share_beyond(picture, beyond, correction, roundtrip_p95_de00),
        out_of_display_share=missed / (height * width),
        dimming=shown.dimming,
        light=light,
        paper_y=float(output.white_xyz[1]),
        shown_px=shown_px or (0, 0, height, width),
        in_pairs=in_pairs,
        places=places,
    )
    return Proof(canvas.image, lab, white_scale, canvas.loss, *figures(findings))


def _require_shape(printed: Float, width: int, height: int) -> None:
    if printed.shape[:2] != (height, width):
        shape = printed.shape
        raise say.refuse("proof_shape", picture=f"{width} x {height}", device=f"{shape[1]} x {shape[0]}")


def _share_beyond(picture: Float, beyond: Beyond | None, correction: Correction, roundtrip_p95_de00: float) -> float:
    return 0.0 if beyond is None else share_beyond(picture, beyond, correction, 1.0 + roundtrip_p95_de00)


def _drawn(canvas: _Canvas) -> int:
    """Fill the canvas; returns how many pixels the display can't show."""
    missed = sum(_on_threads(lambda band: _band(canvas, band), canvas.grid.shape[0]))
    return missed if canvas.screen.shaper is not None else _draw_by_engine(canvas)


def _shown(screen: Screen, white_scale: NDArray[np.float64], eye: Eye | None, *, paper_white: bool) -> _Shown:
    """How colours are given to a display, darker where the white to be shown is more than it has."""
    scale = white_scale if paper_white else np.ones(3)
    white_lab = xyz_to_lab(scale * PCS_WHITE)
    if eye is None:
        dimming = screen.room_for(white_lab) if paper_white else 1.0
        return _Shown(scale if dimming == 1 else scale * dimming, None, dimming)
    seen = seen_table(eye)
    return _Shown(scale, seen, screen.room_for(seen(white_lab[None].astype(np.float32))[0].astype(np.float64)))


def _blank(
    picture: Float,
    lab: Float,
    shown: _Shown,
    screen: Screen,
    grid: Grid,
) -> _Canvas:
    shape = picture.shape[:2]
    return _Canvas(
        picture=picture,
        lab=lab,
        shown=shown,
        screen=screen,
        grid=grid,
        cells=Cells.empty(grid),
        image=np.empty((*shape, 3), dtype=np.uint8),
        loss=np.empty(shape, dtype=np.float32),
        lightness=np.empty(shape, dtype=np.float32),
    )


def _band(canvas: _Canvas, band: int) -> int:
    """One row of cells: Lab before and after, loss, display values; returns pixels the display can't show."""
    top, bottom = int(canvas.grid.rows[band]), int(canvas.grid.rows[band + 1])
    width = canvas.picture.shape[1]
    step = max(1, PIECE // width)
    missed = 0
    for first in range(top, bottom, step):
        rows = slice(first, min(first + step, bottom))
        shape = (rows.stop - rows.start, width)
        before = working_to_lab32(planes_of(canvas.picture[rows]))
        after = planes_of(canvas.lab[rows])
        loss = ciede2000_32(before, after)
        canvas.loss[rows] = loss.reshape(shape)
        canvas.lightness[rows] = before[0].reshape(shape)
        canvas.cells.add(band, before, loss)
        if canvas.screen.shaper is not None:
            coded, beyond = canvas.screen.shaper.encode(canvas.shown.of(after))
            missed += beyond
            canvas.image[rows] = to_8_bits(pixels_of(coded).reshape(*shape, 3), first)
    return missed


def _draw_by_engine(canvas: _Canvas) -> int:
    """For displays that work by tables: the whole picture through the colour engine."""
    height, width = canvas.loss.shape
    shown = xyz_ratio_to_lab32(canvas.shown.of(planes_of(canvas.lab)))
    device, missed = canvas.screen.encode(pixels_of(shown))
    canvas.image[:] = to_8_bits(device.reshape(height, width, 3), 0)
    return missed


def _on_threads(work: Callable[[int], int], count: int) -> list[int]:
    if count == 1:
        return [work(0)]
    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(work, range(count)))
