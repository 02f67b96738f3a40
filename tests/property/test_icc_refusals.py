"""Each way a profile can be unusable has its own sentence."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest

from support.small_profiles import hand_made, patched, small_output, tag_place
from wallworthy.base.errors import InputError
from wallworthy.icc.curves import IDENTITY
from wallworthy.icc.encode import lut_b_only
from wallworthy.icc.read import parse_profile, read_lut, read_profile, require_output
from wallworthy.icc.standard import (
    display_p3_profile,
    grey_profile,
    lab_profile,
    srgb_profile,
    wide_profile,
    working_profile,
)
from wallworthy.icc.tables import FromLab, OutputTables, ToLab
from wallworthy.icc.write import Version, output_profile

pytestmark = pytest.mark.practice

GOOD = small_output(2)
FOUR_GB = struct.pack(">I", 0xFFFFFFF0)
SMALL_TABLES = (
    (0.9, 0.93, 0.77),
    {"relative": ToLab(np.zeros((2, 2, 2, 3)))},
    {"relative": FromLab(np.zeros((2, 2, 2, 3)))},
)
IDENTITY_TABLE = lut_b_only(b"mAB ", [IDENTITY.encode()] * 3)


def refusal_of(data: bytes, origin: str = "paper.icc") -> InputError:
    with pytest.raises(InputError) as refusal:
        parse_profile(data, origin)
    return refusal.value


def with_tag(signature: str, *, offset: int | None = None, size: int | None = None) -> bytes:
    at, was_at, was_size = tag_place(GOOD, signature)
    return patched(GOOD, at + 4, struct.pack(">II", was_at if offset is None else offset, size or was_size))


def in_tag(data: bytes, signature: str, at: int, new: bytes) -> bytes:
    return patched(data, tag_place(data, signature)[1] + at, new)


def renamed(old: str, new: str) -> bytes:
    return patched(GOOD, tag_place(GOOD, old)[0], new.encode().ljust(4))


@pytest.mark.parametrize(
    ("data", "code", "words"),
    [
        (b"", "not_a_profile", "is empty"),
        (b"II*\0" + bytes(500), "not_a_profile", "is not an ICC profile"),
        (patched(GOOD, 36, b"axsp"), "not_a_profile", "is not an ICC profile"),
        (GOOD[:130], "not_a_profile", "is not an ICC profile"),
        (GOOD[:-200], "profile_damaged", "cut short"),
        (patched(GOOD, 0, FOUR_GB), "profile_damaged", "4,294,967,280 bytes"),
        (patched(GOOD, 128, FOUR_GB), "profile_damaged", "4,294,967,280 tags"),
        (patched(GOOD, 128, b"\0\0\0\x0c"), "profile_damaged", "lies on top of"),
        (with_tag("A2B0", offset=0xFFFFFFF0), "profile_damaged", "past the end"),
        (with_tag("A2B0", size=0xFFFFFFF0), "profile_damaged", "past the end"),
        (with_tag("A2B0", offset=132), "profile_damaged", "on top of the profile's own table"),
        (with_tag("A2B0", size=4), "profile_damaged", "too short"),
        (with_tag("A2B0", size=60), "profile_damaged", "shorter than it claims"),
        (renamed("A2B0", "A2B1"), "profile_damaged", "there twice"),
        (patched(GOOD, 12, b"zzzz"), "profile_damaged", "unknown kind"),
        (patched(GOOD, 16, b"RBG "), "profile_damaged", "unknown"),
        (patched(GOOD, 16, b"CMYK"), "profile_damaged", "where the header asks for 4"),
        (patched(GOOD, 20, b"CMYK"), "profile_damaged", "instead of Lab or XYZ"),
        (patched(GOOD, 8, b"\x05\0"), "profile_version", "version 5.0"),
        (patched(GOOD, 8, b"\x01\0"), "profile_version", "version 1.0"),
        (in_tag(GOOD, "A2B0", 0, b"mpet"), "profile_damaged", "type that tables don't have"),
        (in_tag(GOOD, "A2B0", 10, b"\xff"), "profile_damaged", "shorter than it claims"),
        (in_tag(GOOD, "A2B0", 10, b"\x01"), "profile_damaged", "fewer than two points"),
        (in_tag(GOOD, "A2B0", 48, b"\xff\xff"), "profile_damaged", "65535 samples"),
        (in_tag(GOOD, "A2B0", 48, b"\0\0"), "profile_damaged", "0 samples"),
        (in_tag(GOOD, "wtpt", 8, bytes(12)), "profile_damaged", "white is no colour"),
        (in_tag(GOOD, "wtpt", 0, b"curv"), "profile_damaged", "other than XYZ"),
        (in_tag(display_p3_profile(), "rTRC", 8, b"\0\x09"), "profile_damaged", "curve of unknown kind 9"),
        (in_tag(srgb_profile(), "rTRC", 8, FOUR_GB), "profile_damaged", "shorter than it claims"),
        (in_tag(small_output(4), "A2B0", 24, FOUR_GB), "profile_damaged", "shorter than it claims"),
        (in_tag(small_output(4), "B2A0", 12, bytes(4)), "profile_damaged", "lacks its B curves"),
        (hand_made("mntr", "RGB", "LAB", {}), "profile_damaged", "neither tables nor a matrix"),
    ],
)
def test_unusable_bytes(data: bytes, code: str, words: str) -> None:
    refusal = refusal_of(data)
    assert refusal.code == code
    assert words in refusal.text
    assert refusal.text.startswith("paper.icc ")
    assert refusal.exit_status == 3


def test_without_a_name_the_sentence_still_starts_well() -> None:
    with pytest.raises(InputError, match=r"^The profile is empty\.$"):
        parse_profile(b"")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (srgb_profile(), "display profile: it describes a screen, not a paper"),
        (grey_profile(), "display profile"),
        (lab_profile(), "colour space profile"),
        (hand_made("abst", "LAB", "LAB", {"A2B0": IDENTITY_TABLE}), "abstract profile"),
        (hand_made("link", "RGB", "RGB", {"A2B0": IDENTITY_TABLE}), "device link"),
        (hand_made("nmcl", "RGB", "LAB", {}), "named colour profile"),
        (hand_made("scnr", "RGB", "LAB", {"A2B0": IDENTITY_TABLE}), "camera or scanner"),
        (hand_made("prtr", "RGB", "LAB", {"A2B0": IDENTITY_TABLE}), "turns colours into ink (B2A)"),
        (hand_made("prtr", "RGB", "LAB", {"B2A0": IDENTITY_TABLE}), "what the paper will show (A2B)"),
        (hand_made("prtr", "LAB", "LAB", {"A2B0": IDENTITY_TABLE, "B2A0": IDENTITY_TABLE}), "LAB, is not one that"),
        (patched(working_profile(), 12, b"prtr"), "what the paper will show (A2B)"),
    ],
)
def test_sound_profiles_that_are_no_output_profiles(data: bytes, words: str) -> None:
    profile = parse_profile(data)
    with pytest.raises(InputError) as refusal:
        require_output(profile)
    assert words in refusal.value.text
    assert profile.description in refusal.value.text


def test_what_output_profiles_carry() -> None:
    profile = parse_profile(GOOD)
    require_output(profile)
    assert profile.intents == ("perceptual", "relative", "saturation")
    only_first = parse_profile(hand_made("prtr", "RGB", "LAB", {"A2B0": IDENTITY_TABLE, "B2A0": IDENTITY_TABLE}))
    require_output(only_first)
    assert only_first.intents == ("perceptual",)
    only_relative = parse_profile(hand_made("prtr", "RGB", "LAB", {"A2B1": IDENTITY_TABLE, "B2A1": IDENTITY_TABLE}))
    require_output(only_relative)
    assert only_relative.intents == ("relative",)


@pytest.mark.parametrize("data", [srgb_profile(), display_p3_profile(), grey_profile(), wide_profile()])
def test_matrix_and_grey_profiles(data: bytes) -> None:
    profile = parse_profile(data)
    assert profile.is_matrix
    assert profile.intents == ("relative",)
    with pytest.raises(InputError, match="has no 'A2B0' table"):
        read_lut(profile, "A2B0")


def test_white_of_a_version_2_display_is_d50() -> None:
    tags = {f"{ink}{part}": element for ink in "rgb" for part, element in display_parts().items()}
    d65 = b"XYZ " + bytes(4) + struct.pack(">3i", 62289, 65536, 71372)
    for version, white in ((2, (0.9642, 1.0, 0.8249)), (4, (62289 / 65536, 1.0, 71372 / 65536))):
        profile = parse_profile(hand_made("mntr", "RGB", "XYZ", tags | {"wtpt": d65}, version=version))
        assert profile.white_xyz == white


def display_parts() -> dict[str, bytes]:
    return {"TRC": IDENTITY.encode(), "XYZ": b"XYZ " + bytes(4) + struct.pack(">3i", 20000, 20000, 20000)}


def test_equal_places_may_be_shared() -> None:
    at, offset, size = tag_place(GOOD, "A2B0")
    assert (offset, size) == tag_place(GOOD, "A2B1")[1:]
    assert at != tag_place(GOOD, "A2B1")[0]
    assert len(read_lut(parse_profile(GOOD), "A2B1").stages) == 3


def test_texts_lose_what_a_terminal_would_obey() -> None:
    at = tag_place(GOOD, "desc")[1]
    evil = b"Small\x1b]0;x\n"
    profile = parse_profile(patched(GOOD, at + 12, evil))
    assert profile.description.isprintable()
    assert profile.description == "Small ]0;x"


@pytest.mark.parametrize("size", [8, 14, 20])
def test_a_garbled_name_does_not_make_a_paper_unusable(size: int) -> None:
    profile = parse_profile(with_tag("desc", size=size))
    assert profile.description == "a profile without a name"
    require_output(profile)


@pytest.mark.parametrize("version", [2, 4])
def test_texts_with_accents(version: Version) -> None:
    tables = OutputTables("Büttenpapier, größer", "Niemand", "RGB", *SMALL_TABLES)
    description = parse_profile(output_profile(tables, version=version)).description
    assert description == ("Büttenpapier, größer" if version == 4 else "Buttenpapier, groer")


def test_tables_that_do_not_belong_together_are_refused() -> None:
    white, to_lab, from_lab = SMALL_TABLES
    for space, one, other in (
        ("CMYK", to_lab, from_lab),
        ("RGB", {}, from_lab),
        ("RGB", {"relative": ToLab(np.full((3, 3, 3, 3), np.nan))}, from_lab),
        ("RGB", to_lab, {"relative": FromLab(np.zeros((3, 4, 3, 3)))}),
        ("RGB", to_lab, {"relative": FromLab(np.zeros((2, 2, 2, 3)), (np.array([0, 0]),) * 3)}),
    ):
        with pytest.raises(ValueError, match=r"table|grid|nodes"):
            output_profile(OutputTables("Small", "None", space, white, one, other))


def test_files(tmp_path: Path) -> None:
    path = tmp_path / "paper.icc"
    path.write_bytes(GOOD)
    assert read_profile(path).origin == "paper.icc"
    assert read_profile(str(path)).data == GOOD
    for missing, words in ((tmp_path / "none.icc", "There is no file"), (tmp_path, "is not a file")):
        with pytest.raises(InputError, match=words):
            read_profile(missing)
    huge = tmp_path / "huge.icc"
    with huge.open("wb") as file:
        file.write(GOOD)
        file.truncate(5 << 30)
    with pytest.raises(InputError, match="larger than 64 MB"):
        read_profile(huge)
