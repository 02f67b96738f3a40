"""Capture facts worth keeping: camera, lens, exposure, date, resolution; from EXIF (CIPA DC-008-2023)."""

from __future__ import annotations

import re
import struct
from dataclasses import dataclass, field
from typing import Final

from wallworthy.raster.tags import BytesReader, Directory, TagError, Tags, read_tags, sub_directory

MAKE: Final = 271
MODEL: Final = 272
ORIENTATION: Final = 274
X_RESOLUTION: Final = 282
RESOLUTION_UNIT: Final = 296
EXIF: Final = 34665
EXPOSURE_TIME: Final = 33434
F_NUMBER: Final = 33437
ISO: Final = 34855
TAKEN: Final = 36867
OFFSET: Final = 36881
FOCAL_LENGTH: Final = 37386
COLOUR_SPACE: Final = 40961
LENS: Final = 42036
INTEROPERABILITY: Final = 40965


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
    try:
        return facts_of(read_tags(BytesReader(block)))
    except (TagError, struct.error):
        return ExifFacts()


def facts_of(tags: Tags, page: int = 0) -> ExifFacts:
    """Facts from directories already read; tags that can't be read are passed over."""
    first = tags.directories[page]
    exif = sub_directory(first, EXIF)
    orientation = _number(first, ORIENTATION)
    interoperability = sub_directory(exif, INTEROPERABILITY) if exif else None
    return ExifFacts(
        orientation=int(orientation) if orientation in range(1, 9) else 1,
        said_srgb=exif is not None and _number(exif, COLOUR_SPACE) == 1,
        said_oprgb=interoperability is not None and _text(interoperability, 1) == "R03",
        capture=_capture(first, exif),
    )


def _capture(first: Directory, exif: Directory | None) -> dict[str, str]:
    make, model = _text(first, MAKE), _text(first, MODEL)
    camera = model if make and model.lower().startswith(make.lower().split(" ")[0]) else f"{make} {model}".strip()
    facts = {"camera": camera}
    per_inch = {2: 1.0, 3: 2.54}.get(int(_number(first, RESOLUTION_UNIT) or 2), 0.0)
    resolution = _number(first, X_RESOLUTION) * per_inch
    if 1 < resolution < 100_000:
        facts["resolution"] = f"{resolution:.4g} ppi"
    if exif is not None:
        facts["lens"] = _text(exif, LENS)
        facts["exposure"] = _exposure(_number(exif, EXPOSURE_TIME))
        aperture, focal, iso = (_number(exif, tag) for tag in (F_NUMBER, FOCAL_LENGTH, ISO))
        facts["aperture"] = f"f/{aperture:.2g}" if 0 < aperture < 1000 else ""
        facts["focal_length"] = f"{focal:.4g} mm" if 0 < focal < 100_000 else ""
        facts["iso"] = f"{iso:.0f}" if 0 < iso < 10_000_000 else ""
        facts["taken"] = _moment(_text(exif, TAKEN), _text(exif, OFFSET))
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


def _number(directory: Directory, tag: int) -> float:
    """The tag's first number; 0 when absent, damaged or not finite."""
    try:
        if directory.entries.get(tag) is not None and directory.entries[tag].count > 64:
            return 0.0
        value = float(next(iter(directory.numbers(tag)), 0.0))
    except (TagError, struct.error, OverflowError):
        return 0.0
    return value if abs(value) < 1e18 else 0.0


def _text(directory: Directory, tag: int) -> str:
    try:
        return directory.text(tag)
    except TagError:
        return ""
