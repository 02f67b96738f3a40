"""What the header of a picture file says, before any pixel is decoded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from wallworthy.base.records import Notice

Format = Literal["TIFF", "PNG", "JPEG", "HEIC", "AVIF", "JPEG XL", "WebP"]
Space = Literal["RGB", "GRAY", "CMYK", "LAB"]
Alpha = Literal["none", "straight", "premultiplied"]

CHANNELS: dict[Space, int] = {"RGB": 3, "GRAY": 1, "CMYK": 4, "LAB": 3}


@dataclass(frozen=True, slots=True)
class FileStamp:
    """Tells whether a file is still the one that was opened."""

    size_bytes: int
    mtime_ns: int
    inode: int


@dataclass(frozen=True, slots=True)
class RasterFacts:
    """The header in our words. `width_px` and `height_px` are as seen, after the turn of `orientation`.

    `bits` are those of the file (10 for a 10-bit AVIF); decoded samples are uint8, uint16 or float32.
    `said_space` is a space the file names without a profile: 'srgb' or 'display-p3'.
    """

    path: Path
    format: Format
    width_px: int
    height_px: int
    orientation: int
    """EXIF/TIFF orientation 1-8 still to be applied; 1 when the decoder has done it."""
    bits: int
    floating: bool
    space: Space
    alpha: Alpha
    icc: bytes | None = field(repr=False)
    said_space: Literal["srgb", "display-p3"] | None
    capture: Mapping[str, str]
    notices: tuple[Notice, ...]
    stamp: FileStamp
    page: int = 0
    """Index of the picture in a file that holds several."""
    whole: bool = False
    """True when the format can only be decoded as a whole."""

    @property
    def stored_size_px(self) -> tuple[int, int]:
        """Width and height as the decoder delivers them, before the turn."""
        turned = self.orientation >= 5
        return (self.height_px, self.width_px) if turned else (self.width_px, self.height_px)

    @property
    def channels(self) -> int:
        """Colour channels, alpha not counted."""
        return CHANNELS[self.space]


def stamp_of(path: Path) -> FileStamp:
    """The file's stamp now; OSError when it can't be reached."""
    state = path.stat()
    return FileStamp(state.st_size, state.st_mtime_ns, state.st_ino)
