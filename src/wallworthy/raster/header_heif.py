"""The headers of HEIC and AVIF (ISO/IEC 23008-12), read by pillow-heif's libheif; no pixel is decoded."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, Literal

from wallworthy.base.records import Notice
from wallworthy.raster.capture import exif_facts
from wallworthy.raster.facts import RasterFacts
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, unsupported

CODED_SPACES: Final[dict[tuple[int, int], Literal["srgb", "display-p3"]]] = {
    (1, 13): "srgb",
    (1, 1): "srgb",
    (12, 13): "display-p3",
}
"""H.273 primaries and transfer. 1, 1 (BT.709) is what encoders write for pictures meant as sRGB."""
UNSPECIFIED: Final = 2


def said_by_code(path: Path, coded: tuple[int, int] | None) -> Literal["srgb", "display-p3"] | None:
    """The space H.273 code points name; None when they name none. Raises InputError for video and HDR codes."""
    if coded is None or coded[0] == UNSPECIFIED or coded[1] == UNSPECIFIED:
        return None
    said = CODED_SPACES.get((coded[0], 13 if coded[1] in (6, 14) else coded[1]))
    if said is None:
        raise unsupported(path, "its colours are coded for a video or HDR system")
    return said


def heif_reader(kind: Literal["HEIC", "AVIF"]) -> Callable[[OpenedFile], RasterFacts]:
    """The function that reads a HEIC's or AVIF's facts."""
    return lambda file: _read(file, kind)


def _read(file: OpenedFile, kind: Literal["HEIC", "AVIF"]) -> RasterFacts:
    """Facts of the main picture; the decoder turns it upright itself. Raises InputError."""
    import pillow_heif

    try:
        opened = pillow_heif.open_heif(str(file.path), convert_hdr_to_8bit=False)
        info: dict[str, Any] = dict(opened.info)
        (width, height), mode, pictures = opened.size, opened.mode.split(";")[0], len(opened)
        premultiplied = bool(getattr(opened, "premultiplied_alpha", False))
    except Exception:
        # The library raises ValueError, IndexError, EOFError, SyntaxError, RuntimeError or OSError as it happens.
        raise damaged(file.path, "its description can't be followed") from None
    check_size(file.path, width, height, file.size)
    check_whole(file.path, width * height * 8, "a HEIC or AVIF")
    exif = exif_facts(info.get("exif") or b"")
    icc = info.get("icc_profile") or None
    nclx = info.get("nclx_profile")
    coded = (nclx["color_primaries"], nclx["transfer_characteristics"]) if nclx else None
    said = None if icc else said_by_code(file.path, coded) or ("srgb" if exif.said_srgb else None)
    text = f"The file holds {pictures} pictures; the main one is used."
    return RasterFacts(
        path=file.path,
        format=kind,
        width_px=width,
        height_px=height,
        orientation=1,
        bits=int(info.get("bit_depth", 8)),
        floating=False,
        space="GRAY" if mode in ("L", "LA", "I") else "RGB",
        alpha="none" if "A" not in mode.upper() else "premultiplied" if premultiplied else "straight",
        icc=icc,
        said_space=said,
        capture=exif.capture,
        notices=(Notice("first_picture", text),) if pictures > 1 else (),
        stamp=file.stamp,
        whole=True,
    )
