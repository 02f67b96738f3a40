"""Writing pictures in strips: TIFF, PNG or JPEG, whole or not at all, with density and profile."""

from __future__ import annotations

import hashlib
import struct
import zlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, BinaryIO, Final

import numpy as np
import pyvips  # type: ignore[import-untyped]

from wallworthy.base.files import whole_file
from wallworthy.base.units import MM_PER_INCH
from wallworthy.raster.form import FileForm, jfif_density, require_possible
from wallworthy.raster.pipe import piped_image, png_chunk, strips_of
from wallworthy.raster.stream import Strip, rows_for
from wallworthy.raster.tiffout import write_tiff

JPEG_START_BYTES: Final = 2
PNG_HEAD_BYTES: Final = 33
APP2_BYTES: Final = 65_519
JPEG_QUALITY: Final = 95
PNG_LEVEL: Final = 2
"""With filter 'sub', measured: a photograph as small as by level 4; level 1 is faster and 40 per cent larger."""


def write_picture(target: Path, strips: Iterable[Strip], form: FileForm, *, overwrite: bool = False) -> str:
    """Write a picture from its strips; returns the SHA-256 of the decoded samples (C order, little-endian).

    strips: uint8 or uint16 by `form.bits`, (rows, width, channels), top to bottom. TIFF: deflate,
    inks as 'separated', BigTIFF when large. PNG: RGB or grey. JPEG: quality 95, colour not
    subsampled, RGB or grey; its samples are decoded again for the sum.

    Raises InputError when the format can't carry it, the folder is missing or the target exists,
    TroubleError when the disk refuses; then nothing is left behind. Errors of the strips pass through.
    """
    require_possible(form)
    digest = hashlib.sha256()
    checked = _summed(strips, form, digest)
    with whole_file(target, overwrite=overwrite) as temporary:
        if form.format == "tiff":
            write_tiff(temporary, checked, form)
        else:
            with temporary.open("wb") as file:
                _by_libvips(file, checked, form)
        return samples_sha256(temporary) if form.format == "jpeg" else digest.hexdigest()


def samples_sha256(path: Path) -> str:
    """SHA-256 of a picture file's decoded samples, C order, little-endian, read in strips by libvips."""
    image = pyvips.Image.new_from_file(str(path), access="sequential")
    digest = hashlib.sha256()
    for strip in strips_of(image, rows_for(image.width)):
        digest.update(strip.data)
    return digest.hexdigest()


def _summed(strips: Iterable[Strip], form: FileForm, digest: Any) -> Iterator[Strip]:
    """Let the strips pass and add them up; refuses a wrong shape, too many rows or too few."""
    rows = 0
    dtype = np.dtype(np.uint8 if form.bits == 8 else np.uint16)
    for strip in strips:
        if strip.dtype != dtype or strip.shape[1:] != (form.width_px, form.channels):
            raise ValueError(f"strip {strip.dtype} {strip.shape} does not belong to {form}")
        rows += strip.shape[0]
        whole = np.ascontiguousarray(strip)
        digest.update(whole.astype(dtype.newbyteorder("<"), copy=False).data)
        yield whole
    if rows != form.height_px:
        raise ValueError(f"{rows} rows came instead of {form.height_px}")


def _by_libvips(file: BinaryIO, strips: Iterable[Strip], form: FileForm) -> None:
    """PNG or JPEG, by libvips' own writers."""
    jpeg = form.format == "jpeg"
    extra = app_segments(form) if jpeg else icc_chunk(form)
    target, failures = _target(_inserting(file, JPEG_START_BYTES if jpeg else PNG_HEAD_BYTES, extra))
    per_mm = form.ppi / MM_PER_INCH
    try:
        with piped_image(
            strips, form.width_px, form.height_px, channels=3 if form.channels == 3 else 1, bits=form.bits
        ) as image:
            dense: Any = image.copy(xres=per_mm, yres=per_mm)
            keep = pyvips.enums.ForeignKeep.NONE
            if jpeg:
                dense.jpegsave_target(target, Q=JPEG_QUALITY, subsample_mode="off", keep=keep)
            else:
                dense.pngsave_target(target, compression=PNG_LEVEL, filter="sub", keep=keep)
    except pyvips.Error as error:
        if failures:
            raise failures[0] from error
        raise
    if failures:
        raise failures[0]


def icc_chunk(form: FileForm) -> bytes:
    """The profile as it is; libpng refuses or drops profiles it finds fault with (an odd length, say)."""
    return png_chunk(b"iCCP", b"ICC profile\0\0" + zlib.compress(form.profile, 9)) if form.profile else b""


def app_segments(form: FileForm) -> bytes:
    """JFIF with the density, which libvips leaves out, and the profile in its pieces (ICC.1, annex B)."""
    (unit, density), profile = jfif_density(form.ppi), form.profile or b""
    pieces = [profile[at : at + APP2_BYTES] for at in range(0, len(profile), APP2_BYTES)]
    parts = [struct.pack(">2sH5sHBHHBB", b"\xff\xe0", 16, b"JFIF\0", 0x0101, unit, density, density, 0, 0)]
    for number, piece in enumerate(pieces, start=1):
        parts.append(
            struct.pack(">2sH12sBB", b"\xff\xe2", len(piece) + 16, b"ICC_PROFILE\0", number, len(pieces)) + piece
        )
    return b"".join(parts)


def _inserting(file: BinaryIO, place: int, extra: bytes) -> Callable[[Any], int]:
    """A write to the file that lays `extra` after its first `place` bytes."""
    started = False

    def write(piece: Any) -> int:
        nonlocal started
        if not started:
            started = True
            return file.write(bytes(piece[:place]) + extra + bytes(piece[place:])) - len(extra)
        return file.write(piece)

    return write


def _target(write: Callable[[Any], int]) -> tuple[pyvips.TargetCustom, list[OSError]]:
    """A libvips target that keeps the disk's own error."""
    failures: list[OSError] = []

    def take(piece: Any) -> int:
        try:
            return write(piece)
        except OSError as error:
            failures.append(error)
            return -1

    target = pyvips.TargetCustom()
    target.on_write(take)
    return target, failures
