"""The headers of JPEG and WebP, read by libvips, which opens them lazily; no pixel is decoded."""

from __future__ import annotations

import re
from typing import Any, Final, Literal

from wallworthy.base.records import Notice
from wallworthy.base.units import MM_PER_INCH
from wallworthy.raster.capture import ExifFacts, exif_facts
from wallworthy.raster.facts import RasterFacts, Space
from wallworthy.raster.opened import OpenedFile
from wallworthy.raster.refusals import check_size, check_whole, damaged, truncated, unsupported

SPACES: Final[dict[int, Space]] = {1: "GRAY", 3: "RGB", 4: "CMYK"}
PROFILE_PIECE: Final = re.compile(rb"\xff\xe2..ICC_PROFILE\0(.)(.)", re.DOTALL)
PIECES_WITHIN_BYTES: Final = 20 << 20

OPRGB: Final = Notice(
    "said_oprgb",
    "The camera marked the file as opRGB (IEC 61966-2-5) but put no profile in; "
    "use --assume with that profile if the colours look dull.",
)
ANIMATED: Final = Notice("first_picture", "The WebP is an animation; its first picture is used.")


def read_jpeg(file: OpenedFile) -> RasterFacts:
    """Facts of a JPEG (ITU-T T.81). Raises InputError; that it is cut short shows only while its pixels are read."""
    image, fields = _looked_at(file, "jpegload")
    if image.bands not in SPACES or image.format != "uchar":
        raise unsupported(file.path, f"it has {image.bands} channels of {image.format} samples")
    _check_profile_pieces(file)
    several_scans = bool(fields.get("jpeg-multiscan"))
    if several_scans:
        check_whole(file.path, image.width * image.height * image.bands * 2, "a progressive JPEG")
    exif = exif_facts(fields.get("exif-data", b""))
    untold = exif.said_oprgb and "icc-profile-data" not in fields
    capture = exif.capture
    if "resolution-unit" in fields and 40 < image.xres * 1000 < 4_000_000:
        capture = {"resolution": f"{image.xres * MM_PER_INCH:.4g} ppi", **capture}
    return _facts(
        file, "JPEG", image, exif, fields, SPACES[image.bands], (OPRGB,) if untold else (), capture, several_scans
    )


def read_webp(file: OpenedFile) -> RasterFacts:
    """Facts of a WebP (RFC 9649). Raises InputError."""
    if int.from_bytes(file.read(4, 4), "little") + 8 > file.size:
        raise truncated(file.path)
    image, fields = _looked_at(file, "webpload")
    check_whole(file.path, image.width * image.height * 4, "a WebP")
    exif = exif_facts(fields.get("exif-data", b""))
    notices = (ANIMATED,) if fields.get("n-pages", 1) > 1 else ()
    return _facts(file, "WebP", image, exif, fields, "RGB", notices, exif.capture, True)


def _check_profile_pieces(file: OpenedFile) -> None:
    """Refuse a profile of which a piece is missing (ICC.1, annex B); libvips would give what it finds, or nothing."""
    pieces = set(PROFILE_PIECE.findall(file.read(0, PIECES_WITHIN_BYTES)))
    if pieces != {(bytes([number]), last) for _, last in pieces for number in range(1, last[0] + 1)}:
        raise damaged(file.path, "a piece of its embedded profile is missing")


def _looked_at(file: OpenedFile, loader: str) -> tuple[Any, dict[str, Any]]:
    """libvips' lazy image with a size that is allowed, and its fields."""
    import pyvips

    try:
        image: Any = pyvips.Operation.call(
            loader, str(file.path), access="sequential", fail_on="error", revalidate=True
        )
    except pyvips.Error as error:
        if "premature end" in str(error):
            raise truncated(file.path) from None
        raise damaged(file.path, "its header can't be followed") from None
    check_size(file.path, image.width, image.height, file.size)
    wanted = ("exif-data", "icc-profile-data", "jpeg-multiscan", "n-pages", "resolution-unit")
    return image, {name: image.get(name) for name in image.get_fields() if name in wanted}


def _facts(
    file: OpenedFile,
    kind: Literal["JPEG", "WebP"],
    image: Any,
    exif: ExifFacts,
    fields: dict[str, Any],
    space: Space,
    notices: tuple[Notice, ...],
    capture: dict[str, str],
    whole: bool,
) -> RasterFacts:
    icc = fields.get("icc-profile-data") or None
    turned = exif.orientation >= 5
    return RasterFacts(
        path=file.path,
        format=kind,
        width_px=image.height if turned else image.width,
        height_px=image.width if turned else image.height,
        orientation=exif.orientation,
        bits=8,
        floating=False,
        space=space,
        alpha="straight" if kind == "WebP" and image.bands == 4 else "none",
        icc=icc,
        said_space="srgb" if exif.said_srgb and icc is None else None,
        capture=capture,
        notices=notices,
        stamp=file.stamp,
        whole=whole,
    )
