"""Pictures as bytes: JPEG and PNG with their profile, whole in memory."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pyvips  # type: ignore[import-untyped]
from numpy.typing import NDArray

from wallworthy.base.units import MM_PER_INCH
from wallworthy.raster.form import FileForm
from wallworthy.raster.write import JPEG_START_BYTES, PNG_HEAD_BYTES, app_segments, icc_chunk

SCREEN_PPI: Final = 96.0
SCREEN_QUALITY: Final = 90
QUICK_PNG_LEVEL: Final = 1

Codes = NDArray[np.uint8]


def jpeg_bytes(codes: Codes, profile: bytes | None, quality: int = SCREEN_QUALITY) -> bytes:
    """A JPEG, colour not subsampled. codes: (H, W, 3) or (H, W, 1) uint8, at most 65,500 pixels an edge."""
    data = _image(codes).jpegsave_buffer(Q=quality, subsample_mode="off", keep=pyvips.enums.ForeignKeep.NONE)
    return _with(data, JPEG_START_BYTES, app_segments(_form("jpeg", codes, profile)))


def png_bytes(codes: Codes, profile: bytes | None, *, ppi: float | None = None, level: int = QUICK_PNG_LEVEL) -> bytes:
    """A PNG, lossless. codes: (H, W, 3) or (H, W, 1) uint8. ppi: its density, when it is to say one."""
    density = {} if ppi is None else {"xres": ppi / MM_PER_INCH, "yres": ppi / MM_PER_INCH}
    keep = pyvips.enums.ForeignKeep.NONE
    data = _image(codes).copy(**density).pngsave_buffer(compression=level, filter="sub", keep=keep)
    return _with(data, PNG_HEAD_BYTES, icc_chunk(_form("png", codes, profile)))


def _with(data: bytes, place: int, extra: bytes) -> bytes:
    return data[:place] + extra + data[place:]


def _image(codes: Codes) -> Any:
    height, width, channels = codes.shape
    kind = "srgb" if channels == 3 else "b-w"
    image = pyvips.Image.new_from_memory(np.ascontiguousarray(codes).data, width, height, channels, "uchar")
    return image.copy(interpretation=kind)


def _form(kind: Any, codes: Codes, profile: bytes | None) -> FileForm:
    height, width, channels = codes.shape
    return FileForm(kind, width, height, channels, 8, "RGB" if channels == 3 else "GRAY", SCREEN_PPI, profile)
