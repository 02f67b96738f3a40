"""The only door to OpenCV: machine-readable marks, printed angles, perspective, straightening.

Places in pictures are (x, y) in pixels with (0, 0) at the centre of the upper left pixel; places on
a sheet are (x, y) in mm from its upper left corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]

LARGEST_SIDE: Final = 32_766
"""OpenCV's remapping refuses 32,767 rows or columns and more."""
MOST_MARKS: Final = 12
COARSE: Final = 16
"""Light is blurred over this many pixels of a picture made small for it: it is smooth, and wide blurs are slow."""
MARK_SCALES: Final = (1600, 2600, 1000, 4000)
"""Longer sides in pixels at which a mark is looked for, in this order."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundMark:
    """A machine-readable mark: what it says, its outer corners (4, 2) clockwise from its own upper left, modules."""

    text: str
    corners: Array
    modules: int


def find_marks(grey: Bytes) -> tuple[FoundMark, ...]:
    """The QR marks in a grey picture (H, W) uint8, those that can be read.

    Looked for at several scales and with light evened out, until one is read. Source: ISO/IEC 18004.
    """
    longer = max(grey.shape)
    sides = dict.fromkeys(min(side, 2 * longer) for side in MARK_SCALES)
    for side in sides:
        factor = side / longer
        small = _resized(grey, factor)
        for picture in (small, _evened(small), _crisper(small)):
            found = _marks_in(picture, factor)
            if found:
                return found
    return ()


def find_every_mark(grey: Bytes, known: tuple[FoundMark, ...] = ()) -> tuple[FoundMark, ...]:
    """All QR marks that can be read in a grey picture (H, W) uint8; each is covered before the next look.

    One mark would hide others: the detectors stop at what they find first. known: what `find_marks` found.
    """
    longer = max(grey.shape)
    seen = {mark.text: mark for mark in known}
    for side in dict.fromkeys(min(side, 2 * longer) for side in MARK_SCALES[:2]):
        factor = side / longer
        small = _resized(grey, factor).copy()
        for mark in seen.values():
            _cover(small, mark, factor)
        for _ in range(MOST_MARKS):
            found = _marks_in(small, factor) or _marks_in(_evened(small), factor) or _marks_in(_crisper(small), factor)
            if not found:
                break
            for mark in found:
                seen.setdefault(mark.text, mark)
                _cover(small, mark, factor)
    return tuple(seen.values())


def _cover(grey: Bytes, mark: FoundMark, factor: float) -> None:
    """Paint a mark over with white, a little beyond its edges."""
    middle = mark.corners.mean(axis=0)
    corners = (((mark.corners - middle) * 1.1 + middle + 0.5) * factor - 0.5).round().astype(np.int32)
    cv2.fillConvexPoly(grey, corners, 255)


def _resized(grey: Bytes, factor: float) -> Bytes:
    size = (max(1, round(grey.shape[1] * factor)), max(1, round(grey.shape[0] * factor)))
    kernel = cv2.INTER_AREA if factor < 1 else cv2.INTER_CUBIC
    return grey if factor == 1 else np.asarray(cv2.resize(grey, size, interpolation=kernel), dtype=np.uint8)


def _evened(grey: Bytes) -> Bytes:
    """The picture over its own blurred light, so that a shadow across the mark matters less."""
    side = max(3, max(grey.shape) // 20)
    coarse = max(1, side // COARSE)
    height, width = grey.shape
    small = cv2.resize(grey, (-(-width // coarse), -(-height // coarse)), interpolation=cv2.INTER_AREA)
    ground = cv2.resize(smoothed(small.astype(np.float32), 0.15 * side / coarse), (width, height))
    return np.clip(grey / np.maximum(ground, 8) * 150, 0, 255).astype(np.uint8)


def _crisper(grey: Bytes) -> Bytes:
    """The picture with its fine differences doubled twice over, for marks that bled or are out of focus."""
    soft = cv2.GaussianBlur(grey, (0, 0), 2.5).astype(np.float32)
    return np.clip(grey + 3 * (grey - soft), 0, 255).astype(np.uint8)


def _marks_in(grey: Bytes, factor: float) -> tuple[FoundMark, ...]:
    """Both of the library's detectors in turn: they fail on different pictures."""
    for detector in (cv2.QRCodeDetector(), cv2.QRCodeDetectorAruco()):
        try:
            ok, texts, corners, straight = detector.detectAndDecodeMulti(grey)
        except cv2.error:
            continue
        found: list[FoundMark] = []
        codes: list[Any] = list(straight) if ok else []
        for text, quad, code in zip(texts, corners if ok else [], codes, strict=False):
            if text and code is not None and code.shape[0] >= 21:
                places = (np.asarray(quad, dtype=np.float64).reshape(4, 2) + 0.5) / factor - 0.5
                found.append(FoundMark(str(text), places, int(code.shape[0])))
        if found:
            return tuple(found)
    return ()


def fit_perspective(source: ArrayLike, target: ArrayLike, weights: ArrayLike | None = None) -> Array:
    """The homography (3, 3) that carries points (n, 2) to points (n, 2), n >= 4, by weighted least squares.

    Normalised direct linear transform, then Gauss-Newton on the true distances in the target.
    Source: Hartley1997.

    >>> square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    >>> (fit_perspective(square, [(2, 3), (4, 3), (4, 5), (2, 5)]).round(6) + 0)[0].tolist()
    [2.0, 0.0, 2.0]
    """
    points, places = np.asarray(source, dtype=np.float64), np.asarray(target, dtype=np.float64)
    weight = np.ones(len(points)) if weights is None else np.asarray(weights, dtype=np.float64)
    before, after = _normalising(points), _normalising(places)
    p, q = apply_perspective(before, points), apply_perspective(after, places)
    rows = np.zeros((2 * len(p), 9))
    rows[0::2, 0:2], rows[0::2, 2], rows[0::2, 6:8], rows[0::2, 8] = p, 1, -q[:, :1] * p, -q[:, 0]
    rows[1::2, 3:5], rows[1::2, 5], rows[1::2, 6:8], rows[1::2, 8] = p, 1, -q[:, 1:] * p, -q[:, 1]
    h = np.linalg.svd(rows * np.repeat(weight, 2)[:, None])[2][-1].reshape(3, 3)
    h = h / h[2, 2]
    for _ in range(5):
        mapped = np.concatenate([p, np.ones((len(p), 1))], axis=1)
        whole = mapped @ h.T
        at = whole[:, :2] / whole[:, 2:]
        jacobian = np.zeros((2 * len(p), 8))
        share = mapped / whole[:, 2:]
        jacobian[0::2, 0:3] = jacobian[1::2, 3:6] = share
        jacobian[0::2, 6:8] = -share[:, :2] * at[:, :1]
        jacobian[1::2, 6:8] = -share[:, :2] * at[:, 1:]
        heavy = np.repeat(weight, 2)
        step = np.linalg.lstsq(jacobian * heavy[:, None], (q - at).ravel() * heavy, rcond=None)[0]
        h = h + np.append(step, 0.0).reshape(3, 3)
    result = np.linalg.inv(after) @ h @ before
    return result / result[2, 2]


def fit_affine(source: ArrayLike, target: ArrayLike, weights: ArrayLike) -> Array:
    """The affine map (3, 3) that carries points (n, 2) to points (n, 2), n >= 3, by weighted least squares."""
    points, places = np.asarray(source, dtype=np.float64), np.asarray(target, dtype=np.float64)
    weight = np.asarray(weights, dtype=np.float64)[:, None]
    design = np.concatenate([points, np.ones((len(points), 1))], axis=1)
    result = np.eye(3)
    result[:2] = np.linalg.lstsq(design * weight, places * weight, rcond=None)[0].T
    return result


def apply_perspective(homography: Array, points: ArrayLike) -> Array:
    """Points (..., 2) through a homography (3, 3)."""
    points = np.asarray(points, dtype=np.float64)
    whole = points @ homography[:, :2].T + homography[:, 2]
    return whole[..., :2] / whole[..., 2:]


def _normalising(points: Array) -> Array:
    centre = points.mean(axis=0)
    scale = np.sqrt(2) / max(float(np.sqrt(((points - centre) ** 2).sum(axis=1)).mean()), 1e-12)
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1]])


def straightened(
    picture: Floats, to_picture: Array, box_mm: tuple[float, float, float, float], per_mm: float, bend: float = 0.0
) -> Floats:
    """The part of a sheet under a box, straight, `per_mm` pixels a millimetre, (rows, columns[, C]) float32.

    to_picture: homography from sheet mm to picture pixels. bend: radial lens term, see `bent`.
    Beyond the picture the answer is NaN. Each pixel is the mean over about its own area.
    """
    x, y, width, height = box_mm
    columns, rows = max(1, round(width * per_mm)), max(1, round(height * per_mm))
    if max(rows, columns) > LARGEST_SIDE or max(picture.shape[:2]) > LARGEST_SIDE:
        raise ValueError(f"more than {LARGEST_SIDE} rows or columns can't be straightened at once")
    over = _oversampling(picture, to_picture, box_mm, per_mm)
    u = x + (np.arange(columns * over) + 0.5) / (per_mm * over)
    v = y + (np.arange(rows * over) + 0.5) / (per_mm * over)
    grid = np.stack(np.meshgrid(u, v), axis=-1)
    fine = _looked_up(picture, bent(apply_perspective(to_picture, grid), picture.shape, bend))
    shape = (rows, over, columns, over, *picture.shape[2:])
    return fine.reshape(shape).mean(axis=(1, 3), dtype=np.float32)


def _oversampling(picture: Floats, to_picture: Array, box: tuple[float, float, float, float], per_mm: float) -> int:
    """Samples per answer pixel and side, so that none of the picture's pixels is stepped over; at most 4."""
    centre = np.array([box[0] + box[2] / 2, box[1] + box[3] / 2])
    here = apply_perspective(to_picture, centre + np.array([[0, 0], [1, 0], [0, 1]]))
    pixels_per_mm = float(np.abs(np.hypot(*(here[1:] - here[0]).T)).max())
    return int(np.clip(np.ceil(pixels_per_mm / per_mm - 0.25), 1, 4))


def bent(points: Array, shape: tuple[int, ...], bend: float) -> Array:
    """Straight-lens places to those of a lens with one radial term: r (1 + bend r^2), r in half diagonals.

    Source: Brown1966, first radial term.
    """
    if bend == 0:
        return points
    centre = (np.array([shape[1], shape[0]]) - 1) / 2
    x, y = points[..., 0] - centre[0], points[..., 1] - centre[1]
    grown = 1 + bend / float(centre @ centre) * (x * x + y * y)
    return np.stack([centre[0] + x * grown, centre[1] + y * grown], axis=-1)


def find_template(window: Floats, template: Floats) -> tuple[float, float, float]:
    """Where a template lies in a window: (x, y) of its upper left to a fraction of a pixel, and likeness -1 to 1.

    Normalised correlation, a parabola through its peak. Windows with NaN give likeness -1.
    """
    if not np.isfinite(window).all() or min(np.subtract(window.shape, template.shape)) < 2:
        return 0.0, 0.0, -1.0
    score = np.asarray(cv2.matchTemplate(window, template, cv2.TM_CCOEFF_NORMED), dtype=np.float64)
    score = np.where(np.isfinite(score), score, -1.0)
    row, column = (int(i) for i in np.unravel_index(int(score.argmax()), score.shape))
    return (
        column + _peak(score[row], column),
        row + _peak(score[:, column], row),
        float(score[row, column]),
    )


def _peak(line: Array, at: int) -> float:
    if at == 0 or at == len(line) - 1:
        return 0.0
    a, b, c = line[at - 1 : at + 2]
    bow = a - 2 * b + c
    return float(np.clip((a - c) / (2 * bow), -0.5, 0.5)) if bow < 0 else 0.0


def smoothed(picture: Floats, sigma_px: float) -> Floats:
    """A picture under a Gaussian of that standard deviation."""
    return picture if sigma_px <= 0 else np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma_px), dtype=np.float32)


def warped(picture: Floats, to_source: Array, size_px: tuple[int, int], bend: float = 0.0) -> Floats:
    """A picture seen through a homography from the answer's pixels to its own; NaN beyond it. size_px: width, height.

    bend: radial lens term of the answer, see `bent`. Linear between pixels: smooth the picture first when shrinking.
    """
    if max(*size_px, *picture.shape[:2]) > LARGEST_SIDE:
        raise ValueError(f"more than {LARGEST_SIDE} rows or columns can't be warped at once")
    across, down = np.meshgrid(np.arange(size_px[0], dtype=np.float64), np.arange(size_px[1], dtype=np.float64))
    grid: Array = np.stack([across, down], axis=-1)
    plain = grid
    for _ in range(2 if bend else 0):
        plain = plain + (grid - bent(plain, (size_px[1], size_px[0]), bend))
    return _looked_up(picture, apply_perspective(to_source, plain))


def _looked_up(picture: Floats, at: Array) -> Floats:
    """The picture at places (H, W, 2), linear between pixels; NaN beyond its edge."""
    across, down = (np.ascontiguousarray(at[..., i], dtype=np.float32) for i in range(2))
    outside = (np.nan,) * 4
    seen = cv2.remap(picture, across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=outside)
    return np.asarray(seen, dtype=np.float32)


def jpeg_bytes(picture: Bytes, quality: int, ppi: float | None = None) -> bytes:
    """An RGB picture (H, W, 3) uint8 as an untagged JPEG, colours at half resolution; with a resolution when given."""
    ok, data = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    if not ok:
        raise ValueError("the picture can't be written as JPEG")
    file = bytearray(data.tobytes())
    if ppi is not None and bytes(file[6:11]) == b"JFIF\0":
        file[13] = 1
        file[14:18] = round(ppi).to_bytes(2, "big") * 2
    return bytes(file)
