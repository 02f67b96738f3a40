"""What a file without a profile is taken for: a profile's file, or a space by name."""

from __future__ import annotations

from pathlib import Path

from wallworthy.journey.files import file_bytes


def assumed(assume: Path | None, master: Path) -> bytes | None:
    """The profile that was named for a master: srgb or display-p3, for a grey one as their curve, or a file's.

    A file of such a name goes before the word. Raises InputError as reading the file and the master do.
    """
    if assume is None:
        return None
    word = str(assume).lower()
    if word not in ("srgb", "display-p3") or assume.is_file():
        return file_bytes(assume, "profile")
    from wallworthy.journey.laid import SPACES
    from wallworthy.raster.read import inspect

    return SPACES["grey" if inspect(master).space == "GRAY" else word]()
