"""A file is whole or absent, whatever the disk does (base.files)."""

from __future__ import annotations

import errno
import os
import stat
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from support.disks import fill, read_only, shut_folder, small_disk
from wallworthy.base.errors import InputError, TroubleError
from wallworthy.base.files import make_folder, sha256_of, sweep, whole_file, write_whole

pytestmark = pytest.mark.practice


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def write_by(target: Path, write: Callable[[Path], object]) -> None:
    """Write a whole file by a function that is given the temporary path."""
    with whole_file(target) as temporary:
        write(temporary)


def test_bytes_come_back_and_nothing_else_is_left(tmp_path: Path) -> None:
    write_whole(tmp_path / "a.tif", b"abc")
    assert (tmp_path / "a.tif").read_bytes() == b"abc"
    assert names(tmp_path) == ["a.tif"]
    # FIPS 180-4's own example
    assert sha256_of(tmp_path / "a.tif") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_permissions_are_those_of_an_ordinary_file(tmp_path: Path) -> None:
    write_whole(tmp_path / "a", b"")
    (tmp_path / "b").touch()
    assert (tmp_path / "a").stat().st_mode == (tmp_path / "b").stat().st_mode


def test_replacing_keeps_the_permissions_and_needs_to_be_asked(tmp_path: Path) -> None:
    target = tmp_path / "a"
    write_whole(target, b"old")
    target.chmod(0o640)
    with pytest.raises(InputError, match="is there already") as refusal:
        write_whole(target, b"new")
    assert refusal.value.code == "file_exists"
    assert target.read_bytes() == b"old"
    write_whole(target, b"new", overwrite=True)
    assert target.read_bytes() == b"new"
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    assert names(tmp_path) == ["a"]


def test_a_file_that_appears_meanwhile_is_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "a"
    with pytest.raises(InputError, match="is there already"):
        write_by(target, lambda _: target.write_bytes(b"somebody else's"))
    assert target.read_bytes() == b"somebody else's"
    assert names(tmp_path) == ["a"]


def test_disks_without_hard_links_do_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", no_links)
    write_whole(tmp_path / "a", b"1")
    assert (tmp_path / "a").read_bytes() == b"1"
    with pytest.raises(InputError):
        write_by(tmp_path / "b", lambda _: (tmp_path / "b").write_bytes(b"theirs"))
    assert (tmp_path / "b").read_bytes() == b"theirs"
    assert names(tmp_path) == ["a", "b"]


def test_bytes_are_flushed_before_the_name_and_the_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    happened: list[str] = []
    real_fsync, real_link, real_replace = os.fsync, os.link, Path.replace

    def fsync(handle: int) -> None:
        happened.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "bytes")
        real_fsync(handle)

    def link(source: Path, target: Path) -> None:
        happened.append("name")
        real_link(source, target)

    def replace(source: Path, target: Path) -> Path:
        happened.append("name")
        return real_replace(source, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "link", link)
    monkeypatch.setattr(Path, "replace", replace)
    write_whole(tmp_path / "a", b"1")
    write_whole(tmp_path / "a", b"2", overwrite=True)
    assert happened == ["bytes", "name", "folder"] * 2


@pytest.mark.parametrize("failure", [ValueError("no"), KeyboardInterrupt()])
def test_a_block_that_fails_leaves_nothing(tmp_path: Path, failure: BaseException) -> None:
    def write_half(temporary: Path) -> None:
        temporary.write_bytes(b"half")
        raise failure

    with pytest.raises(type(failure)):
        write_by(tmp_path / "a", write_half)
    assert names(tmp_path) == []


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="does not exist") as refusal:
        write_whole(tmp_path / "missing" / "a", b"1")
    assert refusal.value.exit_status == 3


def test_a_file_for_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="does not exist"):
        write_whole(tmp_path / "file" / "a", b"1")


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_folder_under_that_name_is_refused(tmp_path: Path, overwrite: bool) -> None:
    (tmp_path / "a").mkdir()
    with pytest.raises(InputError, match="is a folder"):
        write_whole(tmp_path / "a", b"1", overwrite=overwrite)
    assert names(tmp_path) == ["a"]


def test_a_device_is_never_replaced(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="device"):
        write_whole(tmp_path / "pipe", b"1", overwrite=True)
    assert stat.S_ISFIFO((tmp_path / "pipe").stat().st_mode)


def test_a_dangling_link_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError, match="is there already"):
        write_whole(tmp_path / "a", b"1")
    assert names(tmp_path) == ["a"]


@pytest.mark.parametrize("name", ["a" * 250 + ".tif", "ß" * 120 + ".tif"])
def test_the_longest_names_can_be_written(tmp_path: Path, name: str) -> None:
    write_whole(tmp_path / name, b"1")
    assert (tmp_path / name).read_bytes() == b"1"


def test_a_name_too_long_is_refused_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(TroubleError, match="could not be written"):
        write_whole(tmp_path / ("a" * 300), b"1")
    assert names(tmp_path) == []


def test_a_full_disk_is_told_and_leaves_nothing(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        with pytest.raises(TroubleError, match="disk is full") as refusal:
            write_whole(disk / "a.tif", bytes(2 << 20))
        assert (refusal.value.code, refusal.value.exit_status) == ("disk_full", 4)
        assert names(disk) == []
        write_whole(disk / "a.tif", bytes(1 << 19))
        with pytest.raises(TroubleError, match="disk is full"):
            write_whole(disk / "a.tif", bytes(1 << 20), overwrite=True)
        assert (disk / "a.tif").read_bytes() == bytes(1 << 19)
        assert names(disk) == ["a.tif"]


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EIO])
def test_the_disk_s_refusal_is_told_and_leaves_nothing(tmp_path: Path, number: int) -> None:
    """The same without a disk of one's own: the system's error, raised where it would come."""

    def refuse(temporary: Path) -> None:
        temporary.write_bytes(b"half")
        raise OSError(number, os.strerror(number))

    with pytest.raises(TroubleError) as refusal:
        write_by(tmp_path / "a", refuse)
    assert refusal.value.code == ("disk_trouble" if number == errno.EIO else "disk_full")
    assert names(tmp_path) == []


def test_a_full_disk_is_recognised_behind_a_library_s_own_error(tmp_path: Path) -> None:
    def write_until_full(temporary: Path) -> None:
        fill(temporary.parent)
        raise RuntimeError(f"unable to write to {temporary}")

    with small_disk(tmp_path / "disk") as disk:
        with pytest.raises(TroubleError, match="disk is full"):
            write_by(disk / "a", write_until_full)
        assert names(disk) == ["ballast"]


def test_a_library_s_error_on_a_disk_with_room_stays_what_it_is(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="unable"), whole_file(tmp_path / "a"):
        raise RuntimeError("unable")
    assert names(tmp_path) == []


def test_a_read_only_folder_is_told(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk") as disk:
        write_whole(disk / "a", b"1")
        with read_only(disk):
            with pytest.raises(TroubleError, match="could not be written") as refusal:
                write_whole(disk / "a", b"2", overwrite=True)
            with pytest.raises(TroubleError, match="could not be written"):
                make_folder(disk / "new")
        assert refusal.value.exit_status == 4
        assert (disk / "a").read_bytes() == b"1"
        assert names(disk) == ["a"]


def test_a_folder_without_permission_is_told() -> None:
    with shut_folder() as folder:
        with pytest.raises(TroubleError, match="could not be written") as refusal:
            write_whole(folder / "a", b"1")
        with pytest.raises(TroubleError, match="could not be written"):
            make_folder(folder / "new")
        assert names(folder) == []
    assert refusal.value.exit_status == 4


def test_only_old_leftovers_are_swept(tmp_path: Path) -> None:
    old = [".a.tif.0123abcd.part.tif", ".journal.89abcdef.part"]
    kept = ["a.tif", ".hidden", ".a.tif.part", ".a.tif.0123abcd.part.tif.txt.bak", "a.tif.0123abcd.part"]
    for name in (*old, *kept):
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (0, time.time() - 7200))
    (tmp_path / ".b.tif.0123abcd.part.tif").touch()
    (tmp_path / ".c.0123abcd.part").mkdir()
    os.utime(tmp_path / ".c.0123abcd.part", (0, 0))
    assert sorted(path.name for path in sweep(tmp_path)) == sorted(old)
    assert names(tmp_path) == sorted([*kept, ".b.tif.0123abcd.part.tif", ".c.0123abcd.part"])


def test_sweeping_nothing_does_nothing(tmp_path: Path) -> None:
    assert sweep(tmp_path / "missing") == ()


def test_folders_are_made_with_those_above(tmp_path: Path) -> None:
    make_folder(tmp_path / "a" / "b" / "c")
    make_folder(tmp_path / "a" / "b" / "c")
    assert (tmp_path / "a" / "b" / "c").is_dir()
