"""The sentences with which a picture file is refused, and the limits behind them."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from wallworthy.base.errors import InputError

MEGAPIXELS_LIMIT: Final = 1000
EDGE_LIMIT_PX: Final = 300_000
WHOLE_LIMIT_BYTES: Final = 2 << 30
"""Largest decoded size of a picture that can only be decoded as a whole."""

SMALL_PX: Final = 50_000_000
PIXELS_PER_BYTE_LIMIT: Final = 4_000
"""Above 50 megapixels a file must hold at least a byte for so many pixels: deflate can't do better
than 1032:1 (RFC 1951: at most 258 bytes from two bits), JPEG not better than about 350 pixels a byte."""


def damaged(path: Path | str, what: str) -> InputError:
    """The file breaks off or contradicts itself."""
    return InputError(
        "master_damaged",
        f"{Path(path).name} is damaged: {what}.",
        "Export the picture again, or copy it again from where it came.",
        where=str(path),
    )


def truncated(path: Path | str) -> InputError:
    """The file ends before the picture does."""
    return InputError(
        "master_truncated",
        f"{Path(path).name} is cut short: the file ends before the picture does.",
        "Copy it again from where it came, or export it again.",
        where=str(path),
    )


def unsupported(path: Path | str, what: str) -> InputError:
    """A well-formed file of a kind that is not read."""
    return InputError(
        "master_unsupported",
        f"{Path(path).name} can't be read: {what}.",
        "Save it as a TIFF with 8 or 16 bits in RGB, grey, CMYK or Lab, or as PNG or JPEG.",
        where=str(path),
    )


def changed(path: Path | str) -> InputError:
    """The file is not the one that was opened."""
    return InputError(
        "master_changed",
        f"{Path(path).name} was changed while it was being read.",
        "Let whatever writes it finish, then give the command again.",
        where=str(path),
    )


def check_size(path: Path | str, width_px: int, height_px: int, file_bytes: int) -> None:
    """Refuse a claimed size that is empty, beyond the limits, or more than the file's bytes can hold.

    Called before any memory is taken for pixels.
    """
    if width_px < 1 or height_px < 1:
        raise damaged(path, "it claims a picture without any pixels")
    pixels = width_px * height_px
    if pixels > MEGAPIXELS_LIMIT * 1_000_000 or max(width_px, height_px) > EDGE_LIMIT_PX:
        raise InputError(
            "master_too_large",
            f"{Path(path).name} claims {width_px} x {height_px} pixels, more than I read.",
            f"Up to {MEGAPIXELS_LIMIT} megapixels and {EDGE_LIMIT_PX} pixels an edge are read; make it smaller first.",
            where=str(path),
        )
    if pixels > SMALL_PX and pixels > file_bytes * PIXELS_PER_BYTE_LIMIT:
        raise damaged(path, f"it claims {width_px} x {height_px} pixels but holds only {file_bytes} bytes")


def check_whole(path: Path | str, decoded_bytes: int, kind: str) -> None:
    """Refuse a picture that must be held whole and would take more than the limit."""
    if decoded_bytes > WHOLE_LIMIT_BYTES:
        raise InputError(
            "master_too_large",
            f"{Path(path).name} is {kind}, which must be unpacked as a whole, and would take "
            f"{decoded_bytes >> 20} MB of memory.",
            "Save it as a TIFF in strips or tiles; that is read piece by piece.",
            where=str(path),
        )
