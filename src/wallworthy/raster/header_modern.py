"""The headers of HEIC and AVIF."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final, Literal

from wallworthy.base.records import Notice
from wallworthy.raster.boxes import PictureBoxes, read_boxes
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
AVIF_FIELDS: Final = ("bits-per-sample", "exif-data", "n-pages")


def said_by_code(path: Path, coded: tuple[int, int] | None) -> Literal["srgb", "display-p3"] | None:
    """The space H.273 code points name; None when they name none. Raises InputError for video and HDR codes."""
    if coded is None or coded[0] == UNSPECIFIED or coded[1] == UNSPECIFIED:
        return None
    said = CODED_SPACES.get((coded[0], 13 if coded[1] in (6, 14) else coded[1]))
    if said is None:
        raise unsupported(path, "its colours are coded for a video or HDR system")
    return said


def read_heic(file: OpenedFile) -> RasterFacts:
    """Facts of a HEIC picture; the decoder turns it upright itself."""
    import pillow_heif

    boxes = read_boxes(file)
    _check_claim(file, boxes)
    try:
        opened = pillow_heif.open_heif(str(file.path), convert_hdr_to_8bit=False)
        info: dict[str, Any] = dict(opened.info)
        size, mode, pictures = opened.size, opened.mode, len(opened)
    except Exception:
        # The library raises ValueError, IndexError, EOFError, SyntaxError, RuntimeError or OSError as it happens.
        raise damaged(file.path, "its description can't be followed") from None
    exif = exif_facts(info.get("exif") or b"")
    return _modern(
        file,
        boxes,
        "HEIC",
        size,
        int(info.get("bit_depth", 8)),
        channels=len(mode.split(";")[0]),
        premultiplied=bool(getattr(opened, "premultiplied_alpha", False)),
        pictures=pictures,
        capture=exif.capture,
        said_srgb=exif.said_srgb,
    )


def read_avif(file: OpenedFile) -> RasterFacts:
    """Facts of an AVIF picture; the decoder turns it upright itself."""
    import pyvips

    boxes = read_boxes(file)
    _check_claim(file, boxes)
    try:
        image = pyvips.Image.heifload(str(file.path), revalidate=True)
    except pyvips.Error:
        raise damaged(file.path, "its description can't be followed") from None
    fields: dict[str, Any] = {name: image.get(name) for name in image.get_fields() if name in AVIF_FIELDS}
    exif = exif_facts(fields.get("exif-data", b""))
    channels = image.bands
    if boxes.channels == 1:
        channels -= 2
    return _modern(
        file,
        boxes,
        "AVIF",
        (image.width, image.height),
        int(fields.get("bits-per-sample", 8)),
        channels=channels,
        premultiplied=False,
        pictures=int(fields.get("n-pages", 1)),
        capture=exif.capture,
        said_srgb=exif.said_srgb,
    )


def _check_claim(file: OpenedFile, boxes: PictureBoxes) -> None:
    if boxes.size_px is None:
        raise damaged(file.path, "it does not say how large it is")
    check_size(file.path, *boxes.size_px, file.size)
    check_whole(file.path, boxes.size_px[0] * boxes.size_px[1] * 8, "a HEIC or AVIF")


def _modern(
    file: OpenedFile,
    boxes: PictureBoxes,
    kind: Literal["HEIC", "AVIF"],
    size_px: tuple[int, int],
    bits: int,
    *,
    channels: int,
    premultiplied: bool,
    pictures: int,
    capture: dict[str, str],
    said_srgb: bool,
) -> RasterFacts:
    check_size(file.path, *size_px, file.size)
    said = None
    if boxes.profile is None:
        said = said_by_code(file.path, boxes.coded) or ("srgb" if said_srgb else None)
    text = f"The file holds {pictures} pictures; the main one is used."
    return RasterFacts(
        path=file.path,
        format=kind,
        width_px=size_px[0],
        height_px=size_px[1],
        orientation=1,
        bits=bits,
        floating=False,
        space="GRAY" if channels <= 2 else "RGB",
        alpha="none" if channels in (1, 3) else "premultiplied" if premultiplied else "straight",
        icc=boxes.profile,
        said_space=said,
        capture=capture,
        notices=(Notice("first_picture", text),) if pictures > 1 else (),
        stamp=file.stamp,
        whole=True,
    )
