"""A virtual flatbed and a virtual phone: what they make of a printed sheet.

Both see the print by a sensor that is not quite an observer (small cross terms between channels, a
tone curve a little off), in uneven light, at an angle, with noise, and save a JPEG. All invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from wallworthy.colour.float32 import lab_to_xyz_ratio32, planes_of
from wallworthy.colour.lab import PCS_WHITE
from wallworthy.raster.vision import apply_perspective, fit_perspective, jpeg_bytes, smoothed, warped
from wallworthy.trial.scanfile import XYZ_TO_LIGHT

Array = NDArray[np.float64]
Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]
Kind = Literal["flatbed", "phone"]

MARGIN_MM = 12.0
TONES = 1 << 16


@dataclass(frozen=True, slots=True, eq=False)
class Viewing:
    """How one scan comes about. Angles in degrees; shares are of the whole; `crossing` (3, 3) has rows of sum 1."""

    kind: Kind
    ppi: float
    turn_deg: float
    corner_shift: Array
    """(4, 2): how far each corner is moved, as a share of the sheet's size."""
    falloff: Array
    """(4,): light at right over left and bottom over top (half differences), at the rim, and its sideways centre."""
    gamma: float
    exposure: float
    crossing: Array
    flare: float
    noise: float
    blur_px: float
    bend: float
    background: float
    quality: int = 80


def draw_viewing(
    kind: Kind,
    random: np.random.Generator,
    *,
    perspective: float = 0.03,
    falloff: float = 0.10,
    ppi: float | None = None,
    quality: int = 80,
) -> Viewing:
    """A scan's circumstances by chance. A flatbed lies flat, so it gets no perspective; its light falls off less."""
    flat = kind == "flatbed"
    crossing = np.eye(3) + random.normal(0, 0.012 if flat else 0.02, (3, 3))
    crossing /= crossing.sum(axis=1, keepdims=True)
    share = falloff * (0.4 if flat else 1.0)
    return Viewing(
        kind=kind,
        ppi=ppi or (200.0 if flat else float(random.uniform(170, 230))),
        turn_deg=float(random.choice([0, 90, 180, 270]) + random.normal(0, 1.0))
        if flat
        else float(random.uniform(0, 360)),
        corner_shift=np.zeros((4, 2)) if flat else random.uniform(-perspective, perspective, (4, 2)),
        falloff=np.append(random.uniform(-share, share, 2) / 2, [-random.uniform(0, share), random.uniform(-0.2, 0.2)]),
        gamma=float(np.exp(random.normal(0, 0.02 if flat else 0.035))),
        exposure=float(random.uniform(0.80, 0.95)),
        crossing=crossing,
        flare=float(random.uniform(0, 0.002 if flat else 0.006)),
        noise=0.004 if flat else 0.008,
        blur_px=float(random.uniform(0.4, 0.8)),
        bend=0.0 if flat else float(random.uniform(-0.008, 0.008)),
        background=float(random.uniform(0.6, 0.95)) if flat else float(random.uniform(0.05, 0.4)),
        quality=quality,
    )


def scan_pixels(lab: Floats, print_ppi: float, viewing: Viewing, seed: int = 0) -> Bytes:
    """The scan of a print, ICC-absolute Lab (H, W, 3), as sRGB-like numbers (rows, columns, 3) uint8."""
    random = np.random.default_rng(seed)
    height, width = lab.shape[:2]
    mixing = (viewing.crossing @ XYZ_TO_LIGHT * PCS_WHITE[None, :]).astype(np.float32)
    light = np.ascontiguousarray((mixing @ lab_to_xyz_ratio32(planes_of(lab))).T).reshape(lab.shape)
    shrinking = print_ppi / viewing.ppi
    light = smoothed(light, float(np.hypot(viewing.blur_px * shrinking, 0.4 * max(shrinking - 1, 0))))
    to_print, size = _placed(width, height, viewing, shrinking)
    seen = warped(light, to_print, size, viewing.bend)
    paper = float(np.nanmax(light[..., 1]))
    seen = np.where(np.isfinite(seen), seen, np.float32(viewing.background * paper))
    rows, columns = seen.shape[:2]
    v, u = np.linspace(-1, 1, rows, dtype=np.float32)[:, None], np.linspace(-1, 1, columns, dtype=np.float32)[None, :]
    along, down, rim, centre = (np.float32(value) for value in viewing.falloff)
    field = (1 + along * u + down * v) * (1 + rim * ((u - centre) ** 2 + v**2) / 2)
    exposed = seen * (field * np.float32(viewing.exposure / paper))[..., None]
    tones = np.linspace(0, 1, TONES, dtype=np.float32) * np.float32(1 - viewing.flare) + np.float32(viewing.flare)
    curve = _signal((tones ** np.float32(viewing.gamma)).astype(np.float32))
    signal = curve.take((np.clip(exposed, 0, 1) * np.float32(TONES - 1)).astype(np.int32))
    signal += random.standard_normal(signal.shape, dtype=np.float32) * np.float32(viewing.noise)
    return np.clip(np.rint(signal * 255), 0, 255).astype(np.uint8)


def scan_file(lab: Floats, print_ppi: float, viewing: Viewing, seed: int = 0) -> bytes:
    """As `scan_pixels`, as a JPEG file; a flatbed states its resolution, a phone says 72."""
    pixels = scan_pixels(lab, print_ppi, viewing, seed)
    return jpeg_bytes(pixels, viewing.quality, viewing.ppi if viewing.kind == "flatbed" else 72.0)


def _placed(width: int, height: int, viewing: Viewing, shrinking: float) -> tuple[Array, tuple[int, int]]:
    """Homography from the scan's pixels to the print's, and the scan's width and height."""
    corners = np.array([(-0.5, -0.5), (width - 0.5, -0.5), (width - 0.5, height - 0.5), (-0.5, height - 0.5)])
    moved = corners + viewing.corner_shift * np.array([width, height])
    angle = np.radians(viewing.turn_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    laid = (moved - moved.mean(axis=0)) @ turn.T / shrinking
    margin = MARGIN_MM / 25.4 * viewing.ppi
    low = laid.min(axis=0) - margin
    size = np.ceil(laid.max(axis=0) + margin - low).astype(int)
    return fit_perspective(laid - low, corners), (int(size[0]), int(size[1]))


def _signal(light: Floats) -> Floats:
    """Linear light to an sRGB-like signal. Source: IEC61966."""
    bright = np.float32(1.055) * light ** np.float32(1 / 2.4) - np.float32(0.055)
    return np.where(light <= 0.0031308, light * np.float32(12.92), bright).astype(np.float32)


def sheet_places(lab_shape: tuple[int, ...], print_ppi: float, viewing: Viewing, points_mm: Array) -> Array:
    """Where points of the sheet (mm) lie in the scan (pixels), the lens left out: the truth for tests."""
    to_print, _ = _placed(lab_shape[1], lab_shape[0], viewing, print_ppi / viewing.ppi)
    return apply_perspective(
        np.asarray(np.linalg.inv(to_print), dtype=np.float64), np.asarray(points_mm) / 25.4 * print_ppi - 0.5
    )
