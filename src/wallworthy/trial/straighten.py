"""From a scan or photo to the sheet laid straight on its own millimetres, in even light.

The machine-readable mark says which sheet it is and roughly where it lies; the corner angles, found
to a fraction of a pixel, settle the perspective; the tick boxes tell whether the lens bends. The
bare paper between the printed things gives the light that fell on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.records import Notice
from wallworthy.raster.vision import (
    FoundMark,
    apply_perspective,
    bent,
    find_every_mark,
    find_marks,
    find_template,
    fit_affine,
    fit_perspective,
    straightened,
)
from wallworthy.trial.layout import BoxMm, SheetLayout, printed_boxes
from wallworthy.trial.scanfile import Scan

Array = NDArray[np.float64]
Floats = NDArray[np.float32]

PER_MM: Final = 8.0
"""Pixels a millimetre of the straight sheet."""
FINE_PER_MM: Final = 14.0
"""Pixels a millimetre of the windows in which angles and boxes are looked for."""
LEAST_PER_MM: Final = 3.0
LIKE: Final = 0.6
"""Least likeness of an angle to what was printed."""
QUIET_MODULES: Final = 4
AROUND_MM: Final = 1.0
CORNER_NAMES: Final = ("upper left", "upper right", "lower right", "lower left")


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Where the sheet lies in the picture: homography from mm to pixels, the lens' bend, how well it fits."""

    to_picture: Array
    bend: float
    rms_mm: float
    corners_found: int
    pixels_per_mm: float

    def places(self, points_mm: Array, shape: tuple[int, ...]) -> Array:
        """Points on the sheet as pixels of the picture."""
        return bent(apply_perspective(self.to_picture, points_mm), shape, self.bend)


@dataclass(frozen=True, slots=True, eq=False)
class StraightSheet:
    """The sheet on its grid. light: (rows, columns, 3) over bare paper, linear; area_mm: the part it shows."""

    light: Floats
    per_mm: float
    area_mm: BoxMm
    pose: Pose
    paper_light: Array
    """Mean light of the bare paper (3,), before it was made 1."""
    tilt: Array
    """A plane through the logarithm of that light, (3, 3): by channel, at the middle, per mm across, per mm down."""
    unevenness_pct: float
    scale_error_pct: float | None
    notices: tuple[Notice, ...]

    def part(self, box_mm: BoxMm, inset_mm: float = 0.0) -> Floats:
        """The pixels under a box, shrunk by an inset on every side."""
        x, y, width, height = box_mm
        rows = self._span(y - self.area_mm[1] + inset_mm, height - 2 * inset_mm)
        columns = self._span(x - self.area_mm[0] + inset_mm, width - 2 * inset_mm)
        return self.light[rows, columns]

    def _span(self, start_mm: float, length_mm: float) -> slice:
        low = max(0, round(start_mm * self.per_mm))
        return slice(low, max(low + 1, round((start_mm + length_mm) * self.per_mm)))


@dataclass(frozen=True, slots=True)
class NotThere:
    """The sheet was not found: why, in a sentence, and what to do."""

    text: str
    mend: str


def marks_in(scan: Scan, *, every: bool = False) -> tuple[FoundMark, ...]:
    """The machine-readable marks in a scan; every: look on when one is read, for there may be several prints.

    The scan remembers them: each look takes a second or more.
    """
    if every not in scan.marks:
        grey = np.sqrt(np.clip(scan.light @ np.array([0.2225, 0.7169, 0.0606], np.float32), 0, 1))
        codes = (grey * 255).astype(np.uint8)
        scan.marks[every] = find_every_mark(codes, marks_in(scan)) if every else find_marks(codes)
    return scan.marks[every]


def straighten(scan: Scan, layout: SheetLayout, mark: FoundMark) -> StraightSheet | NotThere:
    """Lay the sheet straight: perspective and lens taken out, light evened, bare paper made 1."""
    pose = find_pose(scan, layout, mark)
    if isinstance(pose, NotThere):
        return pose
    area = layout.area_mm
    light = straightened(scan.light, pose.to_picture, area, PER_MM, pose.bend)
    field = paper_field(light, layout, PER_MM)
    if field is None:
        return NotThere(
            "Too little bare paper can be seen on the sheet to judge the light on it.",
            "Scan or photograph the whole sheet with nothing lying on it.",
        )
    notices = list(scan.notices)
    if pose.corners_found < 4:
        notices.append(Notice("corner_missing", "One corner angle could not be seen; places are a little less sure."))
    error = scale_error(pose, layout, scan)
    if error is None:
        notices.append(
            Notice("scale_unknown", "A photo can't tell the print's size; measure the 100 mm bar with a ruler.")
        )
    middle = field.reshape(-1, 3).mean(axis=0, dtype=np.float64)
    uneven = float((field.max(axis=(0, 1)) / field.min(axis=(0, 1)) - 1).max() * 100)
    tilt = _tilt(field, area)
    return StraightSheet(light / field, PER_MM, area, pose, middle, tilt, uneven, error, tuple(notices))


def _tilt(field: Floats, area: BoxMm) -> Array:
    coarse = np.log(field[::40, ::40].astype(np.float64))
    v, u = np.linspace(-0.5, 0.5, coarse.shape[0]), np.linspace(-0.5, 0.5, coarse.shape[1])
    across, down = np.meshgrid(u * area[2], v * area[3])
    design = np.stack([np.ones(across.size), across.ravel(), down.ravel()], axis=-1)
    return np.linalg.lstsq(design, coarse.reshape(-1, 3), rcond=None)[0].T.astype(np.float64)


def find_pose(scan: Scan, layout: SheetLayout, mark: FoundMark) -> Pose | NotThere:
    """Where the sheet of this layout lies, starting from its mark."""
    luminance = np.sqrt(np.maximum(scan.light.mean(axis=2), 0)).astype(np.float32)
    mm = _mark_corners(layout, mark.modules)
    to_picture = fit_affine(mm, mark.corners, np.ones(4))
    pixels_per_mm = float(np.linalg.norm(mark.corners[1] - mark.corners[0]) / np.linalg.norm(mm[1] - mm[0]))
    if pixels_per_mm < LEAST_PER_MM:
        return NotThere(
            f"The sheet is only about {pixels_per_mm * layout.area_mm[2]:.0f} pixels wide in this picture.",
            "Scan it at 300 ppi, or photograph it so that it fills the picture.",
        )
    found: dict[int, Array] = {}
    elbows = corner_elbows(layout)
    away = np.linalg.norm(elbows - mm.mean(axis=0), axis=1)
    for corner in (int(i) for i in np.argsort(away)):
        place = _corner_place(luminance, layout, corner, to_picture, 2.0 + 0.06 * float(away[corner]))
        if place is not None:
            found[corner] = place
            to_picture = _refit(mm, mark.corners, elbows, found)
    for reach in (1.2, 0.6):
        found = {
            corner: place
            for corner in range(4)
            if (place := _corner_place(luminance, layout, corner, to_picture, reach)) is not None
        }
        if len(found) < 3:
            return _missing(scan, layout, to_picture, found)
        to_picture = _refit(mm, mark.corners, elbows, found)
    pose = Pose(to_picture, 0.0, 0.0, len(found), pixels_per_mm)
    return _with_lens(luminance, layout, pose, found)


def corner_elbows(layout: SheetLayout) -> Array:
    """The outer corners (4, 2) of the corner angles in mm, clockwise from the upper left."""
    a, b, c, d = layout.corners_mm
    return np.array([(a[0], a[1]), (b[0] + b[2], b[1]), (c[0] + c[2], c[1] + c[3]), (d[0], d[1] + d[3])])


def _mark_corners(layout: SheetLayout, modules: int) -> Array:
    """The mark's outer corners (4, 2) in mm: modules are whole pixels of the print, centred in the mark's box."""
    x, y, width, height = layout.mark_mm
    pixel = 25.4 / layout.ppi
    size = max(1, round(min(width, height) / pixel) // (modules + 2 * QUIET_MODULES)) * modules * pixel
    left, top = x + (width - size) / 2, y + (height - size) / 2
    return np.array([(left, top), (left + size, top), (left + size, top + size), (left, top + size)])


def _refit(mark_mm: Array, mark_px: Array, elbows: Array, found: dict[int, Array]) -> Array:
    """With four angles the mark only steadies, with three it carries its part; with fewer an affine map is safer."""
    corners = sorted(found)
    source = np.concatenate([elbows[corners], mark_mm])
    target = np.concatenate([np.array([found[c] for c in corners]), mark_px])
    weights = [1.0] * len(corners) + [0.02 if len(found) == 4 else 0.3] * 4
    return fit_perspective(source, target, weights) if len(found) > 2 else fit_affine(source, target, weights)


def _corner_place(luminance: Floats, layout: SheetLayout, corner: int, to_picture: Array, reach: float) -> Array | None:
    """Pixel place (2,) of an angle's elbow, or None when nothing like it is near."""
    x, y, width, height = layout.corners_mm[corner]
    around: BoxMm = (x - AROUND_MM, y - AROUND_MM, width + 2 * AROUND_MM, height + 2 * AROUND_MM)
    template = _angle(layout.corners_mm[corner], around, corner, layout.corner_stroke_mm)
    moved = _moved(luminance, to_picture, 0.0, around, template, reach)
    if moved is None:
        return None
    return apply_perspective(to_picture, corner_elbows(layout)[corner] + moved)


def _moved(
    luminance: Floats, to_picture: Array, bend: float, around: BoxMm, template: Floats, reach: float
) -> Array | None:
    """How far (mm, (2,)) a printed thing lies from where it is expected; None when it is not seen."""
    window_mm: BoxMm = (around[0] - reach, around[1] - reach, around[2] + 2 * reach, around[3] + 2 * reach)
    window = straightened(luminance, to_picture, window_mm, FINE_PER_MM, bend)
    seen = np.isfinite(window)
    if seen.mean() < 0.5:
        return None
    left, top, likeness = find_template(np.where(seen, window, np.median(window[seen])), template)
    if likeness < LIKE:
        return None
    scale = np.array([window.shape[1] / window_mm[2], window.shape[0] / window_mm[3]])
    return np.array([left, top]) / scale - reach


def _angle(box: BoxMm, around: BoxMm, corner: int, stroke: float) -> Floats:
    """An angle as printed: two strokes meeting at the outer corner of its box."""
    x, y, width, height = box
    upper, left = corner in (0, 1), corner in (0, 3)
    flat: BoxMm = (x, y if upper else y + height - stroke, width, stroke)
    upright: BoxMm = (x if left else x + width - stroke, y, stroke, height)
    return 1 - np.maximum(_covered(flat, around), _covered(upright, around))


def _covered(box: BoxMm, around: BoxMm) -> Floats:
    """Share of each fine pixel of `around` under a box."""
    size = round(around[2] * FINE_PER_MM), round(around[3] * FINE_PER_MM)

    def along(start: float, length: float, origin: float, span: float, count: int) -> Floats:
        edges = origin + np.arange(count + 1) * span / count
        share = np.clip(np.minimum(edges[1:], start + length) - np.maximum(edges[:-1], start), 0, None) * count / span
        return share.astype(np.float32)

    across = along(box[0], box[2], around[0], around[2], size[0])
    down = along(box[1], box[3], around[1], around[3], size[1])
    return down[:, None] * across[None, :]


def _with_lens(luminance: Floats, layout: SheetLayout, pose: Pose, found: dict[int, Array]) -> Pose:
    """Fit the lens' bend on the angles and the tick boxes; kept when it explains clearly more."""
    elbows = corner_elbows(layout)
    points, places = [elbows[c] for c in sorted(found)], [found[c] for c in sorted(found)]
    for tick in layout.ticks:
        x, y, width, height = tick.box_mm
        around: BoxMm = (x - 0.5, y - 0.5, width + 1.0, height + 1.0)
        s = layout.tick_stroke_mm
        inner: BoxMm = (x + s, y + s, width - 2 * s, height - 2 * s)
        moved = _moved(
            luminance, pose.to_picture, 0.0, around, _covered(inner, around) - _covered(tick.box_mm, around), 0.9
        )
        if moved is not None:
            middle = np.array([x + width / 2, y + height / 2])
            points.append(middle)
            places.append(apply_perspective(pose.to_picture, middle + moved))
    mm, px = np.array(points), np.array(places)
    weights = np.array([2.0] * len(found) + [1.0] * (len(points) - len(found)))
    fits = {bend: _bent_fit(mm, px, weights, luminance.shape, bend) for bend in (-0.02, -0.01, 0.0, 0.01, 0.02)}
    straight = fits[0.0][1]
    best = min(fits, key=lambda bend: fits[bend][1])
    if len(mm) >= 10 and fits[best][1] < 0.8 * straight:
        low, middle_at, high = best - 0.01, best, best + 0.01
        a, b, c = (_bent_fit(mm, px, weights, luminance.shape, bend)[1] ** 2 for bend in (low, middle_at, high))
        best = middle_at + (0.005 * (a - c) / (a - 2 * b + c) if a - 2 * b + c > 0 else 0.0)
        to_picture, rms = _bent_fit(mm, px, weights, luminance.shape, best)
        return replace(pose, to_picture=to_picture, bend=best, rms_mm=rms / pose.pixels_per_mm)
    return replace(pose, rms_mm=straight / pose.pixels_per_mm)


def _bent_fit(mm: Array, px: Array, weights: Array, shape: tuple[int, ...], bend: float) -> tuple[Array, float]:
    """Homography for a given bend, and the weighted rms of what is left, in pixels."""
    plain = px
    for _ in range(4):
        plain = plain + (px - bent(plain, shape, bend))
    to_picture = fit_perspective(mm, plain, weights)
    left = bent(apply_perspective(to_picture, mm), shape, bend) - px
    distance = np.hypot(left[:, 0], left[:, 1])
    kept = distance <= max(3.0 * float(np.median(distance)), 0.5)
    if kept.sum() >= 8 and not kept.all():
        to_picture = fit_perspective(mm[kept], plain[kept], weights[kept])
        left = bent(apply_perspective(to_picture, mm), shape, bend) - px
        distance, weights = np.hypot(left[:, 0], left[:, 1])[kept], weights[kept]
    return to_picture, float(np.sqrt((weights * distance**2).sum() / weights.sum()))


def _missing(scan: Scan, layout: SheetLayout, to_picture: Array, found: dict[int, Array]) -> NotThere:
    """Why fewer than three angles were found."""
    places = apply_perspective(to_picture, corner_elbows(layout))
    size = np.array([scan.light.shape[1], scan.light.shape[0]])
    outside = [CORNER_NAMES[i] for i in range(4) if (places[i] < 0).any() or (places[i] > size - 1).any()]
    if outside:
        which = f"{' and '.join(outside)} {'corner lies' if len(outside) == 1 else 'corners lie'}"
        return NotThere(
            f"The sheet is cut off: its {which} outside the picture.",
            "Scan or photograph the whole sheet, all four corner angles in the picture.",
        )
    hidden = [CORNER_NAMES[i] for i in range(4) if i not in found]
    return NotThere(
        f"The mark can be read, but the corner angles {', '.join(hidden)} can't be seen.",
        "Flatten the sheet, take away what covers its corners, and scan it again.",
    )


def scale_error(pose: Pose, layout: SheetLayout, scan: Scan) -> float | None:
    """How much too large (+) or small (-) the print is in per cent, by the scan's own resolution; None if unknown.

    The distances of the angles carry it, as they span more than the 100 mm bar; a resolution that
    makes the sheet larger or smaller by a fifth was not a scanner's.
    """
    if scan.ppi is None:
        return None
    elbows = corner_elbows(layout)
    places = pose.places(elbows, scan.light.shape)
    pairs = [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)]
    printed = sum(float(np.linalg.norm(places[i] - places[j])) for i, j in pairs) / scan.ppi * 25.4
    meant = sum(float(np.linalg.norm(elbows[i] - elbows[j])) for i, j in pairs)
    error = (printed / meant - 1) * 100
    return error if abs(error) < 20 else None


def bare_paper(layout: SheetLayout, per_mm: float, keep_off_mm: float = 0.9) -> NDArray[np.bool_]:
    """Where the sheet carries nothing: true on bare paper, at `per_mm` pixels a millimetre of the area."""
    x0, y0, width, height = layout.area_mm
    bare = np.zeros((round(height * per_mm), round(width * per_mm)), dtype=bool)
    edge = round(1.5 * per_mm)
    bare[edge:-edge, edge:-edge] = True
    boxes = [*printed_boxes(layout), *layout.notes_mm, *(label.box_mm for label in layout.labels)]
    for x, y, w, h in boxes:
        top, bottom = (y - y0 - keep_off_mm) * per_mm, (y - y0 + h + keep_off_mm) * per_mm
        left, right = (x - x0 - keep_off_mm) * per_mm, (x - x0 + w + keep_off_mm) * per_mm
        bare[max(0, int(top)) : int(np.ceil(bottom)), max(0, int(left)) : int(np.ceil(right))] = False
    return bare


def paper_field(light: Floats, layout: SheetLayout, per_mm: float) -> Floats | None:
    """The light on the sheet, (rows, columns, 3): a cubic surface through the logarithm of the bare paper's light.

    Robust against specks: cells of about a millimetre, medians in them, Huber's weights between them
    (Huber1964). None when less than 1 % of the sheet is bare.
    """
    cell = max(1, round(per_mm))
    rows, columns = light.shape[0] // cell, light.shape[1] // cell
    bare = (
        bare_paper(layout, per_mm)[: rows * cell, : columns * cell].reshape(rows, cell, columns, cell).all(axis=(1, 3))
    )
    blocks = light[: rows * cell, : columns * cell].reshape(rows, cell, columns, cell, 3)
    at = np.argwhere(bare)
    if len(at) < max(40, 0.01 * rows * columns):
        return None
    values = np.median(blocks.transpose(0, 2, 1, 3, 4)[bare].reshape(len(at), -1, 3), axis=1)
    good = np.isfinite(values).all(axis=1) & (values > 0.02).all(axis=1)
    if good.sum() < 40:
        return None
    place = (at[good] + 0.5) * cell
    design = _cubic(place[:, 0] / light.shape[0], place[:, 1] / light.shape[1])
    field = np.empty(light.shape, dtype=np.float32)
    v, u = (np.arange(light.shape[0]) + 0.5) / light.shape[0], (np.arange(light.shape[1]) + 0.5) / light.shape[1]
    for channel in range(3):
        factors = _robust(design, np.log(values[good, channel]))
        field[..., channel] = np.exp(_surface(factors, v, u))
    return field


def _cubic(v: Array, u: Array) -> Array:
    return np.stack([v**i * u**j for i in range(4) for j in range(4 - i)], axis=-1)


def _surface(factors: Array, v: Array, u: Array) -> Array:
    powers = [(i, j) for i in range(4) for j in range(4 - i)]
    table = np.zeros((4, 4))
    for (i, j), factor in zip(powers, factors, strict=True):
        table[i, j] = factor
    surface = np.vander(v, 4, increasing=True) @ table @ np.vander(u, 4, increasing=True).T
    return np.asarray(surface, dtype=np.float64)


def _robust(design: Array, values: Array) -> Array:
    """Huber's fit of values (n,) by the columns of design (n, k), the weights found in six turns."""
    basis, across = np.linalg.qr(design)
    weights: Array = np.ones(len(values))
    found: Array = np.zeros(design.shape[1])
    for _ in range(6):
        weighted = basis * weights[:, None]
        found = np.asarray(np.linalg.solve(weighted.T @ basis, weighted.T @ values), dtype=np.float64)
        left = np.abs(values - basis @ found)
        spread = 1.345 * 1.4826 * float(np.median(left)) + 1e-6
        weights = np.minimum(1.0, spread / np.maximum(left, 1e-12))
    return np.asarray(np.linalg.solve(across, found), dtype=np.float64)
