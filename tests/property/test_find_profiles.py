"""Profiles are found by what they are, wherever they lie, and nothing found can do harm."""

from __future__ import annotations

import io
import os
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest

from support.small_profiles import small_output
from wallworthy.base.errors import InputError
from wallworthy.icc.find import DEEPEST, MOST_FILES, MOST_PROFILES, find_profiles
from wallworthy.icc.standard import display_p3_profile, srgb_profile

pytestmark = pytest.mark.practice

PAPER = small_output(2)
PAPER_4 = small_output(4)


def zipped(entries: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", method) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return memory.getvalue()


def written(path: Path, data: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


def test_a_file_by_content_not_by_name(tmp_path: Path) -> None:
    [found] = find_profiles(written(tmp_path / "paper.download", PAPER))
    assert (found.description, found.name, found.problem) == ("Small paper", "paper.download", None)
    assert found.data == PAPER


def test_an_archive_with_folders_and_other_things(tmp_path: Path) -> None:
    archive = zipped(
        {
            "kit/Lesen.txt": b"Guten Tag",
            "kit/v2/gloss.icc": PAPER,
            "kit/v4/gloss": PAPER_4,
            "kit/screen.ICM": srgb_profile(),
            "kit/copy of gloss.icc": PAPER,
            "__MACOSX/kit/v2/._gloss.icc": b"\0\5\x16\7" + bytes(100),
            "kit/broken.icc": PAPER[:900],
            "kit/picture.icc": b"\xff\xd8\xff\xe0" + bytes(60),
            "kit/empty.icc": b"",
        }
    )
    found = find_profiles(written(tmp_path / "kit.zip", archive))
    sound = {one.name: one.description for one in found if one.problem is None}
    assert sound == {
        "kit/copy of gloss.icc": "Small paper",
        "kit/screen.ICM": "sRGB (IEC 61966-2-1)",
        "kit/v4/gloss": "Small paper",
    }
    problems = {one.name: one.problem for one in found if one.problem}
    assert problems.keys() == {"kit/broken.icc", "kit/picture.icc", "kit/empty.icc"}
    assert "cut short" in (problems["kit/broken.icc"] or "")
    assert problems["kit/empty.icc"] == "empty.icc is empty."
    assert [one.name for one in found] == sorted(one.name for one in found)


def test_a_folder_with_subfolders_and_archives(tmp_path: Path) -> None:
    written(tmp_path / "a" / "b" / "paper.icc", PAPER)
    written(tmp_path / "a" / "kit.zip", zipped({"inside.icc": PAPER_4}))
    written(tmp_path / "notes.txt", b"nothing")
    written(tmp_path / "cut.zip", zipped({"inside.icc": PAPER_4})[:300])
    (tmp_path / "a" / "round").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "gone.icc").symlink_to(tmp_path / "nowhere")
    os.mkfifo(tmp_path / "pipe.icc")
    found = find_profiles(tmp_path)
    assert [(one.name, one.problem is None) for one in found] == [
        ("a/b/paper.icc", True),
        ("a/kit.zip/inside.icc", True),
        ("cut.zip", False),
    ]


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("none.txt", b"hello", "no ICC profile"),
        ("empty.zip", zipped({}), "no ICC profile"),
        ("text.zip", zipped({"a.txt": b"hello"}), "no ICC profile"),
        ("cut.zip", zipped({"a.icc": PAPER})[:200], "can't be opened"),
        ("signature.zip", b"PK\3\4", "can't be opened"),
        ("tail.zip", b"PK\5\6" + b"\xff" * 18, "more files than|can't be opened"),
    ],
)
def test_nothing_to_be_found(tmp_path: Path, name: str, data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        find_profiles(written(tmp_path / name, data))


def test_missing_and_empty_places(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="There is no file"):
        find_profiles(tmp_path / "nowhere.zip")
    with pytest.raises(InputError, match="no ICC profile"):
        find_profiles(tmp_path)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="is not a file"):
        find_profiles(tmp_path / "pipe")


def test_a_damaged_entry_spoils_only_itself(tmp_path: Path) -> None:
    archive = bytearray(zipped({"a.icc": PAPER, "b.icc": display_p3_profile()}, zipfile.ZIP_STORED))
    archive[archive.index(PAPER) + 700] ^= 0xFF
    found = find_profiles(written(tmp_path / "kit.zip", bytes(archive)))
    assert [(one.name, one.problem is None) for one in found] == [("a.icc", False), ("b.icc", True)]
    assert "can't be unpacked" in (found[0].problem or "")


def test_locked_and_oddly_packed_entries(tmp_path: Path) -> None:
    locked = bytearray(zipped({"a.icc": PAPER}))
    for signature, flags in ((b"PK\3\4", 6), (b"PK\1\2", 8)):
        locked[locked.index(signature) + flags] |= 1
    [found] = find_profiles(written(tmp_path / "locked.zip", bytes(locked)))
    assert "password" in (found.problem or "")
    [odd] = find_profiles(written(tmp_path / "odd.zip", zipped({"a.icc": PAPER}, zipfile.ZIP_BZIP2)))
    assert "unpack the archive first" in (odd.problem or "")


def test_a_bomb_takes_no_memory(tmp_path: Path) -> None:
    """A quarter of a gigabyte of zeros behind a profile's header, packed a thousandfold; the header asks for little."""
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for name, head in (("plain.bin", b""), ("paper.icc", PAPER)):
            with archive.open(name, "w", force_zip64=True) as file:
                file.write(head)
                for _ in range(64):
                    file.write(bytes(4 << 20))
    tracemalloc.start()
    [found] = find_profiles(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found.problem is None
    assert found.data.startswith(PAPER)
    assert peak < 8 << 20


def test_an_absurd_list_of_files_is_refused_unread(tmp_path: Path) -> None:
    archive = bytearray(zipped({"a.icc": PAPER}))
    end = archive.rindex(b"PK\5\6")
    archive[end + 12 : end + 16] = struct.pack("<I", 0x7FFFFFFF)
    with pytest.raises(InputError, match="more files than can be looked through"):
        find_profiles(written(tmp_path / "many.zip", bytes(archive)))


@pytest.mark.source("ZipAppnote", "sections 4.3.14 and 4.3.15, ZIP64 end of central directory")
def test_an_absurd_list_in_the_long_form_is_refused_unread(tmp_path: Path) -> None:
    archive = zipped({"a.icc": PAPER})
    end = archive.rindex(b"PK\5\6")
    record = b"PK\6\6" + struct.pack("<QHHIIQQQQ", 44, 45, 45, 0, 0, 1, 1, 0x7FFFFFFF, 0)
    locator = b"PK\6\7" + struct.pack("<IQI", 0, end, 1)
    with pytest.raises(InputError, match="more files than can be looked through"):
        find_profiles(written(tmp_path / "long.zip", archive[:end] + record + locator + archive[end:]))


def test_far_too_many_profiles_are_refused(tmp_path: Path) -> None:
    entries = {f"{n}.icc": PAPER + n.to_bytes(2, "big") for n in range(MOST_PROFILES + 1)}
    with pytest.raises(InputError, match="more profiles here than can be listed"):
        find_profiles(written(tmp_path / "many.zip", zipped(entries)))


def many_zipped() -> bytes:
    """20,005 small files, then a profile."""
    assert MOST_FILES == 20_000
    return zipped({f"{n:05d}.txt": b"x" for n in range(20_005)} | {"zz.icc": PAPER}, zipfile.ZIP_STORED)


def test_an_archive_of_too_many_files_is_refused_not_cut(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"kit\.zip holds more files than can be looked through") as refusal:
        find_profiles(written(tmp_path / "kit.zip", many_zipped()))
    assert refusal.value.code == "archive_too_large"


@pytest.mark.parametrize("name", ["kit.zip", "kit.download"])
def test_such_an_archive_in_a_folder_is_listed_with_its_problem(tmp_path: Path, name: str) -> None:
    written(tmp_path / name, many_zipped())
    written(tmp_path / "paper.icc", PAPER)
    assert [(one.name, one.problem is None) for one in find_profiles(tmp_path)] == [(name, False), ("paper.icc", True)]


def test_a_folder_of_too_many_files_is_refused_not_cut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("wallworthy.icc.find.MOST_FILES", 20)
    for n in range(20):
        written(tmp_path / "kit" / f"{n}.icc", PAPER + bytes([n]))
    assert len(find_profiles(tmp_path / "kit")) == 20
    written(tmp_path / "kit" / "last.txt", b"x")
    with pytest.raises(InputError, match="kit holds more files") as refusal:
        find_profiles(tmp_path / "kit")
    assert refusal.value.code == "archive_too_large"


def test_folders_too_deep_are_refused_not_cut(tmp_path: Path) -> None:
    deep = tmp_path.joinpath(*["in"] * DEEPEST)
    written(deep / "paper.icc", PAPER)
    assert len(find_profiles(tmp_path)) == 1
    written(deep / "in" / "paper.icc", PAPER_4)
    with pytest.raises(InputError, match="12 deep") as refusal:
        find_profiles(tmp_path)
    assert refusal.value.code == "archive_too_large"
