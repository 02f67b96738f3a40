"""Reading ICC profiles, versions 2 and 4: header, tag table, texts, white, what it can do.

Source: ICC.1:2022 sections 7.2 (header), 7.3 (tag table), 9.2 (tags). Whatever the bytes claim,
the answer is a `Profile` or an InputError of one sentence, and memory stays at the file's size.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from wallworthy.base.errors import InputError
from wallworthy.colour.lab import PCS_WHITE
from wallworthy.icc.curves import Curve, read_curve
from wallworthy.icc.luts import LutTag, read_lut_span
from wallworthy.icc.span import Span, damaged, sentence
from wallworthy.icc.text import read_text

LARGEST_BYTES: Final = 64 << 20
"""No printing profile comes near this; larger files are refused before they are read."""

PROFILES_KEPT: Final = 6
KEPT_BYTES: Final = 8 << 20
"""The last few profiles of at most this size stay checked: a page asks for the same ones all the time."""

MOST_TAGS: Final = 100
HEADER_BYTES: Final = 128

SPACES: Final[dict[bytes, tuple[str, int]]] = {
    b"RGB ": ("RGB", 3),
    b"GRAY": ("GRAY", 1),
    b"CMYK": ("CMYK", 4),
    b"CMY ": ("CMY", 3),
    b"Lab ": ("LAB", 3),
    b"XYZ ": ("XYZ", 3),
    b"Luv ": ("LUV", 3),
    b"YCbr": ("YCBR", 3),
    b"Yxy ": ("YXY", 3),
    b"HSV ": ("HSV", 3),
    b"HLS ": ("HLS", 3),
} | {f"{n:X}CLR".encode(): (f"{n:X}CLR", n) for n in range(2, 16)}
"""Colour space signatures (ICC.1:2022 table 19): our name and the channels; many inks keep ICC's name, 2CLR to FCLR."""

CLASSES: Final = {
    "prtr": "an output profile",
    "mntr": "a display profile: it describes a screen, not a paper",
    "scnr": "an input profile: it describes a camera or scanner, not a paper",
    "spac": "a colour space profile: it describes an encoding, not a paper",
    "link": "a device link: it joins two devices and has no colours of its own",
    "abst": "an abstract profile: it changes colours and describes no device",
    "nmcl": "a named colour profile: it lists single colours and can't print a picture",
}
"""Profile classes (ICC.1:2022 table 18) in words."""

INTENT_TABLES: Final = {"perceptual": "0", "relative": "1", "saturation": "2"}

Tags = Mapping[str, tuple[int, int, str]]
"""Signature to (offset, size, type), blanks stripped."""


@dataclass(frozen=True, slots=True)
class Profile:
    """A checked profile and its bytes.

    `intents`: what it carries in the direction it is used in (B2A tables for output profiles, A2B
    for the others; 'relative' for matrix and grey curve profiles). `is_matrix`: it works by
    curves and matrix (or one grey curve) and has no A2B table. `white_xyz`: its media white as
    the colour engine takes it, D50 adapted, Y 0-1.
    """

    data: bytes = field(repr=False)
    sha256: str
    version: tuple[int, int]
    version_text: str
    device_class: str
    space: str
    channels: int
    pcs: str
    description: str
    copyright: str
    white_xyz: tuple[float, float, float]
    intents: tuple[str, ...]
    is_matrix: bool
    tags: Tags = field(repr=False)
    origin: str = "the profile"


def read_profile(path: str | Path) -> Profile:
    """Read and check a profile file. Raises InputError when it is missing, too large or no profile."""
    path = Path(path)
    return parse_profile(read_bytes(path), path.name)


def read_bytes(path: Path) -> bytes:
    """All bytes of an ordinary file of at most LARGEST_BYTES; InputError otherwise."""
    try:
        if not path.exists():
            raise InputError(
                "profile_missing", f"There is no file {path}.", "Check the name and the folder.", where=str(path)
            )
        if not path.is_file():
            raise InputError(
                "profile_not_file", f"{path} is not a file.", "Give the profile's own file.", where=str(path)
            )
        if path.stat().st_size > LARGEST_BYTES:
            raise InputError(
                "profile_too_large",
                f"{path.name} is larger than {LARGEST_BYTES >> 20} MB, which no profile is.",
                "Choose the profile itself, an .icc or .icm file.",
                where=str(path),
            )
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            "profile_unreadable",
            f"{path} can't be read: {error.strerror or error}.",
            "See to the file's permissions or its disk.",
            where=str(path),
        ) from error


def looks_like_profile(start: bytes) -> bool:
    """Whether the first 40 bytes carry the profile file signature 'acsp'. Source: ICC2022, section 7.2.9."""
    return start[36:40] == b"acsp"


def parse_profile(data: bytes, origin: str = "the profile") -> Profile:
    """Check the bytes of a profile and say what it is. `origin` names it in sentences.

    Raises InputError when the bytes are no profile, contradict themselves, or are of a version,
    space or kind that can't be used at all.
    """
    data = bytes(data)
    return _parsed_once(data, origin) if len(data) <= KEPT_BYTES else _parsed(data, origin)


@lru_cache(maxsize=PROFILES_KEPT)
def _parsed_once(data: bytes, origin: str) -> Profile:
    return _parsed(data, origin)


def _parsed(data: bytes, origin: str) -> Profile:
    if not looks_like_profile(data) or len(data) < HEADER_BYTES + 4:
        what = "is empty" if not data else "is not an ICC profile"
        raise InputError(
            "not_a_profile",
            sentence(origin, what),
            "Choose a profile, usually a file ending in .icc or .icm.",
            where=origin,
        )
    header = Span(data, 0, len(data), "the header", origin)
    tags = _tag_table(header)
    device_class, (space, channels), pcs = _kind(header)
    version = (data[8], data[9] >> 4)
    if version[0] not in (2, 4):
        raise InputError(
            "profile_version",
            sentence(origin, f"is of ICC version {version[0]}.{version[1]}, and only versions 2 and 4 can be read"),
            "Ask its maker for a version 2 or 4 profile.",
            where=origin,
        )
    version_text = f"{version[0]}.{version[1]}.{data[9] & 15}"
    profile = Profile(
        data=data,
        sha256=hashlib.sha256(data).hexdigest(),
        version=version,
        version_text=version_text,
        device_class=device_class,
        space=space,
        channels=channels,
        pcs=pcs,
        description=_text(data, tags, "desc", origin) or "a profile without a name",
        copyright=_text(data, tags, "cprt", origin),
        white_xyz=_white(data, tags, version, device_class, origin),
        intents=_intents(tags, device_class),
        is_matrix=_is_matrix(tags, space, device_class),
        tags=tags,
        origin=origin,
    )
    _check_model(profile)
    return profile


def tag_span(profile: Profile, signature: str) -> Span:
    """The bytes of one tag. Raises InputError when the profile has no such tag."""
    if signature not in profile.tags:
        raise InputError(
            "tag_missing",
            sentence(profile.origin, f"has no '{signature}' table"),
            "Choose another profile or another rendering intent.",
            where=profile.origin,
        )
    return _span(profile.data, profile.tags, signature, profile.origin)


def read_lut(profile: Profile, signature: str) -> LutTag:
    """The table under a signature such as 'A2B1', 'B2A0' or 'gamt', parsed.

    Raises InputError when it is missing or damaged.
    """
    pcs_channels = channels_of(profile.pcs)
    device, pcs = (profile.space, profile.channels), (profile.pcs, pcs_channels)
    before, after = (device, pcs) if signature.startswith("A2B") else (pcs, device)
    if signature == "gamt":
        after = ("GRAY", 1)
    span = tag_span(profile, signature)
    return read_lut_span(span, signature, (before[0], after[0]), (before[1], after[1]))


def read_tag_curve(profile: Profile, signature: str) -> Curve:
    """The curve under rTRC, gTRC, bTRC or kTRC. Raises InputError when missing or damaged."""
    return read_curve(tag_span(profile, signature))[0]


def read_tag_xyz(profile: Profile, signature: str) -> tuple[float, float, float]:
    """The XYZ under wtpt, bkpt, rXYZ, gXYZ or bXYZ. Raises InputError when missing or damaged."""
    return _xyz(tag_span(profile, signature))


def read_tag_text(profile: Profile, signature: str) -> str:
    """The text under a signature, one line. Raises InputError when missing or damaged."""
    return read_text(tag_span(profile, signature))


def channels_of(space: str) -> int:
    """Channels of a colour space by our name for it: 'LAB' 3, 'CMYK' 4, 'ACLR' 10."""
    return next(count for name, count in SPACES.values() if name == space)


def require_output(profile: Profile) -> None:
    """Raise InputError with the reason unless a picture can be printed through this profile."""

    def refuse(code: str, reason: str) -> InputError:
        return InputError(
            code,
            f"'{profile.description}' can't be printed with: {reason}.",
            "Choose an output profile for your printer and paper.",
            where=profile.origin,
        )

    if profile.device_class != "prtr":
        raise refuse("profile_class", f"it is {CLASSES[profile.device_class]}")
    if profile.space not in ("RGB", "GRAY", "CMYK") and not profile.space.endswith("CLR"):
        raise refuse("profile_space", f"its colour space, {profile.space}, is not one that printers take")
    if not any(f"A2B{n}" in profile.tags for n in "01"):
        raise refuse("profile_tables", "it lacks the table that says what the paper will show (A2B)")
    if not any(f"B2A{n}" in profile.tags for n in "01"):
        raise refuse("profile_tables", "it lacks the table that turns colours into ink (B2A)")


def _tag_table(header: Span) -> Tags:
    """Signatures with their places, each known to lie inside the file and after the table."""
    size, claimed, count = len(header.data), header.u32(0), header.u32(HEADER_BYTES)
    if claimed > size + 3:
        raise damaged(header.origin, f"it claims {claimed:,} bytes but holds only {size:,}; it was cut short")
    if count > MOST_TAGS:
        raise damaged(header.origin, f"it claims {count:,} tags, which no profile has")
    first = HEADER_BYTES + 4 + 12 * count
    header.need(0, first)
    tags: dict[str, tuple[int, int, str]] = {}
    for index in range(count):
        at = HEADER_BYTES + 4 + 12 * index
        name = _name(header.bytes(at, 4))
        offset, length = header.u32(at + 4), header.u32(at + 8)
        if name in tags:
            raise damaged(header.origin, f"its tag '{name}' is there twice")
        if offset + length > size:
            raise damaged(header.origin, f"its tag '{name}' reaches past the end of the file")
        if offset < first:
            raise damaged(header.origin, f"its tag '{name}' lies on top of the profile's own table")
        if length < 8:
            raise damaged(header.origin, f"its tag '{name}' is too short to hold anything")
        tags[name] = (offset, length, _name(header.bytes(offset, 4)))
    return MappingProxyType(tags)


def _kind(header: Span) -> tuple[str, tuple[str, int], str]:
    device_class = _name(header.bytes(12, 4))
    if device_class not in CLASSES:
        raise damaged(header.origin, f"it is of an unknown kind, '{device_class}'")
    space, pcs = SPACES.get(header.bytes(16, 4)), SPACES.get(header.bytes(20, 4))
    if space is None or pcs is None:
        unknown = header.bytes(16 if space is None else 20, 4)
        raise damaged(header.origin, f"its colour space, '{_name(unknown)}', is unknown")
    if pcs[0] not in ("LAB", "XYZ") and device_class != "link":
        raise damaged(header.origin, f"it connects through {pcs[0]} instead of Lab or XYZ")
    return device_class, space, pcs[0]


def _name(raw: bytes) -> str:
    text = raw.decode("latin-1").rstrip(" \0")
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _span(data: bytes, tags: Tags, signature: str, origin: str) -> Span:
    offset, size, _ = tags[signature]
    return Span(data, offset, size, f"its tag '{signature}'", origin)


def _text(data: bytes, tags: Tags, signature: str, origin: str) -> str:
    """A text, or nothing where it is missing or garbled: words don't make a paper unusable."""
    if signature not in tags:
        return ""
    try:
        return read_text(_span(data, tags, signature, origin))
    except InputError:
        return ""


def _xyz(span: Span) -> tuple[float, float, float]:
    if span.bytes(0, 4) != b"XYZ ":
        raise damaged(span.origin, f"{span.what} holds something other than XYZ")
    x, y, z = span.s15(8, 3)
    return x, y, z


def _white(
    data: bytes, tags: Tags, version: tuple[int, int], device_class: str, origin: str
) -> tuple[float, float, float]:
    """The media white: D50 when absent, and for v2 displays, whose tag often holds the screen's own white."""
    d50 = (float(PCS_WHITE[0]), float(PCS_WHITE[1]), float(PCS_WHITE[2]))
    if "wtpt" not in tags or (version[0] < 4 and device_class == "mntr"):
        return d50
    white = _xyz(_span(data, tags, "wtpt", origin))
    if not all(0.0 < value <= 4.0 for value in white):
        raise damaged(origin, "its white is no colour")
    return white


def _intents(tags: Tags, device_class: str) -> tuple[str, ...]:
    prefix = "B2A" if device_class == "prtr" else "A2B"
    carried = tuple(intent for intent, n in INTENT_TABLES.items() if prefix + n in tags)
    return carried or (("relative",) if any(tag.endswith("TRC") for tag in tags) else ())


def _is_matrix(tags: Tags, space: str, device_class: str) -> bool:
    if device_class in ("link", "abst", "nmcl") or any(f"A2B{n}" in tags for n in "012"):
        return False
    if space == "GRAY":
        return "kTRC" in tags
    return space == "RGB" and all(letter + part in tags for letter in "rgb" for part in ("XYZ", "TRC"))


def _check_model(profile: Profile) -> None:
    """Parse every table and curve the colour engine would use, so that lies show now and not later."""
    tables = [tag for tag in profile.tags if tag in {a + n for a in ("A2B", "B2A") for n in "012"}]
    if profile.device_class == "nmcl":
        return
    for signature in tables:
        read_lut(profile, signature)
    if profile.device_class in ("link", "abst"):
        return
    if profile.is_matrix:
        for tag in ("k",) if profile.space == "GRAY" else ("r", "g", "b"):
            read_tag_curve(profile, f"{tag}TRC")
            if tag != "k":
                read_tag_xyz(profile, f"{tag}XYZ")
    elif not tables:
        raise damaged(profile.origin, "it has neither tables nor a matrix, so no colour can be read from it")
