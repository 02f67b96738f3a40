"""A card of known colours beside the sheet: the only ground for absolute colour.

The file is CSV (or any table of the same columns). Lines before the table say where the card lies:

    # corners_px: 120,80 980,85 975,700 118,690
    name,x,y,width,height,L,a,b
    white,0.02,0.05,0.10,0.15,95.1,0.2,-0.4

corners_px: the card's four corners in the picture as seen, upper left first, clockwise (column,row).
x to height: each patch's box in shares of the card, 0-1. L, a, b: as measured, D50, absolute.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.raster.vision import apply_perspective, fit_perspective, straightened
from wallworthy.trial.scanfile import Scan
from wallworthy.trial.straighten import StraightSheet

Array = NDArray[np.float64]

LARGEST_BYTES: Final = 1 << 20
INSET: Final = 0.25
PIXELS: Final = 24
"""Samples along a side of each patch."""


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceCard:
    """corners_px (4, 2) in the picture file's pixels; boxes (n, 4) in shares of the card; lab (n, 3) absolute, D50."""

    names: tuple[str, ...]
    corners_px: Array
    boxes: Array
    lab: Array


def read_reference(path: Path) -> ReferenceCard:
    """A card from a CSV file. Raises InputError when it can't be read or lacks something."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise _unusable(f"{path.name} is larger than any card's table.", str(path))
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _unusable(f"{path.name} is not a text file.", str(path)) from error
    except OSError as error:
        raise InputError(
            "file_unreadable",
            f"{path} can't be read: {error.strerror or error}.",
            "Check the name and the permissions.",
            where=str(path),
        ) from error
    lines = text.splitlines()
    comments = [line.lstrip("# ").strip() for line in lines if line.startswith("#")]
    keywords = {key.strip(): value.strip() for key, _, value in (line.partition(":") for line in comments)}
    rows = list(csv.DictReader(line for line in lines if line.strip() and not line.startswith("#")))
    return reference_of(keywords, rows, path.name)


def reference_of(
    keywords: Mapping[str, str], rows: Sequence[Mapping[str, str | None]], origin: str = "the card"
) -> ReferenceCard:
    """A card from a table's keywords and rows, wherever they were read from; also CGATS names (LAB_L ...).

    Raises InputError naming what is missing.
    """
    corners = re.findall(r"-?\d+(?:\.\d+)?", keywords.get("corners_px", keywords.get("CORNERS_PX", "")))
    if len(corners) != 8:
        raise _unusable(f"{origin} does not say where the card's four corners lie in the picture.", origin)
    names: list[str] = []
    values: list[list[float]] = []
    for row in rows:
        plain = {str(key).upper().removeprefix("LAB_"): value for key, value in row.items()}
        try:
            values.append([float(plain[key] or "") for key in ("X", "Y", "WIDTH", "HEIGHT", "L", "A", "B")])
        except (KeyError, ValueError):
            raise _unusable(f"{origin} has a row without x, y, width, height, L, a and b.", origin) from None
        names.append(str(plain.get("NAME") or plain.get("SAMPLE_ID") or len(names) + 1))
    table = np.array(values, dtype=np.float64).reshape(-1, 7)
    boxes, lab = table[:, :4], table[:, 4:]
    fits = np.isfinite(table).all() and (boxes >= 0).all() and (boxes[:, :2] + boxes[:, 2:] <= 1.0001).all()
    if not len(table) or not fits or lab[:, 0].min() < 0 or lab[:, 0].max() > 110 or np.abs(lab[:, 1:]).max() > 200:
        raise _unusable(f"{origin} has patches off the card or colours no paper can show.", origin)
    return ReferenceCard(tuple(names), np.array(corners, dtype=np.float64).reshape(4, 2), boxes, lab)


def card_light(scan: Scan, card: ReferenceCard, straight: StraightSheet) -> tuple[Array, float]:
    """Mean light (n, 3) of the card's patches in the sheet's even light, and how uncertain that makes them (dE00).

    The light's slope over the sheet is carried on to the card; half of what that changes is taken
    as its uncertainty. Patches outside the picture are NaN.
    """
    corners = (card.corners_px + 0.5) / scan.factor - 0.5
    to_picture = fit_perspective([(0, 0), (1, 0), (1, 1), (0, 1)], corners)
    light = np.full((len(card.boxes), 3), np.nan)
    middles = np.zeros((len(card.boxes), 2))
    for i, (x, y, width, height) in enumerate(card.boxes.tolist()):
        inner = (x + INSET * width, y + INSET * height, width * (1 - 2 * INSET), height * (1 - 2 * INSET))
        window = (inner[0] * PIXELS / inner[2], inner[1] * PIXELS / inner[3], float(PIXELS), float(PIXELS))
        scaled = to_picture @ np.diag([inner[2] / PIXELS, inner[3] / PIXELS, 1.0])
        part = straightened(scan.light, scaled, window, 1.0).reshape(-1, 3)
        light[i] = part.mean(axis=0, dtype=np.float64)
        middles[i] = apply_perspective(to_picture, [x + width / 2, y + height / 2])
    back = np.asarray(np.linalg.inv(straight.pose.to_picture), dtype=np.float64)
    area = straight.area_mm
    away = apply_perspective(back, middles) - np.array([area[0] + area[2] / 2, area[1] + area[3] / 2])
    change = np.clip(away @ straight.tilt[:, 1:].T, -0.3, 0.3)
    doubt = 0.5 * float(np.abs(change - change.mean(axis=0)).mean()) * 25
    return light / np.exp(change), doubt + 0.25 * float(np.abs(change.mean())) * 25


def _unusable(text: str, where: str) -> InputError:
    return InputError(
        "reference_unusable",
        text,
        "Give the card's corners and, for each patch, its box on the card and its measured Lab.",
        where=where,
    )
