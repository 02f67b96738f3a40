"""Writers refuse what a format can't hold and leave nothing half-written."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from support.disks import small_disk
from wallworthy.base.errors import InputError, TroubleError
from wallworthy.raster.form import FileForm, Format
from wallworthy.raster.write import write_picture

FORMATS: list[Format] = ["tiff", "png", "jpeg"]


def noise(rows: int, width: int) -> Iterator[NDArray[np.uint8]]:
    rng = np.random.default_rng(4)
    for _ in range(rows // 50):
        yield rng.integers(0, 256, (50, width, 3), dtype=np.uint8)


def form(name: Format, rows: int = 1000, width: int = 1000, **other: Any) -> FileForm:
    plain: dict[str, Any] = {"channels": 3, "bits": 8, "space": "RGB", "ppi": 300.0}
    return FileForm(name, width, rows, **(plain | other))


@pytest.mark.parametrize("name", FORMATS)
def test_full_disk_leaves_nothing(tmp_path: Path, name: Format) -> None:
    with small_disk(tmp_path / "disk", "512k") as disk:
        with pytest.raises(TroubleError) as caught:
            write_picture(disk / f"a.{name}", noise(1000, 1000), form(name))
        assert caught.value.code == "disk_full"
        assert list(disk.iterdir()) == []


@pytest.mark.parametrize("name", FORMATS)
def test_failing_strips_leave_nothing(tmp_path: Path, name: Format) -> None:
    def strips() -> Iterator[NDArray[np.uint8]]:
        yield from noise(500, 1000)
        raise InputError("cut", "The picture ends too early.", "Save it again.")

    with pytest.raises(InputError, match="too early"):
        write_picture(tmp_path / "a", strips(), form(name))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", FORMATS)
@pytest.mark.parametrize("rows", [950, 1050])
def test_wrong_number_of_rows_is_a_fault(tmp_path: Path, name: Format, rows: int) -> None:
    with pytest.raises(ValueError, match="rows came"):
        write_picture(tmp_path / "a", noise(rows, 1000), form(name))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", FORMATS)
def test_never_overwrites_unless_told(tmp_path: Path, name: Format) -> None:
    target = tmp_path / "a"
    target.write_bytes(b"mine")
    with pytest.raises(InputError, match="there already"):
        write_picture(target, noise(1000, 1000), form(name))
    assert target.read_bytes() == b"mine"
    write_picture(target, noise(1000, 1000), form(name), overwrite=True)
    assert target.stat().st_size > 1000


@pytest.mark.parametrize("name", FORMATS)
def test_same_strips_same_bytes(tmp_path: Path, name: Format) -> None:
    sums = [write_picture(tmp_path / str(n), noise(1000, 1000), form(name)) for n in range(2)]
    assert sums[0] == sums[1]
    assert (tmp_path / "0").read_bytes() == (tmp_path / "1").read_bytes()


@pytest.mark.parametrize(
    ("given", "code"),
    [
        (form("jpeg", channels=4, space="CMYK"), "format_inks"),
        (form("png", channels=4, space="CMYK"), "format_inks"),
        (form("jpeg", bits=16), "format_bits"),
        (form("jpeg", width=65_501), "format_too_large"),
        (form("tiff", width=0), "picture_empty"),
    ],
)
def test_refusals_come_before_any_pixel(tmp_path: Path, given: FileForm, code: str) -> None:
    def never() -> Iterator[NDArray[np.uint8]]:
        raise AssertionError("pixels were asked for")
        yield

    with pytest.raises(InputError) as caught:
        write_picture(tmp_path / "a", never(), given)
    assert caught.value.code == code
    assert list(tmp_path.iterdir()) == []
