"""Small output profiles of stated behaviour, made byte by byte (lut16Type, ICC.1:2022 10.10), for tests only."""

from __future__ import annotations

import itertools
import struct
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Map = Callable[[Array], Array]

CHANNELS = {"GRAY": 1, "RGB": 3, "CMYK": 4, "6CLR": 6}


def synthetic_profile(
    space: str,
    device_to_lab: Map,
    lab_to_device: Map,
    *,
    version: int = 2,
    a2b_nodes: int = 9,
    b2a_nodes: int = 17,
    perceptual_lab_to_device: Map | None = None,
    white: tuple[float, float, float] = (0.9642, 1.0, 0.8249),
) -> bytes:
    """Bytes of an output profile with the same A2B0-2, and B2A1-2 and B2A0 from the given maps.

    device_to_lab takes (n, C) in 0-1 and gives Lab (n, 3); lab_to_device the reverse.
    """
    channels = CHANNELS[space]
    a2b = _lut16(channels, 3, a2b_nodes, lambda device: _lab_to_unit(device_to_lab(device)))
    b2a = _lut16(3, channels, b2a_nodes, lambda unit: lab_to_device(_unit_to_lab(unit)))
    perceptual = perceptual_lab_to_device or lab_to_device
    b2a0 = _lut16(3, channels, b2a_nodes, lambda unit: perceptual(_unit_to_lab(unit)))
    text = b"text\0\0\0\0made for a test\0"
    name = b"made for a test\0"
    desc = b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + bytes(8) + bytes(3) + bytes(67)
    wtpt = b"XYZ \0\0\0\0" + struct.pack(">3i", *(round(v * 65536) for v in white))
    tags = {b"desc": desc, b"cprt": text, b"wtpt": wtpt}
    tags |= {b"A2B0": a2b, b"A2B1": a2b, b"A2B2": a2b, b"B2A0": b2a0, b"B2A1": b2a, b"B2A2": b2a}
    return _assembled(space, version, tags)


def _assembled(space: str, version: int, tags: dict[bytes, bytes]) -> bytes:
    table, body, start = b"", b"", 128 + 4 + 12 * len(tags)
    for signature, data in tags.items():
        data += bytes(-len(data) % 4)
        table += struct.pack(">4sII", signature, start + len(body), len(data))
        body += data
    size = start + len(body)
    header = struct.pack(">I4sI4s4s4s", size, bytes(4), version << 24, b"prtr", space.encode().ljust(4), b"Lab ")
    header += bytes(12) + b"acsp" + bytes(28) + struct.pack(">3I", 0xF6D6, 0x10000, 0xD32D)
    return header.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body


def _lut16(inputs: int, outputs: int, nodes: int, unit_map: Map) -> bytes:
    axis = np.linspace(0, 1, nodes)
    grid = np.array(list(itertools.product(axis, repeat=inputs)))
    clut = np.round(np.clip(unit_map(grid), 0, 1) * 65535).astype(">u2")
    identity = np.array([0, 65535], dtype=">u2").tobytes()
    head = b"mft2\0\0\0\0" + bytes([inputs, outputs, nodes, 0])
    head += struct.pack(">9i", *(65536 if i % 4 == 0 else 0 for i in range(9))) + struct.pack(">2H", 2, 2)
    return head + identity * inputs + clut.tobytes() + identity * outputs


def _lab_to_unit(lab: Array) -> Array:
    """The 16-bit legacy Lab encoding (L* 100 = FF00h, a* 0 = 8000h) as a share of FFFFh."""
    return np.stack([lab[:, 0] * 652.8, (lab[:, 1] + 128) * 256, (lab[:, 2] + 128) * 256], axis=-1) / 65535


def _unit_to_lab(unit: Array) -> Array:
    code = unit * 65535
    return np.stack([code[:, 0] / 652.8, code[:, 1] / 256 - 128, code[:, 2] / 256 - 128], axis=-1)
