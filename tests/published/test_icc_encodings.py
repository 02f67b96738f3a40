"""The encodings of the profile connection space, as the standard prints them."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from support.lut_eval import decode
from support.printed import printed_rows
from wallworthy.icc.encode import lab_to_integers, numbers_element, xyz_element
from wallworthy.icc.luts import Encoding, read_lut_span
from wallworthy.icc.read import looks_like_profile
from wallworthy.icc.span import Span
from wallworthy.icc.standard import srgb_profile, working_profile

TABLE = Path(__file__).with_name("ICC2022_pcs_encodings.csv")
ORDER = ("first", "second", "third")


def rows(encoding: str) -> list[tuple[list[float], list[int]]]:
    chosen = [row for row in printed_rows(TABLE) if row["encoding"] == encoding]
    return [([float(row[n]) for n in ORDER], [int(row[f"code_{n}"], 16) for n in ORDER]) for row in chosen]


@pytest.mark.source("ICC2022", "section 7.2.9, profile file signature 61637370h at bytes 36 to 39")
def test_the_file_signature() -> None:
    header = bytearray(40)
    assert not looks_like_profile(bytes(header))
    header[36:40] = bytes.fromhex("61637370")
    assert looks_like_profile(bytes(header))
    assert not looks_like_profile(bytes(header[:39]))


@pytest.mark.source("ICC2022", "section 10.10, legacy 16-bit PCSLAB")
@pytest.mark.parametrize(("lab", "codes"), rows("lab-legacy"))
def test_lab_in_version_2_tables(lab: list[float], codes: list[int]) -> None:
    assert lab_to_integers(lab, 2).tolist() == codes
    assert decode(np.array(codes) / 65535, Encoding.LAB_LEGACY) == pytest.approx(lab, abs=1e-12)


@pytest.mark.source("ICC2022", "section 6.3.4, PCSLAB 16-bit")
@pytest.mark.parametrize(("lab", "codes"), rows("lab"))
def test_lab_in_version_4_tables(lab: list[float], codes: list[int]) -> None:
    assert lab_to_integers(lab, 4).tolist() == codes
    half_a_step = 0.5 / 655.35
    assert decode(np.array(codes) / 65535, Encoding.LAB) == pytest.approx(lab, abs=half_a_step)


@pytest.mark.source("ICC2022", "section 6.3.4, PCSXYZ")
@pytest.mark.parametrize(("xyz", "codes"), rows("xyz"))
def test_xyz_in_tables(xyz: list[float], codes: list[int]) -> None:
    half_a_step = 0.5 / 32768
    assert decode(np.array(codes) / 65535, Encoding.XYZ) == pytest.approx(xyz, abs=half_a_step)


@pytest.mark.source("ICC2022", "section 7.2.16, PCS illuminant; section 4.6, s15Fixed16Number")
@pytest.mark.parametrize(("xyz", "codes"), rows("s15"))
def test_d50_in_header_and_white_point(xyz: list[float], codes: list[int]) -> None:
    whole = struct.pack(">3I", *codes)
    assert working_profile()[68:80] == whole
    assert srgb_profile()[68:80] == whole
    assert xyz_element(xyz) == b"XYZ " + bytes(4) + whole
    assert numbers_element(xyz)[8:] == whole


@pytest.mark.source("ICC2022", "section 10.10, legacy 16-bit PCSLAB in lut16Type whatever the profile's version")
@pytest.mark.parametrize(
    ("kind", "space", "encoding"),
    [
        (b"mft2", "LAB", Encoding.LAB_LEGACY),
        (b"mft1", "LAB", Encoding.LAB),
        (b"mft2", "XYZ", Encoding.XYZ),
        (b"mft2", "CMYK", Encoding.DEVICE),
    ],
)
def test_the_tag_type_decides_the_encoding(kind: bytes, space: str, encoding: Encoding) -> None:
    identity = struct.pack(">9i", *(65536 if n in (0, 4, 8) else 0 for n in range(9)))
    head = kind + bytes(4) + bytes([3, 3, 2, 0]) + identity
    body = struct.pack(">HH", 2, 2) + bytes(2 * (6 + 24 + 6)) if kind == b"mft2" else bytes(3 * 256 + 24 + 3 * 256)
    table = head + body
    found = read_lut_span(Span(table, 0, len(table), "the table", "the test"), "A2B0", ("RGB", space), (3, 3))
    assert found.output_encoding == encoding
    assert found.input_encoding == Encoding.DEVICE
