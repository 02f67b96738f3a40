"""Small profiles of every kind that we write, and tags put together by hand, for tests."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from functools import cache

import numpy as np

from wallworthy.icc.encode import multilingual_element, xyz_element
from wallworthy.icc.standard import display_p3_profile, grey_profile, lab_profile, srgb_profile, working_profile
from wallworthy.icc.tables import FromLab, OutputTables, ToLab
from wallworthy.icc.write import Version, assemble, output_profile


@cache
def small_output(version: Version = 2, space: str = "RGB", channels: int = 3) -> bytes:
    """An output profile with grids of three points: more of every ink, darker."""
    steps = np.linspace(0, 1, 3)
    device = np.stack(np.meshgrid(*[steps] * channels, indexing="ij"), axis=-1)
    lightness = 100 - 80 * device.mean(axis=-1)
    to_lab = ToLab(np.stack([lightness, 20 * device[..., 0], -10 * device[..., -1]], axis=-1))
    inks = np.repeat(np.linspace(1, 0, 3)[:, None, None, None], channels, axis=3) * np.ones((3, 3, 3, 1))
    return output_profile(
        OutputTables(
            description="Small paper",
            copyright="No copyright, use freely",
            space=space,
            white_xyz=(0.85, 0.88, 0.72),
            to_lab={"relative": to_lab},
            from_lab={"relative": FromLab(inks)},
            gamut=FromLab(np.zeros((3, 3, 3, 1))),
            measurements="CGATS.17",
        ),
        version=version,
    )


def all_kinds() -> dict[str, bytes]:
    return {
        "srgb": srgb_profile(),
        "display_p3": display_p3_profile(),
        "grey": grey_profile(),
        "working": working_profile(),
        "lab": lab_profile(),
        "output_2": small_output(2),
        "output_4": small_output(4),
        "output_cmyk": small_output(2, "CMYK", 4),
        "output_5": small_output(4, "5CLR", 5),
    }


def hand_made(device_class: str, space: str, pcs: str, tags: Mapping[str, bytes], version: Version = 4) -> bytes:
    """A profile with the given tag elements besides description, copyright and white."""
    common = {
        "desc": multilingual_element("Made by hand"),
        "cprt": multilingual_element("None"),
        "wtpt": xyz_element((0.9642, 1.0, 0.8249)),
    }
    return assemble(device_class, space, pcs, common | dict(tags), version=version)


def tag_place(data: bytes, signature: str) -> tuple[int, int, int]:
    """Where a tag's entry stands in the table, its offset and its size."""
    (count,) = struct.unpack_from(">I", data, 128)
    for n in range(count):
        at = 132 + 12 * n
        name, offset, size = struct.unpack_from(">4sII", data, at)
        if name.decode().strip() == signature:
            return at, offset, size
    raise KeyError(signature)


def patched(data: bytes, at: int, new: bytes) -> bytes:
    return data[:at] + new + data[at + len(new) :]
