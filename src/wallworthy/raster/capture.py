"""Capture facts worth keeping: camera, lens, exposure, date, resolution; from EXIF (CIPA DC-008-2023).

An EXIF block is a small TIFF, so tifffile reads it; a damaged one tells nothing.
"""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import tifffile

BLOCK_LIMIT_BYTES: Final = 1 << 20
RATIONALS: Final = ("XResolution", "FNumber", "FocalLength", "ExposureTime")


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """What an EXIF block tells. `said_srgb`: ColorSpace is 1. `said_oprgb`: marked R03 (IEC 61966-2-5)."""

    orientation: int = 1
    said_srgb: bool = False
    said_oprgb: bool = False
    capture: dict[str, str] = field(default_factory=dict[str, str])


def exif_facts(block: bytes) -> ExifFacts:
    """Facts from an EXIF block, with or without its 'Exif' prefix; a damaged block tells nothing."""
    if block[:6] in (b"Exif\0\0", b"Exif\0\xff"):
        block = block[6:]
    if block[:4] not in (b"II*\0", b"MM\0*") or len(block) > BLOCK_LIMIT_BYTES:
        return ExifFacts()
    try:
        with tifffile.TiffFile(io.BytesIO(block), is_ndpi=False, is_lsm=False) as opened:
            return exif_of(opened.pages.first)
    except Exception:
        # Nonsense makes tifffile raise ValueError, TypeError, struct.error and others, as it happens.
        return ExifFacts()


def exif_of(page: tifffile.TiffPage) -> ExifFacts:
    """Facts from a directory already read; tags that can't be read are passed over."""
    first: dict[str, Any] = {}
    for name, tag in (("Make", 271), ("Model", 272), ("Orientation", 274), ("XResolution", 282), ("Unit", 296)):
        with contextlib.suppress(Exception):  # whatever a lying tag makes tifffile raise
            first[name] = page.tags.valueof(tag)
    exif: dict[str, Any] = {}
    with contextlib.suppress(Exception):
        exif = dict(page.tags.valueof(34665) or {})
    orientation = _number(first, "Orientation")
    return ExifFacts(
        orientation=int(orientation) if orientation in range(1, 9) else 1,
        said_srgb=_number(exif, "ColorSpace") == 1,
        said_oprgb=_interoperability(page, exif) == "R03",
        capture=_capture(first, exif),
    )


def _interoperability(page: tifffile.TiffPage, exif: Mapping[str, Any]) -> str:
    with contextlib.suppress(Exception):
        page.parent.filehandle.seek(exif["InteroperabilityTag"])
        return str(tifffile.TiffPage(page.parent, 0).tags.valueof(1))
    return ""


def _capture(first: Mapping[str, Any], exif: Mapping[str, Any]) -> dict[str, str]:
    make, model = _text(first, "Make"), _text(first, "Model")
    camera = model if make and model.lower().startswith(make.lower().split(" ")[0]) else f"{make} {model}".strip()
    per_inch = {2: 1.0, 3: 2.54}.get(int(_number(first, "Unit") or 2), 0.0)
    resolution = _number(first, "XResolution") * per_inch
    aperture, focal, iso = (_number(exif, name) for name in ("FNumber", "FocalLength", "ISOSpeedRatings"))
    facts = {
        "camera": camera,
        "resolution": f"{resolution:.4g} ppi" if 1 < resolution < 100_000 else "",
        "lens": _text(exif, "LensModel"),
        "exposure": _exposure(_number(exif, "ExposureTime")),
        "aperture": f"f/{aperture:.2g}" if 0 < aperture < 1000 else "",
        "focal_length": f"{focal:.4g} mm" if 0 < focal < 100_000 else "",
        "iso": f"{iso:.0f}" if 0 < iso < 10_000_000 else "",
        "taken": _moment(_text(exif, "DateTimeOriginal"), _text(exif, "OffsetTimeOriginal")),
    }
    return {name: fact for name, fact in facts.items() if fact}


def _exposure(seconds: float) -> str:
    """
    >>> _exposure(0.004), _exposure(2.5)
    ('1/250 s', '2.5 s')
    """
    if not 0 < seconds < 1e6:
        return ""
    return f"1/{1 / seconds:.0f} s" if seconds < 0.35 else f"{seconds:.3g} s"


def _moment(text: str, offset: str) -> str:
    """EXIF's date as ISO 8601, with the offset when there is one; empty when it is no date.

    >>> _moment("2026:05:01 18:30:00", "+02:00")
    '2026-05-01T18:30:00+02:00'
    """
    match = re.fullmatch(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)", text)
    if not match or match.group(1) == "0000":
        return ""
    year, month, day, time = match.groups()
    return f"{year}-{month}-{day}T{time}" + (offset if re.fullmatch(r"[+-]\d\d:\d\d", offset) else "")


def _number(tags: Mapping[str, Any], name: str) -> float:
    """The tag's first number, a rational divided; 0 when absent, damaged or not finite."""
    value = tags.get(name, 0)
    with contextlib.suppress(TypeError, ValueError, OverflowError, ZeroDivisionError, IndexError):
        number = value[0] / value[1] if isinstance(value, tuple) and name in RATIONALS else value
        number = float(number[0] if isinstance(number, tuple) else number)
        return number if abs(number) < 1e18 else 0.0
    return 0.0


def _text(tags: Mapping[str, Any], name: str) -> str:
    """The tag's text: printable, one line, at most 120 characters."""
    value = tags.get(name, "")
    line = value.decode("utf-8", "replace") if isinstance(value, bytes) else value if isinstance(value, str) else ""
    return " ".join("".join(c if c.isprintable() else " " for c in line.split("\0")[0]).split())[:120]
