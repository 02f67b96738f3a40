"""Profile bytes: matrix RGB, grey curve and output profiles, ICC versions 2 and 4.

The same arguments give the same bytes: the creation date is an argument with a fixed default.
Source: ICC.1:2022 sections 7.2 (header), 7.3 (tag table), 8 (required tags), 10 (tag types);
version 2 types as ICC.1:2001-04.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wallworthy.colour.lab import PCS_WHITE
from wallworthy.icc.curves import Curve
from wallworthy.icc.encode import (
    Version,
    description_element,
    from_lab_element,
    multilingual_element,
    numbers_element,
    text_element,
    to_lab_element,
    xyz_element,
)
from wallworthy.icc.read import SPACES, channels_of
from wallworthy.icc.span import S15_ONE
from wallworthy.icc.tables import INTENTS, FromLab, Intent, OutputTables, ToLab

Array = NDArray[np.float64]
Table = TypeVar("Table", ToLab, FromLab)

VERSION_BYTES: Final[dict[int, int]] = {2: 0x02400000, 4: 0x04300000}
FIRST_DAY: Final = datetime(2026, 1, 1)
"""The creation date written unless another is given, so that bytes repeat."""


def matrix_profile(
    description: str,
    copyright: str,
    to_xyz: ArrayLike,
    curve: Curve,
    *,
    adaptation: ArrayLike | None = None,
    version: Version = 2,
    created: datetime = FIRST_DAY,
) -> bytes:
    """An RGB display profile of one curve and a matrix.

    to_xyz: (3, 3), linear RGB to XYZ under D50, its rows summing to (0.9642, 1, 0.8249). curve: device
    to linear, 0-1. adaptation: (3, 3) from the space's own white to D50, for the 'chad' tag.
    """
    tags = _texts(description, copyright, version) | {"wtpt": xyz_element(PCS_WHITE)} | _chad(adaptation)
    tags |= _colorants(np.asarray(to_xyz, dtype=np.float64)) | {f"{name}TRC": curve.encode() for name in "rgb"}
    return assemble("mntr", "RGB", "XYZ", tags, version=version, created=created)


def grey_profile_of(
    description: str,
    copyright: str,
    curve: Curve,
    *,
    adaptation: ArrayLike | None = None,
    version: Version = 2,
    created: datetime = FIRST_DAY,
) -> bytes:
    """A grey display profile: one curve from device to Y, 0-1."""
    tags = _texts(description, copyright, version) | {"wtpt": xyz_element(PCS_WHITE), "kTRC": curve.encode()}
    return assemble("mntr", "GRAY", "XYZ", tags | _chad(adaptation), version=version, created=created)


def output_profile(tables: OutputTables, *, version: Version = 2, created: datetime = FIRST_DAY) -> bytes:
    """An output profile with A2B0-2, B2A0-2 and, if given, gamt and targ; PCS Lab.

    Version 2 writes lut16 tables, version 4 lutAToB and lutBToA of 16 bits. A conforming output
    profile has a gamut table. Raises ValueError for tables whose shapes don't belong together.
    """
    channels = channels_of(tables.space)
    tags = _texts(tables.description, tables.copyright, version) | {"wtpt": xyz_element(tables.white_xyz)}
    if tables.black_xyz is not None and version == 2:
        tags["bkpt"] = xyz_element(tables.black_xyz)
    tags |= _intents("A2B", tables.to_lab, lambda table: to_lab_element(table, channels, version))
    tags |= _intents("B2A", tables.from_lab, lambda table: from_lab_element(table, channels, version))
    if tables.gamut is not None:
        tags["gamt"] = from_lab_element(tables.gamut, 1, version)
    if tables.measurements is not None:
        tags["targ"] = text_element(tables.measurements)
    return assemble(
        "prtr",
        tables.space,
        "LAB",
        tags | dict(tables.extra),
        version=version,
        created=created,
        attributes=2 if tables.matt else 0,
    )


def assemble(
    device_class: str,
    space: str,
    pcs: str,
    tags: Mapping[str, bytes],
    *,
    version: Version,
    created: datetime = FIRST_DAY,
    attributes: int = 0,
) -> bytes:
    """Header, tag table and elements; equal elements are stored once, each on a multiple of four bytes."""
    signatures = {name: raw for raw, (name, _) in SPACES.items()}
    table, body, places = b"", b"", dict[bytes, int]()
    start = 128 + 4 + 12 * len(tags)
    for name, element in tags.items():
        if element not in places:
            places[element] = start + len(body)
            body += element + bytes(-len(element) % 4)
        table += struct.pack(">4sII", name.encode().ljust(4), places[element], len(element))
    header = struct.pack(
        ">III4s4s4s6H4sIIIIQI3I",
        start + len(body),
        0,
        VERSION_BYTES[version],
        device_class.encode().ljust(4),
        signatures[space],
        signatures[pcs],
        *(created.year, created.month, created.day, created.hour, created.minute, created.second),
        b"acsp",
        *(0, 0, 0, 0, attributes, 0),
        *(round(value * S15_ONE) for value in PCS_WHITE.tolist()),
    ).ljust(128, b"\0")
    data = header + struct.pack(">I", len(tags)) + table + body
    return data[:84] + profile_id(data) + data[100:] if version == 4 else data


def profile_id(data: bytes) -> bytes:
    """The MD5 fingerprint of a v4 profile, its flags, rendering intent and ID counted as zero.

    Source: ICC.1:2022 section 7.2.18.
    """
    blank = bytearray(data)
    for start, end in ((44, 48), (64, 68), (84, 100)):
        blank[start:end] = bytes(end - start)
    return hashlib.md5(bytes(blank), usedforsecurity=False).digest()


def _intents(prefix: str, tables: Mapping[Intent, Table], encode: Callable[[Table], bytes]) -> dict[str, bytes]:
    """The three tags of a direction; an intent that is missing borrows, and one object is encoded once."""
    spare = next((tables[intent] for intent in ("relative", "perceptual", "saturation") if intent in tables), None)
    if spare is None:
        raise ValueError("an output profile needs tables both ways")
    done: dict[int, bytes] = {}
    tags: dict[str, bytes] = {}
    for number, intent in enumerate(INTENTS):
        table = tables.get(intent, spare)
        if id(table) not in done:
            done[id(table)] = encode(table)
        tags[f"{prefix}{number}"] = done[id(table)]
    return tags


def _texts(description: str, copyright: str, version: Version) -> dict[str, bytes]:
    if version == 4:
        return {"desc": multilingual_element(description), "cprt": multilingual_element(copyright)}
    return {"desc": description_element(description), "cprt": text_element(copyright)}


def _chad(adaptation: ArrayLike | None) -> dict[str, bytes]:
    return {} if adaptation is None else {"chad": numbers_element(np.asarray(adaptation, dtype=np.float64))}


def _colorants(to_xyz: Array) -> dict[str, bytes]:
    """rXYZ, gXYZ, bXYZ; rounded so that they add up to D50 to the last bit and white stays white."""
    whole = np.round(to_xyz * S15_ONE).astype(int)
    left = np.round(PCS_WHITE * S15_ONE).astype(int) - whole.sum(axis=1)
    if np.abs(left).max() > 16:
        raise ValueError("the colorants don't add up to D50")
    whole[np.arange(3), to_xyz.argmax(axis=1)] += left
    return {f"{name}XYZ": xyz_element(whole[:, column] / S15_ONE) for column, name in enumerate("rgb")}
