"""The header of a JPEG: its segments walked to the end marker (ITU-T T.81, annex B), no pixel decoded."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from wallworthy.base.records import Notice
from wallworthy.raster.capture import ExifFacts, exif_facts
from wallworthy.raster.facts import RasterFacts, Space
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported

BASELINE_FRAMES: Final = (0xC0, 0xC1)
PROGRESSIVE_FRAME: Final = 0xC2
ALL_FRAMES: Final = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
SEGMENTS_LIMIT: Final = 100_000
WINDOW: Final = 1 << 20
REAL_MARKER: Final = re.compile(rb"\xff+[^\x00\xff\xd0-\xd7]", re.DOTALL)
"""In entropy-coded data: any marker but stuffing and restarts."""


@dataclass(slots=True)
class _Found:
    frame: tuple[int, int, int, int, int] | None = None
    """marker, precision, height, width, components"""
    scans: int = 0
    exif: bytes = b""
    profile: dict[int, bytes] = field(default_factory=dict[int, bytes])
    profile_pieces: int = 0
    density: tuple[int, int] | None = None


def read_jpeg(file: OpenedFile) -> RasterFacts:
    """Facts of a JPEG. Raises InputError when it is cut short, damaged or of a kind not read."""
    found = _walk(file)
    if found.frame is None or not found.scans:
        raise damaged(file.path, "it holds no picture")
    marker, precision, height, width, components = found.frame
    if precision != 8 or marker not in (*BASELINE_FRAMES, PROGRESSIVE_FRAME):
        raise unsupported(file.path, "it is a lossless, arithmetic-coded or 12-bit JPEG")
    spaces: dict[int, Space] = {1: "GRAY", 3: "RGB", 4: "CMYK"}
    if components not in spaces:
        raise unsupported(file.path, f"it has {components} colour channels")
    check_size(file.path, width, height, file.size)
    several_scans = marker == PROGRESSIVE_FRAME or found.scans > 1
    if several_scans:
        check_whole(file.path, width * height * components * 2, "a progressive JPEG")
    exif = exif_facts(found.exif) if found.exif else ExifFacts()
    icc = _profile(file, found)
    notices = ()
    if exif.said_oprgb and icc is None:
        notices = (
            Notice(
                "said_oprgb",
                "The camera marked the file as opRGB (IEC 61966-2-5) but put no profile in; "
                "use --assume with that profile if the colours look dull.",
            ),
        )
    capture = exif.capture
    if found.density and "resolution" not in capture and 1 < found.density[1] < 60_000:
        capture = {**capture, "resolution": f"{found.density[1] * (2.54 if found.density[0] == 2 else 1):.4g} ppi"}
    return RasterFacts(
        path=file.path,
        format="JPEG",
        width_px=height if exif.orientation >= 5 else width,
        height_px=width if exif.orientation >= 5 else height,
        orientation=exif.orientation,
        bits=8,
        floating=False,
        space=spaces[components],
        alpha="none",
        icc=icc,
        said_space="srgb" if exif.said_srgb and icc is None else None,
        capture=capture,
        notices=notices,
        stamp=file.stamp,
        whole=several_scans,
    )


def _walk(file: OpenedFile) -> _Found:
    found = _Found()
    at = 2
    for _ in range(SEGMENTS_LIMIT):
        head = file.read(at, 4)
        if len(head) < 2:
            raise truncated(file.path)
        if head[0] != 0xFF:
            raise damaged(file.path, "its segments do not follow each other")
        marker = head[1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0xD9:
            return found
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:
            at += 2
            continue
        if len(head) < 4:
            raise truncated(file.path)
        length = int.from_bytes(head[2:4], "big")
        if length < 2:
            raise damaged(file.path, "a segment has no length")
        if at + 2 + length > file.size:
            raise truncated(file.path)
        if marker == 0xDA or marker in ALL_FRAMES or marker in (0xE0, 0xE1, 0xE2):
            _take(file, found, marker, file.read(at + 4, length - 2))
        at += 2 + length
        if marker == 0xDA:
            at = _after_scan(file, at)
    raise damaged(file.path, "it has more segments than a picture needs")


def _take(file: OpenedFile, found: _Found, marker: int, body: bytes) -> None:
    if marker == 0xDA:
        found.scans += 1
    elif marker in ALL_FRAMES:
        if len(body) < 6 or found.frame is not None:
            raise damaged(file.path, "its frame header is wrong")
        height, width = int.from_bytes(body[1:3], "big"), int.from_bytes(body[3:5], "big")
        found.frame = (marker, body[0], height, width, body[5])
    elif marker == 0xE0 and body[:5] == b"JFIF\0" and len(body) >= 12 and body[7] in (1, 2):
        found.density = (body[7], int.from_bytes(body[8:10], "big"))
    elif marker == 0xE1 and body[:4] == b"Exif" and not found.exif:
        found.exif = body
    elif marker == 0xE2 and body[:12] == b"ICC_PROFILE\0" and len(body) > 14:
        found.profile.setdefault(body[12], body[14:])
        found.profile_pieces = max(found.profile_pieces, body[13])


def _after_scan(file: OpenedFile, at: int) -> int:
    """Where the next marker stands after entropy-coded data."""
    while at < file.size:
        window = file.read(at, WINDOW)
        match = REAL_MARKER.search(window)
        if match:
            return at + match.end() - 2
        at += max(1, len(window) - 1)
    raise truncated(file.path)


def _profile(file: OpenedFile, found: _Found) -> bytes | None:
    if not found.profile:
        return None
    wanted = range(1, max(found.profile_pieces, 1) + 1)
    if any(number not in found.profile for number in wanted):
        raise damaged(file.path, "a piece of its embedded profile is missing")
    return b"".join(found.profile[number] for number in wanted)
